"""States of one blend along falling temperatures, each followed from the last and tested for stability now and then.

A state is verified (`verify`) at the start and end, wherever following fails or the state changes abruptly, and
every so many kelvin; where a phase turns out to be missing, the states since the last verified one are done again,
and the phases just found are tried at each.
"""

from __future__ import annotations

import numpy as np
from numba import carray, types

from mixjt.compiled import compiled
from mixjt.fluid.flash.columns import (
    GIBBS,
    LIQUID_VOLUME,
    LIQUIDS,
    OUTPUTS,
    PHASES,
    VAPOUR,
    VOLUME,
    H,
    S,
)
from mixjt.fluid.flash.kernel_types import BLEND, WORK
from mixjt.fluid.flash.memory import HELD, TRIALS
from mixjt.fluid.flash.newton import SOLVED, TINY, VANISHED, many_phases, one_phase, two_phases
from mixjt.fluid.flash.quantities import LIQUID_BESIDE, QUANTITIES
from mixjt.fluid.flash.slopes import is_liquid
from mixjt.fluid.flash.split import order_two, recall, save, settle
from mixjt.fluid.flash.verify import is_hinted, verify
from mixjt.linked import inlined

SIDESTEPS = (0.02, -0.02, 0.3, -0.3)  # K
JUMP = 0.5  # of u or ln density between prediction and solution, which calls for a test


@inlined
def _remember(w, T, n):
    """Keep the values and slopes of a two-phase point for the predictor."""
    for k in range(HELD - 1, 0, -1):
        w.held_T[k] = w.held_T[k - 1]
        for i in range(n + 2):
            w.held_value[k, i] = w.held_value[k - 1, i]
            w.held_slope[k, i] = w.held_slope[k - 1, i]
    w.held_T[0] = T
    for i in range(n):
        w.held_value[0, i], w.held_slope[0, i] = w.u[i], w.slope_u[i]
    for k in range(2):
        w.held_value[0, n + k], w.held_slope[0, n + k] = w.lr[k], w.slope_lr[k]
    w.held = min(HELD, w.held + 1)


@inlined
def _predict(w, T, n):
    """Hermite's polynomial through the values and slopes held, at T, into w.u and w.lr."""
    for i in range(n + 2):
        value = 0.0
        for k in range(w.held):
            lagrange, sum_of = 1.0, 0.0
            for m in range(w.held):
                if m != k:
                    gap = 1.0 / (w.held_T[k] - w.held_T[m])
                    lagrange *= (T - w.held_T[m]) * gap
                    sum_of += gap
            square, away = lagrange * lagrange, T - w.held_T[k]
            value += square * ((1.0 - 2.0 * sum_of * away) * w.held_value[k, i] + away * w.held_slope[k, i])
        if i < n:
            w.u[i] = value
        else:
            w.lr[i - n] = value


@inlined
def _jumped(w, n):
    """Whether the solution is far from what was predicted."""
    for i in range(n):
        if abs(w.u[i] - w.try_amount[0, i]) > JUMP:
            return True
    return max(abs(w.lr[0] - w.try_lr[0]), abs(w.lr[1] - w.try_lr[1])) > JUMP


@inlined
def _follow(b, w, T, p, last_T, slope):
    """The state at T from that at last_T with the same phases; 0 failed, 1 solved, 2 solved but far from expected."""
    n = b.gases
    if w.count == 1:
        w.lr[0] += w.slope_lr[0] * (T - last_T)
        return 1 if one_phase(b, w, T, p, slope) == SOLVED else 0
    if w.count == 2:
        if w.held > 0:
            _predict(w, T, n)
        for i in range(n):
            w.try_amount[0, i] = w.u[i]
        w.try_lr[0], w.try_lr[1] = w.lr[0], w.lr[1]
        if two_phases(b, w, T, p, slope) != SOLVED:
            return 0
        return 2 if _jumped(w, n) else 1
    save(w, n, w.count)
    if many_phases(b, w, T, p, w.count) == SOLVED:
        return 1
    recall(w, n, w.count)
    return 2 if settle(b, w, T, p) == SOLVED else 0


@compiled(types.int64, BLEND, WORK, types.float64, types.float64, types.float64)
def after_test(b, w, T, p, slope):
    """Energies and slopes of a verified state."""
    if w.count > 2:
        return many_phases(b, w, T, p, w.count)
    if w.count == 2:
        order_two(b, w)
        result = two_phases(b, w, T, p, slope)
        if result != VANISHED or min(w.total[0], w.total[1]) > 2.0 * TINY:
            return result
        w.count = 1  # the other one's last step took it below what counts
        if w.total[1] > w.total[0]:
            w.lr[0] = w.lr[1]
    return one_phase(b, w, T, p, slope)


@inlined
def _sidestep(b, w, T, p):
    """From a state found a little warmer or colder, where none is found at T itself."""
    for k in range(4):
        w.count = 0
        if verify(b, w, T + SIDESTEPS[k], p) == SOLVED and after_test(b, w, T, p, 0.0) == SOLVED:
            if verify(b, w, T, p) == SOLVED:
                return True
    return False


@inlined
def _keep_safe(w, n):
    w.safe_count = w.count
    for k in range(w.count):
        w.safe_lr[k] = w.lr[k]
        for i in range(n):
            w.safe_amount[k, i] = w.amount[k, i]


