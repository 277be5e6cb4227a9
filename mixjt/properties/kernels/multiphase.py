"""Equilibrium of several phases at given temperature and pressure.

Sources: Michelsen, Computers chem. Engng 18 (1994) 545-550 (phase amounts from the convex function
Q(beta) = sum beta_k - sum z_i ln E_i); Fluid Phase Equilibria 9 (1982) 21-40 (Newton's method on the
Gibbs energy). Steps are taken in u_ik = ln n_ik, so that traces of a gas do no harm.
"""

from __future__ import annotations

from math import exp, log, sqrt

import numpy as np

from mixjt.properties.kernels import compiled
from mixjt.properties.kernels.cubic import log_phi, log_phi_derivatives
from mixjt.properties.kernels.linear import damped_cholesky_solve, gauss_solve
from mixjt.properties.kernels.split import FAILED, MAX_STEPS, SMALLEST_PHASE, SOLVED, VANISHED

GRADIENT_TOLERANCE = 1e-10
LARGEST_STEP = 1.0  # in u; two of the phases may be close to each other


@compiled
def minimise_q(z, E, beta, F):
    """Phase amounts beta (F,) that minimise Q for inverse fugacity coefficients E (F, c)."""
    gradient = np.zeros(F)
    H = np.zeros((F, F))
    free = np.zeros(F, dtype=np.bool_)
    for k in range(F):
        free[k] = beta[k] > 0.0
    q = _q_derivatives(z, E, beta, gradient, H, F)
    for _ in range(100):
        worst, steepest = 0.0, -1
        for k in range(F):
            if free[k]:
                worst = max(worst, abs(gradient[k]))
            elif gradient[k] < -1e-12 and (steepest < 0 or gradient[k] < gradient[steepest]):
                steepest = k
        if worst < 1e-12:
            if steepest < 0:
                return
            free[steepest] = True  # one at a time, so that its amount is sure to grow
        better = _bounded_newton(z, E, H, gradient, beta, free, q, F)
        q = _q_derivatives(z, E, beta, gradient, H, F)
        if not better:
            return


@compiled
def _q_derivatives(z, E, beta, gradient, H, F):
    """Q with its gradient and Hessian."""
    q = 0.0
    for k in range(F):
        q += beta[k]
        gradient[k] = 1.0
        for m in range(F):
            H[k, m] = 0.0
    for i in range(z.size):
        total = _shared(E, beta, i, F)
        q -= z[i] * log(total)
        for k in range(F):
            gradient[k] -= z[i] * E[k, i] / total
            for m in range(F):
                H[k, m] += z[i] * E[k, i] * E[m, i] / (total * total)
    return q


@compiled
def _shared(E, beta, i, F):
    total = 0.0
    for k in range(F):
        total += beta[k] * E[k, i]
    return total


@compiled
def _bounded_newton(z, E, H, gradient, beta, free, q, F):
    """One Newton step over the free phases, cut where one vanishes, halved until Q falls.

    False when no step lowers Q.
    """
    step_size, blocked = 1.0, -1
    step = np.zeros(F)
    for k in range(F):
        step[k] = -gradient[k] if free[k] else 0.0
        for m in range(F):
            if not (free[k] and free[m]):
                H[k, m] = 1.0 if k == m else 0.0
        H[k, k] *= 1.0 + 1e-12
    if not gauss_solve(H, step, F):
        return False
    for k in range(F):
        if free[k] and step[k] < 0.0 and beta[k] < step_size * -step[k]:
            step_size = beta[k] / -step[k]
            blocked = k
    trial = np.zeros(F)
    for _ in range(40):
        value = 0.0
        for k in range(F):
            trial[k] = max(0.0, beta[k] + step_size * step[k])
            value += trial[k]
        if blocked >= 0:
            trial[blocked] = 0.0
        for i in range(z.size):
            value -= z[i] * log(_shared(E, trial, i, F))
        if value <= q + 1e-15:
            for k in range(F):
                beta[k] = trial[k]
            if blocked >= 0:
                free[blocked] = False
            return True
        step_size *= 0.5
        blocked = -1
    return False


@compiled
def substitute_phases(A, B, eos, z, X, beta, F, E, S, aux, phi, steps):
    """Successive substitution on F phases; returns how many of them still have an amount."""
    n = z.size
    for _ in range(steps):
        for k in range(F):
            log_phi(A, B, eos, X[k], S, aux, phi)
            for i in range(n):
                E[k, i] = exp(-phi[i])
        minimise_q(z, E, beta, F)
        change = 0.0
        alive = 0
        for k in range(F):
            alive += 1 if beta[k] > 0.0 else 0
        for i in range(n):
            total = _shared(E, beta, i, F)
            for k in range(F):
                x = z[i] * E[k, i] / total
                change = max(change, abs(x - X[k, i]))
                X[k, i] = x
        for k in range(F):
            _normalise(X[k])
        if change < 1e-5 or alive < F:
            break
    return alive


