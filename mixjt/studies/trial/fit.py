"""The machine that fits the log best: departures by weighted least squares, each drawn to 0 by what is expected of it.

Least is sum ((shown - measured)/noise)^2 + sum (departure/spread)^2: what the log does not tell keeps its prior. Standard
errors and correlations are those of the linear problem at the solution, the inverse of J' N^-1 J + P^-1 (C. D. Rodgers, Inverse
Methods for Atmospheric Sounding (2000), chapter 2, from memory).

On some stretches a machine may be another than on others (a throttle that ices up): a fault adds its amplitude times a
direction on the stretches where it is there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from mixjt.errors import ConvergenceError, MixjtError, UnreachableError
from mixjt.studies.trial.built import BuiltMachine, Departure
from mixjt.studies.trial.response import response
from mixjt.studies.trial.run import Imposed, Run, Stretched, run_on
from mixjt.workers import Workers, workers

LOST = 100.0  # noises, that a stretch on which the machine settles nowhere counts as off: more than any that is settled
STALE, FRESH = 0.6, 0.3  # spreads, by which departures may move before the responses are taken anew; in the end
LEAST_MOVED = 1e-4  # spreads squared
FIRST_TRIALS, MOST_TRIALS = 6, 9  # of a machine without faults, whose fit comes to no good where it has one
ENOUGH = 2e-2  # of the sum of squares
TELLS = 0.7  # of its spread, below which a standard error says that the log has told something

Progress = Callable[[int, int], None]


@dataclass(frozen=True, eq=False)
class Seen:
    """A stretch of the log: what was imposed, and by place what was measured and its noise, as `Run.shown` counts them."""

    name: str
    imposed: Imposed
    measured: Mapping[str, float]
    noise: Mapping[str, float]


@dataclass(frozen=True, eq=False)
class Fault:
    """A direction (k,) of departures, on some stretches (s,) of 0 or 1; spread of its amplitude before the run."""

    name: str
    direction: np.ndarray
    where: np.ndarray
    spread: float = 1.0


@dataclass(frozen=True, eq=False)
class Problem:
    """A machine, its departures (k,), stretches (s,), and faults whose amplitudes are sought too."""

    built: BuiltMachine
    known: tuple[Departure, ...]
    seen: tuple[Seen, ...]
    faults: tuple[Fault, ...] = ()

    @cached_property
    def spreads(self) -> np.ndarray:
        """Of departures, then of faults (k + f,)."""
        return np.array([*(one.spread for one in self.known), *(one.spread for one in self.faults)])

    def spread_out(self, number: int) -> np.ndarray:
        """From all unknowns to the departures on a stretch (k, k + f)."""
        faults = [fault.direction * fault.where[number] for fault in self.faults]
        return np.hstack([np.eye(len(self.known)), *(one[:, None] for one in faults)])

    def stretch(self, number: int, unknowns: np.ndarray) -> Stretched:
        """The machine on a stretch."""
        return Stretched(self.built, self.known, self.spread_out(number) @ unknowns, self.seen[number].imposed)

    def settled(self, number: int, unknowns: np.ndarray, near: Run) -> Run | None:
        """What it does there; None where it settles nowhere."""
        try:
            return run_on(self.stretch(number, unknowns), near)
        except MixjtError:
            return None

    def responded(self, number: int, unknowns: np.ndarray, run: Run) -> tuple[np.ndarray, np.ndarray | None]:
        """How that follows the departures, and how its unknowns do."""
        return response(self.stretch(number, unknowns), run)


@dataclass(frozen=True, eq=False)
class Fit:
    """unknowns (k + f,) with covariance; by stretch what the machine shows there, and its jacobians (m, k) over departures.

    first is what the machine of the case does; short how many standard errors a further step would move an unknown.
    """

    problem: Problem
    unknowns: np.ndarray
    covariance: np.ndarray
    first: tuple[Run, ...]
    runs: tuple[Run, ...]
    jacobians: tuple[np.ndarray, ...]
    short: float = 0.0

    @property
    def misfit(self) -> float:
        """Root mean square of what is left over noise: about 1 or less where a machine fits."""
        return self.misfit_of(None)

    def misfit_of(self, runs: Sequence[Run] | None) -> float:
        """The same of other runs, whose sensors are right."""
        left = [x for number in range(len(self.runs)) for x in self.residuals(number, runs).values()]
        return float(np.sqrt(np.mean(np.square(left))))

    @property
    def errors(self) -> np.ndarray:
        """Standard errors (k + f,)."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def correlations(self) -> np.ndarray:
        """(k + f, k + f)"""
        return self.covariance / np.outer(self.errors, self.errors)

    @property
    def told(self) -> np.ndarray:
        """Whether the log tells each of the unknowns."""
        return self.errors < TELLS * self.problem.spreads

    def residuals(self, number: int, runs: Sequence[Run] | None = None) -> dict[str, float]:
        """Of a stretch by place: measured less shown over noise; the sensors' offsets count as of the machine."""
        seen, run = self.problem.seen[number], (runs or self.runs)[number]
        theta = (self.problem.spread_out(number) @ self.unknowns) if runs is None else np.zeros(len(self.problem.known))
        return dict(zip(_shared(seen, run), _misfits(self.problem, number, run, theta), strict=True))


