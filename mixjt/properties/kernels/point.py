"""One state at given temperature and pressure: how many phases, and which.

Start from a guess of the phases, test it for stability, add the phase that a negative tangent plane
distance points to, solve again, until nothing is gained (Michelsen, Fluid Phase Equilibria 9 (1982) 1
and 21).
"""

from __future__ import annotations

from math import exp, log

import numpy as np

from mixjt.properties.kernels import compiled
from mixjt.properties.kernels.cubic import SLOTS, log_phi
from mixjt.properties.kernels.linear import copy_into
from mixjt.properties.kernels.multiphase import newton_phases, ratios_from_phases, substitute_phases
from mixjt.properties.kernels.split import (
    SOLVED,
    VANISHED,
    newton_split,
    solve_rachford_rice,
    substitute_split,
)
from mixjt.properties.kernels.stability import UNSTABLE, least_distance

MAX_PHASES = 4
NOT_SOLVED = -1


@compiled
def workspace(c):
    """Scratch arrays for c gases: (trial buffers, pair buffers, several-phase buffers, others)."""
    trial = (
        np.empty(c), np.empty(c), np.empty(SLOTS), np.empty(c), np.empty(c), np.empty(c), np.empty((c, c)),
    )
    pair = (
        np.zeros(c), np.zeros(c), np.zeros(c), np.empty(c), np.empty(c), np.empty(SLOTS), np.empty(SLOTS),
        np.empty(c), np.empty(c), np.empty((c, c)), np.empty((c, c)),
    )
    F = MAX_PHASES
    size = (F - 1) * c
    several = (
        np.empty((F, c)), np.empty((F, c)), np.empty((F, SLOTS)), np.empty((F, c)), np.empty((F, c, c)),
        np.empty(c, dtype=np.int64), np.empty((size, size)), np.empty((size, size)), np.empty(size),
        np.empty(size), np.empty(size),
    )
    others = (np.empty(c), np.empty(c), np.empty(c), np.empty((F, c)), np.empty((F, c)), np.empty(F))
    return trial, pair, several, others


@compiled
def tangent_plane(A, B, eos, x, d, work):
    """Fill d_i = ln x_i + ln phi_i(x)."""
    trial = work[0]
    log_phi(A, B, eos, x, trial[1], trial[2], trial[3])
    for i in range(x.size):
        d[i] = log(x[i]) + trial[3][i]


@compiled
def verified_point(A, B, eos, z, lnK, X, beta, U, count, work):
    """Refine a guess of `count` solved phases in X, beta, U to the stable state.

    count 0 starts from the single phase z. Returns the phase count (NOT_SOLVED where no solver reached
    its tolerance) and whether the guess had to be changed.
    """
    d, best, logW, E = work[3][0], work[3][1], work[3][2], work[3][3]
    changed = count <= 0
    if count <= 0:
        count = single(z, X, beta)
    for _ in range(10):
        tangent_plane(A, B, eos, X[0], d, work)
        tm = least_distance(A, B, eos, d, X, count, lnK, best, logW, work[0])
        if tm >= UNSTABLE:
            return count, changed
        before = count
        if count == 1:
            count = _first_split(A, B, eos, z, X, beta, U, best, work)
        else:
            count = _with_one_more(X, beta, count, best)
            count = solve_set(A, B, eos, z, X, beta, U, count, E, work)
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
def _first_split(A, B, eos, z, X, beta, U, logW, work):
    """Split z into the phase exp(logW) and the rest, so that the Gibbs energy falls from the start."""
    if _incipient_split(A, B, eos, z, X, beta, U, logW, work):
        return 2
    _composition(logW, X[1])
    share = 1.0
    for i in range(z.size):
        share = min(share, z[i] / X[1, i])
    status = VANISHED
    for attempt in range(8):
        if status == VANISHED:  # once more, from a smaller amount of the new phase
            share *= 0.3
            _composition(logW, X[1])
            for i in range(z.size):
                X[0, i] = (z[i] - share * X[1, i]) / (1.0 - share)
        status = substitute_split(A, B, eos, z, U[0], X, beta, work[1], 30 * (attempt + 1))
        if status != SOLVED:
            continue
        status = newton_split(A, B, eos, z, U[0], X, beta, work[1])
        if status == SOLVED:
            return 2
    return single(z, X, beta) if status == VANISHED else NOT_SOLVED


@compiled
def _incipient_split(A, B, eos, z, X, beta, U, logW, work):
    """Newton's method from the K-values W/z, for a phase that has only just appeared."""
    lnK = work[3][2]
    for i in range(z.size):
        lnK[i] = logW[i] - log(z[i])
    V = solve_rachford_rice(z, lnK)
    if not 0.0 < V < 1e-3:
        return False
    for i in range(z.size):
        U[0, i] = lnK[i] + log(V / (1.0 - V))
    return newton_split(A, B, eos, z, U[0], X, beta, work[1]) == SOLVED


@compiled
def single(z, X, beta):
    """Make z the only phase."""
    copy_into(X[0], z)
    beta[0] = 1.0
    return 1


@compiled
def solve_set(A, B, eos, z, X, beta, U, F, E, work):
    """Solve F phases from estimates in X and beta, dropping those that vanish; the count left."""
    trial, kept_X, kept_beta = work[0], work[3][4], work[3][5]
    for attempt in range(10):
        steps = 20 * (attempt + 1)
        alive = substitute_phases(A, B, eos, z, X, beta, F, E, trial[1], trial[2], trial[3], steps)
        if alive < F:
            F = drop_vanished(X, beta, F)
            if F == 1:
                return single(z, X, beta)
            continue
        _copy_phases(kept_X, kept_beta, X, beta)
        ratios_from_phases(X, beta, F, U)
        status = newton_phases(A, B, eos, z, U, X, beta, F, work[2])
        if status == SOLVED:
            if F == 2:  # the form in which two phases are followed
                for i in range(z.size):
                    U[0, i] -= U[1, i]
            return F
        smallest = _smallest(beta, F)
        _copy_phases(X, beta, kept_X, kept_beta)
        if status == VANISHED and attempt > 2 and F > 2:
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


@compiled
def drop_vanished(X, beta, F):
    """Close the gaps left by phases of zero amount; the count left."""
    kept = 0
    for k in range(F):
        if beta[k] > 0.0:
            if kept != k:
                copy_into(X[kept], X[k])
                beta[kept] = beta[k]
            kept += 1
    return kept


@compiled
def merge_same(X, beta, F):
    """Join phases of one composition, then drop what has next to no amount; the count left."""
    for k in range(F):
        for m in range(k):
            distance = 0.0
            for i in range(X.shape[1]):
                distance += (X[k, i] - X[m, i]) ** 2
            if distance < 1e-8 and beta[k] > 0.0 and beta[m] > 0.0:
                beta[m] += beta[k]
                beta[k] = 0.0
    for k in range(F):
        if beta[k] < 1e-8:
            beta[k] = 0.0
    return drop_vanished(X, beta, F)
