"""What a fit comes to, as numbers of machine and gauges: how large a cause is, what each gauge should have shown."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mixjt.studies.trial.built import CHARGE, Departure
from mixjt.studies.trial.causes import STRONG, WORTH_A_LOOK, Cause
from mixjt.studies.trial.fit import Fit
from mixjt.studies.trial.log import BY_NAME
from mixjt.studies.trial.run import LOGS
from mixjt.studies.trial.trial import Trial, effective

WHOLE_CHARGE = "charge"
CLOSE = 0.7  # of a correlation, from which two numbers can hardly be told apart


@dataclass(frozen=True)
class Altered:
    """What a cause makes of a number of the machine: a ratio to that of the case, or a difference [unit], with its error."""

    name: str
    ratio: bool
    value: float
    error: float
    unit: str


def changes(found: Fit, cause: Cause) -> tuple[Altered, ...]:
    """Of a cause at its amplitude; a charge that is changed as a whole counts once; none of one that is no fault of a fit."""
    if cause.fault is None:
        return ()
    made = [_change(one, by, cause) for one, by in zip(found.problem.known, cause.fault.direction, strict=True) if by]
    whole = [one for one in made if one.name.startswith(CHARGE)]
    if len(whole) > 1:
        made = [Altered(WHOLE_CHARGE, True, whole[0].value, whole[0].error, "")]
    return tuple(made)


def _change(one: Departure, by: float, cause: Cause) -> Altered:
    size, error = by * cause.amplitude, abs(by) * cause.error
    if not one.ratio:
        return Altered(one.name, False, size, error, one.unit)
    return Altered(one.name, True, math.exp(size), math.exp(size) * error, "")


def standing(found: Trial) -> tuple[Cause, ...]:
    """Causes that are worth a look: none that the likeliest fault, by the odds between both, explains strongly better, unless
    something is strongly left to it besides.

    What is no fault of a fit (liquid at the suction, judged by the fitted machine) stands by its own score.
    """
    return tuple(one for one in found.causes if one.score >= WORTH_A_LOOK and not _beaten(found, one))


def outdone(found: Trial) -> tuple[Cause, ...]:
    """Causes that would be named, did the likeliest not explain the readings strongly better."""
    return tuple(one for one in found.causes if one.score >= STRONG and _beaten(found, one))


def _beaten(found: Trial, one: Cause) -> bool:
    best = max((other.score for other in found.causes if other.fault is not None), default=0.0)
    left = one.besides is not None and one.besides >= STRONG
    return one.fault is not None and best >= STRONG and one.score < best - STRONG and not left


def windows(found: Fit, cause: Cause) -> tuple[str, ...]:
    """Names of the stretches on which it is there, of a cause that is not there all the time."""
    if cause.fault is None or all(cause.fault.where):
        return ()
    return tuple(seen.name for seen, on in zip(found.problem.seen, cause.fault.where, strict=True) if on)


@dataclass(frozen=True)
class ComparedReading:
    """What a gauge showed on a stretch, what the case predicts, and what the fitted machine and sensor show [SI].

    noise is how far a good model may be off there, relative but for temperatures; before and after are what is measured less
    predicted, or fitted, over that.
    """

    stretch: str
    place: str
    measured: float
    predicted: float
    fitted: float
    noise: float
    before: float
    after: float

    @property
    def kind(self) -> str:
        """A dimension of `mixjt.units`."""
        return BY_NAME[self.place].kind


def readings(found: Fit) -> tuple[ComparedReading, ...]:
    """By stretch and place."""
    made = []
    for number, seen in enumerate(found.problem.seen):
        before, after = found.residuals(number, found.first), found.residuals(number)
        for place, off in before.items():
            noise = seen.noise[place]
            shown = [seen.measured[place] - sigmas * noise for sigmas in (0.0, off, after[place])]
            values = [math.exp(one) if place in LOGS else one for one in shown]
            made.append(ComparedReading(seen.name, place, *values, noise, off, after[place]))
    return tuple(made)


def related(found: Fit) -> tuple[tuple[str, str, float], ...]:
    """Pairs of parameters that can hardly be told apart, with their correlation, closest first."""
    onto, names = effective(found), [one.name for one in found.problem.known]
    covariance = onto @ found.covariance @ onto.T
    errors = np.sqrt(np.diag(covariance))
    matrix = covariance / np.outer(errors, errors)
    pairs = [(names[i], names[j], float(matrix[i, j])) for j in range(len(names)) for i in range(j)]
    return tuple(sorted((one for one in pairs if abs(one[2]) >= CLOSE), key=lambda one: -abs(one[2])))
