"""What a case file may say: every table and its keys, most of which are fields of the classes they fill.

Defaults of a label's motor are ordinary values of small hermetic machines (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from mixjt.cascade.cascade_records import Cascade, CascadeLimits
from mixjt.cascade.design import CascadeRequest
from mixjt.cascade.stage_standstill import StageInventory
from mixjt.circuit.inventory import Volumes
from mixjt.circuit.layouts.precooled import PrecooledCircuit
from mixjt.circuit.layouts.separator import SeparatorCircuit
from mixjt.circuit.liquefier_result import FeedPassage
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.constants import ATMOSPHERE
from mixjt.keys import COMPOSITION, TEXT, WHOLE, YES_NO, Key, keys_of
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.cold_mass import ColdMass
from mixjt.parts.compressor.compression import COMPRESSOR_KINDS, Compressor
from mixjt.parts.compressor.label import Label
from mixjt.parts.compressor.polynomials import (
    CAPACITIES,
    MASS_FLOWS,
    POWERS,
    TEMPERATURES,
    PolynomialCompressor,
)
from mixjt.parts.compressor.rating_points import POINTS, STANDARDS, RatingPoint
from mixjt.parts.compressor.sizing import MeasuredPoint
from mixjt.parts.insulation import Insulation
from mixjt.parts.insulation_package import InsulationPackage
from mixjt.parts.oil import Oil
from mixjt.parts.precooler import ANY_SIZE, Precooler
from mixjt.parts.throttle.capillary_cases import Exchange
from mixjt.studies.at_rest import StandstillRequest
from mixjt.studies.charge.charge_request import ChargeRequest
from mixjt.studies.compare.compare_request import CompareRequest
from mixjt.studies.cooldown import CooldownRequest
from mixjt.studies.label_study import RatingRequest
from mixjt.studies.liquefier_study import LiquefierRequest
from mixjt.studies.precooling import PrecoolingRequest
from mixjt.studies.recuperator_study import RecuperatorRequest
from mixjt.studies.robust import STEP
from mixjt.studies.search.charge_limit import ChargeConstraint
from mixjt.studies.search.freezing_limit import FreezingConstraint
from mixjt.studies.search.search_request import Bottle, SearchRequest
from mixjt.studies.sensitivity import SensitivityRequest
from mixjt.studies.throttle_study import ThrottleRequest
from mixjt.studies.trial.log import LogRequest
from mixjt.studies.trial.stretches import SteadyLimits
from mixjt.studies.weighing import WeighingRequest

BLEND_TABLE = "blend"
BOTTLE_TABLE = "bottle"
CHARGE_TABLE = "charge"
MASS = Key("mass", "what has been filled in of a gas or bottle", within="(0, 100]")


@dataclass(frozen=True)
class CaseTable:
    """A table of the case file: what it describes, whether a case must have it, and where its keys are declared.

    parts are classes, whose fields are keys, and dictionaries of keys that are no field of a class.
    """

    name: str
    help: str
    parts: tuple[type | dict[str, Key], ...]
    required: bool = False

    @cached_property
    def keys(self) -> dict[str, Key]:
        """By name, as the parts and their fields follow each other."""
        found = {}
        for part in self.parts:
            if isinstance(part, type):
                part = {one.name: one.key for one in keys_of(part) if one.table in ("", self.name)}
            found |= part
        return found


TOP = {
    "title": Key(TEXT, "a name for the machine, shown on every output", default=""),
    "notes": Key(TEXT, "free text, kept for the reader", default="", many_lines=True),
}
SURROUNDINGS = {
    "temperature_range": Key(
        "temperature", "coldest and hottest air in which what search and compare find must work", within="[200, 350]",
        span=True, otherwise="temperature alone",
    ),
    "pressure": Key(
        "pressure", "the local atmospheric pressure, which gauge pressures count from", default=ATMOSPHERE,
        within="[4e4, 1.1e5]",
    ),
}  # fmt: skip
LOAD = {"load": Key("power", "the heat to be removed there", within="[0, 1e5]")}

TUBES = {
    "small_diameter": Key("length", "outside diameter of the inner or soldered-on tube", True, within="(0, 0.2]"),
    "small_wall": Key("length", "its wall", True, within="(0, 0.02]"),
    "large_diameter": Key("length", "outside diameter of the outer or large tube", True, within="(0, 0.5]"),
    "large_wall": Key("length", "its wall", True, within="(0, 0.02]"),
}
ERRORS = {
    "weighing_errors": Key(
        "mass", "standard deviation of each mass: one for all, or one for each entry of [blend] in turn",
        default=(1e-3,), within="[0, 10]", many=True,
    ),
    "worst_case_step": Key(
        "fraction", "what each gas or bottle may be off in the worst case of --robust", default=STEP,
        within="(0, 0.2]",
    ),
}  # fmt: skip
CHOICES_OF_A_CASCADE = {
    "displacement": Key(
        "volume", "of given compressors, coldest first, per revolution at the speed of [compressor]: then the load is the "
        "result, the greatest that they carry", within="(0, 1e-2]", many=True, otherwise="as the load needs",
    ),
    "desuperheater": Key(
        TEXT, "whether air cools the hot gas before the cascade condensers", default=True, choices=YES_NO
    ),
    "suction_above_atmospheric": Key(
        TEXT, "whether every suction must stay above atmospheric pressure", default=True, choices=YES_NO
    ),
}
SEPARATOR = {
    "temperature": Key(
        "temperature", "to which a partial condenser cools the blend before the separator", within="[200, 400]",
        otherwise="the aftercooler's outlet",
    ),
}  # fmt: skip
OIL_VOLUME = {
    "volume": Key("volume", "how much of it", within="[0, 5e-3]", otherwise="from mass, or by type and displacement"),
}
IMPURITIES = {
    "oxygen": Key("fraction", "mole fraction of oxygen in the feed, at most that of air", default=0.0, within="[0, 1]"),
    "argon": Key("fraction", "mole fraction of argon in the feed", default=0.0, within="[0, 0.1]"),
}
POINT = {
    "point": Key(TEXT, "the rating point", choices=POINTS),
    "standard": Key(TEXT, "whose rating point it is", default="ASHRAE", choices=tuple(STANDARDS)),
}
MOTOR = {
    "nominal_power": Key(
        "motor_size", "the motor's size, where nothing else is known: gives a wide guess of the machine, by type and point",
        within="(0, 2e4]",
    ),
    "frequency": Key("frequency", "the supply frequency", default=50.0, within="[10, 400]"),
    "poles": Key(WHOLE, "poles of the motor", default=2, within="[2, 8]"),
    "slip": Key("fraction", "how far the motor lags behind its field", default=0.035, within="[0, 0.2]"),
}
COEFFICIENTS = {
    f"{name}_coefficients": Key(
        "number", f"C1 to C10 of AHRI 540 for the {of}", within="[-1e15, 1e15]", many=True
    )
    for name, of in (
        ("capacity", "capacity"), ("power", "power"), ("mass_flow", "mass flow"), ("current", "current in A")
    )
}
UNITS = {
    "coefficient_temperature": Key(
        TEXT, "unit of the temperatures in the polynomials", default="degC", choices=tuple(TEMPERATURES)
    ),
    "capacity_unit": Key(TEXT, "unit of that polynomial", default=CAPACITIES["W"], choices=CAPACITIES),
    "power_unit": Key(TEXT, "unit of that polynomial", default=POWERS["W"], choices=POWERS),
    "mass_flow_unit": Key(TEXT, "unit of that polynomial", default=MASS_FLOWS["kg/h"], choices=MASS_FLOWS),
}
_COMPRESSOR = {one.name: one.key for one in keys_of(Compressor)}
PRECOOLER_COMPRESSOR = {
    "type": Key(TEXT, "the kind of compressor", default=ANY_SIZE.kind, choices=tuple(COMPRESSOR_KINDS)),
    "displacement": replace(
        _COMPRESSOR["displacement"], otherwise="as large as needed",
        help="the swept volume of a stage at hand, which then limits its capacity; needs speed",
    ),
    "speed": replace(_COMPRESSOR["speed"], otherwise=""),
} | {name: _COMPRESSOR[name] for name in ("clearance", "isentropic_efficiency", "motor_efficiency")}  # fmt: skip
CONDENSER = "condenser_"
CONDENSER_SIZE = {
    f"{CONDENSER}{one.name}": replace(
        one.key, help=f"condenser: {one.key.help.replace('face_area', f'{CONDENSER}face_area')}"
    )
    for one in keys_of(AirCoil)
}
RANGES = {
    one.name: replace(
        one.key, help=f"{one.key.help.removesuffix('to try')}of the blends to try", otherwise="as in [search]"
    )
    for one in keys_of(SearchRequest)
    if one.name.endswith("pressure_range")
}
BOTTLE_KEYS = {
    "gas": Key(TEXT, "a gas of the catalogue (or give name and composition)"),
    "name": Key(TEXT, "a name for a bottle that holds a mixture"),
    "composition": Key(COMPOSITION, "its gases and their mole fractions"),
} | {one.name: one.key for one in keys_of(Bottle)}

TABLES = {
    table.name: table
    for table in (
        CaseTable("ambient", "the surroundings", (ThrottleCircuit, SURROUNDINGS), required=True),
        CaseTable("compressor", "the compressor", (Compressor,), required=True),
        CaseTable("circuit", "the two pressures", (ThrottleCircuit,), required=True),
        CaseTable("aftercooler", "the aftercooler", (ThrottleCircuit, AirCoil)),
        CaseTable("recuperator", "the recuperator", (ThrottleCircuit,)),
        CaseTable("recuperator_tubes", "the tubes of the recuperator", (RecuperatorRequest, TUBES)),
        CaseTable("insulation", "the insulated package around recuperator and cold end", (Insulation, InsulationPackage)),
        CaseTable("cold_end", "the cold end", (ThrottleCircuit, LOAD), required=True),
        CaseTable("search", "what the search may do", (SearchRequest, FreezingConstraint, ChargeConstraint)),
        CaseTable("volumes", "the volumes that hold the charge while the machine runs", (Volumes,)),
        CaseTable("cold_mass", "what is cooled down", (ColdMass, CooldownRequest)),
        CaseTable("sensitivity", "by how much inputs are off", (SensitivityRequest, WeighingRequest, ERRORS)),
        CaseTable("standstill", "the circuit at rest", (StandstillRequest,)),
        CaseTable("oil", "the oil in the compressor, which holds gas", (Oil, OIL_VOLUME)),
        CaseTable("bench", "the bench where it is filled, and the room it stands in", (ChargeRequest,)),
        CaseTable("throttle", "the capillary or needle valve", (ThrottleRequest, Exchange)),
        CaseTable(
            "cascade", "a cascade of vapour-compression stages for the same load",
            (CascadeRequest, CHOICES_OF_A_CASCADE, Cascade, CONDENSER_SIZE, CascadeLimits, StageInventory),
        ),
        CaseTable(
            "precooler", "a vapour-compression stage that precools the high side",
            (Precooler, CONDENSER_SIZE, PrecoolingRequest, PrecooledCircuit, PRECOOLER_COMPRESSOR),
        ),
        CaseTable("separator", "a phase separator behind the aftercooler", (SEPARATOR, SeparatorCircuit)),
        CaseTable(
            "compare", "which roads to the load are compared, and over what temperatures", (CompareRequest, RANGES)
        ),
        CaseTable("liquefier", "the gas to be liquefied and its passage", (FeedPassage, LiquefierRequest, IMPURITIES)),
        CaseTable(
            "rating", "the label of the compressor, or its polynomials",
            (Label, POINT, RatingPoint, MOTOR, COEFFICIENTS, UNITS, PolynomialCompressor, RatingRequest),
        ),
        CaseTable("compressor_test", "a test run that corrects the compressor", (MeasuredPoint,)),
        CaseTable("trial", "the log of a run and how it is read", (LogRequest, SteadyLimits)),
    )
}  # fmt: skip
HOMES = {
    part: name for name, table in TABLES.items() for part in table.parts if isinstance(part, type)
}
