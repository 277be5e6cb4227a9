"""Local search by sequential linear programming in the smooth max-min form.

Cooling is q = min over temperatures of the enthalpy difference, which has ridges in the blend where the
pinch jumps from one temperature to another. With t for q the ridges become constraints,

    maximise ln t + gain    subject to    difference(T_k) >= t for every T_k, margins >= 0,

smooth in the blend. Each step linearises differences, gain and margins around the place reached and
solves the linear programme within a trust region; missed margins enter with a penalty. The programmes
of all climbs are put side by side into one.

Source: Fletcher & Sainz de la Maza, Mathematical Programming 43 (1989) 235-256 (from memory), for trust
regions around linear programmes with an exact penalty.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from mixjt.studies.search.evaluate import Grid, Samples
from mixjt.studies.search.grids import close_grid
from mixjt.studies.search.landscape import Landscape, Place, View
from mixjt.studies.search.pinches import levels
from mixjt.studies.search.programme import Programme, build_programme, solve_side_by_side
from mixjt.workers import in_threads

STEP = 3e-3  # of a fraction and of a logarithm of pressure, for finite differences
LARGEST_RADIUS, SMALLEST_RADIUS = 0.5, 1e-4
TRACE = 1e-6
ACCEPTED, GOOD, POOR = 0.05, 0.7, 0.25  # share of the promised gain


@dataclass(frozen=True)
class Slopes:
    """Linear model around a place; the v variables are the bottles present, then the free pressures.

    level (m,) [J/mol] is what must stay above the cooling (see `mixjt.studies.search.pinches`);
    difference (m, v), gain (v,) and margins (k, v) are derivatives at fixed cooling; gain_cooling and
    margins_cooling (k,) those for cooling [mol/J].
    """

    bottles: np.ndarray
    free: np.ndarray
    level: np.ndarray
    difference: np.ndarray
    gain: np.ndarray
    margins: np.ndarray
    gain_cooling: float
    margins_cooling: np.ndarray

    @property
    def finite(self) -> bool:
        """Whether the property model had an answer everywhere."""
        parts = self.level, self.difference, self.gain, self.margins, self.gain_cooling, self.margins_cooling
        return all(np.all(np.isfinite(part)) for part in parts)


@dataclass
class Climb:
    """One local search: where it stands and how far its linear model is trusted.

    close is COARSE or FINE (see `mixjt.studies.search.grids`) for grids that follow the place, 0 for the
    grid it starts with throughout.
    """

    place: Place
    grid: Grid
    close: int = 0
    view: View | None = None
    slopes: Slopes | None = None
    radius: float = 0.15
    finished: bool = False

    @property
    def merit(self) -> float:
        """Of the place reached."""
        return -np.inf if self.view is None else float(self.view.merit[0])


@dataclass
class _Move:
    """Where a climb may go next, what its linear model promises there, and what is there."""

    climb: Climb
    place: Place
    promised: float
    grid: Grid
    programme: Programme
    answer: np.ndarray
    view: View | None = None

    @property
    def kept(self) -> float:
        """Share of the promise that is kept."""
        return float(self.view.merit[0] - self.climb.merit) / self.promised


def advance(landscape: Landscape, climbs: list[Climb], rounds: int, tolerance: float) -> None:
    """Take all climbs some rounds further, or until their linear models promise less than tolerance."""
    for _ in range(rounds):
        active = [climb for climb in climbs if not climb.finished]
        if not active:
            return
        stale = [climb for climb in active if climb.slopes is None]
        _linearise(landscape, stale)
        active = [climb for climb in active if not climb.finished]
        if active:
            _step(landscape, active, tolerance)


def fit_grid(landscape: Landscape, climb: Climb) -> None:
    """Give a climb the close grid that fits where it stands, and look at the place on it."""
    _look(landscape, [climb])
    climb.grid = _grid_for(landscape, climb, climb.view)
    _look(landscape, [climb])


def _linearise(landscape: Landscape, climbs: list[Climb]) -> None:
    """Give climbs a linear model, new ones with close grids first a grid that fits where they stand."""
    unknown = [climb for climb in climbs if climb.close and climb.view is None]
    _look(landscape, unknown)
    for climb in unknown:
        climb.finished = not np.isfinite(climb.merit)
        if not climb.finished:
            climb.grid = _grid_for(landscape, climb, climb.view)
    climbs = [climb for climb in climbs if not climb.finished]
    list(in_threads(lambda group: _linearise_group(landscape, group), _sharing_a_grid(climbs), landscape.model.threads))


@np.errstate(invalid="ignore")  # a place that moves no gas has no slope
def _linearise_group(landscape: Landscape, climbs: list[Climb]) -> None:
    """The neighbourhood of all places, with the cooling of each held at that of the place itself.

    Neighbours in the blend come from the property model's derivatives, those in pressure are swept.
    """
    free = np.flatnonzero(np.diff(landscape.request.pressure_ranges, axis=1)[:, 0] > 0.0)
    samples, rows = _neighbourhoods(landscape, climbs, free)
    first = np.array([own[0] for own in rows])
    cooling = np.concatenate([np.full(own.size, samples.cooling[own[0]]) for own in rows])
    more = np.maximum(STEP * np.abs(cooling[first]), 1e-3)
    twice = np.concatenate([np.arange(cooling.size), first])  # the places once more, cooling more
    held = landscape.evaluator.judge(samples.part(twice), np.concatenate([cooling, cooling[first] + more]))
    views = landscape.seen(samples.part(first), held.part(first))
    for number, (climb, own) in enumerate(zip(climbs, rows, strict=True)):
        here, near, cooled = own[0], own[1:], cooling.size + number
        climb.view = views.part(slice(number, number + 1))
        level, change = _limits(samples.part(own))
        slopes = Slopes(
            bottles=np.array(climb.place.present),
            free=free,
            level=level,
            difference=change.T / STEP,
            gain=(held.log_gain[near] - held.log_gain[here]) / STEP,
            margins=(held.margins[near] - held.margins[here]).T / STEP,
            gain_cooling=float((held.log_gain[cooled] - held.log_gain[here]) / more[number]),
            margins_cooling=(held.margins[cooled] - held.margins[here]) / more[number],
        )
        climb.slopes = slopes if np.isfinite(climb.merit) and slopes.finite else None
        climb.finished = climb.slopes is None


def _limits(samples: Samples) -> tuple[np.ndarray, np.ndarray]:
    """What must stay above the cooling, as `levels`; in a recuperator of stated conductance that is one number, and smooth."""
    if samples.apart.shape[1]:
        return samples.cooling[:1], samples.cooling[1:, None] - samples.cooling[0]
    return levels(samples.grid.recuperator[: samples.grid.cold], samples.difference)


def _neighbourhoods(landscape: Landscape, climbs: list[Climb], free: np.ndarray) -> tuple[Samples, list[np.ndarray]]:
    """Samples of each place, of it with a bottle's fraction raised, and of it with a free pressure raised.

    The second part tells for every climb its rows, in that order.
    """
    count, bottles = len(climbs), max(len(climb.place.present) for climb in climbs)
    places = landscape.trials(*_rows([climb.place for climb in climbs]))
    steps = np.zeros((count, bottles, places.z.shape[1]))
    for number, climb in enumerate(climbs):
        raised = landscape.trials(*_rows(_with_more(climb.place)))
        steps[number, : len(raised.z)] = raised.z - places.z[number]
    samples = landscape.evaluator.sample_around(climbs[0].grid, places, steps)
    rows = [
        np.concatenate([[number], count + number * bottles + np.arange(len(climb.place.present))])
        for number, climb in enumerate(climbs)
    ]
    if free.size:
        pressed = [_pressed(climb.place, pressure) for climb in climbs for pressure in free]
        swept, start = landscape.sample(climbs[0].grid, *_rows(pressed)), len(samples.high)
        samples = samples.joined(swept)
        rows = [
            np.concatenate([own, start + number * free.size + np.arange(free.size)]) for number, own in enumerate(rows)
        ]
    sizes = [own.size for own in rows]
    return samples.part(np.concatenate(rows).astype(int)), np.split(np.arange(sum(sizes)), np.cumsum(sizes)[:-1])


def _with_more(place: Place) -> list[Place]:
    """The place with each bottle's fraction raised."""
    places = []
    for bottle in place.present:
        amounts = place.amounts.copy()
        amounts[bottle] += STEP
        places.append(Place(amounts / amounts.sum(), place.log_pressures))
    return places


