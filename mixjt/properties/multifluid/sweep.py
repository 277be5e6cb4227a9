"""One blend along a list of falling temperatures, warm-started from point to point.

The stability of the phases followed is tested again after every check_span kelvin; when the test finds a
phase missing, the points since the last sound test are solved again one by one.
"""

from __future__ import annotations

from math import isnan, log

import numpy as np

from mixjt.properties.kernels import compiled
from mixjt.properties.kernels.linear import copy_into
from mixjt.properties.kernels.split import FAILED, SOLVED
from mixjt.properties.multifluid.helmholtz import GIBBS as PHASE_GIBBS
from mixjt.properties.multifluid.helmholtz import ON_LIQUID_ROOT, Z, buffers
from mixjt.properties.multifluid.multiphase import newton_phases
from mixjt.properties.multifluid.phase import ANY_ROOT, FIRST, log_phi, residual_enthalpy
from mixjt.properties.multifluid.point import MAX_PHASES, verified_point, workspace
from mixjt.properties.multifluid.split import newton_split

# Columns of a state's output: enthalpy/RT, entropy/R (residual and of mixing), compressibility ...
H, S, V, VAPOUR, PHASES, LIQUIDS, GIBBS, OUTPUTS = range(8)


@compiled
def wilson(factors, T, p, lnK):
    """ln K after Wilson; factors (2, c) hold ln(pc) + 5.373 (1 + omega) and 5.373 (1 + omega) Tc."""
    for i in range(lnK.size):
        lnK[i] = factors[0, i] - factors[1, i] / T - log(p)


@compiled
def phase_outputs(x, buf, q, out):
    """Properties over RT and R of the phase that log_phi left in buf; 1.0 when on the liquid root."""
    mixing = 0.0
    for i in range(x.size):
        mixing += x[i] * log(x[i])
    h, g = residual_enthalpy(buf, q), buf.slots[q, PHASE_GIBBS]
    out[H], out[S], out[V], out[GIBBS] = h, h - g - mixing, buf.slots[q, Z], g + mixing
    out[LIQUIDS] = buf.slots[q, ON_LIQUID_ROOT]


@compiled
def store_point(mix, T, p, X, beta, count, work, one, out):
    """Write the state's properties into out (OUTPUTS,)."""
    for q in range(OUTPUTS):
        out[q] = 0.0 if count > 0 else np.nan
    out[PHASES] = max(count, 0)
    densest = np.inf
    share = 0.0
    for k in range(max(count, 0)):
        log_phi(mix, T, p, X[k], work[2][1], k, ANY_ROOT, work[0][1])
        phase_outputs(X[k], work[2][1], k, one)
        if one[V] < densest:
            densest = one[V]
            share = beta[k]
        for q in (H, S, V, GIBBS):
            out[q] += beta[k] * one[q]
        if one[LIQUIDS] > 0.5:
            out[LIQUIDS] += 1.0
        else:
            out[VAPOUR] += beta[k]
    if count > 1 and out[LIQUIDS] == 0.0:  # near a critical point: the denser one is the liquid
        out[LIQUIDS] = 1.0
        out[VAPOUR] -= share
    if isnan(out[GIBBS]):  # a phase without a density root
        for q in range(OUTPUTS):
            out[q] = np.nan
        out[PHASES] = 0


@compiled
def _predict(u, history):
    """Quadratic (or lower) extrapolation of u to temperature history[0][0] from the points held."""
    temperatures, values, held = history
    t, t1, t2, t3 = temperatures[0], temperatures[1], temperatures[2], temperatures[3]
    for i in range(u.size):
        if held[0] >= 3.0:
            w1 = (t - t2) * (t - t3) / ((t1 - t2) * (t1 - t3))
            w2 = (t - t1) * (t - t3) / ((t2 - t1) * (t2 - t3))
            w3 = (t - t1) * (t - t2) / ((t3 - t1) * (t3 - t2))
            u[i] = w1 * values[0, i] + w2 * values[1, i] + w3 * values[2, i]
        elif held[0] == 2.0:
            u[i] = values[0, i] + (values[0, i] - values[1, i]) * (t - t1) / (t1 - t2)
        elif held[0] == 1.0:
            u[i] = values[0, i]