@inlined
def _keep_hint(w, n, solved):
    """Remember the phases of a state in which some were found that had been missing."""
    w.hints = w.count if solved else 0
    for k in range(w.hints):
        total = 0.0
        for i in range(n):
            total += w.amount[k, i]
        w.hint_lr[k] = w.lr[k]
        for i in range(n):
            w.hint[k, i] = w.amount[k, i] / total


@inlined
def _go_back(b, w):
    n = b.gases
    w.count, w.held = w.safe_count, 0
    for k in range(w.count):
        w.lr[k] = w.safe_lr[k]
        w.slope_lr[k] = 0.0
        for i in range(n):
            w.amount[k, i] = w.safe_amount[k, i]
    if w.count == 2:
        order_two(b, w)


@inlined
def _pattern(w):
    """A number that tells the phases apart by how many they are and how many of them are dense."""
    dense = 0
    for k in range(w.count):
        if np.exp(w.lr[k]) * w.phase[k].reducing_volume > LIQUID_BESIDE:
            dense += 1
    return 8 * w.count + dense


@inlined
def _write(b, w, T, p, out):
    """One row of results: h and s over RT and R, pV/RT, mole fraction of vapour, phases, liquids, G/RT, pV/RT of the
    liquids, and the amount of each gas in them.
    """
    count, volume, vapour, liquids, below = w.count, 0.0, 0.0, 0, 0.0
    for i in range(b.gases):
        out[OUTPUTS + i] = 0.0
    for k in range(count):
        own = w.total[k] * np.exp(-w.lr[k])
        volume += own
        if is_liquid(w, k, count):
            liquids += 1
            below += own
            for i in range(b.gases):
                out[OUTPUTS + i] += w.total[k] * w.phase[k].x[i]
        else:
            vapour += w.total[k]
    out[H], out[S], out[GIBBS] = w.h, w.h - w.g, w.g
    out[VOLUME], out[LIQUID_VOLUME] = volume * p / (b.R * T), below * p / (b.R * T)
    out[VAPOUR], out[PHASES], out[LIQUIDS] = vapour, count, liquids


@compiled(
    types.void, BLEND, WORK, types.CPointer(types.float64), types.CPointer(types.float64), types.int64,
    types.float64, types.CPointer(types.float64), types.CPointer(types.float64),
)  # fmt: skip
def sweep(b, w, temperatures, pressures, size, span, results, gradients):
    """States at falling temperatures and their pressures, (size, OUTPUTS + gases) into results; NaN with no phases where
    unsolved. span: kelvin between tests of stability, negative for a test at every point. Where w.graded is 1,
    derivatives with respect to amounts go into gradients, (size, QUANTITIES, gases).

    w.z holds the feed. The phases of the last state stay in w.
    """
    Ts, ps = carray(temperatures, (size,)), carray(pressures, (size,))
    n = b.gases
    out = carray(results, (size, OUTPUTS + n))
    by_amount = carray(gradients, (size, QUANTITIES, n))
    w.count, w.held = 0, 0
    for k in range(TRIALS):
        w.kept[k] = 0
    for i in range(n):
        w.correction[i] = 0.0
    j, checked, careful, last_T, wanted = 0, -1, -1, Ts[0], 0
    while j < size:
        T, p, slope = Ts[j], ps[j], 0.0
        if j + 1 < size and Ts[j + 1] < T and ps[j + 1] != p:
            slope = np.log(ps[j + 1] / p) / (Ts[j + 1] - T)
        followed = 0
        if w.count > 0:
            followed = _follow(b, w, T, p, last_T, slope)
        due = followed != 1 or j == careful or j == size - 1 or checked < 0 or Ts[checked] - T >= span or n == 1
        if not due and j < careful:
            due = w.hints == 0 or is_hinted(b, w, T, p) == 1
        solved = followed > 0
        if due:
            was = w.count
            if followed == 0:
                w.count = 0
            solved = verify(b, w, T, p) == SOLVED or _sidestep(b, w, T, p)
            surprise = followed != 1 or w.missing == 1
            if surprise and checked >= 0 and checked < j - 1 and j > careful and w.safe_count > 0:
                wanted = _pattern(w)
                _keep_hint(w, n, solved)
                _go_back(b, w)
                careful, j, last_T = j, checked + 1, Ts[checked]
                continue
            if solved and (w.missing == 1 or followed == 0 or w.count != was):
                w.held = 0
                solved = after_test(b, w, T, p, slope) == SOLVED
                if not solved:  # amounts of phases may be undetermined next to a pure gas's boiling point
                    w.count = 0
                    solved = verify(b, w, T, p) == SOLVED and after_test(b, w, T, p, slope) == SOLVED
        if solved:
            if w.count == 2:
                _remember(w, T, n)
            else:
                w.held = 0
            _write(b, w, T, p, out[j])
            last_T = T
            if w.graded == 1:
                for i in range(n):
                    for k in range(QUANTITIES):
                        by_amount[j, k, i] = w.by_amount[k, i]
        else:
            w.count, w.held = 0, 0
            for k in range(OUTPUTS + n):
                out[j, k] = np.nan
            out[j, PHASES] = 0
        if due:
            checked = j
            _keep_safe(w, n)
            if j < careful and _pattern(w) == wanted:
                careful = j  # the phases that were missing are here already
        j += 1
