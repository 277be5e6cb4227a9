"""Where a recuperator pinches, and how much cooling that leaves.

Between the cold end of a recuperator and any section of it the energy balance reads

    q = h_low(T_low) - h_high(T_high) - L(T_high)

with q the heat taken up by the evaporator per mole. If both streams keep at least the approach a apart,
T_low <= T_high - a everywhere, and since h_low rises with temperature

    q_max = min over T_high of [ h_low(T_high - a) - h_high(T_high) - L(T_high) ]

with L the heat that leaks into the low side, and into the evaporator, between the cold end and that section.

The high-side temperature where the least value lies is the pinch. This is the energy balance alone;
the isothermal enthalpy difference (a = 0) as a figure of merit is in Maytal & Pfotenhauer, Miniature
Joule-Thomson Cryocooling (2013) (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.errors import ConvergenceError
from mixjt.parts.insulation import NO_LEAK, Leak
from mixjt.parts.recuperator.side import Side

MOVED = 1e-7  # of the least difference: a smaller step counts as standing still
REACHING = 1e-6  # of the least difference: an interval that promises less is left alone
MOST_ROUNDS = 40
NARROWEST = 1e-8  # of the temperature; intervals are not divided further
DISTINCT = 1e-6  # of a temperature
NEW_POINTS = 5  # put into every interval that may hold the minimum
BESIDE_KINK = np.array([-0.01, 0.01])  # of an interval
MOST_INTERVALS = 4  # divided in one round


@dataclass(frozen=True)
class LeastDifference:
    """Minimum of h_low(T - a) - h_high(T) - L(T) over a span.

    minimum [J/mol] where the high side has temperature [K]; temperatures and difference, shape (m,),
    are all points looked at, ascending.
    """

    minimum: float
    temperature: float
    temperatures: np.ndarray
    difference: np.ndarray


def enthalpy_difference(high: Side, low: Side, approach: float, temperatures, leak: Leak = NO_LEAK) -> np.ndarray:
    """h_low(T - approach) - h_high(T), less what leaks in, [J/mol] at high-side temperatures (m,)."""
    temperatures = np.asarray(temperatures, dtype=float)
    return low.enthalpy(temperatures - approach) - high.enthalpy(temperatures) - leak.before(temperatures)


def least_difference(
    high: Side, low: Side, approach: float, span: tuple[float, float], points: int = 64, leak: Leak = NO_LEAK, also=()
) -> LeastDifference:
    """Find the least enthalpy difference over high-side temperatures within span, kinks included.

    One sweep of each side over `points` temperatures; then every interval that may hold the minimum is
    divided, until the minimum stands still. The curve has kinks where a phase appears, and a minimum
    likes to sit on one, so an interval counts as long as a straight continuation of its neighbours
    reaches below the least value found.

    Parameters
    ----------
    high, low : Side
    approach : float
        [K]
    span : (float, float)
        Lowest and highest high-side temperature [K].
    points : int
    leak : Leak, optional
    also : sequence of float
        Temperatures [K] near which it may lie.

    Raises
    ------
    ConvergenceError
        Where the property model has no state at one of the temperatures.
    """
    temperatures = _joined(np.linspace(span[0], span[1], points), np.clip(np.array(also, dtype=float), *span))
    difference = _finite(high, low, approach, temperatures, leak)
    still = 0
    for _ in range(MOST_ROUNDS):
        intervals = _intervals_to_divide(temperatures, difference, still >= 1)
        if intervals.size == 0:
            break
        new = _new_points(temperatures, difference, intervals)
        before = difference.min()
        values = _finite(high, low, approach, new, leak)
        order = np.argsort(np.concatenate([temperatures, new]), kind="stable")
        temperatures = np.concatenate([temperatures, new])[order]
        difference = np.concatenate([difference, values])[order]
        moved = before - difference.min()
        still = still + 1 if moved <= _scale(difference) * MOVED else 0
    at = int(np.argmin(difference))
    return LeastDifference(float(difference[at]), float(temperatures[at]), temperatures, difference)


def _joined(grid: np.ndarray, also: np.ndarray) -> np.ndarray:
    """A grid and further temperatures, but for those that are hardly another one of them: nothing is told by these."""
    apart = np.abs(also[:, None] - grid).min(axis=1, initial=np.inf)
    return np.union1d(grid, also[apart > DISTINCT * also])


def _new_points(temperatures: np.ndarray, difference: np.ndarray, intervals: np.ndarray) -> np.ndarray:
    """Evenly within some intervals, and around where their neighbours, continued straight, meet: there a kink lies."""
    width, slope = np.diff(temperatures), np.diff(difference) / np.diff(temperatures)
    even = np.broadcast_to(np.arange(1, NEW_POINTS + 1) / (NEW_POINTS + 1), (intervals.size, NEW_POINTS))
    left, right = slope[np.maximum(intervals - 1, 0)], slope[np.minimum(intervals + 1, slope.size - 1)]
    bend = np.where(left < right, right - left, np.nan)
    met = 1.0 + (left - slope[intervals]) / bend  # share of the interval
    around = met[:, None] + BESIDE_KINK
    share = np.concatenate([even, np.where((around > 0.0) & (around < 1.0), around, even[:, :1])], axis=1)
    return np.unique(temperatures[intervals, None] + width[intervals, None] * share)


def _scale(difference: np.ndarray) -> float:
    return max(abs(difference.min()), 1.0)


def straight_line_bound(temperatures: np.ndarray, difference: np.ndarray) -> np.ndarray:
    """How low a curve (..., m) may go inside each interval (..., m - 1) if its neighbours run on straight.

    A convex stretch stays above it, and so does a kink or a jump between straight branches.
    """
    width = np.diff(temperatures)
    slope = np.diff(difference, axis=-1) / width
    before = np.concatenate([slope[..., :1], slope[..., :-1]], axis=-1)
    after = np.concatenate([slope[..., 1:], slope[..., -1:]], axis=-1)
    from_left = difference[..., :-1] + np.minimum(before, 0.0) * width
    from_right = difference[..., 1:] - np.maximum(after, 0.0) * width
    return np.minimum(from_left, from_right)


def _intervals_to_divide(temperatures: np.ndarray, difference: np.ndarray, still: bool) -> np.ndarray:
    """Intervals whose neighbours, continued straight, reach below the minimum; those touching it first.

    The touching ones count in any case until the minimum stands still: beside a jump, which a pure
    fluid has, no straight line tells how far down the curve goes.
    """
    width = np.diff(temperatures)
    bound = straight_line_bound(temperatures, difference)
    at = int(np.argmin(difference))
    touching = np.zeros(width.size, dtype=bool)
    touching[max(at - 1, 0) : at + 1] = True
    wanted = bound < difference[at] - REACHING * _scale(difference)
    if not still:
        wanted |= touching
    wanted &= width > NARROWEST * temperatures[1:]
    chosen = np.flatnonzero(wanted)
    best_first = np.lexsort((bound[chosen], ~touching[chosen]))
    return np.sort(chosen[best_first[:MOST_INTERVALS]])


def _finite(high, low, approach, temperatures, leak) -> np.ndarray:
    values = enthalpy_difference(high, low, approach, temperatures, leak)
    if not np.all(np.isfinite(values)):
        raise ConvergenceError(
            "enthalpy along the recuperator",
            "try a slightly different blend",
            temperature=float(temperatures[np.argmin(np.isfinite(values))]),
        )
    return values
