"""Where a log stands still, and where it changes so slowly that a balance holds."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from mixjt.keys import key
from mixjt.studies.trial.log import BY_NAME, TrialLog, display_step
from mixjt.studies.trial.straight import LEAST, SURE, Line

AT_REST, STEADY, COOLING, WARMING = "at rest", "steady", "cooling", "warming"
# W, A: less is a fan or the meter's own (common practice, no source)
LEAST_RUNNING = {"power": 10.0, "current": 0.1}
RUNNING = 0.2  # of the usual power or current of a running compressor
COLD_END = "evaporator", "throttle outlet", "throttle inlet"
LENGTHS = (
    1.0,
    1.5,
    2.0,
    3.0,
    4.0,
    6.0,
    8.0,
)  # times the shortest stretch, for a noisy one to show that it is steady
STEPS = 5  # of the shortest stretch, by which one is looked for and grows
GAP = 5.0  # times the usual time between lines, which no stretch spans
HOUR = 3600.0  # s; no stretch is longer, so that what may change in an hour changes at most
ROUNDING = 1e-6  # s


@dataclass(frozen=True)
class SteadyLimits:
    """How long and how still a stretch must be.

    By default a reading changes within the shortest stretch by less than its sensor may be off: 0.25 K of a
    thermocouple's 0.5 K, 0.4 % of a pressure that a gauge shows within 1.6 % (`log.PLACES`).
    """

    shortest_stretch: float = key(
        "time", "the shortest steady stretch that counts", default=300.0, within="[30, 86400]"
    )
    largest_temperature_drift: float = key(
        "temperature_difference",
        "what a temperature may change in an hour of a steady stretch",
        default=3.0,
        within="(0, 100]",
    )
    largest_pressure_drift: float = key(
        "fraction",
        "what a pressure may change in an hour of a steady stretch, of itself",
        default=0.05,
        within="(0, 1]",
    )
    largest_electric_drift: float = key(
        "fraction",
        "what volts, amperes and watts may change in an hour of a steady stretch, of themselves",
        default=0.1,
        within="(0, 1]",
    )
    longest_piece: float = key(
        "time",
        "the longest piece of a cool-down or warm-up that is taken as one",
        default=180.0,
        within="[10, 3600]",
    )


@dataclass(frozen=True, eq=False)
class Stretch:
    """A stretch of the log, from start to end [s], and its readings by place.

    kind is "at rest", "steady", "cooling" or "warming"; mean, slope [per s] and scatter (standard deviation
    about the straight line) in the SI unit of the reading, count of readings there. A place that was not
    read there is left out; slope and scatter are NaN where there are too few readings for them.
    """

    kind: str
    start: float
    end: float
    mean: Mapping[str, float]
    scatter: Mapping[str, float]
    slope: Mapping[str, float]
    count: Mapping[str, int]


def stretches(log: TrialLog, limits: SteadyLimits) -> tuple[Stretch, ...]:
    """The stretches of a log in order of time; they do not overlap, and none spans a gap of the log.

    Steady: the compressor runs, and of every reading |slope| + t * error <= what `limits` allow, by default
    3 K, 5 % of a pressure and 10 % of volts, amperes and watts in an hour. error is the slope's standard
    error (`straight.py`), t Student's quantile of 97.5 %: noise that might hide a creep asks for a longer
    stretch, and no creep is taken for rest. A stretch begins with one to eight times the shortest and grows
    by fifths of it, to an hour at most, as long as that holds, nothing bends and nothing steps: a step
    leaves the line of the stretch so far by three standard errors, and by more than the largest drift would
    do in the shortest stretch. Places with fewer than five readings in it are not judged.

    At rest: the compressor stands, suction and discharge pressure are equal within three standard errors of
    their gauges, and the temperatures are steady in the same sense. The pressure may creep (a leak), and a
    cold end behind good insulation may still be below the room.

    Cooling, warming: the compressor runs and the cold end's temperature changes for sure, in pieces short
    enough that no reading bends.

    The compressor runs where its power, else its current, is above a fifth of what is usual while it runs,
    and above 10 W or 0.1 A; without either, where the pressures differ; without those, always.
    """
    readings = {name: _Reading.of(log, name) for name in log.readings}
    running = running_lines(log)
    resting = ~running & equal_pressures(log)
    found = []
    for first, last in _segments(log.times, running, resting):
        window = _Window(log.times, readings, limits, first, last)
        if running[first]:
            found += _running(window)
        elif resting[first]:
            found += [part.stretch(AT_REST) for part in _still_parts(window, _judged_at_rest(window))]
    return tuple(found)


def running_lines(log: TrialLog) -> np.ndarray:
    """Whether the compressor runs, line by line (n,).

    A line without power is judged by the current, then by the pressures, and else as the line before.
    """
    running = np.full(log.times.size, np.nan)
    for name, least in LEAST_RUNNING.items():
        values = log.readings.get(name, running)
        usual = np.median(values[values > least]) if np.any(values > least) else 0.0
        known = np.isnan(running) & np.isfinite(values)
        running = np.where(known, values > max(RUNNING * usual, least), running)
    apart = _pressure_difference(log)
    running = np.where(np.isnan(running) & np.isfinite(apart), apart > _equal_within(), running)
    return _held(running)


def equal_pressures(log: TrialLog) -> np.ndarray:
    """Whether suction and discharge pressure are equal, line by line (n,), as far as is known; else as the line before."""
    apart = _pressure_difference(log)
    return _held(np.where(np.isfinite(apart), np.abs(apart) <= _equal_within(), np.nan))


def _held(states: np.ndarray) -> np.ndarray:
    """States (n,) that hold until another one is known; true before the first."""
    last = np.maximum.accumulate(np.where(np.isnan(states), -1, np.arange(states.size)))
    return np.where(last < 0, 1.0, states[last]).astype(bool)


def _pressure_difference(log: TrialLog) -> np.ndarray:
    none = np.full(log.times.size, np.nan)
    return log.readings.get("discharge", none) - log.readings.get("suction", none)


def _equal_within() -> float:
    return SURE * float(np.hypot(BY_NAME["suction"].error, BY_NAME["discharge"].error))


def _segments(times, *states) -> list[tuple[int, int]]:
    """First line and the one behind the last, of pieces without gap and without change of state."""
    breaks = np.diff(times) > GAP * np.median(np.diff(times))
    for state in states:
        breaks |= np.diff(state.astype(int)) != 0
    edges = [0, *(np.flatnonzero(breaks) + 1).tolist(), times.size]
    return list(pairwise(edges))


@dataclass(frozen=True, eq=False)
class _Reading:
    """The readings of a place: values (n,), the step they are shown in, and what electric limits are relative to."""

    kind: str
    values: np.ndarray
    step: float
    size: float

    @classmethod
    def of(cls, log: TrialLog, name: str) -> _Reading:
        values, place = log.readings[name], BY_NAME[name]
        size = (
            float(np.quantile(np.abs(values[np.isfinite(values)]), 0.9)) if np.isfinite(values).any() else 0.0
        )
        return cls(place.kind, values, display_step(values, place), size)

    def limit(self, limits: SteadyLimits, mean: float) -> float:
        """The largest drift in a steady stretch [per s]."""
        if self.kind == "temperature":
            return limits.largest_temperature_drift / HOUR
        if self.kind == "pressure":
            return limits.largest_pressure_drift * abs(mean) / HOUR
        return limits.largest_electric_drift * self.size / HOUR


@dataclass(frozen=True, eq=False)
class _Window:
    """Lines first to last (not with it) of a log."""

    times: np.ndarray
    readings: Mapping[str, _Reading]
    limits: SteadyLimits
    first: int
    last: int

    def to(self, first: int, last: int) -> _Window:
        return replace(self, first=first, last=last)

    def at(self, time: float) -> int:
        """The first line at this time or later, at most the end of the window."""
        return self.first + int(np.searchsorted(self.times[self.first : self.last], time - ROUNDING))

    @property
    def duration(self) -> float:
        return float(self.times[self.last - 1] - self.times[self.first])

    def points(self, name: str) -> tuple[np.ndarray, np.ndarray]:
        """Times and values of a place where it was read."""
        here = slice(self.first, self.last)
        values = self.readings[name].values[here]
        there = np.isfinite(values)
        return self.times[here][there], values[there]

    @cached_property
    def _lines(self) -> dict[str, Line]:
        return {}

    def line(self, name: str) -> Line:
        if name not in self._lines:
            self._lines[name] = Line(*self.points(name), self.readings[name].step)
        return self._lines[name]

    def tolerance(self, name: str, mean: float) -> float:
        """What is neither bend nor step: the largest drift during the shortest stretch, and the display's step."""
        reading = self.readings[name]
        return reading.limit(self.limits, mean) * self.limits.shortest_stretch + reading.step

    def judged(self, names) -> list[str]:
        return [name for name in names if self.line(name).count >= LEAST]

    def straight(self, names) -> bool:
        lines = ((name, self.line(name)) for name in self.judged(names))
        return not any(line.bends(self.tolerance(name, line.mean)) for name, line in lines)

    def still(self, names) -> bool:
        """Whether every place with enough readings is shown to drift less than allowed, and there is one."""
        judged = self.judged(names)
        lines = ((name, self.line(name)) for name in judged)
        calm = all(
            line.largest_slope <= self.readings[name].limit(self.limits, line.mean) for name, line in lines
        )
        return bool(judged) and calm and self.straight(names)

    def stretch(self, kind: str) -> Stretch:
        lines = {name: self.line(name) for name in self.readings if self.line(name).count}
        facts = {
            what: {name: getattr(line, what) for name, line in lines.items()}
            for what in ("mean", "scatter", "slope", "count")
        }
        return Stretch(kind, float(self.times[self.first]), float(self.times[self.last - 1]), **facts)


