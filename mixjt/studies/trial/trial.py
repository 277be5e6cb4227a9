"""The whole of a trial: from a log to the machine that fits it, and to what may be wrong with it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.fixed_machine import Settled
from mixjt.errors import InputError, MixjtError
from mixjt.interrupt import Interrupted, keeping
from mixjt.studies.trial.built import BuiltMachine, Departure, departures
from mixjt.studies.trial.causes import STRONG, Cause, Kind, causes
from mixjt.studies.trial.compared import compared, sensor_errors
from mixjt.studies.trial.fit import TELLS, Fit, Problem, first_runs, fit
from mixjt.studies.trial.log import LogRequest, TrialLog
from mixjt.studies.trial.stretches import SteadyLimits, Stretch, stretches

Progress = Callable[[str, int, int], None]
LIQUID = Kind(
    "liquid at suction", {}, (),
    "hold a thermometer on the suction line at the compressor, insulated, against the dew point; don't touch cold lines. Stop before the "
    "compressor knocks; add heat at the cold end, charge less, or fit an accumulator",
)  # fmt: skip
MOST_SCORE = 20.0
SHORT = 0.5  # standard errors
DEW_ERROR = 2.0  # K, of a dew point of what circulates, whose heaviest gases are hardly known: common practice, no source
POOR = 2.0  # noises, root mean square, from which a machine does not fit
UNFITTING = (
    "no machine near that of the case fits the log well (what is left is {:.1f} times the noise): two faults at once, one that is "
    "not listed, or a machine that changed within a stretch; don't go by the parameters"
)


@dataclass(frozen=True)
class Parameter:
    """A departure as a number: value with its standard error, prior with its own, unit, and whether the log tells it."""

    departure: Departure
    value: float
    error: float
    prior: float
    prior_error: float
    told: bool


@dataclass(frozen=True, eq=False)
class Trial:
    """A log read against a machine.

    compared (s,) are the stretches that were held against it, settled what the fitted machine does there (None at rest);
    causes are all, likeliest first, cause the one that was fitted besides; superheats (s,) [K] of the suction, with standard
    errors, None at rest.
    """

    built: BuiltMachine
    log: TrialLog
    stretches: tuple[Stretch, ...]
    fit: Fit
    causes: tuple[Cause, ...]
    cause: Cause | None
    settled: tuple[Settled | None, ...]
    superheats: tuple[tuple[float, float] | None, ...]
    notes: tuple[str, ...]
    interrupted: bool = False

    @property
    def named(self) -> tuple[Cause, ...]:
        """Causes for which the log speaks strongly."""
        return tuple(one for one in self.causes if one.score >= STRONG)

    @property
    def coldest(self) -> int:
        """The number of the coldest stretch of those compared, a steady one if there is any."""
        running = [number for number, one in enumerate(self.settled) if one is not None]
        steady = [number for number in running if self.fit.problem.seen[number].imposed.rate == 0.0]
        return min(steady or running, key=lambda number: self.settled[number].cold_temperature)

    @property
    def first_misfit(self) -> float:
        """Root mean square of what the machine of the case misses the readings by, over noise."""
        return self.fit.misfit_of(self.fit.first)

    @property
    def fits(self) -> bool:
        """Whether the fitted machine shows about what was measured."""
        return self.fit.misfit <= POOR

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """Of the machine and its sensors; a fault that is there all the time counts as of the machine."""
        return parameters(self.fit)


def read_trial(
    built: BuiltMachine, log: TrialLog, request: LogRequest, limits: SteadyLimits, processes: int = 1,
    progress: Progress | None = None,
) -> Trial:
    """Hold a log against a machine.

    An interruption (Ctrl-C) during the second fit, that with the likeliest cause, keeps the first; before that it ends all.

    Raises
    ------
    InputError
        Where the log has nothing to compare.
    UnreachableError, ConvergenceError
        Where the machine of the case settles on no stretch.
    """  # fmt: skip
    found = stretches(log, limits)
    try:
        seen, notes = compared(built, found, built.machine.circuit.ambient_temperature, request.heater)
    except InputError as error:
        raise InputError("; ".join([str(error), *(f"met in the log: {note}" for note in log.notes)])) from None
    known = departures(built, sensor_errors(seen, request.reading_errors))
    with keeping() as early:
        problem, first, lost = first_runs(Problem(built, known, seen), _of("predicting", progress))
        best = fit(problem, first, processes=processes, progress=_of("fitting", progress))
    if early:
        raise Interrupted
    likely, cause = causes(best), None
    with keeping() as cut:
        if likely[0].score >= STRONG:
            faulty = replace(problem, faults=(likely[0].fault,))
            try:
                second = fit(faulty, first, (likely[0].amplitude,), processes, _of(f"fitting {likely[0].name}", progress))
                besides = {one.name: one.score for one in causes(second)}
                left = [replace(one, besides=besides.get(one.name)) for one in likely]
                best, cause, likely = second, likely[0], left
            except MixjtError as error:
                lost.append(f"{likely[0].name} could not be fitted, and the parameters are those without: {error}")
    settled = tuple(
        None if run.unknowns is None else problem_stretch(best, i).standing(run.unknowns).settled
        for i, run in enumerate(best.runs)
    )
    superheats = tuple(None if one is None else superheat(best, i, one) for i, one in enumerate(settled))
    read = [one for one, seen in zip(superheats, best.problem.seen, strict=True) if "suction line" in seen.measured]
    likely = sorted([*likely, *wet_causes(read)], key=lambda one: -one.score)
    if best.short > SHORT:
        lost.append(f"the fit stopped short: parameters may still move by {best.short:.1f} standard errors")
    if not best.misfit <= POOR:
        lost.append(UNFITTING.format(best.misfit))
    return Trial(built, log, found, best, tuple(likely), cause, settled, superheats, (*notes, *lost), cut.short)


def _of(stage: str, progress: Progress | None):
    return None if progress is None else lambda done, total: progress(stage, done, total)


def problem_stretch(found: Fit, number: int):
    """The fitted machine on a stretch."""
    return found.problem.stretch(number, found.unknowns)


def predicted_there(found: Trial, number: int) -> Settled:
    """What the machine of the case does on a running stretch."""
    problem = found.fit.problem
    return problem.stretch(number, np.zeros(problem.spreads.size)).standing(found.fit.first[number].unknowns).settled


def superheat(found: Fit, number: int, settled: Settled) -> tuple[float, float]:
    """Of the gas at the compressor's inlet [K], as measured where it was, and its standard error."""
    seen, problem = found.problem.seen[number], found.problem
    dew = settled.fluid.dew_temperature(settled.suction_pressure)
    place = "suction line"
    if place not in seen.measured:
        return settled.compressor_inlet.temperature - dew, math.hypot(found_error(found, number, place), DEW_ERROR)
    which = next(i for i, one in enumerate(problem.known) if one.place == place)
    offset, error = found.unknowns[which], found.errors[which]
    return seen.measured[place] - offset - dew, math.hypot(error, seen.noise[place], DEW_ERROR)


