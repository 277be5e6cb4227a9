"""Equilibrium of up to three phases at given temperature and pressure.

Sources: Michelsen, Computers chem. Engng 18 (1994) 545-550 (phase amounts from the convex function
Q(beta) = sum beta_k - sum z_i ln E_i); Newton's method in u_ik = ln(n_ik / n_i,last), the analogue of
the two-phase variables, so that traces of a gas do no harm.
"""

from __future__ import annotations

from math import exp, log

import numpy as np

from mixjt.properties.kernels import compiled
from mixjt.properties.kernels.cubic import log_phi, log_phi_derivatives
from mixjt.properties.kernels.linear import gauss_solve
from mixjt.properties.kernels.split import FAILED, MAX_STEPS, SMALLEST_PHASE, SOLVED, VANISHED

GRADIENT_TOLERANCE = 1e-10


@compiled
def minimise_q(z, E, beta, F):
    """Phase amounts beta (F,) that minimise Q for inverse fugacity coefficients E (F, c)."""
    n = z.size
    gradient = np.zeros(F)
    H = np.zeros((F, F))
    free = np.zeros(F, dtype=np.bool_)
    for k in range(F):
        free[k] = beta[k] > 0.0
    for _ in range(100):
        for k in range(F):
            gradient[k] = 1.0
            for m in range(F):
                H[k, m] = 0.0
        for i in range(n):
            total = 0.0
            for k in range(F):
                total += beta[k] * E[k, i]
            for k in range(F):
                gradient[k] -= z[i] * E[k, i] / total
                for m in range(F):
                    H[k, m] += z[i] * E[k, i] * E[m, i] / (total * total)
        worst, changed = 0.0, False
        for k in range(F):
            if free[k]:
                worst = max(worst, abs(gradient[k]))
            elif gradient[k] < -1e-12:
                free[k] = True
                changed = True
        if worst < 1e-12 and not changed:
            return
        _bounded_newton(H, gradient, beta, free, F)


@compiled
def _bounded_newton(H, gradient, beta, free, F):
    """One Newton step over the free phases, cut where the first of them vanishes."""
    for k in range(F):
        gradient[k] = -gradient[k] if free[k] else 0.0
        for m in range(F):
            if not (free[k] and free[m]):
                H[k, m] = 1.0 if k == m else 0.0
        H[k, k] *= 1.0 + 1e-10
    if not gauss_solve(H, gradient, F):
        return
    step, blocked = 1.0, -1
    for k in range(F):
        if free[k] and beta[k] + gradient[k] < 0.0 and beta[k] < step * -gradient[k]:
            step = beta[k] / -gradient[k]
            blocked = k
    for k in range(F):
        beta[k] += step * gradient[k]
    if blocked >= 0:
        beta[blocked] = 0.0
        free[blocked] = False


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
            total = 0.0
            for k in range(F):
                total += beta[k] * E[k, i]
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
    """u_ik = ln(n_ik / n_i,last) from compositions and amounts."""
    for k in range(F - 1):
        for i in range(X.shape[1]):
            U[k, i] = log(beta[k] * X[k, i]) - log(beta[F - 1] * X[F - 1, i])


@compiled
def newton_phases(A, B, eos, z, U, X, beta, F, triple):
    """Solve from U (overwritten); X and beta get the phases. Returns a status."""
    N, S, aux, phi, M, J, rhs = triple
    n = z.size
    last = F - 1
    for _ in range(MAX_STEPS):
        for k in range(F):
            beta[k] = 0.0
        for i in range(n):
            top = 0.0
            for k in range(last):
                top = max(top, U[k, i])
            total = exp(-top)
            for k in range(last):
                N[k, i] = exp(U[k, i] - top)
                total += N[k, i]
            N[last, i] = z[i] * exp(-top) / total
            for k in range(last):
                N[k, i] *= z[i] / total
            for k in range(F):
                beta[k] += N[k, i]
        for k in range(F):
            if not beta[k] > SMALLEST_PHASE:
                return VANISHED
            for i in range(n):
                X[k, i] = N[k, i] / beta[k]
            log_phi(A, B, eos, X[k], S[k], aux[k], phi[k])
        error = 0.0
        for k in range(last):
            shift = log(beta[last] / beta[k])
            for i in range(n):
                g = U[k, i] + shift + phi[k, i] - phi[last, i]
                rhs[k * n + i] = -g
                error = max(error, abs(g))
        if error < GRADIENT_TOLERANCE:
            return VANISHED if _any_same(X, F) else SOLVED
        if not error < 1e3:
            return FAILED
        _jacobian(A, B, eos, z, N, beta, S, aux, M, J, F)
        if not gauss_solve(J, rhs, last * n):
            return FAILED
        largest = 0.0
        for r in range(last * n):
            largest = max(largest, abs(rhs[r]))
        scale = 1.0 if largest < 4.0 else 4.0 / largest
        for k in range(last):
            for i in range(n):
                U[k, i] += scale * rhs[k * n + i]
    return FAILED


@compiled
def _jacobian(A, B, eos, z, N, beta, S, aux, M, J, F):
    """d g_ik / d u_jl for g_ik = ln f_ik - ln f_i,last."""
    n = z.size
    last = F - 1
    for k in range(F):
        log_phi_derivatives(A, B, eos, S[k], aux[k], M[k])
    for k in range(last):
        for i in range(n):
            for m in range(last):
                for j in range(n):
                    of_last = (M[last, i, j] - 1.0) / beta[last] * N[last, j] * N[m, j] / z[j]
                    slope = N[k, j] * ((1.0 if k == m else 0.0) - N[m, j] / z[j])
                    own = (M[k, i, j] - 1.0) / beta[k] * slope
                    J[k * n + i, m * n + j] = own + of_last
            J[k * n + i, k * n + i] += 1.0


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
