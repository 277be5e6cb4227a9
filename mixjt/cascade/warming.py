"""What it costs to warm cold suction gas: one load with gas warmed by hot gas, by the surroundings, by nothing."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mixjt.cascade.cascade_records import WARMINGS, CascadeResult
from mixjt.cascade.design import CascadeRequest, design_cascade
from mixjt.errors import MixjtError
from mixjt.interrupt import Interrupted


@dataclass(frozen=True)
class Warming:
    """The cascade of least power where suction gas is warmed by one of `WARMINGS`; without one, obstacle says why."""

    by: str
    result: CascadeResult | None
    obstacle: str | None = None


def warmings(request: CascadeRequest, stages: int, known: Warming | None = None) -> tuple[Warming, ...]:
    """Designs for every way of warming, fluids and temperatures chosen anew where the request leaves them open.

    The search for fluids is no proof of the best, so what is best with one way of warming is tried with the others too.

    Parameters
    ----------
    request : CascadeRequest
    stages : int
    known : Warming, optional
        What one way gives, if it has been looked for already.
    """
    asked = replace(request, stages=stages, kept=1)
    found = [known if known and known.by == by else _warming(asked, by) for by in WARMINGS]
    if request.fluids is not None:
        return tuple(found)
    winners = {tuple(stage.fluid for stage in one.result.stages) for one in found if one.result is not None}
    return tuple(
        _best(asked, [one, *(_warming(replace(asked, fluids=fluids), one.by) for fluids in winners)]) for one in found
    )


def _best(asked: CascadeRequest, tried: list[Warming]) -> Warming:
    """The best of what works, else the first."""
    return min((one for one in tried if one.result is not None), key=lambda one: asked.rank(one.result), default=tried[0])


def _warming(request: CascadeRequest, by: str) -> Warming:
    try:
        design = design_cascade(replace(request, cascade=replace(request.cascade, suction_warming=by)))
    except MixjtError as error:
        return Warming(by, None, " ".join(str(error).split()))
    if design.interrupted:
        raise Interrupted
    return Warming(by, design.best)
