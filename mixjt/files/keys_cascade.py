"""Keys of the case file's table [cascade].

Defaults are ordinary values of small machines (common practice, no source). Keys with a list take one value for
all stages, or one a stage from the coldest.
"""

from __future__ import annotations

from mixjt.cycles.cascade_records import WARMINGS, Cascade
from mixjt.files.schema import TEXT, WHOLE, Key
from mixjt.studies.cascade_design import CascadeRequest

YES, NO = "yes", "no"

CASCADE = {
    "stages": Key(WHOLE, "how many", within="[1, 4]", otherwise="as many as fluids, or 1 to 4 are tried"),
    "fluids": Key(
        TEXT, "the fluid of each stage, coldest first; the name of a [[bottle]] for a blend", many=True,
        otherwise="chosen from available",
    ),
    "intermediate_temperatures": Key(
        "temperature", "evaporating temperatures of all stages but the coldest, ascending; needs fluids",
        within="[20, 350]", many=True, otherwise="optimised",
    ),
    "available": Key(
        TEXT, "pure fluids to choose from", many=True,
        otherwise="the gases of the catalogue and usual refrigerants, without rare and phased-out ones",
    ),
    "approach": Key(
        "temperature_difference", "condensing less evaporating temperature in each cascade condenser",
        default=Cascade.approach, within="(0, 40]",
    ),
    "evaporator_approach": Key(
        "temperature_difference", "the load's temperature less the evaporating one",
        default=Cascade.evaporator_approach,
        within="[0, 40]",
    ),
    "condenser_approach": Key(
        "temperature_difference", "the warmest condensing temperature above ambient",
        default=Cascade.condenser_approach,
        within="[0, 40]",
    ),
    "superheat": Key(
        "temperature_difference", "at every evaporator outlet",
        default=Cascade.superheat, within="[0, 40]",
    ),
    "subcooling": Key(
        "temperature_difference", "at every condenser outlet",
        default=Cascade.subcooling, within="[0, 30]",
    ),
    "exchanger_effectiveness": Key(
        "fraction", "of the suction-line exchangers, liquid to suction gas; 0 is none",
        default=Cascade.exchanger_effectiveness, within="[0, 1]", many=True,
    ),
    "desuperheater": Key(
        TEXT, "whether air cools the hot gas before the cascade condensers", default=YES, choices=(YES, NO)
    ),
    "desuperheater_approach": Key(
        "temperature_difference", "hot gas above ambient after it", default="10 K", within="[0, 60]"
    ),
    "suction_temperature": Key(
        "temperature", "to which a colder gas is warmed before the compressor: cold oil stiffens",
        default="-40 degC", within="[50, 350]",
    ),
    "suction_warming": Key(
        TEXT, "what warms it: the hot gas of its own stage, the surroundings, or nothing (compressors made for the cold)",
        default=Cascade.suction_warming, choices=WARMINGS,
    ),
    "suction_drop": Key(
        "pressure_difference", "loss in the suction lines", within="[0, 1e6]", many=True,
        otherwise="the share of the pressure that [recuperator] states for its low side",
    ),
    "discharge_drop": Key(
        "pressure_difference", "loss in the discharge lines", within="[0, 1e6]", many=True,
        otherwise="the share of the pressure that [aftercooler] and [recuperator] state for the high side",
    ),
    "heat_leak": Key(
        "power", "heat that the cold parts of a stage take up besides its load", default=Cascade.heat_leaks,
        within="[0, 1e5]", many=True,
    ),
    "suction_above_atmospheric": Key(
        TEXT, "whether every suction must stay above atmospheric pressure", default=YES, choices=(YES, NO)
    ),
    "largest_pressure_ratio": Key(
        "number", "a stricter or wider limit than the compressor's own", within="(1, 100]",
        otherwise="the compressor's",
    ),
    "largest_discharge_temperature": Key(
        "temperature", "a stricter or wider limit than the compressor's own", within="[300, 450]",
        otherwise="the compressor's",
    ),
    "largest_discharge_pressure": Key(
        "pressure", "the rating of the high-pressure sides", within="[1e5, 2e7]", otherwise="no limit"
    ),
    "largest_displacement": Key(
        "volume", "of the compressors that can be had, per revolution at the speed of [compressor]",
        within="(0, 1e-2]", many=True, otherwise="no limit",
    ),
    "system_volume": Key(
        "volume", "everything of a stage that holds fluid", within="(0, 1]", many=True,
        otherwise="no standstill",
    ),
    "liquid_volume": Key(
        "volume", "what of it liquid fills while it runs, to estimate the charge", within="(0, 1]", many=True
    ),
    "charge": Key("mass", "the charge of a stage, where it is known", within="(0, 100]", many=True),
    "hottest_temperature": Key(
        "temperature", "of the hottest day the machine may stand through", default="50 degC",
        within="[250, 370]",
    ),
    "largest_standstill_pressure": Key(
        "pressure", "what every stage stands at rest", within="[1e5, 4e7]", otherwise="no expansion vessel"
    ),
    "shown": Key(WHOLE, "cascades listed for each number of stages", default=CascadeRequest.kept, within="[1, 50]"),
}  # fmt: skip
