"""Names of the places of a machine where its states are told; a state's place is a key of the JSON output."""

COMPRESSOR_INLET = "compressor_inlet"
COMPRESSOR_OUTLET = "compressor_outlet"
AFTERCOOLER_OUTLET = "aftercooler_outlet"
THROTTLE_INLET = "throttle_inlet"
THROTTLE_OUTLET = "throttle_outlet"
EVAPORATOR_OUTLET = "evaporator_outlet"
# Of a vapour-compression stage, besides.
EXCHANGER_GAS_OUTLET = "exchanger_gas_outlet"
HOT_GAS_EXCHANGER_OUTLET = "hot_gas_exchanger_outlet"
DESUPERHEATER_INLET = "desuperheater_inlet"
DESUPERHEATER_OUTLET = "desuperheater_outlet"
CONDENSER_INLET = "condenser_inlet"
CONDENSER_OUTLET = "condenser_outlet"
# Of circuits whose recuperator has a warm and a cold section.
PRECOOLER_INLET = "precooler_inlet"
PRECOOLER_OUTLET = "precooler_outlet"
LOW_SIDE_BETWEEN = "low_side_between_sections"
# Of circuits with a phase separator.
SEPARATED_VAPOUR = "separated_vapour"
SEPARATED_LIQUID = "separated_liquid"
VAPOUR_BETWEEN = "vapour_between_sections"
LIQUID_THROTTLE_INLET = "liquid_throttle_inlet"
LIQUID_THROTTLE_OUTLET = "liquid_throttle_outlet"
JUNCTION_INLET = "junction_inlet"
JUNCTION_OUTLET = "junction_outlet"
# Of the feed of a liquefier.
FEED_SUPPLY = "feed_supply"
FEED_INLET = "feed_inlet"
FEED_RECUPERATOR_OUTLET = "feed_recuperator_outlet"
FEED_THROTTLE_INLET = "feed_throttle_inlet"
FEED_THROTTLE_OUTLET = "feed_throttle_outlet"
PRODUCT = "product_liquid"
FLASH_VAPOUR = "flash_vapour"
FLASH_VAPOUR_COLD_END = "flash_vapour_at_cold_end"
FLASH_VAPOUR_OUTLET = "flash_vapour_outlet"
OF_THE_FEED = (
    FEED_SUPPLY, FEED_INLET, FEED_RECUPERATOR_OUTLET, FEED_THROTTLE_INLET, FEED_THROTTLE_OUTLET, PRODUCT,
    FLASH_VAPOUR, FLASH_VAPOUR_COLD_END, FLASH_VAPOUR_OUTLET,
)  # fmt: skip
