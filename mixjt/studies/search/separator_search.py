"""Blends for a circuit with a phase separator, from the shortlist of a search for the plain one.

The plain search is global; here its best blends are looked at again with the separator, and the best of them
polished by a simplex search over their fractions on a rough grid, then solved in full; where a polished one cannot be
solved, the blend stays as it was. A blend good only with a separator, and far from every good
plain one, is missed.

Source: Nelder & Mead, Computer Journal 7 (1965) 308-313 (from memory), as scipy has it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.layouts.separator import Separator, SeparatorCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import grid_cooling, solve_circuit
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import keeping
from mixjt.studies.search.evaluate import Grid
from mixjt.studies.search.finish import circuit_at
from mixjt.studies.search.freezing_limit import FreezingConstraint
from mixjt.studies.search.grids import COMMON, common_grid, suction_grid
from mixjt.studies.search.landscape import Landscape, Place, log_cooling, place_of
from mixjt.studies.search.search_request import COOLING_PER_CONDUCTANCE, SearchRequest
from mixjt.studies.search.search_result import SearchResult, objective_value

POINTS = 48
POLISHED = 4  # blends
EVALUATIONS = 80  # for each of them
STEP = 0.15  # of the logarithm of a fraction, in the first simplex
SUPERHEAT_SPARE = 1.5  # K, kept for what the rough grid misses, but not dearly
SUPERHEAT_SHARE = 0.3  # of the penalty
OUT_OF_BOUNDS = 30.0  # of the merit, for each unit of a fraction by which a bound is missed
PENALTY = 1.0  # of the merit, for each kelvin, or like step, by which a limit is missed
NOTHING_WORKS = -1e3  # merit of a blend that no circuit can be solved for
STILL_PLAIN = "these are plain circuits, without the separator"

Report = Callable[[str, int, int, float | None], None]


@dataclass(frozen=True)
class Separated:
    """Blends solved with a separator, in the order of their starts, and what became of the others."""

    solved: tuple[tuple[dict[str, float], CircuitResult], ...]
    lost: tuple[str, ...]
    evaluations: int
    interrupted: bool


def search_separator(
    model: PropertyModel,
    request: SearchRequest,
    circuit: SeparatorCircuit,
    plain: SearchResult,
    report: Report | None = None,
) -> SearchResult:
    """Re-evaluate and polish what a plain search found.

    Parameters
    ----------
    model : PropertyModel
        Of at least request.gases.
    request : SearchRequest
        That the plain search answered.
    circuit : SeparatorCircuit
        The same machine with a separator.
    plain : SearchResult
    report : function, optional
        Called with stage, done, total and the best value so far.

    Returns
    -------
    SearchResult
        Of circuits with a separator; best_by_count among the blends looked at.

    Raises
    ------
    InputError
        For the aim "cooling per conductance", which the rough evaluation does not know.
    UnreachableError
        Where none of the blends works with a separator.

    An interruption (Ctrl-C) keeps what was found, if need be the plain circuits.
    """
    if request.objective == COOLING_PER_CONDUCTANCE:
        raise InputError('a search with a separator knows the objectives "cooling power" and "cop" only')
    starts = _starts(plain, request)
    found = with_separator_polished(model, request, circuit, starts, len(starts), POLISHED, report)
    if found.interrupted and not found.solved:
        return replace(plain, interrupted=True, messages=(*plain.messages, STILL_PLAIN))
    return _result(request, plain, found)


def with_separator_polished(
    model: PropertyModel,
    request: SearchRequest,
    circuit: SeparatorCircuit,
    starts: Sequence[Place],
    most: int,
    polished: int,
    report: Report | None = None,
) -> Separated:
    """Solve the best starts, at most so many, the best of these polished first.

    Raises
    ------
    UnreachableError
        Where none of them works with a separator.
    """
    polisher = _Polisher(model, request, circuit)
    solved, lost = [], []
    with keeping() as cut:
        ranked = sorted(starts, key=polisher.merit, reverse=True)[:most]
        for number, start in enumerate(ranked):
            places = (polisher.polish(start), start) if number < polished else (start,)
            best, obstacle = polisher.first_solved(places)
            if best is None:
                names = [request.names[i] for i in start.present]
                lost.append(f"a blend of {', '.join(names)} was left out: {obstacle}")
            else:
                solved.append(best)
            if report:
                report("polishing", number + 1, len(ranked), None)
    if not solved and not cut:
        raise UnreachableError("no blend of the plain search works with a separator: " + "; ".join(lost))
    return Separated(tuple(solved), tuple(lost), polisher.evaluations, cut.short)


class _Polisher:
    """Rough evaluation of blends, and their polish; the freezing margin that counts is that of the vapour."""

    def __init__(self, model: PropertyModel, request: SearchRequest, circuit: SeparatorCircuit):
        self.model, self.request, self.circuit = model, request, circuit
        self.freezing = [item for item in request.constraints if isinstance(item, FreezingConstraint)]
        others = tuple(item for item in request.constraints if item not in self.freezing)
        self.landscape = Landscape(model, replace(request, circuit=circuit, constraints=others))
        self.landscape.safety[0] = SUPERHEAT_SPARE
        self.grid = common_grid(self.landscape.request, COMMON)
        self.evaluations = 0

    def merit(self, place: Place, grid: Grid | None = None) -> float:
        """Logarithm of the objective less what missed limits cost; far below all where nothing works."""
        self.evaluations += 1
        try:
            return self._merit(place, grid or self.grid)
        except (UnreachableError, ConvergenceError):
            return NOTHING_WORKS

    def _merit(self, place: Place, grid: Grid) -> float:
        z, circuit = self.landscape.blend(place), circuit_at(self.circuit, place)
        cooling = np.array([grid_cooling(Fluid(self.model, z), circuit, POINTS)])
        samples = self.landscape.sample(grid, place.amounts[None], place.log_pressures[None])
        judgement = self.landscape.evaluator.judge(samples, cooling)
        superheat, *limits = self.landscape.missed(judgement.margins)[0]
        missed = SUPERHEAT_SHARE * superheat + sum(limits) + self._frozen(z, circuit, cooling)
        merit = float((log_cooling(cooling) + judgement.log_gain)[0]) - PENALTY * missed
        return merit - OUT_OF_BOUNDS * self._out_of_bounds(place) if np.isfinite(merit) else NOTHING_WORKS

    def _frozen(self, z: np.ndarray, circuit: SeparatorCircuit, cooling: np.ndarray) -> float:
        """Kelvin by which the vapour misses freezing margins."""
        split, missed = Separator(Fluid(self.model, z), circuit).split, 0.0
        for item in self.freezing:
            pressures = np.array([circuit.suction_pressure]), np.array([circuit.discharge_pressure])
            missed += max(-float(item.margins(self.model, split.y[None], *pressures, cooling / split.vapour_flow)[0]), 0.0)
        return missed

    def _out_of_bounds(self, place: Place) -> float:
        below = np.where(place.amounts > 0.0, self.request.lowest - place.amounts, 0.0)
        return float(np.maximum(below, 0.0).sum() + np.maximum(place.amounts - self.request.highest, 0.0).sum())

    def polish(self, start: Place) -> Place:
        """Simplex search over the logarithms of the fractions of the bottles present."""
        from scipy.optimize import minimize

        present = list(start.present)
        logs, free = np.log(start.amounts[present]), len(present) - 1
        if free < 1:
            return start
        view = self.landscape.view(self.grid, start.amounts[None], start.log_pressures[None])
        grid = suction_grid(self.landscape.request, float(view.judgement.dew_temperature[0]))

        def place(shift: np.ndarray) -> Place:
            amounts = np.zeros_like(start.amounts)
            amounts[present] = np.exp(logs + np.append(shift, 0.0))
            return Place(amounts / amounts.sum(), start.log_pressures)

        simplex = np.vstack([np.zeros(free), STEP * np.eye(free)])
        options = {"maxfev": EVALUATIONS, "initial_simplex": simplex, "fatol": 1e-4, "xatol": 1e-3}
        found = minimize(
            lambda shift: -self.merit(place(shift), grid), np.zeros(free), method="Nelder-Mead", options=options
        )
        return place(found.x)

    def first_solved(self, places: Sequence[Place]) -> tuple[tuple[dict[str, float], CircuitResult] | None, str]:
        """The first of several places that can be solved in full, None where none can be, and what stood in the way."""
        obstacle = ""
        for place in places:
            try:
                return ({self.request.names[i]: float(place.amounts[i]) for i in place.present}, self.solve(place)), ""
            except (UnreachableError, ConvergenceError) as error:
                obstacle = str(error)
        return None, obstacle

    def solve(self, place: Place) -> CircuitResult:
        """In full; raises UnreachableError where a limit is missed by more than rounding."""
        result = solve_circuit(Fluid(self.model, self.landscape.blend(place)), circuit_at(self.circuit, place))
        superheat = result.suction_superheat
        if superheat is not None and superheat < self.request.suction_superheat - 0.5:
            raise UnreachableError(f"its suction superheat is only {superheat:.1f} K")
        for limit in self.request.limits:
            if limit.kept(result, self.request.compressor) < -0.5:
                raise UnreachableError(limit.sentence(result, self.request.compressor))
        for item in self.request.constraints:
            if isinstance(item, FreezingConstraint):
                margin = result.freezing_margin
                if margin is not None and margin < item.smallest - 0.1:
                    raise UnreachableError(f"its freezing margin is only {margin:.1f} K")
            elif item.solved_margin(result) < 0.0:
                raise UnreachableError(f"its full solution misses the {item.name}")
        return result


def _starts(plain: SearchResult, request: SearchRequest) -> list[Place]:
    """Every blend of the plain search once, best first, at the pressures found for it."""
    found = [*zip(plain.amounts, plain.candidates, strict=True)]
    found += [(plain.amounts_by_count[count], result) for count, result in plain.best_by_count.items()]
    places = [place_of(request, result, amounts) for amounts, result in found]
    return list({tuple(np.round(place.amounts, 6)): place for place in reversed(places)}.values())[::-1]


def _result(request: SearchRequest, plain: SearchResult, found: Separated) -> SearchResult:
    def value(pair: tuple[dict[str, float], CircuitResult]) -> float:
        return objective_value(request.objective, pair[1])

    ranked = sorted(found.solved, key=value, reverse=True)
    by_count = {}
    for count in request.counts:
        within = [pair for pair in ranked if len(pair[0]) <= count]
        if within:
            by_count[count] = within[0]
    listed = ranked[: request.shortlist]
    note = "blends come from the search for the plain circuit, the best of them polished for the separator"
    return SearchResult(
        objective=request.objective,
        candidates=tuple(result for _, result in listed),
        values=tuple(value(pair) for pair in listed),
        amounts=tuple(amounts for amounts, _ in listed),
        best_by_count={count: result for count, (_, result) in by_count.items()},
        amounts_by_count={count: amounts for count, (amounts, _) in by_count.items()},
        evaluations=plain.evaluations + found.evaluations,
        seconds=plain.seconds,
        interrupted=plain.interrupted or found.interrupted,
        messages=(note, *found.lost),
    )
