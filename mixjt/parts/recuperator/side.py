"""Counterflow recuperator: the streams of a side, their enthalpy along it, its inversion, and the conductance.

Pressure along a side is taken as linear in that side's temperature between its two ends. The drop in a
real exchanger is steeper where the stream is vapour; with drops of a tenth of the absolute pressure or
less the difference is small against what a property model gets wrong.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.errors import ConvergenceError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.interpolate import POINTS, Cubics
from mixjt.fluid.states import State

ZERO_DIFFERENCE = 1e-6  # K; streams closer than this count as touching
SAME = 1e-5  # J/mol
FORESEEN = 1e-5  # J/mol, that a step is expected to leave: it is not looked at
FIRST_LEFT = 0.01  # of a miss, what a step with the cubic's slope leaves at most


@dataclass(frozen=True)
class Ends:
    """Temperatures [K] and pressures [Pa] of a stream at the cold and at the warm end of an exchanger."""

    cold_temperature: float
    warm_temperature: float
    cold_pressure: float
    warm_pressure: float

    @property
    def even(self) -> bool:
        """Whether the pressure is the same throughout."""
        return self.cold_pressure == self.warm_pressure

    def pressure(self, temperatures) -> np.ndarray:
        """Pressure [Pa] where the stream has the given temperatures; constant beyond the two ends."""
        temperatures = np.asarray(temperatures, dtype=float)
        if self.even or self.cold_temperature >= self.warm_temperature:
            return np.full(temperatures.shape, self.cold_pressure)
        share = (temperatures - self.cold_temperature) / (self.warm_temperature - self.cold_temperature)
        return self.cold_pressure + np.clip(share, 0.0, 1.0) * (self.warm_pressure - self.cold_pressure)


@dataclass(frozen=True, eq=False)
class Stream:
    """A fluid on its way through a part: flow in moles per mole of blend, ends where it exchanges heat.

    A stream with an origin, its state at its cold end, exchanges heat only between there and its warm end, and its
    enthalpy counts from there.
    """

    fluid: Fluid
    flow: float = 1.0
    ends: Ends | None = None
    origin: State | None = None

    def enthalpy(self, temperatures) -> np.ndarray:
        """Enthalpy [J/mol of blend] where the stream has the given temperatures (m,)."""
        if self.origin is None:
            return self.flow * self.fluid.sweep(temperatures, self.ends.pressure(temperatures)).enthalpy
        within = np.clip(temperatures, self.origin.temperature, self.ends.warm_temperature)
        above = self.fluid.sweep(within, self.ends.pressure(within)).enthalpy - self.origin.enthalpy
        return np.where(within <= self.origin.temperature, 0.0, self.flow * above)

    def enthalpy_of(self, state: State) -> float:
        """Enthalpy [J/mol of blend] of the stream in a state of its own."""
        return self.flow * (state.enthalpy - (0.0 if self.origin is None else self.origin.enthalpy))


@dataclass(frozen=True, eq=False)
class Side:
    """One side of a recuperator: streams side by side, at one temperature in every section; the blend's own first."""

    streams: tuple[Stream, ...]

    @property
    def ends(self) -> Ends:
        """Of the first stream."""
        return self.streams[0].ends

    def enthalpy(self, temperatures) -> np.ndarray:
        """Enthalpy of all streams together [J/mol of blend] at the given temperatures (m,)."""
        temperatures = np.asarray(temperatures, dtype=float)
        return sum(stream.enthalpy(temperatures) for stream in self.streams)

    def state(self, enthalpy: float, low: float, high: float) -> State:
        """The state where a single stream has an enthalpy [J/mol], between two temperatures [K] that enclose it."""
        (stream,) = self.streams
        if stream.ends.even:
            return stream.fluid.hp(enthalpy, stream.ends.cold_pressure)
        return stream.fluid.hp(enthalpy, float(stream.ends.pressure(self.temperature(enthalpy, np.linspace(low, high, 9)))))

    def temperature(self, enthalpy: float, table) -> float:
        """Temperature [K] where the side has an enthalpy [J/mol of blend], within a table of temperatures (m,)."""
        known = self.enthalpy(table)
        (found,) = temperature_from_enthalpy(self, [float(np.clip(enthalpy, known[0], known[-1]))], table, known)
        return float(found)


