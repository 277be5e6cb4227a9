"""Last part of the search: the best finds polished on fine grids, then solved as whole circuits."""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass, replace
from itertools import permutations, product

import numpy as np

from mixjt.circuit.recuperator_sizing import SMALLEST
from mixjt.circuit.result import CircuitResult
from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.interrupt import keeping
from mixjt.parts import places
from mixjt.studies.search.archive import Archive, Find
from mixjt.studies.search.climb import Climb, advance, fit_grid
from mixjt.studies.search.evaluate import load_margin
from mixjt.studies.search.explore import Report
from mixjt.studies.search.grids import FINE, common_grid
from mixjt.studies.search.landscape import Landscape, Place
from mixjt.studies.search.precooled_search import duty_margin
from mixjt.studies.search.search_result import worth
from mixjt.workers import in_threads

POLISHED_PER_COUNT = 2
STEPS = 15
TOLERANCE = 1e-5  # of the merit, promised by the linear model
RADIUS = 0.04
CORRECTIONS = 4  # solutions of a blend, polished again in between as long as it misses a constraint or keeps too far from one
SIZED_CORRECTIONS = 12  # the same where the aftercooler's outlet, or what the tubes do, moves with the blend
OFF = 0.05  # steps; what is farther is too far
HALVINGS, WORTHWHILE = 4, 2e-3  # of the way back to a better blend that missed a condition, which by so much, relative, is better
LEAST_POWER = 1e-9  # W, of cooling that has a logarithm
MARGIN_TOLERANCE = 1e-6  # steps
USUAL_APPROACH = 20.0  # K, at most
GRIDS = 2  # fitted to a find one after the other, until the pressures along the recuperator are those of its ends
QUICK_SOLUTIONS = 3
BESIDE = (0.002, 0.004, 0.008)  # mole fraction from one bottle to another, where a climb is stuck


@dataclass(frozen=True)
class Finished:
    """A blend solved in full; amounts by bottle; ends in every ambient asked for, coldest first, result being the worst of
    them and value its `worth`.
    """

    place: Place
    ends: tuple[CircuitResult, ...]
    result: CircuitResult
    value: float
    amounts: dict[str, float]


def chosen_for_polish(landscape: Landscape, found: Archive) -> list[Find]:
    """The best finds of each number of bottles and the best of all."""
    request = landscape.request
    chosen = [find for count in request.counts for find in found.best(count, POLISHED_PER_COUNT)]
    chosen += [find for find in found.best(most=request.shortlist) if find not in chosen]
    return chosen


def polish(landscape: Landscape, finds: list[Find], polished: Archive, report: Report) -> None:
    """Climb from finds on grids of their own; results go to the archive."""
    climbs = _fine_climbs(landscape, finds)
    for step in range(STEPS):
        advance(landscape, climbs, 1, TOLERANCE)
        for climb in climbs:
            if climb.view is not None:
                polished.offer_climb(climb)
        report("polishing", step + 1, STEPS)
        if all(climb.finished for climb in climbs):
            return


def _fine_climbs(landscape: Landscape, finds: list[Find]) -> list[Climb]:
    grid = common_grid(landscape.request, FINE)
    return [Climb(find.place, grid, close=FINE, radius=RADIUS) for find in finds]


def solve_all(
    landscape: Landscape, finds: list[Find], quick: bool, report: Report
) -> tuple[list[Finished], list[str], bool]:
    """Solve the best finds of each number of bottles and the best of all as whole circuits.

    Parameters
    ----------
    quick : bool
        After an interruption: fewer of the best of all.

    Returns
    -------
    finished : list of Finished
    lost : list of str
        What became of blends that could not be solved or miss a constraint after all.
    stopped : bool
        Whether this was interrupted in its turn; one blend is solved even then.
    """
    chosen = _chosen_for_solution(landscape, finds, quick)
    solved: list[Finished | str] = []

    def solve(find: Find) -> Finished | str:
        try:
            return _finish(landscape, find)
        except (ConvergenceError, UnreachableError) as error:
            return f"a blend of {_names(landscape, find)} was left out: {error}"

    with keeping() as cut, closing(in_threads(solve, chosen, landscape.model.threads)) as answers:
        for one in answers:
            solved.append(one)
            report("solving", len(solved), len(chosen))
    while cut and len(solved) < len(chosen) and not any(isinstance(one, Finished) for one in solved):
        solved.append(solve(chosen[len(solved)]))
    finished = [one for one in solved if isinstance(one, Finished)]
    return finished, [one for one in solved if isinstance(one, str)], cut.short


def _chosen_for_solution(landscape: Landscape, finds: list[Find], quick: bool) -> list[Find]:
    """Best first, so that an interruption costs the least."""
    ranked = sorted((find for find in finds if find.feasible), key=lambda find: find.rank, reverse=True)
    most = QUICK_SOLUTIONS if quick else landscape.request.shortlist
    wanted = {id(find) for find in ranked[:most]}
    for count in landscape.request.counts:
        wanted.update(id(find) for find in [find for find in ranked if len(find.place.present) == count][:1])
    return [find for find in ranked if id(find) in wanted]