def _judged_at_rest(window: _Window) -> list[str]:
    """The temperatures; without them the pressures."""
    kinds = {name: reading.kind for name, reading in window.readings.items()}
    warm = window.judged(name for name, kind in kinds.items() if kind == "temperature")
    return warm or [name for name, kind in kinds.items() if kind == "pressure"]


def _running(window: _Window) -> list[Stretch]:
    """Steady stretches, and the pieces of cooling and warming between them."""
    found, start = [], window.first
    for part in _still_parts(window, list(window.readings)):
        found += [*_pieces(window.to(start, part.first)), part.stretch(STEADY)]
        start = part.last
    return found + _pieces(window.to(start, window.last))


def _still_parts(window: _Window, names: list[str]) -> list[_Window]:
    found, start = [], window.first
    while start < window.last:
        part = _first_still(window, start, names)
        if part is None:
            start = max(start + 1, window.at(window.times[start] + window.limits.shortest_stretch / STEPS))
        else:
            found.append(_grown(window, part, names))
            start = found[-1].last
    return found


def _first_still(window: _Window, start: int, names: list[str]) -> _Window | None:
    """The shortest still part from a line on, of one to eight times the least duration."""
    for times in LENGTHS:
        least = times * window.limits.shortest_stretch
        if window.times[window.last - 1] - window.times[start] < least - ROUNDING:
            return None
        part = window.to(start, min(window.at(window.times[start] + least) + 1, window.last))
        if part.still(names):
            return part
    return None


