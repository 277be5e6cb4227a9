"""Keys of the case file's table [precooler].

Defaults are ordinary values of small machines (common practice, no source).
"""

from __future__ import annotations

from mixjt.components.compressor import KINDS
from mixjt.components.precooler import ANY_SIZE, Precooler
from mixjt.files.schema import FLUID, TEXT, Key
from mixjt.properties.pure import fluid_names
from mixjt.studies.precooling import AIMS, COP

WARM, COLD = "warm", "cold"

PRECOOLER = {
    "temperature": Key(
        "temperature", "to which the stage cools the high side", within="[80, 350]",
        otherwise="the best within temperature_range",
    ),
    "temperature_range": Key(
        "temperature", "lowest and highest precooling temperature to try", default=["-40 degC", "25 degC"],
        within="[80, 350]", span=True,
    ),
    "aim": Key(TEXT, "what the best precooling temperature makes greatest", default=COP, choices=AIMS),
    "suction": Key(
        TEXT,
        "warm: a warm recuperator section regains the cold of the return; cold: the compressor draws it in cold",
        choices=(WARM, COLD), otherwise='"warm"; mixjt compare tries both',
    ),
    "capacity": Key(
        "power", "the heat that the stage takes up at most", within="(0, 1e5]", otherwise="no limit"
    ),
    "fluid": Key(FLUID, "the pure fluid of the stage", default=Precooler.fluid, choices=fluid_names()),
    "approach": Key(
        "temperature_difference", "high side's outlet above the evaporating temperature", default=Precooler.approach,
        within="[0, 60]",
    ),
    "condenser_approach": Key(
        "temperature_difference", "condensing temperature above ambient",
        default=Precooler.condenser_approach, within="(0, 60]",
    ),
    "superheat": Key(
        "temperature_difference", "at the evaporator outlet",
        default=Precooler.superheat, within="[0, 40]",
    ),
    "type": Key(TEXT, "the kind of compressor", default=ANY_SIZE.kind, choices=tuple(KINDS)),
    "displacement": Key(
        "volume", "the swept volume of a stage at hand, which then limits its capacity; needs speed",
        within="(0, 1e-2]", otherwise="as large as needed",
    ),
    "speed": Key("frequency", "the speed of the shaft", within="(0, 500]"),
    "clearance": Key("fraction", "dead volume over swept volume", within="[0, 0.5]", otherwise="by type"),
    "isentropic_efficiency": Key(
        "fraction", "ideal over actual work into the gas", within="(0, 1]", otherwise="by type"
    ),
    "motor_efficiency": Key(
        "fraction", "work into the gas over electrical power", within="(0, 1]", otherwise="by type"
    ),
}  # fmt: skip
