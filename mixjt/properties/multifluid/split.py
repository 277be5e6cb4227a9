"""Two-phase equilibrium at given temperature and pressure, by the methods of kernels.split.

Sources: Michelsen, Fluid Phase Equilibria 9 (1982) 21-40; Rachford and Rice, J. Petrol. Technol. 4 (1952) 19.
"""

from __future__ import annotations

from math import exp, isnan, log, sqrt

from mixjt.properties.kernels import compiled
from mixjt.properties.kernels.linear import damped_cholesky_solve
from mixjt.properties.kernels.split import (
    FAILED,
    SMALLEST_PHASE,
    SOLVED,
    VANISHED,
    amounts,
    solve_rachford_rice,
)
from mixjt.properties.multifluid.phase import ANY_ROOT, FIRST, SECOND, log_phi, log_phi_derivatives

GRADIENT_TOLERANCE = 1e-9
MAX_STEPS = 30
LARGEST_STEP = 3.0  # in u


@compiled
def newton_split(mix, T, p, z, u, X, beta, pair):
    """Solve from u = ln(v/l) (overwritten). X (2, c) and beta (2,) get the phases. Returns a status."""
    v, l, g, buf, phi1, phi2 = pair[:6]
    n = z.size
    for _ in range(MAX_STEPS):
        V, L = amounts(z, u, v, l)
        if not (V > SMALLEST_PHASE and L > SMALLEST_PHASE):
            return FAILED if isnan(V) else VANISHED
        for i in range(n):
            X[0, i] = v[i] / V
            X[1, i] = l[i] / L
        beta[0] = V
        beta[1] = L
        log_phi(mix, T, p, X[0], buf, FIRST, ANY_ROOT, phi1)
        log_phi(mix, T, p, X[1], buf, SECOND, ANY_ROOT, phi2)
        shift = log(L / V)
        error = 0.0
        for i in range(n):
            g[i] = u[i] + shift + phi1[i] - phi2[i]
            error = max(error, abs(g[i]))
        if error < GRADIENT_TOLERANCE:
            return VANISHED if same_phases(X[0], X[1]) else SOLVED
        if not error < 1e3 or not _newton_step(mix, z, u, V, L, pair):
            return FAILED
    return FAILED


@compiled
def _newton_step(mix, z, u, V, L, pair):
    v, l, g, buf, phi1, phi2, M1, M2 = pair
    n = z.size
    log_phi_derivatives(mix, buf, FIRST, M1)
    log_phi_derivatives(mix, buf, SECOND, M2)
    for i in range(n):
        phi1[i] = sqrt(v[i] * l[i] / z[i]) + 1e-150  # the scale of gas i
    for i in range(n):
        for j in range(i + 1):
            value = (M1[i, j] - 1.0) / V + (M2[i, j] - 1.0) / L
            M1[i, j] = value * phi1[i] * phi1[j]
        M1[i, i] += 1.0
        g[i] *= -phi1[i]
    if not damped_cholesky_solve(M1, g, M2, phi2):
        return False
    largest = 0.0
    for i in range(n):
        g[i] /= phi1[i]
        largest = max(largest, abs(g[i]))
    scale = 1.0 if largest < LARGEST_STEP else LARGEST_STEP / largest
    for i in range(n):
        u[i] += scale * g[i]
    return True


@compiled
def same_phases(x, y):
    """Whether two compositions are one."""
    distance = 0.0
    for i in range(x.size):
        distance += (x[i] - y[i]) ** 2
    return distance < 1e-10


@compiled
def substitute_split(mix, T, p, z, u, X, beta, pair, steps, tolerance):
    """Successive substitution from phases in X, extrapolated every fifth step; leaves u. Status."""
    lnK, previous, older, buf, phi1, phi2, _, _ = pair
    n = z.size
    for step in range(steps):
        log_phi(mix, T, p, X[0], buf, FIRST, ANY_ROOT, phi1)
        log_phi(mix, T, p, X[1], buf, SECOND, ANY_ROOT, phi2)
        for i in range(n):
            older[i] = previous[i]
            previous[i] = lnK[i]
            lnK[i] = phi2[i] - phi1[i]
        if step >= 4 and step % 5 == 4:
            _extrapolate(lnK, previous, older)
        V = solve_rachford_rice(z, lnK)
        if not 0.0 < V < 1.0:
            return FAILED if isnan(V) else VANISHED
        change = 0.0
        for i in range(n):
            k = exp(lnK[i])
            x = z[i] / (1.0 + V * (k - 1.0))
            change = max(change, abs(x - X[1, i]), abs(k * x - X[0, i]))
            X[1, i] = x
            X[0, i] = k * x
        if not change < 1.0:
            return FAILED
        normalise(X[0])
        normalise(X[1])
        beta[0] = V
        beta[1] = 1.0 - V
        if change < tolerance and step > 1:
            break
    shift = log(beta[0] / beta[1])
    for i in range(n):
        u[i] = lnK[i] + shift
    return VANISHED if same_phases(X[0], X[1]) else SOLVED


@compiled
def normalise(x):
    """Scale to unit sum."""
    total = 0.0
    for i in range(x.size):
        total += x[i]
    for i in range(x.size):
        x[i] /= total


@compiled
def _extrapolate(now, previous, older):
    """Dominant eigenvalue step: Orbach and Crowe, Can. J. Chem. Eng. 49 (1971) 509."""
    numerator = 0.0
    denominator = 0.0
    for i in range(now.size):
        last = now[i] - previous[i]
        before = previous[i] - older[i]
        numerator += last * before
        denominator += before * before
    if denominator < 1e-24:
        return
    ratio = numerator / denominator
    if 0.0 < ratio < 0.95:
        factor = ratio / (1.0 - ratio)
        for i in range(now.size):
            now[i] += factor * (now[i] - previous[i])
