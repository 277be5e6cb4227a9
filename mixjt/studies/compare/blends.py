"""The blend that carries a load with the least power, from blends that are good nearby: a local search.

What is known nearby and the best of its neighbours are climbed from side by side, and the best is solved in full. A
full search looks at every set of bottles; this one does not, and is tens of times quicker.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from mixjt.errors import UnreachableError
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import Interrupted
from mixjt.studies.search.archive import Archive, Find
from mixjt.studies.search.climb import Climb, advance
from mixjt.studies.search.finish import Finished, solve_all
from mixjt.studies.search.grids import COARSE, FINE, ROUGH, common_grid
from mixjt.studies.search.landscape import Landscape, Place
from mixjt.studies.search.neighbours import variants
from mixjt.studies.search.obstacle import obstacle
from mixjt.studies.search.search_request import SearchRequest
from mixjt.studies.search.starts import space_filling, towards

BEST = 2  # places climbed from besides the first
NEAR = 2  # starts whose neighbours are looked at
MORE, SHARE = 2, 0.05  # bottles added at once, and the share of each
ROUNDS, FINE_ROUNDS = 8, 8
RADIUS, FINE_RADIUS = 0.15, 0.04
TOLERANCE, FINE_TOLERANCE = 1e-3, 1e-4  # of the merit, promised by the linear model
NEARLY = 1.5  # of a bottle's least fraction: it may be better to do without


@dataclass(frozen=True)
class Climbed:
    """Finds, best first, in their landscape."""

    landscape: Landscape
    finds: tuple[Find, ...]

    @property
    def merit(self) -> float:
        """Logarithm of COP of the best feasible find; minus infinity where there is none."""
        return self.finds[0].merit if self.finds and self.finds[0].feasible else -np.inf


    @property
    def places(self) -> list[Place]:
        """Where the finds stand, best first."""
        return [find.place for find in self.finds]


def looked_at(model: PropertyModel, request: SearchRequest, places: Sequence[Place]) -> Climbed:
    """The best of each set of bottles among some places, on a rough grid."""
    landscape, found = Landscape(model, request), Archive()
    amounts, pressures = (np.array([getattr(place, name) for place in places]) for name in ("amounts", "log_pressures"))
    found.offer_view(landscape.view(common_grid(request, ROUGH), amounts, pressures), amounts, pressures)
    return Climbed(landscape, tuple(found.best()))


def climbed(model: PropertyModel, request: SearchRequest, starts: Sequence[Place], samples: int = 0) -> Climbed:
    """Climb on coarse grids from the first place, from the best others and from the best of as many bottles as allowed.

    Parameters
    ----------
    model : PropertyModel
    request : SearchRequest
    starts : sequence of Place
        For instance of the blend at a neighbouring temperature; the sets next to the first ones are looked at too.
    samples : int
        Of a space-filling start.
    """
    near = [place for start in starts[:NEAR] for place in _neighbours(request, start)]
    looked = looked_at(model, request, [*starts, *near, *sampled(request, samples)])
    full = [place for place in looked.places if len(place.present) == request.counts[-1]]
    others = [place for place in looked.places if place.present != starts[0].present]
    chosen = (*full[:1], *others[:BEST], starts[0])  # what a bottle is not worth a climb shows
    places = {place.present: place for place in chosen}.values()
    coarse = common_grid(request, COARSE)
    climbs = [Climb(place, coarse, close=COARSE, radius=RADIUS) for place in places]
    return _climb(looked.landscape, climbs, ROUNDS, TOLERANCE)


def polished(model: PropertyModel, request: SearchRequest, starts: Sequence[Place], rounds: int = FINE_ROUNDS) -> Climbed:
    """Climb on fine grids, from places and from them without the bottles that hardly count."""
    places = [*starts, *(fewer for place in starts if (fewer := _without_traces(request, place)) is not None)]
    fine = common_grid(request, FINE)
    climbs = [Climb(place, fine, close=FINE, radius=FINE_RADIUS) for place in places]
    return _climb(Landscape(model, request), climbs, rounds, FINE_TOLERANCE)


def finished(climb: Climbed) -> tuple[Finished, bool]:
    """The best find solved in full, and whether an interruption came.

    Raises
    ------
    UnreachableError
        Where none cools within the limits.
    """
    landscape = climb.landscape
    if not np.isfinite(climb.merit):
        raise UnreachableError(obstacle(landscape, list(climb.finds)))
    lost: list[str] = []
    for find in climb.finds:
        solved, why, stopped = solve_all(landscape, [find], quick=True, report=lambda *_: None)
        if solved:
            return solved[0], stopped
        if stopped:
            raise Interrupted
        lost += why
    raise UnreachableError("no blend is left once solved in full: " + "; ".join(lost))


def _without_traces(request: SearchRequest, place: Place) -> Place | None:
    """The place without bottles that a climb has pressed down to their least fraction; None where it has none."""
    pressed = (place.amounts > 0.0) & (place.amounts < NEARLY * request.lowest) & ~request.required
    present = (place.amounts > 0.0) & ~pressed
    if not pressed.any() or not request.possible(present):
        return None
    shares = np.where(present, place.amounts, 0.0)
    return Place(towards(request, present[None], shares[None])[0], place.log_pressures)


def _neighbours(request: SearchRequest, start: Place) -> list[Place]:
    """Places with one bottle more, fewer or exchanged, and with a little of as many more as a blend may have."""
    absent = np.flatnonzero(start.amounts == 0.0)
    wanted = list(variants(start))
    for added in combinations(absent, min(request.counts[-1] - len(start.present), MORE, absent.size)):
        amounts = start.amounts.copy()
        amounts[list(added)] = SHARE
        wanted.append(amounts / amounts.sum())
    wanted = [each for each in wanted if np.count_nonzero(each) in request.counts and request.possible(each > 0.0)]
    if not wanted:
        return []
    wanted = np.array(wanted)
    return [Place(amounts, start.log_pressures) for amounts in towards(request, wanted > 0.0, wanted)]


def sampled(request: SearchRequest, samples: int) -> list[Place]:
    """Places of a space-filling start."""
    return [Place(*row) for row in zip(*space_filling(replace(request, samples=samples)), strict=True)] if samples else []


def _climb(landscape: Landscape, climbs: list[Climb], rounds: int, tolerance: float) -> Climbed:
    found = Archive()
    for _ in range(rounds):
        advance(landscape, climbs, 1, tolerance)
        for climb in climbs:
            if climb.view is not None:
                found.offer_climb(climb)
        if all(climb.finished for climb in climbs):
            break
    return Climbed(landscape, tuple(found.best()))
