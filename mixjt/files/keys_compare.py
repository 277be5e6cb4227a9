"""Keys of the case file's table [compare]."""

from __future__ import annotations

from mixjt.files.schema import TEXT, WHOLE, Key
from mixjt.studies.compare.names import DEFAULT_EFFORT, EFFORTS, ROADS
from mixjt.studies.compare.request import CompareRequest

COMPARE = {
    "roads": Key(
        TEXT, "what to compare: throttle circuits and cascades of so many stages", default=CompareRequest.roads,
        choices=ROADS, many=True,
    ),
    "warmest": Key("temperature", "where the load line begins", default=CompareRequest.warmest, within="[150, 300]"),
    "coldest": Key(
        "temperature", "where it ends", within="[60, 300]", otherwise="where the lightest gas boils"
    ),
    "steps": Key(WHOLE, "temperatures of the load line; 0 for none", default=CompareRequest.steps, within="[0, 60]"),
    "effort": Key(
        TEXT, "how thoroughly blends and fluids are looked for, at the cold end and along the load line",
        default=DEFAULT_EFFORT, choices=tuple(EFFORTS),
    ),
    "suction_pressure_range": Key(
        "pressure", "lowest and highest suction pressure of the blends to try", within="[1e3, 1e7]",
        otherwise="as in [search]", span=True,
    ),
    "discharge_pressure_range": Key(
        "pressure", "lowest and highest discharge pressure of the blends to try", within="[1e3, 1e7]",
        otherwise="as in [search]", span=True,
    ),
}  # fmt: skip
