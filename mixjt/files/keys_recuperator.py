"""Keys of the table [recuperator_tubes]."""

from __future__ import annotations

from mixjt.components.tubes import KINDS, METALS, STANDARD_TUBES
from mixjt.files.schema import TEXT, WHOLE, Key
from mixjt.studies.recuperator import RecuperatorRequest

RECUPERATOR_TUBES = {
    "kind": Key(TEXT, "how the tubes lie", True, choices=KINDS),
    "small_diameter": Key("length", "outside diameter of the inner or soldered-on tube", True, within="(0, 0.2]"),
    "small_wall": Key("length", "its wall", True, within="(0, 0.02]"),
    "number": Key(WHOLE, "small tubes in parallel", default=RecuperatorRequest.count, within="[1, 50]"),
    "large_diameter": Key("length", "outside diameter of the outer or large tube", True, within="(0, 0.5]"),
    "large_wall": Key("length", "its wall", True, within="(0, 0.02]"),
    "material": Key(TEXT, "the metal of all tubes", default=RecuperatorRequest.material, choices=tuple(METALS)),
    "high_pressure_in": Key(
        TEXT, "which tubes the high-pressure stream flows in", default="small", choices=("small", "large")
    ),
    "joint_width": Key(
        "length", "width of a solder seam; soldered tubes only",
        default=RecuperatorRequest.joint_width, within="(0, 0.1]",
    ),
    "length": Key("length", "of the exchanger", within="(0, 1000]", otherwise="found for target_approach"),
    "target_approach": Key(
        "temperature_difference", "smallest difference to reach", within="(0, 60]", otherwise="approach of [recuperator]"
    ),
    "heat_leak": Key(
        "power", "heat from outside, spread over the length",
        default=RecuperatorRequest.heat_leak, within="[0, 1e4]",
    ),
    "cells": Key(WHOLE, "cells of the rating", default=RecuperatorRequest.cells, within="[4, 2000]"),
    "tube_norm": Key(
        TEXT, "the norm of the tubes offered in comparison", choices=tuple(STANDARD_TUBES), otherwise="all known"
    ),
}