@compiled
def _normalise(x):
    total = 0.0
    for i in range(x.size):
        total += x[i]
    for i in range(x.size):
        x[i] /= total


@compiled
def ratios_from_phases(X, beta, F, U):
    """u_ik = ln n_ik from compositions and amounts; a constant per gas does not matter."""
    for k in range(F):
        for i in range(X.shape[1]):
            U[k, i] = log(beta[k] * X[k, i])


@compiled
def _amounts(z, U, N, beta, F):
    """Share z_i among the phases in proportion to exp(u_ik); beta gets the phase totals."""
    for k in range(F):
        beta[k] = 0.0
    for i in range(z.size):
        top = U[0, i]
        for k in range(1, F):
            top = max(top, U[k, i])
        total = 0.0
        for k in range(F):
            N[k, i] = exp(U[k, i] - top)
            total += N[k, i]
        for k in range(F):
            N[k, i] *= z[i] / total
            beta[k] += N[k, i]


@compiled
def newton_phases(A, B, eos, z, U, X, beta, F, buffers):
    """Solve from U (overwritten); X and beta get the phases. Returns a status."""
    N, S, aux, phi, M, home = buffers[:6]
    n = z.size
    for _ in range(MAX_STEPS):
        _amounts(z, U, N, beta, F)
        for k in range(F):
            if not beta[k] > SMALLEST_PHASE:
                return VANISHED
            for i in range(n):
                X[k, i] = N[k, i] / beta[k]
            log_phi(A, B, eos, X[k], S[k], aux[k], phi[k])
        error = 0.0
        for i in range(n):
            home[i] = 0
            for k in range(F):
                phi[k, i] += log(X[k, i])
                if N[k, i] > N[home[i], i]:
                    home[i] = k
            for k in range(F):
                error = max(error, abs(phi[k, i] - phi[home[i], i]))
        if error < GRADIENT_TOLERANCE:
            return VANISHED if _any_same(X, F) else SOLVED
        if not error < 1e3:
            return FAILED
        for k in range(F):
            log_phi_derivatives(A, B, eos, S[k], aux[k], M[k])
            for i in range(n):
                for j in range(n):
                    M[k, i, j] = (M[k, i, j] - 1.0) / beta[k]
                M[k, i, i] += 1.0 / N[k, i]
        if not _newton_step(U, F, buffers):
            return FAILED
    return FAILED


@compiled
def _newton_step(U, F, buffers):
    """Step of the Gibbs energy's minimisation in n_ik, k not the home phase of gas i.

    The home phase, where gas i is most abundant, gives up what the others gain. M holds the Hessians of
    the single phases, phi the logarithms of fugacities. False when no descent direction is found.
    """
    N, _, _, phi, M, home, J, kept, rhs, kept_rhs, scale = buffers
    n = home.size
    size = (F - 1) * n
    for r in range(size):
        i, k = _variable(r, n, home)
        h = home[i]
        scale[r] = sqrt(N[k, i] * N[h, i] / (N[k, i] + N[h, i])) + 1e-150
        rhs[r] = -(phi[k, i] - phi[h, i]) * scale[r]
    for r in range(size):
        i, k = _variable(r, n, home)
        for q in range(r + 1):
            j, m = _variable(q, n, home)
            value = 0.0
            if k == m:
                value += M[k, i, j]
            elif home[j] == k:
                value -= M[k, i, j]
            if home[j] == home[i]:
                value += M[home[i], i, j]
            elif m == home[i]:
                value -= M[home[i], i, j]
            J[r, q] = value * scale[r] * scale[q]
    if not damped_cholesky_solve(J[:size], rhs[:size], kept, kept_rhs):
        return False
    for i in range(n):
        phi[0, i] = 0.0  # what leaves the home phase
    largest = 0.0
    for r in range(size):
        i, k = _variable(r, n, home)
        rhs[r] *= scale[r]
        phi[0, i] += rhs[r]
    for r in range(size):
        i, k = _variable(r, n, home)
        rhs[r] = rhs[r] / N[k, i] + phi[0, i] / N[home[i], i]
        largest = max(largest, abs(rhs[r]))
    damping = 1.0 if largest < LARGEST_STEP else LARGEST_STEP / largest
    for r in range(size):
        i, k = _variable(r, n, home)
        U[k, i] += damping * rhs[r]
    return True


@compiled
def _variable(r, n, home):
    """Gas and phase of variable r."""
    i = r % n
    k = r // n
    return i, k if k < home[i] else k + 1


@compiled
def _any_same(X, F):
    for k in range(F):
        for m in range(k):
            distance = 0.0
            for i in range(X.shape[1]):
                distance += (X[k, i] - X[m, i]) ** 2
            if distance < 1e-10:
                return True
    return False