def _finish(landscape: Landscape, find: Find) -> Finished:
    """Solve a find in full; where a margin is less than the batch told, or needlessly more, step back or on and solve again."""
    safety, best, beyond = landscape.safety, None, None
    climb = _fitted(landscape, find.place)
    for _ in range(SIZED_CORRECTIONS if landscape.sized else CORRECTIONS):
        place = climb.place
        found, margins = _solved(landscape, place, _approach(climb))
        short = margins < -MARGIN_TOLERANCE
        if best is not None and (short.any() or found.value < best.value):
            beyond = found if short.any() else beyond
            break
        best, beyond = (best, found) if short.any() else (found, beyond)
        moved = landscape.off(found.ends[-1])
        if moved:
            landscape = landscape.behind(found.ends[-1])
            climb = _fitted(landscape, place)
        wanted = landscape.safety + _told(landscape, climb) - margins
        off = short | ((_told(landscape, climb) < safety + OFF) & (wanted < safety - OFF))
        if not (off.any() or moved):
            break
        safety = np.where(off, wanted, safety)
        climb = replace(climb, slopes=None, radius=RADIUS, finished=False)
        advance(landscape.with_safety(safety), [climb], STEPS, TOLERANCE)
        if climb.place is place and short.any():
            climb = _beside(landscape.with_safety(safety), climb)
        if climb.place is place:
            break
    if best is None:
        worst = landscape.evaluator.names[int(np.argmin(margins))]
        raise UnreachableError(f"its full solution misses the {worst}")
    return best if beyond is None else _between(landscape, best, beyond)


def _fitted(landscape: Landscape, place: Place) -> Climb:
    """A climb from a place, on the close grid that fits there."""
    climb = Climb(place, common_grid(landscape.request, FINE), close=FINE)
    for _ in range(GRIDS):
        fit_grid(landscape, climb)
    return climb


def _approach(climb: Climb) -> float:
    """Of a recuperator of stated conductance, roughly [K]; without one, where a search for it may start."""
    return max(float(climb.view.samples.apart[0].min(initial=USUAL_APPROACH)), SMALLEST)


def _solved(landscape: Landscape, place: Place, approach: float | None) -> tuple[Finished, np.ndarray]:
    """A place solved in full, and its margins (k,) in steps: of each of the batch's, that of its condition."""
    evaluator = landscape.evaluator
    ends = tuple(landscape.solved(place, approach, ambient) for ambient in landscape.request.ambients)
    margins = np.concatenate([_margins(landscape, end) for end in reversed(ends)])
    return _finished(landscape, place, ends), margins[evaluator.conditions] / evaluator.steps


def _told(landscape: Landscape, climb: Climb) -> np.ndarray:
    """The same as the batch tells it."""
    conditions, told = landscape.evaluator.conditions, climb.view.judgement.margins[0] / landscape.evaluator.steps
    return np.array([told[conditions == number].min() for number in conditions])


def _between(landscape: Landscape, best: Finished, beyond: Finished) -> Finished:
    """The best solution on the way from one that meets every condition to one that does not."""
    for _ in range(HALVINGS):
        if beyond.value < best.value * (1.0 + WORTHWHILE):
            break
        ends = best.place, beyond.place
        middle = Place(*(0.5 * (getattr(ends[0], name) + getattr(ends[1], name)) for name in ("amounts", "log_pressures")))
        found, margins = _solved(landscape, middle, beyond.ends[-1].pinch.smallest_approach)
        if np.any(margins < -MARGIN_TOLERANCE):
            beyond = found
        elif found.value > best.value:
            best = found
        else:
            break
    return best


def _beside(landscape: Landscape, climb: Climb) -> Climb:
    """The climb on from the best neighbour of where it is stuck: margins of freezing may be too rough for slopes."""
    place, request = climb.place, landscape.request
    near = []
    for step, (more, less) in product(BESIDE, permutations(place.present, 2)):
        amounts = place.amounts.copy()
        amounts[[more, less]] += step, -step
        if amounts[less] >= request.lowest[less] and amounts[more] <= request.highest[more]:
            near.append(amounts)
    if near:
        merits = landscape.view(climb.grid, np.array(near), np.tile(place.log_pressures, (len(near), 1))).merit
        climb = Climb(Place(near[int(np.argmax(merits))], place.log_pressures), climb.grid, close=FINE, radius=RADIUS)
        advance(landscape, [climb], STEPS, TOLERANCE)
    return climb


def _margins(landscape: Landscape, result: CircuitResult) -> np.ndarray:
    """The least margin of each condition in a solved circuit, in the evaluator's order."""
    request, evaluator = landscape.request, landscape.evaluator
    superheat = result.suction_superheat
    if superheat is None:  # no dew point: all that counts is whether the suction is dry
        superheat = -np.inf if result.points[places.COMPRESSOR_INLET].liquids else np.inf
    margins = [superheat - request.suction_superheat]
    margins += [limit.kept(result, evaluator.compressor) for limit in evaluator.limits]
    if evaluator.precooling.limited:
        margins.append(duty_margin(evaluator.precooling, result))
    if request.carries_load:
        margins.append(load_margin(max(result.cooling_power, LEAST_POWER), request.load))
    margins += [item.solved_margin(result) for item in request.constraints]
    return np.array(margins)


def _finished(landscape: Landscape, place: Place, ends: tuple[CircuitResult, ...]) -> Finished:
    names, objective = landscape.request.names, landscape.request.objective
    result = min(ends, key=lambda end: worth(objective, end))
    amounts = {names[i]: float(place.amounts[i]) for i in place.present}
    return Finished(place, ends, result, worth(objective, result), amounts)


def _names(landscape: Landscape, find: Find) -> str:
    return ", ".join(landscape.request.names[i] for i in find.place.present)
