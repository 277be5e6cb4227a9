"""Kernels of `mixjt.parts.recuperator.coils`: the two sides of many recuperators, and the cooling at a conductance.

Monotone cubics: Fritsch & Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300 (from memory).
"""

from __future__ import annotations

from math import exp, log

import numpy as np
from numba import carray, float64, int64, types

from mixjt.compiled import compiled
from mixjt.fluid.table_kernels import REALS
from mixjt.linked import inlined
from mixjt.parts.recuperator.coils import COLD_SUCTION, ONE_SECTION, SCRATCH, WARM_SECTION

TOUCHING = 1e-3  # K; nearer than this the streams of a batch touch
NO_LACK = 1e-3  # J/mol; nearer than this to its greatest a cooling is as good as that
USUAL_SLOPE, STEEPEST, FLATTEST = -0.7, -6.0, -0.05  # of ln conductance with ln of what the cooling lacks
MOST_TRIALS, NARROWEST, WIDEST = 60, 1e-12, 9.0


@inlined
def _slopes(x, y, d):
    """Slopes of the monotone cubic through points."""
    last = (y[1] - y[0]) / (x[1] - x[0])
    d[0] = last
    for k in range(1, x.size - 1):
        width, before = x[k + 1] - x[k], x[k] - x[k - 1]
        secant = (y[k + 1] - y[k]) / width
        d[k] = 0.0
        if last * secant > 0.0:
            weight = (before + 2.0 * width) / (3.0 * (before + width))
            d[k] = last * secant / (weight * secant + (1.0 - weight) * last)
        last = secant
    d[x.size - 1] = last


@inlined
def _place(x, at, left):
    """The interval of x where a value lies, looked for from another one on; the first or last beyond the ends."""
    while left < x.size - 2 and at > x[left + 1]:
        left += 1
    while left > 0 and at < x[left]:
        left -= 1
    return left


@inlined
def _value(x, y, d, left, at):
    """The cubic in an interval; beyond the ends it goes on straight."""
    width = x[left + 1] - x[left]
    share = (at - x[left]) / width
    if share < 0.0:
        return y[left] + d[left] * (at - x[left])
    if share > 1.0:
        return y[left + 1] + d[left + 1] * (at - x[left + 1])
    rest = 1.0 - share
    ends = y[left] * rest * rest * (1.0 + 2.0 * share) + y[left + 1] * share * share * (3.0 - 2.0 * share)
    return ends + share * rest * width * (d[left] * rest - d[left + 1] * share)


@inlined
def _log_mean(one, other):
    """As `mixjt.parts.recuperator.side.log_mean_difference`, of differences above zero."""
    mean = 0.5 * (one + other)
    spread = (one - other) / mean
    return mean * (1.0 - spread * spread / 12.0) if abs(spread) < 1e-3 else (one - other) / log(one / other)


@inlined
def _allowed(hot, high, leak, cold, low, low_slope, approach, start, end):
    """The least cooling that the high-side points from start to end allow at an approach."""
    least, left = np.inf, 0
    for j in range(start, end):
        left = _place(cold, hot[j] - approach, left)
        least = min(least, _value(cold, low, low_slope, left, hot[j] - approach) - high[j] - leak[j])
    return least


@inlined
def _profile(hot, high, leak, cold, low, rising, high_slope, low_slope, cold_slope, first, kind, cooling, apart, beside, along):
    """Conductance per flow at a cooling; fills what lies along it, from the cold end on.

    rising is low without what stands still; slopes are high_slope of hot with high, low_slope of low with cold and
    cold_slope of cold with rising.
    """
    inlet = low[0] - cooling - leak[0]  # enthalpy of the throttle's inlet
    warmth = _value(high, hot, high_slope, _place(high, inlet, 0), inlet)
    before, given, total, heat, place = max(warmth - cold[0], TOUCHING), inlet, 0.0, 0.0, 0
    least, outlet = before, inlet
    for j in range(hot.size):
        if j == first and kind != ONE_SECTION:
            outlet = given
            if kind == COLD_SUCTION:
                heat = np.inf
            else:
                warm = _allowed(hot, high, leak, cold, low, low_slope, max(least, 0.0), first - 1, hot.size)
                heat = max(cooling - warm, 0.0)
        exchanged = max(high[j] - heat, outlet) if j >= first else max(high[j], inlet)
        at = exchanged + cooling + leak[j]
        place = _place(rising, at, place)
        beside[j] = _value(rising, cold, cold_slope, place, at)
        apart[j] = (hot[j] if exchanged > inlet else max(hot[j], warmth)) - beside[j]
        if j < first:
            least = min(least, apart[j])
        between = max(apart[j], TOUCHING)
        if exchanged > given:
            total += (exchanged - given) / _log_mean(before, between)
        along[j] = total
        given, before = exchanged, between
    return total