def found_error(found: Fit, number: int, place: str) -> float:
    """Standard error of what the fitted machine shows at a place that was not measured."""
    row = found.jacobians[number][list(found.runs[number].shown).index(place)] @ found.problem.spread_out(number)
    return math.sqrt(row @ found.covariance @ row)


def wet_causes(superheats) -> list[Cause]:
    """Liquid at the suction, judged by the least superheat; its score is the logarithm of its odds."""
    known = [(margin / error, margin, error) for margin, error in (one for one in superheats if one is not None)]
    if not known or any(not math.isfinite(one[0]) for one in known):
        return []
    sure, margin, error = min(known)
    wet, dry = (max(math.erfc(x / math.sqrt(2.0)), 1e-9) for x in (sure, -sure))
    score = min(max(math.log(wet / dry), -MOST_SCORE), MOST_SCORE)
    words = (f"the suction line is {abs(margin):.1f} +- {error:.1f} K {'above' if margin > 0.0 else 'below'} the dew point of what circulates",)
    told_for, told_against = (words, ()) if margin < 0.0 else ((), words)
    return [Cause(LIQUID, None, score, margin, error, told_for, told_against, {})]


def effective(found: Fit) -> np.ndarray:
    """From all unknowns to the departures of the machine (k, k + f), with the faults that are there all the time."""
    always = [fault.direction if np.all(fault.where) else 0.0 * fault.direction for fault in found.problem.faults]
    return np.hstack([np.eye(len(found.problem.known)), *(one[:, None] for one in always)])


def parameters(found: Fit) -> tuple[Parameter, ...]:
    """Of a fit."""
    onto = effective(found)
    theta, covariance = onto @ found.unknowns, onto @ found.covariance @ onto.T
    made = []
    for one, x, variance in zip(found.problem.known, theta, np.diag(covariance), strict=True):
        error, value = math.sqrt(variance), one.at(float(x))
        size, prior = (value, one.value) if one.ratio else (1.0, 1.0)
        made.append(Parameter(one, value, size * error, one.value, prior * one.spread, error < TELLS * one.spread))
    return tuple(made)
