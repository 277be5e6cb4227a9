"""The blend that carries a load with the least power, from blends that are good nearby: a local search.

A space-filling start of few blends and what is known nearby are climbed from side by side, and the best is
solved in full. A full search looks at every set of bottles; this one does not, and is tens of times quicker.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.result import CircuitResult
from mixjt.errors import UnreachableError
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import Interrupted
from mixjt.studies.search.archive import Archive, Find
from mixjt.studies.search.climb import Climb, advance
from mixjt.studies.search.finish import Finished, solve_all
from mixjt.studies.search.grids import COARSE, FINE, ROUGH, common_grid
from mixjt.studies.search.landscape import Landscape, Place
from mixjt.studies.search.obstacle import obstacle
from mixjt.studies.search.search_request import SearchRequest
from mixjt.studies.search.starts import space_filling, towards

SAMPLED_STARTS = 4  # of the space-filling start
ROUNDS, FINE_ROUNDS = 8, 8
RADIUS, FINE_RADIUS = 0.15, 0.04
TOLERANCE, FINE_TOLERANCE = 1e-3, 1e-4  # of the merit, promised by the linear model
CLIMBED_ON = 2  # on fine grids
NEARLY = 1.5  # of a bottle's least fraction: it may be better to do without


@dataclass(frozen=True)
class Climbed:
    """Finds of a local search, best first, in their landscape."""

    landscape: Landscape
    finds: tuple[Find, ...]

    @property
    def merit(self) -> float:
        """Logarithm of COP of the best feasible find; minus infinity where there is none."""
        return self.finds[0].merit if self.finds and self.finds[0].feasible else -np.inf


def climbed(model: PropertyModel, request: SearchRequest, starts: Sequence[Place], samples: int) -> Climbed:
    """Climb from known places and from the best of a few samples.

    Parameters
    ----------
    model : PropertyModel
    request : SearchRequest
    starts : sequence of Place
        For instance of the blend at a neighbouring temperature.
    samples : int
        Of the space-filling start.
    """
    landscape = Landscape(model, replace(request, samples=samples))
    found = Archive()
    places = [*starts, *_sampled(landscape)]
    coarse = common_grid(request, COARSE)
    _climb(landscape, found, [Climb(place, coarse, close=COARSE, radius=RADIUS) for place in places], ROUNDS, TOLERANCE)
    polished = Archive()
    fine = common_grid(request, FINE)
    best = found.best(most=CLIMBED_ON)
    places = [find.place for find in best]
    places += [fewer for place in places if (fewer := _without_traces(request, place)) is not None]
    climbs = [Climb(place, fine, close=FINE, radius=FINE_RADIUS) for place in places]
    _climb(landscape, polished, climbs, FINE_ROUNDS, FINE_TOLERANCE)
    return Climbed(landscape, tuple(polished.best() or best))


def finished(climb: Climbed) -> Finished:
    """The best find solved in full.

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
        if stopped:
            raise Interrupted
        if solved:
            return solved[0]
        lost += why
    raise UnreachableError("no blend could be solved in full: " + "; ".join(lost))


def place_of(request: SearchRequest, result: CircuitResult, amounts: Mapping[str, float]) -> Place:
    """Where a solved blend stands: fractions by bottle, and the circuit's pressures."""
    shares = np.array([amounts.get(name, 0.0) for name in request.names])
    return Place(shares, np.log([result.suction_pressure, result.discharge_pressure]))


def _without_traces(request: SearchRequest, place: Place) -> Place | None:
    """The place without bottles that a climb has pressed down to their least fraction; None where it has none."""
    pressed = (place.amounts > 0.0) & (place.amounts < NEARLY * request.lowest) & ~request.required
    present = (place.amounts > 0.0) & ~pressed
    if not pressed.any() or not request.possible(present):
        return None
    shares = np.where(present, place.amounts, 0.0)
    return Place(towards(request, present[None], shares[None])[0], place.log_pressures)


def _sampled(landscape: Landscape) -> list[Place]:
    request = landscape.request
    amounts, log_pressures = space_filling(request)
    sampled = Archive()
    sampled.offer_view(landscape.view(common_grid(request, ROUGH), amounts, log_pressures), amounts, log_pressures)
    return [find.place for find in sampled.best(most=SAMPLED_STARTS)]


def _climb(landscape: Landscape, archive: Archive, climbs: list[Climb], rounds: int, tolerance: float) -> None:
    for _ in range(rounds):
        advance(landscape, climbs, 1, tolerance)
        for climb in climbs:
            if climb.view is not None:
                archive.offer_climb(climb)
        if all(climb.finished for climb in climbs):
            return
