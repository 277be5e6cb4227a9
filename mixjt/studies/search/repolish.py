"""The shortlist once more, polished on a second property model.

The search runs on a fast model; what it found best may not be best by the reference model. From each of the
best blends a local search climbs on the second model, over the same bottles and within the same limits.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from mixjt.cycles.records import CircuitResult
from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.interrupt import Interrupted, keeping
from mixjt.properties.records import PropertyModel
from mixjt.studies.search.archive import Archive
from mixjt.studies.search.climb import Climb, advance
from mixjt.studies.search.finish import solve_all
from mixjt.studies.search.grids import COARSE, common_grid
from mixjt.studies.search.landscape import Landscape, Place
from mixjt.studies.search.request import SearchRequest
from mixjt.studies.search.result import SearchResult

POLISHED = 2  # blends of the shortlist; each costs seconds on the reference model
ROUNDS = 6
TOLERANCE = 1e-4  # of the merit, promised by the linear model
RADIUS = 0.05


@dataclass(frozen=True)
class Repolished:
    """A blend polished and solved on the second model named here; rank is that of the candidate it started from, from 1.

    result is None where the second model found no answer, obstacle says why.
    """

    model: str
    rank: int
    amounts: dict[str, float]
    result: CircuitResult | None
    obstacle: str = ""


def repolish(
    second: PropertyModel,
    request: SearchRequest,
    found: SearchResult,
    report: Callable[[str, int, int], None] | None = None,
    count: int = POLISHED,
) -> tuple[Repolished, ...]:
    """Polish the best candidates of a search on a second property model.

    An interruption (Ctrl-C) ends it early and keeps what was found.

    Parameters
    ----------
    second : PropertyModel
        It must hold the request's gases.
    request : SearchRequest
        What the search was asked for.
    found : SearchResult
    report : function, optional
        Called with stage, done and total.
    count : int
        How many candidates, best first.
    """
    landscape = Landscape(second, request)
    polished: list[Repolished] = []
    chosen = list(zip(found.candidates, found.amounts, strict=True))[:count]
    with keeping():
        for rank, (candidate, amounts) in enumerate(chosen, start=1):
            if report:
                report("second model", rank - 1, len(chosen))
            polished.append(_repolished(landscape, rank, _place(request, candidate, amounts), amounts))
    return tuple(polished)


def _place(request: SearchRequest, candidate: CircuitResult, amounts: dict[str, float]) -> Place:
    shares = np.array([amounts.get(name, 0.0) for name in request.names])
    return Place(shares, np.log([candidate.suction_pressure, candidate.discharge_pressure]))


def _repolished(landscape: Landscape, rank: int, place: Place, amounts: dict[str, float]) -> Repolished:
    climb = Climb(place, common_grid(landscape.request, COARSE), close=COARSE, radius=RADIUS)
    archive = Archive()
    try:
        for _ in range(ROUNDS):
            advance(landscape, [climb], 1, TOLERANCE)
            if climb.view is not None:
                archive.offer_climb(climb)
            if climb.finished:
                break
        finds = list(archive.finds.values())
        finished, lost, stopped = solve_all(landscape, finds, quick=False, report=lambda *_: None)
    except (ConvergenceError, UnreachableError) as error:
        return Repolished(landscape.model.name, rank, amounts, None, str(error))
    if stopped:
        raise Interrupted
    if not finished:
        reason = "; ".join(lost) or "no blend near it meets every limit by the second model"
        return Repolished(landscape.model.name, rank, amounts, None, reason)
    best = max(finished, key=lambda one: one.value)
    return Repolished(landscape.model.name, rank, best.amounts, best.result)
