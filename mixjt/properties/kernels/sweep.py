"""One blend along a list of falling temperatures, warm-started from point to point.

Falling, because phases are then met in the order in which they form; rising sweeps follow metastable
liquid pairs. The stability of the phases followed is tested again after every CHECK_SPAN kelvin; when
the test finds a phase missing, the points since the last sound test are solved again one by one.
"""

from __future__ import annotations

from math import log

import numpy as np

from mixjt.properties.kernels import compiled
from mixjt.properties.kernels.cubic import (
    ON_LIQUID_ROOT,
    SLOTS,
    Z,
    log_phi,
    mixture,
    residual_enthalpy,
    residual_gibbs,
    solve_density,
)
from mixjt.properties.kernels.linear import copy_into
from mixjt.properties.kernels.multiphase import newton_phases
from mixjt.properties.kernels.point import MAX_PHASES, verified_point, workspace
from mixjt.properties.kernels.split import FAILED, SOLVED, newton_split

CHECK_SPAN = 12.0  # K
HELD = 4  # points from which the next is extrapolated
H, S, V, VAPOUR, PHASES, LIQUIDS, GIBBS, OUTPUTS = range(8)


@compiled
def scaled(table, j, index, factor, out):
    """out = factor * table[j] restricted to the gases in index."""
    for i in range(index.size):
        for k in range(index.size):
            out[i, k] = table[j, index[i], index[k]] * factor


@compiled
def load_point(tables, j, p, index, A, B, lnK):
    """Dimensionless parameters and Wilson's K-values at temperature j and pressure p."""
    a_table, _, b_table, wilson = tables[0], tables[1], tables[2], tables[3]
    scaled(a_table, j, index, p, A)
    for i in range(index.size):
        B[i] = b_table[j, index[i]] * p
        lnK[i] = wilson[j, index[i]] - log(p)


@compiled
def store_point(tables, j, p, index, A, B, eos, z, X, beta, count, work, E, out):
    """Write the state's properties (in units of RT and R) into out (OUTPUTS,).

    Returns which density roots the phases sit on, as one number.
    """
    trial = work[0]
    scaled(tables[1], j, index, p, E)
    for q in range(OUTPUTS):
        out[q] = 0.0 if count > 0 else np.nan
    out[PHASES] = max(count, 0)
    pattern = 0.0
    if count <= 0:
        return pattern
    pattern = 0.0
    densest = np.inf
    share = 0.0
    for k in range(count):
        log_phi(A, B, eos, X[k], trial[1], trial[2], trial[3])
        if trial[2][Z] < densest:
            densest = trial[2][Z]
            share = beta[k]
        pattern = 2.0 * pattern + trial[2][ON_LIQUID_ROOT]
        h = residual_enthalpy(E, X[k], trial[2])
        mixing = 0.0
        for i in range(z.size):
            if X[k, i] > 0.0:
                mixing += X[k, i] * log(X[k, i])
        g = residual_gibbs(trial[2])
        out[H] += beta[k] * h
        out[S] += beta[k] * (h - g - mixing)
        out[V] += beta[k] * trial[2][Z]
        out[GIBBS] += beta[k] * (g + mixing)
        if trial[2][ON_LIQUID_ROOT] > 0.5:
            out[LIQUIDS] += 1.0
        else:
            out[VAPOUR] += beta[k]
    if count > 1 and out[LIQUIDS] == 0.0:  # near a critical point: the denser one is the liquid
        out[LIQUIDS] = 1.0
        out[VAPOUR] -= share
    return pattern


@compiled
def _predict(u, history):
    """Extrapolate u to temperature history T[0] by the polynomial through the points held (Lagrange)."""
    temperatures, values, held = history
    n_held = int(held[0])
    if n_held == 0:
        return
    for i in range(u.size):
        u[i] = 0.0
    for k in range(1, n_held + 1):
        weight = 1.0
        for m in range(1, n_held + 1):
            if m != k:
                weight *= (temperatures[0] - temperatures[m]) / (temperatures[k] - temperatures[m])
        for i in range(u.size):
            u[i] += weight * values[k - 1, i]


@compiled
def _remember(history, t, u, afresh):
    temperatures, values, held = history
    for k in range(HELD - 1, 0, -1):
        temperatures[k + 1] = temperatures[k]
        copy_into(values[k], values[k - 1])
    temperatures[1] = t
    copy_into(values[0], u)
    held[0] = 1.0 if afresh else min(float(HELD), held[0] + 1.0)


@compiled
def _copy_all(target, source):
    """Copy the arrays of one snapshot into those of another."""
    copy_into(target[0], source[0])
    copy_into(target[1], source[1])
    copy_into(target[2], source[2])
    for k in range(source[3].shape[0]):
        copy_into(target[3][k], source[3][k])
        copy_into(target[4][k], source[4][k])
    for k in range(source[5].shape[0]):
        copy_into(target[5][k], source[5][k])


