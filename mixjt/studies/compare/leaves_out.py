"""What the model of each road leaves out, said beside its figures."""

from __future__ import annotations

from mixjt.circuit.solve import PLAIN, PRECOOLED, SEPARATOR

_EVERY_BLEND = (
    "composition shift: the blend that circulates is leaner in heavy gases than the charge",
    "oil carried over into the cold end, where it stiffens and plugs the throttle",
    "cool-down: warm, the circuit has less capacity than here and starts at a higher pressure",
    "heat leaking into the recuperator, and into the cold end beyond that of the coldest stage in [cascade]",
)
_CASCADE = (
    "oil return from cold evaporators, often the hardest part of a low stage",
    "pull-down: low-stage pressures are highest at the start, and the upper stages must run first",
    "compressors come in steps: displacements are exact here",
    "heat leaks other than those stated in [cascade]",
    "controls, cut-outs and expansion vessels",
)
_MORE = {
    PLAIN: (),
    PRECOOLED: ("the precooler's own charge, oil and control",),
    SEPARATOR: (
        "a separator that divides imperfectly, and the second throttle to be set",
        "blends good only with a separator and far from every good plain blend",
    ),
}


def leaves_out(road: str) -> tuple[str, ...]:
    """Short sentences for a road of `mixjt.studies.compare.compare_request.ROADS`."""
    return (*_EVERY_BLEND, *_MORE[road]) if road in _MORE else _CASCADE
