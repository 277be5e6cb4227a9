"""Keys of the table [rating]."""

from __future__ import annotations

from mixjt.components.polynomials import CAPACITIES, MASS_FLOWS, POWERS, TEMPERATURES
from mixjt.components.rating_points import POINTS, STANDARDS
from mixjt.files.schema import FLUID, TEXT, WHOLE, Key
from mixjt.properties.pure import fluid_names

COEFFICIENTS = "C1 to C10 of AHRI 540 for the {}"
ANY = "[-1e15, 1e15]"

RATING = {
    "refrigerant": Key(FLUID, "the refrigerant of the label", choices=fluid_names()),
    "capacity": Key("power", "the capacity on the label", within="(0, 1e6]"),
    "point": Key(TEXT, "the rating point", choices=POINTS),
    "standard": Key(TEXT, "whose rating point it is", default="ASHRAE", choices=tuple(STANDARDS)),
    "evaporating_temperature": Key(
        "temperature", "of the rating", within="[150, 330]", otherwise="of the rating point"
    ),
    "condensing_temperature": Key(
        "temperature", "of the rating", within="[200, 400]", otherwise="of the rating point"
    ),
    "return_gas_temperature": Key(
        "temperature", "of the rating, at the compressor inlet", within="[150, 400]", otherwise="of the rating point"
    ),
    "liquid_temperature": Key(
        "temperature", "of the rating, before the expansion valve", within="[150, 400]", otherwise="of the rating point"
    ),
    "power": Key("power", "the electrical input at the rating point", within="(0, 1e6]", otherwise="by type"),
    "rated_current": Key("current", "the rated (running) current", within="(0, 1000]"),
    "locked_rotor_current": Key("current", "the locked-rotor current, LRA", within="(0, 10000]"),
    "frequency": Key("frequency", "the supply frequency", default="50 Hz", within="[10, 400]"),
    "poles": Key(WHOLE, "poles of the motor", default=2, within="[2, 8]"),
    "slip": Key("fraction", "how far the motor lags behind its field", default=0.035, within="[0, 0.2]"),
    "capacity_coefficients": Key("number", COEFFICIENTS.format("capacity"), within=ANY, many=True),
    "power_coefficients": Key("number", COEFFICIENTS.format("power"), within=ANY, many=True),
    "mass_flow_coefficients": Key("number", COEFFICIENTS.format("mass flow"), within=ANY, many=True),
    "current_coefficients": Key("number", COEFFICIENTS.format("current in A"), within=ANY, many=True),
    "coefficient_temperature": Key(
        TEXT, "unit of the temperatures in the polynomials", default="degC", choices=tuple(TEMPERATURES)
    ),
    "capacity_unit": Key(TEXT, "unit of that polynomial", default="W", choices=tuple(CAPACITIES)),
    "power_unit": Key(TEXT, "unit of that polynomial", default="W", choices=tuple(POWERS)),
    "mass_flow_unit": Key(TEXT, "unit of that polynomial", default="kg/h", choices=tuple(MASS_FLOWS)),
    "superheat": Key(
        "temperature_difference", "the polynomials' superheat", within="[0, 100]", otherwise="by the return gas"
    ),
    "subcooling": Key("temperature_difference", "the polynomials' subcooling", default="0 K", within="[0, 50]"),
    "evaporating_range": Key(
        "temperature", "where the polynomials hold", within="[150, 330]", otherwise="not checked", span=True
    ),
    "condensing_range": Key(
        "temperature", "where the polynomials hold", within="[200, 400]", otherwise="not checked", span=True
    ),
    "suction_temperature": Key(
        "temperature", "at the compressor inlet, for the table on the blend", within="[100, 400]", otherwise="ambient"
    ),
    "suction_pressures": Key(
        "pressure", "for the table on the blend", within="[1e3, 1e7]", many=True, otherwise="around that of [circuit]"
    ),
    "discharge_pressures": Key(
        "pressure", "for the table on the blend", within="[1e3, 1e7]", many=True, otherwise="around that of [circuit]"
    ),
}  # fmt: skip
