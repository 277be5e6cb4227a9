"""Equilibrium of up to three phases, by the methods of kernels.multiphase.

Source: Michelsen, Computers chem. Engng 18 (1994) 545-550.
"""

from __future__ import annotations

from math import exp, log

from mixjt.properties.kernels import compiled
from mixjt.properties.kernels.linear import gauss_solve
from mixjt.properties.kernels.multiphase import minimise_q
from mixjt.properties.kernels.split import FAILED, SMALLEST_PHASE, SOLVED, VANISHED
from mixjt.properties.multifluid.phase import ANY_ROOT, log_phi, log_phi_derivatives
from mixjt.properties.multifluid.split import GRADIENT_TOLERANCE, MAX_STEPS, normalise, same_phases


@compiled
def substitute_phases(mix, T, p, z, X, beta, F, E, phases, phi, steps):
    """Successive substitution on F phases; how many of them still have an amount, 0 on failure."""
    n = z.size
    for _ in range(steps):
        for k in range(F):
            log_phi(mix, T, p, X[k], phases[k], ANY_ROOT, phi)
            for i in range(n):
                E[k, i] = exp(-phi[i])
                if not E[k, i] < 1e300:
                    return 0
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
            normalise(X[k])
        if change < 1e-4 or alive < F:
            break
    return alive


@compiled
def newton_phases(mix, T, p, z, U, X, beta, F, triple):
    """Solve from u_ik = ln(n_ik / n_i,last) in U (overwritten); X and beta get the phases. A status."""
    N, phases, phi, M, J, rhs = triple
    n = z.size
    last = F - 1
    for _ in range(MAX_STEPS):
        _amounts(z, U, N, beta, F)
        for k in range(F):
            if not beta[k] > SMALLEST_PHASE:
                return VANISHED if beta[k] == beta[k] else FAILED
            for i in range(n):
                X[k, i] = N[k, i] / beta[k]
            log_phi(mix, T, p, X[k], phases[k], ANY_ROOT, phi[k])
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
        _jacobian(mix, z, N, beta, phases, M, J, F)
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
def _amounts(z, U, N, beta, F):
    """Amounts N (F, c) of each gas in each phase and their sums beta."""
    last = F - 1
    for k in range(F):
        beta[k] = 0.0
    for i in range(z.size):
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


@compiled
def _jacobian(mix, z, N, beta, phases, M, J, F):
    """d g_ik / d u_jl for g_ik = ln f_ik - ln f_i,last."""
    n = z.size
    last = F - 1
    for k in range(F):
        log_phi_derivatives(mix, phases[k], M[k])
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
            if same_phases(X[k], X[m]):
                return True
    return False