def _grown(window: _Window, part: _Window, names: list[str]) -> _Window:
    """A still part as far as it stays so."""
    while part.last < window.last and part.duration < HOUR:
        end = min(
            window.at(window.times[part.last - 1] + window.limits.shortest_stretch / STEPS) + 1, window.last
        )
        more, grown = window.to(part.last, end), window.to(part.first, end)
        if any(_steps(part, more, name) for name in part.judged(names)) or not grown.still(names):
            break
        part = grown
    return part


def _steps(part: _Window, more: _Window, name: str) -> bool:
    times, values = more.points(name)
    line = part.line(name)
    return bool(times.size) and line.leaves(times, values, part.tolerance(name, line.mean))


def _pieces(window: _Window) -> list[Stretch]:
    """Straight pieces along which the cold end's temperature changes."""
    cold = next((name for name in COLD_END if name in window.readings), None)
    if cold is None or window.last - window.first < LEAST:
        return []
    parts = max(1, math.ceil(window.duration / window.limits.longest_piece))
    if parts == 1 and window.straight(window.readings):
        line = window.line(cold)
        kind = COOLING if line.slope < 0.0 else WARMING
        return [window.stretch(kind)] if line.count >= LEAST and line.slopes else []
    edges = [window.times[window.first] + k * window.duration / max(parts, 2) for k in range(max(parts, 2))]
    lines = [*(window.at(edge) for edge in edges), window.last]
    return [piece for first, last in pairwise(lines) for piece in _pieces(window.to(first, last))]
