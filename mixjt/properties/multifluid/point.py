"""One state at given temperature and pressure: how many phases, and which; the method of kernels.point.

Source: Michelsen, Fluid Phase Equilibria 9 (1982) 1 and 21.
"""

from __future__ import annotations

from math import exp, isnan, log

import numpy as np

from mixjt.properties.kernels import compiled
from mixjt.properties.kernels.linear import copy_into
from mixjt.properties.kernels.point import NOT_SOLVED, drop_vanished, merge_same, single
from mixjt.properties.kernels.split import SOLVED, VANISHED, solve_rachford_rice
from mixjt.properties.multifluid.helmholtz import buffers
from mixjt.properties.multifluid.multiphase import newton_phases, ratios_from_phases, substitute_phases
from mixjt.properties.multifluid.phase import ANY_ROOT, FIRST, log_phi
from mixjt.properties.multifluid.split import newton_split, substitute_split
from mixjt.properties.multifluid.stability import TRIAL, UNSTABLE, least_distance

MAX_PHASES = int(TRIAL)


@compiled
def workspace(mix):
    """Scratch arrays: (trial buffers, pair buffers, several-phase buffers, others)."""
    c = mix.critical_volumes.size
    phases = buffers(mix, MAX_PHASES + 1)
    trial = (np.empty(c), np.empty(c), np.empty(c), np.empty(c), np.empty((c, c)), phases)
    pair = (
        np.zeros(c), np.zeros(c), np.zeros(c), phases, np.empty(c), np.empty(c),
        np.empty((c, c)), np.empty((c, c)),
    )  # fmt: skip
    F = MAX_PHASES
    size = (F - 1) * c
    several = (
        np.empty((F, c)), phases, np.empty((F, c)), np.empty((F, c, c)), np.empty(c, dtype=np.int64),
        np.empty((size, size)), np.empty((size, size)), np.empty(size), np.empty(size), np.empty(size),
    )  # fmt: skip
    others = (np.empty(c), np.empty(c), np.empty(c), np.empty((F, c)), np.empty((F, c)), np.empty(F))
    return trial, pair, several, others


@compiled
def tangent_plane(mix, T, p, x, d, work):
    """Fill d_i = ln x_i + ln phi_i(x)."""
    trial = work[0]
    log_phi(mix, T, p, x, work[2][1], FIRST, ANY_ROOT, trial[1])
    for i in range(x.size):
        d[i] = log(x[i]) + trial[1][i]


@compiled
def verified_point(mix, T, p, z, lnK, X, beta, U, count, work):
    """Refine a guess of `count` solved phases in X, beta, U to the stable state.

    count 0 starts from the single phase z. Returns the phase count (NOT_SOLVED where no solver reached
    its tolerance) and whether the guess had to be changed.
    """
    d, best, logW, E = work[3][0], work[3][1], work[3][2], work[3][3]
    changed = count <= 0
    if count <= 0:
        count = single(z, X, beta)
    if z.size == 1:
        return count, changed
    for _ in range(10):
        tangent_plane(mix, T, p, X[0], d, work)
        if isnan(d[0]):
            return NOT_SOLVED, changed
        tm = least_distance(mix, T, p, d, X, count, lnK, best, logW, work[0])
        if tm >= UNSTABLE:
            return count, changed
        before = count
        if count == 1:
            count = _first_split(mix, T, p, z, X, beta, U, best, work)
        else:
            count = _with_one_more(X, beta, count, best)
            count = solve_set(mix, T, p, z, X, beta, U, count, E, work)
        if count == before == 1 and tm > -1e-7:
            return count, changed
        changed = True
        if count < 0:
            return NOT_SOLVED, changed
    return NOT_SOLVED, changed


