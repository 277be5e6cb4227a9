"""Keys of the case file's table [sensitivity]."""

from __future__ import annotations

from mixjt.files.schema import WHOLE, Key
from mixjt.studies.robust import STEP
from mixjt.studies.sensitivity import SensitivityRequest
from mixjt.studies.weighing import WeighingRequest

SENSITIVITY = {
    "fraction_steps": Key(
        "fraction", "by how much each gas or bottle is changed, up and down",
        default=SensitivityRequest.fraction_steps,
        within="[0, 0.2]", many=True,
    ),
    "ambient_change": Key(
        "temperature_difference", "by how much the ambient is changed",
        default=SensitivityRequest.ambient_change, within="[0, 50]",
    ),
    "approach_change": Key(
        "temperature_difference", "by how much the recuperator's approach is changed, down to 0.5 K at most",
        default=SensitivityRequest.approach_change, within="[0, 30]",
    ),
    "pressure_change": Key(
        "fraction", "by what part of itself each pressure is changed",
        default=SensitivityRequest.pressure_change, within="[0, 0.5]",
    ),
    "efficiency_change": Key(
        "fraction", "by what part of itself each efficiency and the clearance is changed",
        default=SensitivityRequest.efficiency_change,
        within="[0, 0.5]",
    ),
    "load": Key(
        "power", "the heat that the lowest temperature is asked for", within="(0, 1e5]",
        otherwise="that of [cold_end]",
    ),
    "charge": Key(
        "mass", "the charge weighed in; without one no weighing errors", within="(0, 100]",
        otherwise="that of [volumes] or [standstill]",
    ),
    "weighing_errors": Key(
        "mass", "standard deviation of each mass: one for all, or one for each entry of [blend] in turn",
        default=["1 g"], within="[0, 10]", many=True,
    ),
    "draws": Key(WHOLE, "charges drawn with weighing errors", default=WeighingRequest.draws, within="[1, 100000]"),
    "seed": Key(WHOLE, "start of the random numbers", default=WeighingRequest.seed, within="[0, 4294967295]"),
    "worst_case_step": Key(
        "fraction", "what each gas or bottle may be off in the worst case of --robust", default=STEP,
        within="(0, 0.2]",
    ),
}  # fmt: skip