def fit(
    problem: Problem, first: Sequence[Run], amplitudes: Sequence[float] = (), processes: int = 1, progress: Progress | None = None
) -> Fit:
    """The departures that fit the log best, sought from the machine of the case.

    What fits best without a fault is no place to start from with it: it may have bent everything else out of shape.

    Parameters
    ----------
    problem : Problem
    first : list of Run
        What the machine of the case does, by stretch.
    amplitudes : sequence of float
        Of the problem's faults, to start from.
    processes : int
        That settle stretches at once.

    Raises
    ------
    ConvergenceError
        Where the machine that fits best settles nowhere on some stretch.
    """
    from scipy.optimize import least_squares  # slow to load

    at = np.concatenate([np.zeros(len(problem.known)), amplitudes])
    with workers(problem, min(processes, len(problem.seen))) as pool:
        search = _Fitting(problem, first, pool, progress)
        found = least_squares(
            search.misfits, at, search.slopes, x_scale=problem.spreads, ftol=ENOUGH, xtol=1e-3, gtol=1e-6,
            max_nfev=MOST_TRIALS if problem.faults else FIRST_TRIALS,
        )
        off = search.misfits(found.x)  # the last that was tried may be another
        if search.lost:
            raise ConvergenceError("the machine that fits the log", f"look at the readings of the stretch {search.lost[0]}, or give a log without it")
        jacobians = search.near(found.x, far=FRESH)
        stacked = search.stacked(jacobians)
    prior = np.diag(problem.spreads**-2.0)
    covariance = np.linalg.inv(stacked.T @ stacked + prior)
    left = covariance @ (stacked.T @ off[: len(stacked)] - prior @ found.x)
    short = float(np.max(np.abs(left) / np.sqrt(np.diag(covariance))))
    return Fit(problem, found.x, covariance, tuple(first), tuple(search.last), jacobians, short)


def _shared(seen: Seen, run: Run) -> list[str]:
    """Places that are both measured and shown, in the order of what is shown."""
    return [place for place in run.shown if place in seen.measured]


def _misfits(problem: Problem, number: int, run: Run, theta: np.ndarray) -> np.ndarray:
    seen = problem.seen[number]
    offsets = {one.place: float(x) for one, x in zip(problem.known, theta, strict=True) if one.place is not None}
    return np.array([
        (seen.measured[place] - run.shown[place] - offsets.get(place, 0.0)) / seen.noise[place] for place in _shared(seen, run)
    ])  # fmt: skip