@compiled
def sweep_blend(tables, eos, temperatures, pressures, z_all, check_span, out, X_last, beta_last):
    """Fill out (m, OUTPUTS) for one blend along falling temperatures (m,) and pressures (m,).

    The phases of the last point go to X_last (MAX_PHASES, gases) and beta_last (MAX_PHASES,). This is the only entry to
    the flash, single points included, because each entry costs a compilation of everything below it.
    """
    index, z = present(z_all)
    c = index.size
    work = workspace(c)
    A, E, B, lnK = np.empty((c, c)), np.empty((c, c)), np.empty(c), np.empty(c)
    X, beta, U = np.zeros((MAX_PHASES, c)), np.zeros(MAX_PHASES), np.zeros((MAX_PHASES, c))
    history = (np.zeros(HELD + 1), np.zeros((HELD, c)), np.zeros(1))
    now = (history[0], history[2], beta, X, U, history[1])
    saved = (
        np.zeros(HELD + 1), np.zeros(1), np.zeros(MAX_PHASES), X.copy(), U.copy(), np.zeros((HELD, c))
    )
    none = c - c  # the number 0; written as a literal it makes numba compile the callees twice
    count, saved_count = none, none
    checked = -1  # the last point whose stability was tested
    expected = np.zeros(c)
    careful_until = 0  # up to here every point is tested
    roots = -1.0  # which density roots the two phases followed sit on
    j = none
    while j < temperatures.size:
        t = temperatures[j]
        load_point(tables, j, pressures[j], index, A, B, lnK)
        history[0][0] = t
        before = count
        status = SOLVED if count == 1 else FAILED
        if count == 2:
            _predict(U[0], history)
            copy_into(expected, U[0])
            status = newton_split(A, B, eos, z, U[0], X, beta, work[1])
        elif count > 2:
            status = newton_phases(A, B, eos, z, U, X, beta, count, work[2])
        jumped = status == SOLVED and count > 0 and _roots(A, B, eos, z, count, work) != roots
        jumped = jumped or (status == SOLVED and count == 2 and _far(U[0], expected))
        due = j <= careful_until or j == temperatures.size - 1 or jumped
        due = due or status != SOLVED or temperatures[max(checked, 0)] - t >= check_span
        if due:
            guess = count if status == SOLVED else none
            count, changed = verified_point(A, B, eos, z, lnK, X, beta, U, guess, work)
            if (changed or jumped) and checked < j - 1:
                count = saved_count
                _copy_all(now, saved)
                careful_until = j
                j = checked + 1
                continue
        roots = store_point(tables, j, pressures[j], index, A, B, eos, z, X, beta, count, work, E, out[j])
        if count == 2:
            _remember(history, t, U[0], before != 2 or status != SOLVED)
        if due:
            checked = j
            saved_count = max(count, 0)
            _copy_all(saved, now)
        count = max(count, 0)
        j += 1
    for k in range(count):
        beta_last[k] = beta[k]
        for i in range(c):
            X_last[k, index[i]] = X[k, i]


@compiled
def _roots(A, B, eos, z, count, work):
    """Which density roots the phases followed now sit on, numbered as store_point does."""
    if count == 1:
        trial = work[0]
        a, b = mixture(A, B, z, trial[1])
        solve_density(a, b, eos, trial[2])
        return trial[2][ON_LIQUID_ROOT]
    if count == 2:
        return 2.0 * work[1][5][ON_LIQUID_ROOT] + work[1][6][ON_LIQUID_ROOT]
    pattern = 0.0
    for k in range(count):
        pattern = 2.0 * pattern + work[2][2][k, ON_LIQUID_ROOT]
    return pattern


@compiled
def _far(u, expected):
    """Whether Newton's method ended so far from the extrapolation that other phases may be meant."""
    for i in range(u.size):
        if abs(u[i] - expected[i]) > 0.5:
            return True
    return False


@compiled
def present(z_all):
    """Indices and normalised fractions of the gases present."""
    c = 0
    total = 0.0
    for i in range(z_all.size):
        if z_all[i] > 0.0:
            c += 1
            total += z_all[i]
    index, z = np.empty(c, dtype=np.int64), np.empty(c)
    c = 0
    for i in range(z_all.size):
        if z_all[i] > 0.0:
            index[c] = i
            z[c] = z_all[i] / total
            c += 1
    return index, z


@compiled
def phase_values(tables, eos, j, p, x, phi, out):
    """One phase of composition x: ln phi of all gases into phi, properties into out (OUTPUTS,)."""
    c = x.size
    index = np.arange(c)
    A, E, B, lnK = np.empty((c, c)), np.empty((c, c)), np.empty(c), np.empty(c)
    rows, aux = np.empty(c), np.empty(SLOTS)
    load_point(tables, j, p, index, A, B, lnK)
    scaled(tables[1], j, index, p, E)
    log_phi(A, B, eos, x, rows, aux, phi)
    mixing = 0.0
    for i in range(c):
        if x[i] > 0.0:
            mixing += x[i] * log(x[i])
    h, g = residual_enthalpy(E, x, aux), residual_gibbs(aux)
    out[H], out[S], out[V], out[GIBBS] = h, h - g - mixing, aux[Z], g + mixing
    out[LIQUIDS] = aux[ON_LIQUID_ROOT]
