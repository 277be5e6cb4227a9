"""What a case file may say: every table, every key, its unit, default and range.

Defaults are ordinary values of small hermetic machines and plate or tube-in-tube exchangers (common
practice, no source); replace them by what is known of the machine at hand.
"""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.components.compressor import KINDS
from mixjt.files.keys_cascade import CASCADE
from mixjt.files.keys_compare import COMPARE
from mixjt.files.keys_cooldown import COLD_MASS, VOLUMES
from mixjt.files.keys_liquefier import LIQUEFIER
from mixjt.files.keys_precooler import PRECOOLER
from mixjt.files.keys_rating import RATING
from mixjt.files.keys_recuperator import RECUPERATOR_TUBES
from mixjt.files.keys_sensitivity import SENSITIVITY
from mixjt.files.keys_separator import SEPARATOR
from mixjt.files.keys_standstill import STANDSTILL
from mixjt.files.keys_throttle import THROTTLE
from mixjt.files.schema import COMPOSITION, TEXT, WHOLE, Key
from mixjt.studies.search.request import OBJECTIVES, Bottle, SearchRequest

BLEND = "blend"
BOTTLE = "bottle"

TOP = {
    "title": Key(TEXT, "a name for the machine, shown on every output", default=""),
    "notes": Key(TEXT, "free text, kept for the reader", default="", many_lines=True),
}

AMBIENT = {
    "temperature": Key("temperature", "the temperature of the surrounding air", True, within="[200, 350]"),
    "pressure": Key(
        "pressure", "the local atmospheric pressure, which gauge pressures count from", default="1 atm",
        within="[4e4, 1.1e5]",
    ),
}  # fmt: skip

# What a compressor leaves out is filled in for its type by `mixjt.components.compressor.KINDS`.
COMPRESSOR = {
    "type": Key(TEXT, "the kind of compressor", True, choices=tuple(KINDS)),
    "displacement": Key(
        "volume", "the swept volume per revolution", within="(0, 1e-2]", otherwise="needed, or from [rating]"
    ),
    "speed": Key("frequency", "the speed of the shaft", within="(0, 500]", otherwise="needed, or from [rating]"),
    "clearance": Key("fraction", "dead volume over swept volume", within="[0, 0.5]", otherwise="by type"),
    "isentropic_efficiency": Key(
        "fraction", "ideal over actual work into the gas", within="(0, 1]", otherwise="by type"
    ),
    "motor_efficiency": Key(
        "fraction", "work into the gas over electrical power", within="(0, 1]", otherwise="by type"
    ),
    "shell_heat_loss": Key(
        "fraction",
        "heat lost by the shell over electrical power",
        within="[0, 1)",
        otherwise="the motor's loss",
    ),
    "voltage": Key("voltage", "the supply voltage; without it no current is given", within="(0, 1000]"),
    "power_factor": Key("fraction", "the power factor of the motor", within="(0, 1]", otherwise="0.9"),
    "supply_phases": Key(WHOLE, "1 or 3", within="[1, 3]", otherwise="1"),
    "largest_discharge_temperature": Key(
        "temperature",
        "what oil and valves stand, measured on the discharge line outside the shell",
        within="[300, 450]",
        otherwise="107 degC",
    ),
    "largest_valve_temperature": Key(
        "temperature",
        "what they stand of the gas at the discharge valve, before the shell has its loss",
        within="[300, 500]",
        otherwise="150 degC",
    ),
    "largest_pressure_ratio": Key(
        "number", "what a single stage of this type stands", within="(1, 100]", otherwise="by type"
    ),
}

CIRCUIT = {
    "suction_pressure": Key("pressure", "the pressure at the compressor inlet", True, within="[1e3, 1e7]"),
    "discharge_pressure": Key("pressure", "the pressure at the compressor outlet", True, within="[1e3, 1e7]"),
}

AFTERCOOLER = {
    "approach": Key(
        "temperature_difference", "outlet temperature above ambient", default="8 K", within="[0, 60]"
    ),
    "pressure_drop": Key("pressure_difference", "loss of pressure", default="0 bar", within="[0, 1e6]"),
}

RECUPERATOR = {
    "approach": Key(
        "temperature_difference", "smallest difference between the streams", default="3 K", within="[0, 60]"
    ),
    "pressure_drop_high": Key(
        "pressure_difference", "loss on the high-pressure side", default="0 bar", within="[0, 1e6]"
    ),
    "pressure_drop_low": Key(
        "pressure_difference", "loss on the low-pressure side", default="0 bar", within="[0, 1e6]"
    ),
}

