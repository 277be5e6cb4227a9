"""The intermediate temperatures of a cascade with given fluids that draw the least power within its limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from mixjt.cascade.cascade_limits import stage_excesses
from mixjt.cascade.cascade_reach import SMALL_LIFT, why_not
from mixjt.cascade.cascade_records import Cascade, CascadeResult
from mixjt.cascade.stages import cascade_cycles, solve_cascade
from mixjt.errors import MixjtError, UnreachableError
from mixjt.parts.air_coil import CLOSEST
from mixjt.parts.stage_fluid import StageFluid

SCALE = 10.0  # K a unit of the solver
STEP = 1e-3  # of the solver's finite differences, in those units
KEPT = 1e-7  # relative excess of a limit that counts as keeping it
INSIDE = 5e-8  # by how much the solver is asked to stay inside
ABOVE_TRIPLE = 0.01  # K; rounding must not push a stage out of its range
LOW = 0.5  # hot gas gives off its heat over more kelvins, and shells give off some of it
BELOW_CRITICAL = 0.5  # K; saturation is not sought closer to the critical point


class _Objective:
    """Power and excesses of one cascade against its intermediate temperatures; remembers the best it saw."""

    def __init__(self, cascade: Cascade, fluids: Sequence[StageFluid]):
        self.cascade, self.fluids = cascade, tuple(fluids)
        self.evaluations = 0
        self.best_power, self.best = math.inf, None
        self._seen: dict[tuple[float, ...], tuple[float, np.ndarray]] = {}

    def __call__(self, intermediates: Sequence[float]) -> tuple[float, np.ndarray]:
        """Power [W] and the relative excess of every limit; infinite power where a stage cannot be solved."""
        key = tuple(float(one) for one in intermediates)
        if key not in self._seen:
            self._seen[key] = self._evaluated(key)
        return self._seen[key]

    def _evaluated(self, intermediates) -> tuple[float, np.ndarray]:
        self.evaluations += 1
        try:
            cycles = cascade_cycles(self.cascade, self.fluids, intermediates)
        except MixjtError:
            return math.inf, np.array([])
        load, power, excesses = self.cascade.load, 0.0, []
        for number, cycle in enumerate(cycles):
            heat = load + self.cascade.of_stage("heat_leaks", number)
            power += heat * cycle.power_per_heat
            excesses += [one.relative for one in stage_excesses(cycle, self.cascade.limits, number, heat)]
            load = heat * cycle.rejected_per_heat
        excesses = np.array(excesses)
        if power < self.best_power and np.all(excesses <= KEPT):
            self.best_power, self.best = power, intermediates
        return power, excesses


def begun(cascade: Cascade) -> Cascade:
    """The cascade; where its condenser's size is stated, with an approach that is low for any machine with that load."""
    if cascade.condenser is None:
        return cascade
    least_heat = cascade.load * cascade.ambient_temperature / cascade.cold_temperature  # of a reversible machine
    low = LOW * least_heat / cascade.condenser.to_ambient(cascade.ambient_temperature)
    return replace(cascade, condenser_approach=max(low, cascade.subcooling + CLOSEST))


def best_cascade(
    cascade: Cascade, fluids: Sequence[StageFluid], start: Sequence[float]
) -> tuple[CascadeResult, int]:
    """The cascade of given fluids at its best intermediate temperatures, and how many were tried.

    Parameters
    ----------
    cascade : Cascade
    fluids : sequence of StageFluid
        Coldest stage first.
    start : sequence of float
        Intermediate temperatures to start from [K], for instance those of `cascade_table`.

    Raises
    ------
    UnreachableError
        Where no temperatures keep every limit; says which one stands in the way.

    Source of the method: sequential quadratic programming as in scipy.optimize (D. Kraft, DFVLR-FB 88-28,
    1988), one to three variables.
    """
    trial = _Objective(cascade, fluids)
    if len(fluids) == 1:
        trial(())
    else:
        _minimise(trial, start)
    if trial.best is None:
        raise UnreachableError(why_not(cascade, fluids))
    return solve_cascade(cascade, fluids, trial.best), trial.evaluations


def _minimise(trial: _Objective, start: Sequence[float]) -> None:
    from scipy.optimize import minimize

    low, high = temperature_bounds(trial.cascade, trial.fluids)
    if np.any(low >= high):
        return
    begin = np.clip(np.asarray(start, dtype=float), low, high) / SCALE
    first_power, _ = trial(begin * SCALE)
    reference = first_power if math.isfinite(first_power) else trial.cascade.load

    def power(x) -> float:
        found = trial(x * SCALE)[0] / reference
        return found if math.isfinite(found) else 1e3

    def room(x) -> np.ndarray:
        temperatures = x * SCALE
        excesses = trial(temperatures)[1]
        lifts = np.diff([trial.cascade.evaporating_temperature, *temperatures, trial.cascade.condensing_temperature])
        lifts = (lifts - SMALL_LIFT) / SCALE
        count = _limit_count(trial.cascade) * len(trial.fluids)
        kept = -excesses - INSIDE if excesses.size else np.full(count, -1.0)
        return np.concatenate([kept, lifts])

    minimize(
        power,
        begin,
        method="SLSQP",
        bounds=list(zip(low / SCALE, high / SCALE, strict=True)),
        constraints=[{"type": "ineq", "fun": room}],
        options={"eps": STEP, "ftol": 1e-8, "maxiter": 60},
    )


def temperature_bounds(cascade: Cascade, fluids: Sequence[StageFluid]) -> tuple[np.ndarray, np.ndarray]:
    """Temperatures between which each stage's fluid evaporates and the colder one's condenses [K]."""
    low = np.full(len(fluids) - 1, cascade.evaporating_temperature + SMALL_LIFT)
    high = np.full(len(fluids) - 1, cascade.condensing_temperature - SMALL_LIFT)
    for place, (colder, warmer) in enumerate(pairwise(fluids)):
        if warmer.facts:
            low[place] = max(low[place], warmer.facts.triple_temperature + ABOVE_TRIPLE)
        if colder.facts:
            high[place] = min(high[place], colder.facts.critical_temperature - BELOW_CRITICAL - cascade.approach)
    return low, high


def _limit_count(cascade: Cascade) -> int:
    limits = cascade.limits
    stated = (limits.pressure_ratio, limits.discharge_temperature, limits.discharge_pressure,
              limits.suction_pressure, limits.displacements)  # fmt: skip
    return sum(one is not None for one in stated)
