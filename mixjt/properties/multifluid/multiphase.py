"""Equilibrium of up to three phases, by the methods of kernels.multiphase.

Source: Michelsen, Computers chem. Engng 18 (1994) 545-550.
"""

from __future__ import annotations

from math import exp, isnan, log, sqrt

from mixjt.properties.kernels import compiled
from mixjt.properties.kernels.linear import damped_cholesky_solve
from mixjt.properties.kernels.multiphase import minimise_q
from mixjt.properties.kernels.split import FAILED, SMALLEST_PHASE, SOLVED, VANISHED
from mixjt.properties.multifluid.phase import ANY_ROOT, log_phi, log_phi_derivatives
from mixjt.properties.multifluid.split import (
    GRADIENT_TOLERANCE,
    MAX_STEPS,
    normalise,
    same_phases,
)

LARGEST_STEP = 1.0  # in u; two of the phases may be close to each other


@compiled
def substitute_phases(mix, T, p, z, X, beta, F, E, buf, phi, steps, tolerance):
    """Successive substitution on F phases; how many of them still have an amount, 0 on failure."""
    n = z.size
    for _ in range(steps):
        for k in range(F):
            log_phi(mix, T, p, X[k], buf, k, ANY_ROOT, phi)
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
        if change < tolerance or alive < F:
            break
    return alive


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
def newton_phases(mix, T, p, z, U, X, beta, F, buffers):
    """Solve from U (overwritten); X and beta get the phases. Returns a status."""
    N, buf, phi, M, home = buffers[:5]
    n = z.size
    for _ in range(MAX_STEPS):
        _amounts(z, U, N, beta, F)
        for k in range(F):
            if not beta[k] > SMALLEST_PHASE:
                return FAILED if isnan(beta[k]) else VANISHED
            for i in range(n):
                X[k, i] = N[k, i] / beta[k]
            log_phi(mix, T, p, X[k], buf, k, ANY_ROOT, phi[k])
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
            log_phi_derivatives(mix, buf, k, M[k])
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
    N, _, phi, M, home, J, kept, rhs, kept_rhs, scale = buffers
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
            if same_phases(X[k], X[m]):
                return True
    return False
