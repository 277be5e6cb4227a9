"""Keys of the table [throttle]."""

from __future__ import annotations

from mixjt.components.friction import TWO_PHASE_VISCOSITIES
from mixjt.files.schema import TEXT, WHOLE, Key
from mixjt.studies.throttle import ThrottleRequest

THROTTLE = {
    "diameter": Key("length", "the inner diameter of the capillary", within="[5e-5, 2e-2]", otherwise="to be found"),
    "length": Key("length", "the length of the capillary", within="[1e-3, 100]", otherwise="to be found"),
    "parallel": Key(WHOLE, "equal capillaries side by side", default=ThrottleRequest.parallel, within="[1, 100]"),
    "roughness": Key("length", "the roughness of the bore", default=ThrottleRequest.roughness, within="[0, 1e-4]"),
    "entrance_loss": Key(
        "number", "the loss coefficient of the entrance, 0.5 for a square edge",
        default=ThrottleRequest.entrance_loss, within="[0, 10]",
    ),
    "tolerance": Key(
        "length", "what the diameter may be off, to either side",
        default=ThrottleRequest.tolerance, within="[0, 1e-3]",
    ),
    "debris": Key("length", "the diameter lost to wax or debris", default=ThrottleRequest.debris, within="[0, 1e-3]"),
    "two_phase_viscosity": Key(
        TEXT, "how liquid and vapour share one viscosity",
        default=ThrottleRequest.viscosity, choices=tuple(TWO_PHASE_VISCOSITIES),
    ),
    "heat_to_return": Key(
        "heat_per_length", "heat that each tube gives to a return line it is soldered to", within="(0, 1e4]",
        otherwise="none",
    ),
    "return_effectiveness": Key(
        "fraction", "instead of heat_to_return: share of the heat that would bring the inlet to the evaporator outlet",
        within="(0, 1)", otherwise="none",
    ),
    "bores": Key("length", "diameters to compare", within="[5e-5, 2e-2]", many=True, otherwise="usual ones"),
    "valve_kv": Key("number", "the Kv in m3/h of a needle valve to compare", within="(0, 100]"),
}  # fmt: skip