def _pressed(place: Place, pressure: int) -> Place:
    """The place with one pressure raised."""
    raised = place.log_pressures.copy()
    raised[pressure] += STEP
    return Place(place.amounts, raised)


def _rows(places: list[Place]) -> tuple[np.ndarray, np.ndarray]:
    return np.array([place.amounts for place in places]), np.array([place.log_pressures for place in places])


def _sharing_a_grid(items: list) -> list[list]:
    groups: dict[int, list] = {}
    for item in items:
        groups.setdefault(id(item.grid), []).append(item)
    return list(groups.values())


def _step(landscape: Landscape, climbs: list[Climb], tolerance: float) -> None:
    """Solve the programmes, try where they lead, and move where the merit rises about as promised."""
    programmes = [
        build_programme(landscape, climb.place, climb.view, climb.slopes, climb.radius) for climb in climbs
    ]
    moves = []
    for climb, programme, answer in zip(climbs, programmes, solve_side_by_side(programmes)):
        promised = -np.inf if answer is None else programme.promised(answer)
        if promised < tolerance:
            climb.finished = True
        else:
            moves.append(_Move(climb, _moved(climb, answer), promised, climb.grid, programme, answer))
    _look(landscape, moves)
    if landscape.request.carries_load:
        _correct(landscape, moves)
    closer = [move for move in moves if move.climb.close and move.kept > ACCEPTED]
    for move in closer:  # the old grid may have lost sight of a pinch
        move.grid = _grid_for(landscape, move.climb, move.view)
    _look(landscape, closer)
    for move in moves:
        _accept_or_shrink(move)


