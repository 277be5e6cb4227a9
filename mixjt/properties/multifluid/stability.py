"""Stability of a set of phases against one more phase, by the method of kernels.stability.

Source: Michelsen, Fluid Phase Equilibria 9 (1982) 1-19. Unlike the cubic equation's, these trials may meet
compositions without any density root; such a trial ends there and proves nothing.
"""

from __future__ import annotations

from math import exp, isnan, sqrt

import numpy as np

from mixjt.properties.kernels import compiled
from mixjt.properties.kernels.linear import cholesky_solve, copy_into
from mixjt.properties.multifluid.helmholtz import WARM_GAS, WARM_LIQUID
from mixjt.properties.multifluid.phase import ANY_ROOT, LIQUID_ROOT, log_phi, log_phi_derivatives

UNSTABLE = -1e-8  # a distance below this is no rounding error
MAX_TRIAL_STEPS = 100
TRIAL = np.int64(4)  # row of the buffers that trial phases use, behind those of the phases present
PURITY = 1e-4  # mole fraction of each other gas in a near-pure trial


@compiled
def run_trial(mix, T, p, d, known, n_known, logW, buf):
    """Follow one trial phase from logW; return its distance tm (1.0 when it ends at a known phase)."""
    W, phi, gradient, step, M, phase = buf
    n = d.size
    previous = 1e300
    drop = 1e300
    for iteration in range(MAX_TRIAL_STEPS):
        total = 0.0
        for i in range(n):
            W[i] = exp(logW[i])
            total += W[i]
        if not 1e-8 < total < 1e8:
            return 1.0
        for i in range(n):
            step[i] = W[i] / total
        log_phi(mix, T, p, step, phase, TRIAL, ANY_ROOT, phi)
        tm = 1.0
        error = 0.0
        for i in range(n):
            gradient[i] = logW[i] + phi[i] - d[i]
            tm += W[i] * (gradient[i] - 1.0)
            error += W[i] * gradient[i] * gradient[i]
        if isnan(tm):
            return 1.0
        if tm < -1e-6 and iteration >= 1:
            return tm
        if _heads_for_known(W, gradient, known, n_known, tm):
            return 1.0
        if error < 1e-16:
            return _unless_known(W, known, n_known, tm)
        if _certainly_positive(tm, previous, drop, iteration):
            return tm
        drop = previous - tm
        previous = tm
        if iteration < 3 or not _newton(mix, W, total, gradient, logW, step, M, phase):
            for i in range(n):
                logW[i] -= gradient[i]
    return _unless_known(W, known, n_known, 1.0 if previous > -1e-7 else previous)


@compiled
def _newton(mix, W, total, gradient, logW, step, M, phase):
    """One Newton step in 2 sqrt(W); False (and nothing changed) when it is not to be trusted."""
    n = W.size
    log_phi_derivatives(mix, phase, TRIAL, M)
    for i in range(n):
        root = sqrt(W[i])
        step[i] = -root * gradient[i]
        for j in range(n):
            M[i, j] *= root * sqrt(W[j]) / total
        M[i, i] += 1.0
    if not cholesky_solve(M, step):
        return False
    for i in range(n):
        relative = step[i] / sqrt(W[i]) if W[i] > 0.0 else 0.0
        if not -2.0 < relative < 2.0:
            return False
    for i in range(n):
        if W[i] > 0.0:
            logW[i] += step[i] / sqrt(W[i])
    return True


@compiled
def _heads_for_known(W, gradient, known, n_known, tm):
    """Michelsen's test for a trial on its way to a phase already present."""
    if tm > 1e-2 or tm < -1e-9:
        return False
    for k in range(n_known):
        beta = 0.0
        for i in range(W.size):
            beta += (W[i] - known[k, i]) * gradient[i]
        if beta > 0.0 and abs(2.0 * tm / beta - 1.0) < 0.1 and _distance(W, known, k) < 0.02:
            return True
    return False


@compiled
def _distance(W, known, k):
    distance = 0.0
    for i in range(W.size):
        distance += (W[i] - known[k, i]) ** 2
    return distance


@compiled
def _unless_known(W, known, n_known, tm):
    for k in range(n_known):
        if _distance(W, known, k) < 1e-8:
            return 1.0
    return tm


@compiled
def _certainly_positive(tm, previous, drop, iteration):
    """True when the distance still to be lost, extrapolated geometrically, can't make tm negative."""
    if iteration < 3 or tm < 0.03:
        return False
    now = previous - tm
    if now < 0.0 or now > 0.8 * drop:
        return False
    ratio = now / drop
    return tm - 3.0 * now * ratio / (1.0 - ratio) > 0.02


@compiled
def least_distance(mix, T, p, d, known, n_known, lnK, best, logW, buf):
    """Try all trial phases; return the first negative tm, else the least one. best holds its ln W.

    Trials: the ideal gas of the same fugacities; each near-pure liquid; for a single phase also the phases
    of Wilson's K-values lnK; for two phases their midpoint and both nine-to-one blends, which find what
    near-pure trials miss.
    """
    n = d.size
    least = 1e300
    trials = n + 3 if n_known == 1 else n + 4
    for trial in range(trials):
        buf[5].slots[TRIAL, WARM_LIQUID], buf[5].slots[TRIAL, WARM_GAS] = 0.0, 0.0
        _start(mix, T, p, d, known, n_known, lnK, trial, logW, buf)
        tm = run_trial(mix, T, p, d, known, n_known, logW, buf)
        if tm < least:
            least = tm
            copy_into(best, logW)
            if tm < UNSTABLE:
                break
    return least


@compiled
def _start(mix, T, p, d, known, n_known, lnK, trial, logW, buf):
    n = d.size
    other = min(1, n_known - 1)
    extra = trial - 2 if n_known == 1 else trial - 3
    if extra == n:
        copy_into(logW, d)
        return
    composition = buf[3]
    for i in range(n):
        if extra >= 0:
            composition[i] = 1.0 if i == extra else PURITY
        elif n_known == 1:
            composition[i] = known[0, i] * exp(lnK[i] if trial == 0 else -lnK[i])
        else:
            share = 0.5 if trial == 0 else (0.1 if trial == 1 else 0.9)
            composition[i] = share * known[0, i] + (1.0 - share) * known[other, i]
    _substituted(mix, T, p, d, composition, LIQUID_ROOT if extra >= 0 else ANY_ROOT, logW, buf)


@compiled
def _substituted(mix, T, p, d, composition, want, logW, buf):
    """ln W after one substitution from the given (unnormalised) composition."""
    W, phi = buf[0], buf[1]
    total = 0.0
    for i in range(d.size):
        total += composition[i]
    for i in range(d.size):
        W[i] = composition[i] / total
    log_phi(mix, T, p, W, buf[5], TRIAL, want, phi)
    for i in range(d.size):
        logW[i] = d[i] - phi[i]