@compiled
def _remember(history, t, u, afresh):
    temperatures, values, held = history
    for k in range(2, 0, -1):
        temperatures[k + 1] = temperatures[k]
        copy_into(values[k], values[k - 1])
    temperatures[1] = t
    copy_into(values[0], u)
    held[0] = 1.0 if afresh else min(3.0, held[0] + 1.0)


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
def sweep_blend(mix, factors, temperatures, pressures, z, check_span, out, X, beta):
    """Fill out (m, OUTPUTS) for one blend along falling temperatures (m,) and pressures (m,).

    The phases of the last point go to X (MAX_PHASES, c) and beta (MAX_PHASES,). The only entry to the
    flash, single points included: each entry costs a compilation of everything below it.
    """
    c = z.size
    work = workspace(mix)
    lnK, one, expected = np.empty(c), np.empty(OUTPUTS), np.empty(c)
    U = np.zeros((MAX_PHASES, c))
    history = (np.zeros(4), np.zeros((3, c)), np.zeros(1))
    now = (history[0], history[2], beta, X, U, history[1])
    saved = (np.zeros(4), np.zeros(1), np.zeros(MAX_PHASES), X.copy(), U.copy(), np.zeros((3, c)))
    count, saved_count = np.int64(0), np.int64(0)
    checked = -1  # the last point whose stability was tested
    careful_until = 0  # up to here every point is tested
    roots = -1.0  # which density roots the two phases followed sit on
    j = 0
    while j < temperatures.size:
        t, p = temperatures[j], pressures[j]
        wilson(factors, t, p, lnK)
        history[0][0] = t
        before = count
        status = SOLVED if count == 1 else FAILED
        if count == 2:
            _predict(U[0], history)
            copy_into(expected, U[0])
            status = newton_split(mix, t, p, z, U[0], X, beta, work[1])
        elif count > 2:
            status = newton_phases(mix, t, p, z, U, X, beta, count, work[2])
        jumped = status == SOLVED and count == 2 and (_roots(work) != roots or _far(U[0], expected))
        due = j <= careful_until or j == temperatures.size - 1 or jumped
        due = due or status != SOLVED or temperatures[max(checked, 0)] - t >= check_span
        if due:
            guess = count if status == SOLVED else np.int64(0)
            count, changed = verified_point(mix, t, p, z, lnK, X, beta, U, guess, work)
            if (changed or jumped) and checked < j - 1:
                count = saved_count
                _copy_all(now, saved)
                careful_until = j
                j = checked + 1
                continue
        store_point(mix, t, p, X, beta, count, work, one, out[j])
        roots = _roots(work)
        if count == 2:
            _remember(history, t, U[0], before != 2 or status != SOLVED)
        if due:
            checked = j
            saved_count = max(count, 0)
            _copy_all(saved, now)
        count = max(count, 0)
        j += 1


@compiled
def _roots(work):
    """The pair of density roots that the first two phases sit on, as one number."""
    slots = work[2][1].slots
    return 2.0 * slots[0, ON_LIQUID_ROOT] + slots[1, ON_LIQUID_ROOT]


@compiled
def _far(u, expected):
    """Whether Newton's method ended so far from the extrapolation that other phases may be meant."""
    for i in range(u.size):
        if abs(u[i] - expected[i]) > 0.5:
            return True
    return False


@compiled
def phase_values(mix, T, p, x, phi, out):
    """One phase of composition x: ln phi into phi, properties into out (OUTPUTS,)."""
    buf = buffers(mix, 1)
    log_phi(mix, T, p, x, buf, FIRST, ANY_ROOT, phi)
    phase_outputs(x, buf, FIRST, out)