def temperature_from_enthalpy(side: Side, targets, table_temperature, table_enthalpy, rounds: int = 80) -> np.ndarray:
    """Temperatures at which a side has given enthalpies.

    All targets are refined at once, one sweep a round: first where a cubic through the table has them, then by
    secants within a bracket, with a bisection every fourth round and bisections only from the fourteenth on. A step is
    expected to gain at least what the one before gained, the first one what the cubic's slope is good for. On the flat stretch of a pure fluid the bracket closes on the
    saturation temperature.

    Parameters
    ----------
    targets : array (k,)
        Enthalpies [J/mol], within the table.
    table_temperature, table_enthalpy : arrays (m,)
        Known points of the side, ascending, which bracket the targets.

    Returns
    -------
    array (k,) [K], good to 1e-10 of the temperature or 1e-5 J/mol.

    Raises
    ------
    ConvergenceError
    """
    targets = np.asarray(targets, dtype=float)
    right = np.clip(np.searchsorted(table_enthalpy, targets), 1, len(table_enthalpy) - 1)
    low, high = table_temperature[right - 1].copy(), table_temperature[right].copy()
    miss_low, miss_high = table_enthalpy[right - 1] - targets, table_enthalpy[right] - targets
    answer = np.where(np.abs(miss_low) < np.abs(miss_high), low, high)
    open_ = np.flatnonzero((np.abs(miss_low) > SAME) & (np.abs(miss_high) > SAME))
    slope, trial, first_left = (miss_high - miss_low) / (high - low), 0.5 * (low + high), 1.0
    if len(table_enthalpy) >= POINTS and np.all(np.diff(table_enthalpy) > 0.0):
        near = 1e-3 * (miss_high - miss_low)
        trial, beyond = Cubics(table_enthalpy, (table_temperature,), 0).at(np.concatenate([targets, targets + near]))[0].reshape(2, -1)
        first_left = FIRST_LEFT
        slope = np.where(beyond > trial, near / np.where(beyond > trial, beyond - trial, 1.0), slope)
    last, last_miss = np.full(targets.shape, np.nan), np.full(targets.shape, np.nan)
    for turn in range(rounds):
        open_ = open_[high[open_] - low[open_] > 1e-10 * high[open_]]
        if open_.size == 0:
            return answer
        a, b, at = low[open_], high[open_], trial[open_]
        halved = ~((at > a) & (at < b)) | (turn % 4 == 3 or turn > 12)
        at[halved] = 0.5 * (a + b)[halved]
        order = np.argsort(at)
        miss = np.empty_like(at)
        miss[order] = side.enthalpy(at[order]) - targets[open_][order]
        if not np.all(np.isfinite(miss)):
            break
        low[open_], high[open_] = np.where(miss < 0.0, at, a), np.where(miss < 0.0, b, at)
        rise, step = miss - last_miss[open_], at - last[open_]
        rising = rise * step > 0.0
        slope[open_] = np.where(rising, rise / np.where(rising, step, 1.0), slope[open_])
        left = np.abs(miss) * (first_left if turn == 0 else np.abs(miss / last_miss[open_]))
        step = at - miss / slope[open_]
        foreseen = (left < FORESEEN) & (step > low[open_]) & (step < high[open_])
        answer[open_], last[open_], last_miss[open_] = np.where(foreseen, step, at), at, miss
        trial[open_] = step
        open_ = open_[(np.abs(miss) > SAME) & ~foreseen]
    worst = open_[0]
    raise ConvergenceError(
        "temperature from enthalpy along the recuperator",
        "try a finer grid",
        enthalpy=float(targets[worst]),
        temperature=float(answer[worst]),
    )


def log_mean_difference(cold_end, warm_end) -> np.ndarray:
    """Logarithmic mean of the temperature differences at two ends [K].

    (dT1 - dT2) / ln(dT1 / dT2), and the arithmetic mean less its second-order term where the two are so
    close that the formula would cancel. Zero where either end is zero.

    Source: Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, chapter on heat exchangers
    (from memory).
    """
    first, second = np.broadcast_arrays(np.asarray(cold_end, float), np.asarray(warm_end, float))
    touching = (first <= ZERO_DIFFERENCE) | (second <= ZERO_DIFFERENCE)
    mean = np.where(touching, 1.0, 0.5 * (first + second))
    spread = np.where(touching, 0.0, (first - second) / mean)
    # ln(dT1/dT2) = 2 artanh(spread / 2); the series below holds to 1e-16 where it is used
    close = np.abs(spread) < 1e-3
    log_ratio = 2.0 * np.arctanh(0.5 * np.where(close, 0.5, spread))
    series = 1.0 - spread**2 / 12.0 - spread**4 / 180.0
    return np.where(touching, 0.0, mean * np.where(close, series, spread / log_ratio))


def length_shares(curves) -> np.ndarray:
    """Share of a recuperator's length before each point of its sections (m,), of even conductance along the length.

    Parameters
    ----------
    curves : sequence of (heat, high_temperature, low_temperature)
        As in `conductance_per_flow`, the coldest section first. Where the streams touch, and no length would do, the
        heat is taken as even along it.
    """
    parts = []
    for heat, high, low in curves:
        apart = high - low
        touching = np.any(apart <= ZERO_DIFFERENCE)
        parts.append([0.0, *(np.diff(heat) / (1.0 if touching else log_mean_difference(apart[:-1], apart[1:])))])
    along = np.cumsum(np.concatenate(parts))
    return along / along[-1]


def conductance_per_flow(heat, high_temperature, low_temperature) -> float:
    """UA over molar flow [J/(mol K)]: the sum over segments of heat over log-mean difference.

    Parameters
    ----------
    heat : array (m,)
        Transferred between the cold end and each section [J/mol], ascending.
    high_temperature, low_temperature : arrays (m,) [K]

    Returns infinity where the streams touch or cross: no exchanger is large enough.
    """
    difference = np.asarray(high_temperature) - np.asarray(low_temperature)
    if np.any(difference <= ZERO_DIFFERENCE):
        return float("inf")
    return float(np.sum(np.diff(heat) / log_mean_difference(difference[:-1], difference[1:])))