class _Fitting:
    """What the least-squares method asks for, with the last runs to start from."""

    def __init__(self, problem: Problem, first: Sequence[Run], pool: Workers, progress: Progress | None):
        self.problem, self.pool, self.progress = problem, pool, progress
        self.last, self.lost, self.jacobians, self.taken_at, self.at = list(first), [], None, None, None

    def misfits(self, unknowns: np.ndarray) -> np.ndarray:
        """Of all stretches, and of the departures from their priors."""
        found, self.lost = [], []
        for number, run in enumerate(self._each("settled", unknowns)):
            if run is None:
                self.lost.append(self.problem.seen[number].name)
                found.append(np.full(len(_shared(self.problem.seen[number], self.last[number])), LOST))
                continue
            self.last[number] = run
            found.append(_misfits(self.problem, number, run, self.problem.spread_out(number) @ unknowns))
        return np.concatenate([*found, unknowns / self.problem.spreads])

    def slopes(self, unknowns: np.ndarray) -> np.ndarray:
        """Of the misfits."""
        return np.vstack([-self.stacked(self.near(unknowns)), np.diag(1.0 / self.problem.spreads)])

    def near(self, unknowns: np.ndarray, far: float = STALE) -> tuple[np.ndarray, ...]:
        """Jacobians near the unknowns: taken anew where these have moved far [spreads], else by Broyden's update."""
        moved = math.inf if self.taken_at is None else np.max(np.abs(unknowns - self.taken_at) / self.problem.spreads)
        here = self._place(unknowns)
        if moved > far:
            self.jacobians, follow = map(list, zip(*self._each("responded", unknowns), strict=True))
            self.last = [replace(run, follows=one) for run, one in zip(self.last, follow, strict=True)]
            self.taken_at = np.array(unknowns)
        elif self.at is not None:
            self.jacobians = [self._updated(*one) for one in zip(self.jacobians, self.at, here, strict=True)]
        self.at = here
        return tuple(self.jacobians)

    def _place(self, unknowns: np.ndarray) -> list[tuple[np.ndarray, np.ndarray]]:
        """Departures and what is shown, sensors as of the machine, by stretch."""
        return [(self.problem.spread_out(i) @ unknowns, np.array(list(run.shown.values()))) for i, run in enumerate(self.last)]

    def _updated(self, jacobian: np.ndarray, before: tuple, here: tuple) -> np.ndarray:
        """So that it maps the last step to what it has done, with the least change in units of the spreads."""
        by = np.array([0.0 if one.place else one.spread for one in self.problem.known])  # sensors are linear
        step = (here[0] - before[0]) * (by > 0.0)
        scaled = np.divide(step, by, out=np.zeros(by.size), where=by > 0.0)
        if not scaled @ scaled > LEAST_MOVED:
            return jacobian
        off = here[1] - before[1] - jacobian @ step
        return jacobian + np.outer(off, np.divide(scaled, by, out=np.zeros(by.size), where=by > 0.0)) / (scaled @ scaled)

    def stacked(self, jacobians: Sequence[np.ndarray]) -> np.ndarray:
        """Of what is shown over noise, by all unknowns (m, k + f)."""
        return np.vstack([over_noise(self.problem.seen[i], run, jacobian) @ self.problem.spread_out(i)
                          for i, (run, jacobian) in enumerate(zip(self.last, jacobians, strict=True))])  # fmt: skip

    def _each(self, method: str, unknowns: np.ndarray) -> list:
        """Of all stretches, several at once."""
        given = [(number, unknowns, run) for number, run in enumerate(self.last)]
        futures = [self.pool.submit(method, *one) for one in given]
        found = []
        for one, future in zip(given, futures, strict=True):
            found.append(self.pool.answer(future, method, *one))
            if self.progress:
                self.progress(len(found), len(given))
        return found


def over_noise(seen: Seen, run: Run, jacobian: np.ndarray) -> np.ndarray:
    """The rows of a jacobian (m, k) whose places are measured, over the noise there."""
    places = list(run.shown)
    shared = _shared(seen, run)
    rows = jacobian[[places.index(place) for place in shared]]
    return rows / np.array([seen.noise[place] for place in shared])[:, None]


def first_runs(problem: Problem, progress: Progress | None = None) -> tuple[Problem, tuple[Run, ...], list[str]]:
    """What the machine of the case does on every stretch; the problem without those where it settles nowhere, and why.

    Raises
    ------
    UnreachableError
        Where no running stretch is left.
    """
    kept, runs, lost, near = [], [], [], None
    for number, seen in enumerate(problem.seen):
        stretch = problem.stretch(number, np.zeros(problem.spreads.size))
        try:
            run = run_on(stretch, near, same=False)
        except MixjtError as error:
            lost.append(f"{seen.name} is left out: {error}")
            continue
        near = near if run.unknowns is None else run
        kept.append(seen)
        runs.append(run)
        if progress:
            progress(number + 1, len(problem.seen))
    if all(run.unknowns is None for run in runs):
        raise UnreachableError("the machine of the case settles on no stretch of the log" + (f": {lost[0]}" if lost else ""))
    return replace(problem, seen=tuple(kept)), tuple(runs), lost