COLD_END = {
    "temperature": Key(
        "temperature", "the evaporator outlet, the warmest point of the load", True, within="[60, 300]"
    ),
    "load": Key("power", "the heat to be removed there", within="[0, 1e5]"),
}

SEARCH = {
    "objective": Key(TEXT, "what to make greatest", default=SearchRequest.objective, choices=OBJECTIVES),
    "largest_number_of_gases": Key(
        WHOLE, "gases or bottles in one blend",
        default=SearchRequest.largest_number_of_gases, within="[1, 20]",
    ),
    "smallest_fraction": Key(
        "fraction", "the least mole fraction of a gas that is present",
        default=SearchRequest.smallest_fraction, within="[0, 0.5]",
    ),
    "suction_superheat": Key(
        "temperature_difference",
        "the least superheat at the compressor inlet",
        default=SearchRequest.suction_superheat,
        within="[0, 200]",
    ),
    "largest_discharge_temperature": Key(
        "temperature",
        "a stricter limit than the compressor's own",
        within="[300, 450]",
        otherwise="the compressor's",
    ),
    "smallest_freezing_margin": Key(
        "temperature_difference",
        "how far above its first solid the cold path must stay",
        within="[0, 40]",
        otherwise="freezing only warned of",
    ),
    "suction_pressure_range": Key(
        "pressure",
        "lowest and highest suction pressure to try",
        within="[1e3, 1e7]",
        otherwise="as in [circuit]",
        span=True,
    ),
    "discharge_pressure_range": Key(
        "pressure",
        "lowest and highest discharge pressure to try",
        within="[1e3, 1e7]",
        otherwise="as in [circuit]",
        span=True,
    ),
    "samples": Key(
        WHOLE, "blends of the space-filling start", within="[1, 1000000]", otherwise="by the search"
    ),
    "seed": Key(
        WHOLE,
        "start of the random numbers: the same seed gives the same answer",
        default=SearchRequest.seed,
        within="[0, 4294967295]",
    ),
    "shortlist": Key(
        WHOLE,
        "blends polished and solved in full",
        within="[1, 1000]",
        otherwise="by the search",
    ),
}

BOTTLE_KEYS = {
    "gas": Key(TEXT, "a gas of the catalogue (or give name and composition)"),
    "name": Key(TEXT, "a name for a bottle that holds a mixture"),
    "composition": Key(COMPOSITION, "its gases and their mole fractions"),
    "least": Key("fraction", "the least mole fraction in a blend", default=Bottle.least, within="[0, 1]"),
    "most": Key("fraction", "the greatest mole fraction in a blend", default=Bottle.most, within="[0, 1]"),
}


@dataclass(frozen=True)
class Table:
    """A table of the case file: its keys, what it describes and whether a case must have it."""

    keys: dict[str, Key]
    help: str
    required: bool = False


TABLES = {
    "ambient": Table(AMBIENT, "the surroundings", True),
    "compressor": Table(COMPRESSOR, "the compressor", True),
    "circuit": Table(CIRCUIT, "the two pressures", True),
    "aftercooler": Table(AFTERCOOLER, "the aftercooler"),
    "recuperator": Table(RECUPERATOR, "the recuperator"),
    "recuperator_tubes": Table(RECUPERATOR_TUBES, "the tubes of the recuperator"),
    "cold_end": Table(COLD_END, "the cold end", True),
    "search": Table(SEARCH, "what the search may do"),
    "volumes": Table(VOLUMES, "the volumes that hold the charge while the machine runs"),
    "cold_mass": Table(COLD_MASS, "what is cooled down, and its heat leak"),
    "sensitivity": Table(SENSITIVITY, "by how much inputs are off"),
    "standstill": Table(STANDSTILL, "the circuit at rest"),
    "throttle": Table(THROTTLE, "the capillary or needle valve"),
    "cascade": Table(CASCADE, "a cascade of vapour-compression stages for the same load"),
    "precooler": Table(PRECOOLER, "a vapour-compression stage that precools the high side"),
    "separator": Table(SEPARATOR, "a phase separator behind the aftercooler"),
    "compare": Table(COMPARE, "which roads to the load are compared, and over what temperatures"),
    "liquefier": Table(LIQUEFIER, "the gas to be liquefied and its passage"),
    "rating": Table(RATING, "the label of the compressor, or its polynomials"),
}