@compiled(types.void, *[REALS] * 5, *[int64] * 5, REALS, float64, *[REALS] * 6)
def solve(
    hot_, high_, leak_, cold_, low_, count, hots, colds, first, kind, units_, tolerance, cooling_, apart_, beside_, along_, warm_,
    scratch_,
):  # fmt: skip
    """Of n blends: cooling at a conductance, where one is stated, and both sides of the recuperator at the cooling.

    Parameters
    ----------
    hot_, cold_ : arrays (m,), (k,)
        Temperatures of the high and of the low side [K].
    high_, leak_, low_ : arrays (n, m), (n, m), (n, k)
        Enthalpies, and what leaks in between the evaporator and each high-side temperature [J/mol].
    count, hots, colds : int
        n, m and k.
    first, kind : int
        High-side points in front of a precooler, and what is beyond it: ONE_SECTION, WARM_SECTION, COLD_SUCTION.
    units_ : array (n,)
        Conductance per flow [J/(mol K)]; 0 to leave the cooling as it is.
    tolerance : float
        Of the logarithm of conductance.
    cooling_ : array (n,)
        [J/mol], in: where the answer may lie; out: the answer, at most that where streams touch.
    apart_, beside_, along_ : arrays (n, m), out
        Distance of the sides and low-side temperature [K]; conductance from the cold end on [J/(mol K)].
    warm_ : array (n,), out
        Cooling less heat that a warm section needs of its precooler, at least [J/mol].
    scratch_ : array (SCRATCH, m or k, the greater)

    Secants of ln conductance against the logarithm of what the cooling lacks of the greatest, a nearly straight line,
    within what is known to enclose the root.
    """
    hot, cold, units, cooling, warm = carray(hot_, hots), carray(cold_, colds), carray(units_, count), carray(cooling_, count), carray(warm_, count)
    high, leak, low = carray(high_, (count, hots)), carray(leak_, (count, hots)), carray(low_, (count, colds))
    apart, beside, along = carray(apart_, (count, hots)), carray(beside_, (count, hots)), carray(along_, (count, hots))
    scratch = carray(scratch_, (SCRATCH, max(hots, colds)))
    high_slope, low_slope, cold_slope, rising = scratch[0, :hots], scratch[1, :colds], scratch[2, :colds], scratch[3, :colds]
    for r in range(count):
        rising[0] = low[r, 0]
        for k in range(1, cold.size):  # a pure fluid's enthalpy jumps, and its temperature stands still
            rising[k] = max(low[r, k], rising[k - 1] + 1e-6)
        _slopes(high[r], hot, high_slope)
        _slopes(cold, low[r], low_slope)
        _slopes(rising, cold, cold_slope)
        sides = (hot, high[r], leak[r], cold, low[r], rising, high_slope, low_slope, cold_slope, first, kind)
        most = _allowed(hot, high[r], leak[r], cold, low[r], low_slope, 0.0, 0, first)
        if units[r] > 0.0:
            nothing = low[r, 0] - high[r, hot.size - 1] - leak[r, 0]  # is exchanged at this cooling
            lowest, highest = log(NO_LACK), log(max(most - nothing, 0.0) + 2.0 * NO_LACK)
            at = min(max(log(max(most - cooling[r], NO_LACK)), lowest), highest)
            slope, last_at, last_excess = USUAL_SLOPE, np.nan, 0.0
            for _ in range(MOST_TRIALS):
                reached = _profile(*sides, most - exp(at), apart[r], beside[r], along[r])
                excess = WIDEST if reached == np.inf else log(max(reached / units[r], 1e-4))
                if excess > 0.0:
                    lowest = at
                else:
                    highest = at
                if abs(excess) <= tolerance or highest - lowest <= NARROWEST:
                    break
                secant = (excess - last_excess) / (at - last_at)
                slope = min(max(secant, STEEPEST), FLATTEST) if secant < 0.0 else USUAL_SLOPE
                last_at, last_excess = at, excess
                step = at - excess / slope
                at = step if lowest < step < highest else 0.5 * (lowest + highest)
            cooling[r] = most - exp(at)
        _profile(*sides, cooling[r], apart[r], beside[r], along[r])
        if kind == WARM_SECTION:
            least = np.inf
            for j in range(first):
                least = min(least, apart[r, j])
            warm[r] = _allowed(hot, high[r], leak[r], cold, low[r], low_slope, max(least, 0.0), first - 1, hot.size)


