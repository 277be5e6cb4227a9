"""Blends for a circuit with a phase separator, from the shortlist of a search for the plain one.

The plain search is global; here its best blends are looked at again with the separator, and the best of them
polished by a simplex search over their fractions on a rough grid, then solved in full; where the polish did
not help after all, the blend stays as it was. A blend good only with a separator, and far from every good
plain one, is missed.

Source: Nelder & Mead, Computer Journal 7 (1965) 308-313 (from memory), as scipy has it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from mixjt.blend import composition_matrix
from mixjt.circuit.layouts.separator import Separator, SeparatorCircuit, separator_cooling
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import circuit_of, solve_circuit
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import keeping
from mixjt.parts.compressor.compression import compress
from mixjt.studies.search.freezing_limit import FreezingConstraint
from mixjt.studies.search.result import SearchResult, objective_value
from mixjt.studies.search.search_request import COOLING_PER_CONDUCTANCE, COOLING_POWER, SearchRequest

POINTS = 48
POLISHED = 4  # blends
EVALUATIONS = 80  # for each of them
STEP = 0.15  # of the logarithm of a fraction, in the first simplex
SUPERHEAT_SPARE = 1.5  # K, kept for what the rough grid misses
FROZEN = 0.05  # missed for each kelvin by which the vapour's freezing margin is too small
BEYOND = 0.25  # missed for each kelvin or per cent by which a limit of the compressor is passed
WET = 0.3  # missed at once where the superheat is too small: close to the dew point there is hardly any liquid
PENALTY = 3.0  # of the merit, for each unit by which a bound or limit is missed
NOTHING_WORKS = -1e3  # merit of a blend that no circuit can be solved for
STILL_PLAIN = "these are plain circuits, without the separator"

Report = Callable[[str, int, int, float | None], None]


@dataclass(frozen=True)
class _Trial:
    """A blend by bottles, in a circuit of its own pressures."""

    amounts: dict[str, float]
    circuit: SeparatorCircuit


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
    polisher = _Polisher(model, request)
    finished, lost = [], []
    with keeping() as cut:
        starts = sorted(_starts(plain, circuit), key=polisher.merit, reverse=True)
        for number, start in enumerate(starts):
            trials = (start, polisher.polish(start)) if number < POLISHED else (start,)
            best, obstacle = polisher.best_solved(trials)
            if best is None:
                lost.append(f"a blend of {', '.join(start.amounts)} was left out: {obstacle}")
            else:
                finished.append(best)
            if report:
                report("polishing", number + 1, len(starts), None)
    if cut and not finished:
        return replace(plain, interrupted=True, messages=(*plain.messages, STILL_PLAIN))
    if not finished:
        raise UnreachableError("no blend of the plain search works with a separator: " + "; ".join(lost))
    found = _result(request, plain, finished, lost, polisher.evaluations)
    return replace(found, interrupted=found.interrupted or cut.short)


class _Polisher:
    """Rough evaluation of blends, and their polish."""

    def __init__(self, model: PropertyModel, request: SearchRequest):
        self.model, self.request = model, request
        names, matrix = composition_matrix([bottle.ingredient for bottle in request.bottles])
        self.matrix = np.zeros((len(matrix), len(model.gases)))
        for column, name in enumerate(names):
            self.matrix[:, list(model.gases).index(name)] = matrix[:, column]
        self.evaluations = 0

    def blend(self, trial: _Trial) -> np.ndarray:
        """Mole fractions (c,)."""
        z = np.array([trial.amounts.get(name, 0.0) for name in self.request.names]) @ self.matrix
        return z / z.sum()

    def merit(self, trial: _Trial) -> float:
        """Logarithm of the objective less what missed limits cost; far below all where nothing works."""
        self.evaluations += 1
        try:
            return self._merit(trial)
        except (UnreachableError, ConvergenceError):
            return NOTHING_WORKS

    def _merit(self, trial: _Trial) -> float:
        z, circuit = self.blend(trial), trial.circuit
        cooling = separator_cooling(Fluid(self.model, z), circuit, POINTS)
        if not cooling > 0.0:
            return -1e2 + cooling / 1e3
        warm = self.model.state_tp(z, circuit.warm_temperature, circuit.aftercooler_pressure)
        suction = self.model.state_hp(z, warm.enthalpy + cooling, circuit.suction_pressure)
        compression = compress(Fluid(self.model, z), suction, circuit.discharge_pressure, circuit.compressor)
        colder = suction.temperature - self.request.suction_superheat - SUPERHEAT_SPARE
        wet = self.model.state_tp(z, colder, circuit.suction_pressure)
        missed = self._beyond(compression) + self._out_of_bounds(trial) + self._frozen(z, circuit, cooling)
        if wet.liquids:
            missed += WET + sum(liquid.fraction for liquid in wet.liquids)
        power = self.request.objective == COOLING_POWER
        gain = cooling * compression.molar_flow if power else cooling / compression.electrical_work
        return float(np.log(gain)) - PENALTY * missed

    def _beyond(self, compression) -> float:
        """What passed limits of the compressor cost."""
        compressor = self.request.compressor
        short = [max(-limit.kept(compression, compressor), 0.0) for limit in self.request.limits]
        return BEYOND * sum(short)

    def _frozen(self, z: np.ndarray, circuit: SeparatorCircuit, cooling: float) -> float:
        """What a missed freezing margin of the vapour costs."""
        split, missed = Separator(Fluid(self.model, z), circuit).split, 0.0
        for item in self.request.constraints:
            if isinstance(item, FreezingConstraint):
                pressures = np.array([circuit.suction_pressure]), np.array([circuit.discharge_pressure])
                drawn = np.array([cooling / split.vapour_flow])
                margin = float(item.margins(self.model, split.y[None], *pressures, drawn)[0])
                missed += FROZEN * max(-margin, 0.0) if np.isfinite(margin) else 1.0
        return missed

    def _out_of_bounds(self, trial: _Trial) -> float:
        amounts = np.array([trial.amounts.get(name, 0.0) for name in self.request.names])
        present = amounts > 0.0
        below = np.where(present, self.request.lowest - amounts, 0.0)
        return float(np.maximum(below, 0.0).sum() + np.maximum(amounts - self.request.highest, 0.0).sum()) * 10.0

    def polish(self, start: _Trial) -> _Trial:
        """Simplex search over the logarithms of the fractions of the bottles present."""
        from scipy.optimize import minimize

        names = [name for name, amount in start.amounts.items() if amount > 0.0]
        logs = np.log([start.amounts[name] for name in names])

        def trial(shift: np.ndarray) -> _Trial:
            amounts = np.exp(logs + np.append(shift, 0.0))
            return replace(start, amounts=dict(zip(names, (amounts / amounts.sum()).tolist(), strict=True)))

        free = len(names) - 1
        if free < 1:
            return start
        simplex = np.vstack([np.zeros(free), STEP * np.eye(free)])
        options = {"maxfev": EVALUATIONS, "initial_simplex": simplex, "fatol": 1e-4, "xatol": 1e-3}
        found = minimize(
            lambda shift: -self.merit(trial(shift)), np.zeros(free), method="Nelder-Mead", options=options
        )
        return trial(found.x)

    def best_solved(self, trials) -> tuple[tuple[_Trial, CircuitResult] | None, str]:
        """The best of several trials solved in full, None where none can be, and what stood in the way."""
        solved, obstacle = [], ""
        for trial in trials:
            try:
                solved.append((trial, self.solve(trial)))
            except (UnreachableError, ConvergenceError) as error:
                obstacle = str(error)
        value = self.request.objective
        return max(solved, key=lambda pair: objective_value(value, pair[1]), default=None), obstacle

    def solve(self, trial: _Trial) -> CircuitResult:
        """In full; raises UnreachableError where a limit is missed by more than rounding."""
        result = solve_circuit(Fluid(self.model, self.blend(trial)), trial.circuit)
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


def _starts(plain: SearchResult, circuit: SeparatorCircuit) -> list[_Trial]:
    """Every blend of the plain search once, best first, at the pressures found for it."""
    found = [*zip(plain.amounts, plain.candidates, strict=True)]
    found += [(plain.amounts_by_count[count], result) for count, result in plain.best_by_count.items()]
    trials, seen = [], set()
    for amounts, result in found:
        present = {name: x for name, x in amounts.items() if x > 0.0}
        key = tuple(sorted((name, round(x, 6)) for name, x in present.items()))
        if key not in seen:
            seen.add(key)
            trials.append(_Trial(present, circuit_of(result, circuit)))
    return trials


def _result(request, plain: SearchResult, finished, lost, evaluations: int) -> SearchResult:
    value = {id(trial): objective_value(request.objective, result) for trial, result in finished}
    ranked = sorted(finished, key=lambda pair: value[id(pair[0])], reverse=True)
    by_count = {}
    for count in request.counts:
        within = [pair for pair in ranked if len(pair[0].amounts) <= count]
        if within:
            by_count[count] = within[0]
    listed = ranked[: request.shortlist]
    note = "blends come from the search for the plain circuit, the best of them polished for the separator"
    return SearchResult(
        objective=request.objective,
        candidates=tuple(result for _, result in listed),
        values=tuple(value[id(trial)] for trial, _ in listed),
        amounts=tuple(trial.amounts for trial, _ in listed),
        best_by_count={count: result for count, (_, result) in by_count.items()},
        amounts_by_count={count: trial.amounts for count, (trial, _) in by_count.items()},
        evaluations=plain.evaluations + evaluations,
        seconds=plain.seconds,
        interrupted=plain.interrupted,
        messages=(note, *lost),
    )