@compiled
def _with_one_more(X, beta, count, logW):
    """Add the phase exp(logW) to the set, in place of the smallest when the set is full; the count."""
    new = count
    if count == MAX_PHASES:
        new = _smallest(beta, count)
    _composition(logW, X[new])
    if new == count:
        beta[new] = 1e-3
    return max(count, new + 1)


@compiled
def _composition(logW, x):
    total = 0.0
    for i in range(x.size):
        x[i] = exp(logW[i])
        total += x[i]
    for i in range(x.size):
        x[i] /= total


@compiled
def _first_split(mix, T, p, z, X, beta, U, logW, work):
    """Split z into the phase exp(logW) and the rest, so that the Gibbs energy falls from the start."""
    if _incipient_split(mix, T, p, z, X, beta, U, logW, work):
        return 2
    _composition(logW, X[1])
    share = 1.0
    for i in range(z.size):
        share = min(share, z[i] / X[1, i])
    status = VANISHED
    for attempt in range(8):
        tolerance = 1e-3 * 0.3**attempt
        if status != SOLVED:  # once more, from a smaller amount of the new phase
            share *= 0.3
            _composition(logW, X[1])
            for i in range(z.size):
                X[0, i] = (z[i] - share * X[1, i]) / (1.0 - share)
        status = substitute_split(mix, T, p, z, U[0], X, beta, work[1], 30 * (attempt + 1), tolerance)
        if status != SOLVED:
            continue
        status = newton_split(mix, T, p, z, U[0], X, beta, work[1])
        if status == SOLVED:
            return 2
    return single(z, X, beta) if status == VANISHED else NOT_SOLVED


@compiled
def _incipient_split(mix, T, p, z, X, beta, U, logW, work):
    """Newton's method from the K-values W/z, for a phase that has only just appeared."""
    lnK = work[3][2]
    for i in range(z.size):
        lnK[i] = logW[i] - log(z[i])
    V = solve_rachford_rice(z, lnK)
    if not 0.0 < V < 1e-3:
        return False
    for i in range(z.size):
        U[0, i] = lnK[i] + log(V / (1.0 - V))
    return newton_split(mix, T, p, z, U[0], X, beta, work[1]) == SOLVED


@compiled
def solve_set(mix, T, p, z, X, beta, U, F, E, work):
    """Solve F phases from estimates in X and beta, dropping those that vanish; the count left."""
    kept_X, kept_beta = work[3][4], work[3][5]
    for attempt in range(10):
        steps, tolerance = 30 * (attempt + 1), 1e-4 * 0.3**attempt
        alive = substitute_phases(mix, T, p, z, X, beta, F, E, work[2][1], work[0][1], steps, tolerance)
        if alive == 0:
            return NOT_SOLVED
        if alive < F:
            F = drop_vanished(X, beta, F)
            if F == 1:
                return single(z, X, beta)
            continue
        _copy_phases(kept_X, kept_beta, X, beta)
        ratios_from_phases(X, beta, F, U)
        status = newton_phases(mix, T, p, z, U, X, beta, F, work[2])
        if status == SOLVED:
            if F == 2:  # the form in which two phases are followed
                for i in range(z.size):
                    U[0, i] -= U[1, i]
            return F
        _copy_phases(X, beta, kept_X, kept_beta)
        smallest = _smallest(beta, F)
        if status == VANISHED and attempt > 4 and F > 2 and beta[smallest] < 1e-3:
            beta[smallest] = 0.0  # substitution stalls while a phase fades out; go on without it
            F = drop_vanished(X, beta, F)
        F = merge_same(X, beta, F)
        if F == 1:
            return single(z, X, beta)
    return NOT_SOLVED


@compiled
def _smallest(beta, F):
    smallest = 0
    for k in range(F):
        if beta[k] < beta[smallest]:
            smallest = k
    return smallest


@compiled
def _copy_phases(X_to, beta_to, X_from, beta_from):
    for k in range(beta_to.size):
        beta_to[k] = beta_from[k]
        copy_into(X_to[k], X_from[k])