@inlined
def _along(x, y, left, at):
    """Straight between two points of x, or the last value beyond its ends."""
    share = min(max((at - x[left]) / (x[left + 1] - x[left]), 0.0), 1.0) if x[left + 1] > x[left] else 1.0
    return y[left] + share * (y[left + 1] - y[left])


@compiled(float64, *[REALS] * 6, int64, int64, *[float64] * 4)
def held_conductance(hot_, high_, leak_, entered_, cold_, low_, hots, colds, load, drawn, share, touching):
    """Conductance per flow [J/(mol K)] of a recuperator from which heat is drawn; infinite where streams touch, NaN without sense.

    Both sides follow straight lines between their points, as in `mixjt.circuit.held_recuperator`, whose head and
    classes explain the quantities.

    Parameters
    ----------
    hot_, high_, leak_, entered_ : arrays (hots,)
        Temperatures of the high side [K] and, there: enthalpy, leak before it [J/mol], share of the metal's heat that has entered.
    cold_, low_ : arrays (colds,)
        Temperatures and enthalpies of the low side.
    load, drawn, share : float
        [J/mol], [J/mol], and what share of the drawn comes from the recuperator's metal.
    touching : float
        Difference [K] at which streams touch.
    """
    hot, high, leak, entered = carray(hot_, hots), carray(high_, hots), carray(leak_, hots), carray(entered_, hots)
    cold, low = carray(cold_, colds), carray(low_, colds)
    from_metal, cooling, last = share * drawn, load + (1.0 - share) * drawn, high[hots - 1]
    inlet = min(low[0] - cooling - leak[0] - from_metal * entered[0], last)
    shift = low[0] - inlet  # sections lie at the points of both sides
    i, j, on_high, on_leak, on_low = 0, 0, 0, 0, 0
    total, before, given, at = 0.0, 0.0, 0.0, inlet
    for _ in range(hots + colds + 2):
        while on_high < hots - 2 and at > high[on_high + 1]:
            on_high += 1
        warm = _along(high, hot, on_high, at)
        while on_leak < hots - 2 and warm > hot[on_leak + 1]:
            on_leak += 1
        metal = from_metal * _along(hot, entered, on_leak, warm)
        reached = at + cooling + _along(hot, leak, on_leak, warm) + metal
        while on_low < colds - 2 and reached > low[on_low + 1]:
            on_low += 1
        apart, heat = warm - _along(low, cold, on_low, reached), at - inlet + 0.5 * metal
        if apart <= touching:
            return np.inf
        if np.isnan(apart + heat):
            break
        if at > inlet:
            total += (heat - given) / _log_mean(before, apart)
        before, given = apart, heat
        if at >= last:
            return total
        while i < hots and high[i] <= at:
            i += 1
        while j < colds and low[j] - shift <= at:
            j += 1
        at = min(high[i] if i < hots else last, low[j] - shift if j < colds else last, last)
    return np.nan