def _correct(landscape: Landscape, moves: list[_Move]) -> None:
    """Where a move keeps little of its promise, try the one that allows for how the conditions bent on its way.

    Along a curved condition that always binds, as that of the load does, steps would shrink without it: the second-order
    correction of R. Fletcher, Practical Methods of Optimization, 2nd ed. 1987, section 14.4 (from memory).
    """
    poor = [move for move in moves if not move.kept >= GOOD and np.isfinite(move.view.merit[0])]
    programmes = []
    for move in poor:
        before, after = move.climb.view, move.view
        margins = (after.judgement.margins[0] - before.judgement.margins[0]) / landscape.evaluator.steps
        cooling = float(after.samples.cooling[0] - before.samples.cooling[0])
        programmes.append(move.programme.corrected(move.answer, margins, cooling))
    answers = solve_side_by_side(programmes)
    others = [
        (move, replace(move, place=_moved(move.climb, answer), view=None))
        for move, answer in zip(poor, answers, strict=True) if answer is not None
    ]  # fmt: skip
    _look(landscape, [other for _, other in others])
    for move, other in others:
        if other.view.merit[0] > move.view.merit[0]:
            move.place, move.view = other.place, other.view


def _grid_for(landscape: Landscape, climb: Climb, view: View) -> Grid:
    return close_grid(landscape.request, view.samples, view.judgement, climb.close)


def _look(landscape: Landscape, moves: list[_Move]) -> None:
    """Evaluate where moves lead, on their grids; those that share one are evaluated together."""

    def seen(group: list[_Move]) -> None:
        views = landscape.view(group[0].grid, *_rows([move.place for move in group]))
        for row, move in enumerate(group):
            move.view = views.part(slice(row, row + 1))

    list(in_threads(seen, _sharing_a_grid(moves), landscape.model.threads))


def _moved(climb: Climb, answer: np.ndarray) -> Place:
    """Where a programme's answer leads."""
    bottles, free = climb.slopes.bottles, climb.slopes.free
    amounts, log_pressures = climb.place.amounts.copy(), climb.place.log_pressures.copy()
    amounts[bottles] += answer[: bottles.size]
    amounts[amounts < TRACE] = 0.0  # only where no smallest fraction is asked for
    log_pressures[free] += answer[bottles.size : bottles.size + free.size]
    return Place(amounts / amounts.sum(), log_pressures)


def _accept_or_shrink(move: _Move) -> None:
    climb = move.climb
    if move.kept >= GOOD:
        climb.radius = min(2.0 * climb.radius, LARGEST_RADIUS)
    elif not move.kept >= POOR:
        climb.radius *= 0.4
    if move.kept > ACCEPTED:
        climb.place, climb.view, climb.grid, climb.slopes = move.place, move.view, move.grid, None
    climb.finished = climb.radius < SMALLEST_RADIUS
