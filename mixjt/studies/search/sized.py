"""Recuperators of stated conductance, of many blends at once, and what leaks into them.

For a cooling q the energy balance gives the low side's temperature beside every temperature of the high side, and with
it the conductance that this takes, which rises with q from nothing to infinity: one root a blend, on what has been
swept already. Between the temperatures swept, enthalpies follow monotone cubics.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.parts.insulation import Insulation
from mixjt.parts.recuperator.side import log_mean_difference

TOUCHING = 1e-3  # K; nearer than this the streams of a batch touch
NO_LACK = 1e-3  # J/mol; nearer than this to its greatest the cooling is as good as that
USUAL_SLOPE, SLOPES = -0.7, (-6.0, -0.05)  # of the logarithm of conductance with that of what the cooling lacks
MOST_TRIALS, NARROWEST = 60, 1e-12


def spread_leaks(box: Insulation, circuit: ThrottleCircuit, flow, shares, low) -> np.ndarray:
    """What leaks in between the evaporator and each high-side temperature (n, m) [J/mol of blend].

    As `mixjt.parts.insulation.spread_leak`, of many blends: flow (n,) [mol/s], shares of the length (n, m) and low-side
    temperatures (n, m) [K].
    """
    below = circuit.ambient_temperature - low
    first = shares[:, :1] * (circuit.ambient_temperature - 0.5 * (circuit.cold_temperature + low[:, :1]))
    parts = np.hstack([first, 0.5 * (below[:, 1:] + below[:, :-1]) * np.diff(shares, axis=1)])
    at_end = box.cold_end_share * (circuit.ambient_temperature - circuit.cold_temperature)
    return (box.conductance / flow)[:, None] * (at_end + (1.0 - box.cold_end_share) * np.cumsum(parts, axis=1))


class Rows:
    """Monotone cubics y(x) through the points of many rows, x (n, k) and y (n, k) or one row (k,) of it, both ascending.

    Source: Fritsch & Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300 (from memory), for the slopes.
    """

    def __init__(self, x: np.ndarray, y: np.ndarray):
        x, y = np.broadcast_arrays(x, y)
        x = np.maximum.accumulate(x + 1e-9 * np.arange(x.shape[1]), axis=1)  # a pure fluid's may stand still
        width, rise = np.diff(x, axis=1), np.diff(y, axis=1)
        secant = rise / width
        before, after = secant[:, :-1], secant[:, 1:]
        weight = (width[:, :-1] + 2.0 * width[:, 1:]) / (3.0 * (width[:, :-1] + width[:, 1:]))
        with np.errstate(divide="ignore", invalid="ignore"):
            inner = before * after / (weight * after + (1.0 - weight) * before)
        inner = np.where(before * after > 0.0, inner, 0.0)
        self._slope = np.concatenate([secant[:, :1], inner, secant[:, -1:]], axis=1)
        self._x, self._y = x, np.ascontiguousarray(y)
        span = np.nan_to_num(x[:, -1] - x[:, 0]).max(initial=1.0) * 4.0
        self._from, self._span = np.nan_to_num(x[:, :1]), span
        rows = np.arange(len(x))[:, None]
        self._flat = np.nan_to_num(np.clip(x - self._from, 0.0, 0.5 * span) + rows * span).ravel()

    def __call__(self, at: np.ndarray, rows: np.ndarray) -> np.ndarray:
        """Values (r, m) at (r, m) in some of the rows; beyond the ends they go on straight."""
        columns = self._x.shape[1]
        shifted = np.clip(np.nan_to_num(at - self._from[rows]), 0.0, 0.5 * self._span) + rows[:, None] * self._span
        left = np.clip(np.searchsorted(self._flat, shifted.ravel()).reshape(at.shape) - rows[:, None] * columns - 1, 0, columns - 2)
        row = rows[:, None]
        x0, x1, y0, y1 = self._x[row, left], self._x[row, left + 1], self._y[row, left], self._y[row, left + 1]
        width = x1 - x0
        share = (at - x0) / width
        d0, d1 = self._slope[row, left] * width, self._slope[row, left + 1] * width
        rest = 1.0 - share
        inside = y0 * rest * rest * (1.0 + 2.0 * share) + y1 * share * share * (3.0 - 2.0 * share)
        inside += share * rest * (d0 * rest - d1 * share)
        return np.where(share < 0.0, y0 + d0 * share, np.where(share > 1.0, y1 + d1 * (share - 1.0), inside))


@dataclass(frozen=True)
class Profile:
    """Both sides at every point of the recuperator: apart (n, m) [K]; conductance (n,) per flow [J/(mol K)].

    shares (n, m) of it lie between the cold end and each point; low (n, m) is the low side's temperature [K].
    """

    apart: np.ndarray
    low: np.ndarray
    shares: np.ndarray
    conductance: np.ndarray


class Recuperators:
    """The recuperators of many blends in one circuit.

    Parameters
    ----------
    circuit : ThrottleCircuit
    hot : array (m,)
        High-side temperatures [K].
    high : array (n, m)
        Enthalpies of the high side there [J/mol].
    cold : array (k,)
        Low-side temperatures [K], and
    low : array (n, k)
        the low side's enthalpies.
    heat : function of cooling (r,), approach (r,) and rows
        What a precooler takes up [J/mol], from `first` on, the number of high-side points colder than it.
    """

    def __init__(self, circuit: ThrottleCircuit, hot, high, cold, low, first: int, heat=None):
        self.circuit, self.hot, self.high, self.low, self.first, self.heat = circuit, hot, high, low, first, heat
        self.cold = cold
        self._temperature = Rows(low, cold[None])
        self._enthalpy = Rows(np.broadcast_to(cold, low.shape), low)
        self._hot = Rows(high, hot[None])

    def profile(self, cooling: np.ndarray, leak: np.ndarray, rows: np.ndarray) -> Profile:
        """Of some rows at a cooling (r,) [J/mol] with what leaks in before every point (r, m) [J/mol]."""
        start = self.low[rows, :1] - cooling[:, None] - leak[:, :1]  # enthalpy of the throttle's inlet
        exchanged = np.maximum(self.high[rows], start)
        inlet = self._hot(start, rows)
        hot = np.maximum(np.broadcast_to(self.hot, exchanged.shape), inlet)
        hot, exchanged = np.hstack([inlet, hot]), np.hstack([start, exchanged])
        gained = np.hstack([leak[:, :1], leak])
        cold = self._temperature(exchanged + cooling[:, None] + gained, rows)
        if self.heat is not None:
            cold, exchanged = self._precooled(cooling, gained, rows, hot, cold, exchanged)
        apart = np.maximum(hot - cold, TOUCHING)
        parts = np.maximum(np.diff(exchanged, axis=1), 0.0) / log_mean_difference(apart[:, :-1], apart[:, 1:])
        along = np.cumsum(parts, axis=1)
        return Profile((hot - cold)[:, 1:], cold[:, 1:], along / np.maximum(along[:, -1:], 1e-12), along[:, -1])

    def _precooled(self, cooling, gained, rows, hot, cold, exchanged):
        """The warm section, from where the precooler has taken up its heat on."""
        first = self.first + 1
        approach = np.maximum((hot - cold)[:, :first].min(axis=1), 0.0)
        heat = self.heat(cooling, approach, rows)[:, None]
        outlet = exchanged[:, first - 1 : first]
        exchanged[:, first:] = np.maximum(exchanged[:, first:] - heat, outlet)
        cold[:, first:] = self._temperature(exchanged[:, first:] + cooling[:, None] + gained[:, first:], rows)
        return cold, exchanged

    def low_enthalpy(self, approach: np.ndarray, rows: np.ndarray) -> np.ndarray:
        """Of the low side colder than the high side by an approach (r,) [K], at every point (r, m) [J/mol]."""
        return self._enthalpy(self.hot[None] - approach[:, None], rows)


def greatest_cooling(recuperators: Recuperators, units: np.ndarray, leak: np.ndarray, near: np.ndarray, tolerance: float):
    """Cooling (n,) [J/mol] at a conductance per flow (n,) [J/(mol K)], at most that where streams touch.

    leak (n, m) [J/mol] is what leaks in between the evaporator and each high-side temperature; near (n,) is where the
    answer may lie, tolerance that of the logarithm of conductance. Secants of that against the logarithm of what the
    cooling lacks of the greatest, a nearly straight line, within what is known to enclose the root.
    """
    every, first = np.arange(len(units)), recuperators.first
    touching = recuperators.low_enthalpy(np.zeros(len(units)), every) - recuperators.high - leak
    most = touching[:, :first].min(axis=1)
    least = recuperators.low[:, 0] - recuperators.high[:, -1] - leak[:, 0]  # nothing is exchanged
    low, high = np.full(len(units), np.log(NO_LACK)), np.log(most - least + NO_LACK)
    at = np.clip(np.log(np.maximum(most - near, NO_LACK)), low, high)
    slope, last = np.full(len(units), USUAL_SLOPE), None
    open_ = every
    for _ in range(MOST_TRIALS):
        reached = recuperators.profile(most[open_] - np.exp(at[open_]), leak[open_], open_).conductance
        excess = np.log(np.clip(reached / units[open_], 1e-4, 1e4))
        low[open_], high[open_] = np.where(excess > 0.0, at[open_], low[open_]), np.where(excess > 0.0, high[open_], at[open_])
        if last is not None:
            with np.errstate(divide="ignore", invalid="ignore"):
                secant = (excess - last[0][open_]) / (at[open_] - last[1][open_])
            slope[open_] = np.where(secant < 0.0, np.clip(secant, *SLOPES), USUAL_SLOPE)
        values = np.zeros(len(units))
        values[open_] = excess
        last = values, at.copy()
        step = at[open_] - excess / slope[open_]
        middle = 0.5 * (low[open_] + high[open_])
        still_open = (np.abs(excess) > tolerance) & (high[open_] - low[open_] > NARROWEST)
        at[open_] = np.where(still_open, np.where((step > low[open_]) & (step < high[open_]), step, middle), at[open_])
        open_ = open_[still_open]
        if not open_.size:
            break
    return most - np.exp(at)
