"""What may be wrong with the machine, held against its log.

Every cause is a direction of departures far wider than what is expected of a good machine, on all stretches or from one on. Its
signature is what the model says the gauges then show. With residuals r of the machine of the case, S their covariance for a good
machine (noise and expected departures), s the signature and a its amplitude, expected 0 +- A,

    score = ln (probability of the log with the cause / without)
          = (s' S^-1 r)^2 / (2 (s' S^-1 s + A^-2)) - ln(1 + A^2 s' S^-1 s) / 2 + ln(2 Phi(a/sigma_a)) - ln(choices)

for a cause that has a sign, which the last but one term tests; choices are the windows of time tried, and of a sensor, whose offset has
either sign, the sensors there are (Bayes factor of linear Gaussian models; R. E. Kass and A. E.
Raftery, J. Am. Stat. Assoc. 90 (1995) 773, who call 3 strong; from memory). What a fault does to a machine: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from mixjt.studies.trial import built
from mixjt.studies.trial.fit import Fault, Fit, over_noise

STRONG = 3.0  # score from which a cause is named
WORTH_A_LOOK = 1.0
AIR = 0.05  # mol of air per mol charged
SENSOR_OFF = {"temperature": 8.0, "pressure": 0.12, "power": 0.12, "current": 0.12}  # K, or of the reading
ALWAYS, LATER = "always", "later"
SHOWS = 1.0  # of noise, from which a signature is to be seen in a reading
SAME = 0.4  # of a signature, below which what is measured speaks against it
MOST_EVIDENCE = 4
INVISIBLE = 1e-9  # of a signature over noise, squared


@dataclass(frozen=True)
class Kind:
    """A kind of fault: its departures at amplitude 1, when it may be there, and what to do next, safe first."""

    name: str
    departures: Mapping[str, float]
    when: tuple[str, ...]
    next_step: str
    signed: bool = True


@dataclass(frozen=True, eq=False)
class Cause:
    """A fault with its score, amplitude and standard error, and evidence.

    shift is what it makes of the readings by place; besides its score beside a fault that was fitted, None where none was.
    """

    kind: Kind
    fault: Fault
    score: float
    amplitude: float
    error: float
    evidence_for: tuple[str, ...]
    evidence_against: tuple[str, ...]
    shift: Mapping[str, float]
    besides: float | None = None

    @property
    def name(self) -> str:
        """Of its kind."""
        return self.kind.name


def kinds(fit: Fit) -> list[Kind]:
    """All kinds of faults of a machine."""
    known = fit.problem.known
    charged = {one.gas: one for one in known if one.gas is not None}
    names = {one.name for one in known}
    whole = [one.name for one in charged.values()]
    found = [
        Kind("overcharge", dict.fromkeys(whole, 0.2), (ALWAYS,),
             "read both gauges with the machine at rest and warm: they stand above what `mixjt charge` says; take charge out in small "
             "steps as local codes allow, into a cylinder made for it"),
        Kind("undercharge", dict.fromkeys(whole, -0.2), (ALWAYS,),
             "read both gauges at rest and warm: they stand below what `mixjt charge` says; search for leaks before topping up"),
        Kind("leak", dict.fromkeys(whole, -0.15), (LATER,),
             "let it warm up and compare the pressure at rest with that before the run; then search with soap or an electronic "
             "detector at rest, ventilated and without flames, before anything is topped up"),
        Kind("undersized recuperator", {built.CONDUCTANCE: -0.5}, (ALWAYS,),
             "take the readings again at another heater power: the approach at the warm end must widen with the flow; then "
             "measure the tubes, and look for a bypass of the insulation"),
        Kind("poor insulation", {built.LEAK: 0.4}, (ALWAYS, LATER),
             "look for frost and damp on the package; switch off when cold and time the warm-up"),
        Kind("worn compressor", {built.FLOW: -0.3, built.EFFICIENCY: -0.2}, (ALWAYS,),
             "compare flow and power with its label at one pressure ratio (`mixjt compressor`); stopped, see how fast suction and "
             "discharge come together with the throttle cold; further tests of a pump as its maker and licensed practice have them"),
    ]  # fmt: skip
    if built.THROTTLE in names:
        found += [
            Kind("blocked or iced throttle", {built.THROTTLE: -0.5}, (ALWAYS, LATER),
                 "switch off, let all warm up above 0 degC and start again: if the pressures come back it was water or wax, so "
                 "change the drier and evacuate longer; if not, the tube is crushed or dirty"),
            Kind("oil carried over", {built.THROTTLE: -0.35, built.CONDUCTANCE: -0.35}, (ALWAYS, LATER),
                 "look at the oil level of the compressor at rest; let all warm up and run warm for an hour, which brings oil back; "
                 "an oil separator is missing or full"),
        ]  # fmt: skip
    for one in charged.values():
        gas = one.name.removeprefix(f"{built.CHARGE} ")
        found.append(Kind(f"lack of {gas}", {one.name: -0.6}, (ALWAYS,),
                          f"compare what the scale said of {gas} with `mixjt charge`; top up in steps of 5 % and watch the "
                          "pressures and the cold end after each"))  # fmt: skip
    found += _air(fit, charged)
    found += [
        Kind(f"sensor wrong: {one.place}", {one.name: SENSOR_OFF[_kind_of(one.place)]}, (ALWAYS,),
             "at rest and warm all thermometers must show the room and both gauges the same pressure: compare them, swap this one "
             "with another", signed=False)
        for one in known if one.place is not None
    ]  # fmt: skip
    return found


def _kind_of(place: str) -> str:
    from mixjt.studies.trial.log import BY_NAME

    return BY_NAME[place].kind


def _air(fit: Fit, charged) -> list[Kind]:
    """Air counts as nitrogen, of which a blend must have some for its share to be multiplied."""
    gases = fit.problem.built.fluid.gases
    nitrogen = next((one for i, one in charged.items() if gases[i] == "nitrogen"), None)
    if nitrogen is None:
        return []
    charge = fit.problem.built.machine.charge
    share = fit.problem.built.fluid.z if charge is None else charge / charge.sum()
    added = math.log1p(AIR / share[nitrogen.gas])
    return [Kind("air in the circuit", {nitrogen.name: added}, (ALWAYS,),
                 "stop at once and don't run it again on this charge: air with fuel gas can explode in a compressor. Read the "
                 "pressure at rest against that of the charge. Don't pump it, with a recovery machine neither: have it emptied by licensed "
                 "practice; then find the leak, evacuate and weigh in anew")]  # fmt: skip


def causes(fit: Fit) -> list[Cause]:
    """All causes with their scores, likeliest first; of a fit with a fault, what may be wrong besides."""
    whole = _Whole(fit)
    found = [cause for kind in kinds(fit) if (cause := whole.best(kind)) is not None]
    return sorted(found, key=lambda cause: -cause.score)


class _Whole:
    """Residuals of the machine of the case and their covariance for a good machine."""

    def __init__(self, fit: Fit):
        problem = fit.problem
        self.fit, self.problem = fit, problem
        rows = [over_noise(seen, run, slope) for seen, run, slope in zip(problem.seen, fit.runs, fit.jacobians, strict=True)]
        self.blocks = rows
        stacked = np.vstack([block @ problem.spread_out(i) for i, block in enumerate(rows)])
        now = np.concatenate([list(fit.residuals(number).values()) for number in range(len(problem.seen))])
        self.residuals = now + stacked @ fit.unknowns
        self.answered = (stacked * problem.spreads**2) @ stacked.T  # by a good machine's departures, and a fault that was fitted
        self.factor = np.linalg.cholesky(self.answered + np.eye(len(now)))
        self.white = np.linalg.solve(self.factor, self.residuals)

    def best(self, kind: Kind) -> Cause | None:
        """With the stretches on which it fits best."""
        tried = [self._scored(kind, where, choices) for where, choices in self._windows(kind)]
        return max((one for one in tried if one is not None), key=lambda cause: cause.score, default=None)

    def _windows(self, kind: Kind) -> list[tuple[np.ndarray, int]]:
        """Stretches (s,) on which it may be there; later: from any stretch on, to any."""
        count = len(self.problem.seen)
        found = [(np.ones(count), 1)] if ALWAYS in kind.when else []
        if LATER in kind.when and count > 1:
            spans = [(i, j) for i in range(1, count) for j in range(i + 1, count + 1)]
            if kind.name == "leak":
                spans = [(i, count) for i in range(1, count)]
            found += [(np.array([float(i <= s < j) for s in range(count)]), len(spans)) for i, j in spans]
        return found

    def _scored(self, kind: Kind, where: np.ndarray, choices: int) -> Cause | None:
        """None where the gauges show nothing of it."""
        direction = np.array([kind.departures.get(one.name, 0.0) for one in self.problem.known])
        signature = np.concatenate([block @ direction * on for block, on in zip(self.blocks, where, strict=True)])
        white = np.linalg.solve(self.factor, signature)
        strength = float(white @ white)
        if strength < INVISIBLE:
            return None
        error = 1.0 / math.sqrt(strength + 1.0)
        amplitude = float(white @ self.white) * error**2
        score = 0.5 * (amplitude / error) ** 2 - 0.5 * math.log1p(strength) - math.log(choices)
        if kind.signed:
            score += math.log(max(math.erfc(-amplitude / error / math.sqrt(2.0)), 1e-300))
        else:
            score -= math.log(sum(one.place is not None for one in self.problem.known))
        shift = self._by_place(amplitude * signature, where)
        rest = np.linalg.solve(self.factor.T, self.white - amplitude * white)
        off = self._by_place(self.residuals - self.answered @ rest, where)  # less what else the machine then is
        told_for, told_against = self._evidence(shift, off)
        return Cause(kind, Fault(kind.name, direction, where), score, amplitude, error, told_for, told_against, shift)

    def _by_place(self, values: np.ndarray, where: np.ndarray) -> dict[str, float]:
        """Means over the stretches where a fault is there, in the noise of each place."""
        found, at = {}, 0
        for seen, run, on in zip(self.problem.seen, self.fit.runs, where, strict=True):
            for place in run.shown:
                if place in seen.measured:
                    if on:
                        found.setdefault(place, []).append(values[at] * seen.noise[place])
                    at += 1
        return {place: float(np.mean(each)) for place, each in found.items()}

    def _evidence(self, shift: Mapping[str, float], off: Mapping[str, float]) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Readings that are off as the fault would have them, and readings that are not.

        off is what is measured less what the machine would show that fits best with the fault, but for the fault.
        """
        noise = {place: seen.noise[place] for seen in self.problem.seen for place in seen.measured}
        told_for, told_against = [], []
        for place in sorted(shift, key=lambda one: -abs(shift[one]) / noise[one]):
            if abs(shift[place]) < SHOWS * noise[place]:
                continue
            words = f"{place} {amount(place, off[place])} what it would be without (signature: {amount(place, shift[place])})"
            agrees = abs(off[place] - shift[place]) < max((1.0 - SAME) * abs(shift[place]), SHOWS * noise[place])
            (told_for if agrees else told_against).append(words)
        return tuple(told_for[:MOST_EVIDENCE]), tuple(told_against[:MOST_EVIDENCE])


def amount(place: str, value: float) -> str:
    """A difference of a reading, as people say it."""
    if _kind_of(place) == "temperature":
        return f"{abs(value):.1f} K {'above' if value > 0.0 else 'below'}"
    return f"{100.0 * abs(math.expm1(value)):.1f} % {'above' if value > 0.0 else 'below'}"
