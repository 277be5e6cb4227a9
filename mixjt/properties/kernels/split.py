"""Two-phase equilibrium at given temperature and pressure.

Newton's method in u_i = ln(v_i / l_i), the ratio of a gas's amounts in the lighter and the denser
phase: it needs no inner solution of the Rachford-Rice equation and keeps every amount positive.
Sources: Michelsen, Fluid Phase Equilibria 9 (1982) 21-40 (Gibbs minimisation in phase amounts);
Rachford and Rice, J. Petrol. Technol. 4 (1952) 19 for the substitution steps of a cold start.
"""

from __future__ import annotations

from math import exp, log, sqrt

from mixjt.properties.kernels import compiled
from mixjt.properties.kernels.cubic import log_phi, log_phi_derivatives
from mixjt.properties.kernels.linear import damped_cholesky_solve

SOLVED, VANISHED, FAILED = 0, 1, 2
GRADIENT_TOLERANCE = 1e-10
# A Newton step this small from an error this small is the last: convergence is quadratic. Both are asked
# for, because next to a phase boundary the error is small where the solution is still far, or none.
LAST_ERROR, LAST_STEP = 3e-6, 1e-3
SMALLEST_PHASE = 1e-13
MAX_STEPS = 30
LARGEST_STEP = 3.0  # in u


@compiled
def amounts(z, u, v, l):
    """Split z by the ratios u into amounts v and l; returns their sums."""
    V = 0.0
    L = 0.0
    for i in range(z.size):
        if u[i] > 0.0:
            e = exp(-u[i])
            v[i] = z[i] / (1.0 + e)
            l[i] = v[i] * e
        else:
            e = exp(u[i])
            l[i] = z[i] / (1.0 + e)
            v[i] = l[i] * e
        V += v[i]
        L += l[i]
    return V, L


@compiled
def newton_split(A, B, eos, z, u, X, beta, pair):
    """Solve from u (overwritten). X (2, c) and beta (2,) get the phases. Returns a status."""
    v, l, g, S1, S2, aux1, aux2, phi1, phi2 = pair[:9]
    n = z.size
    for _ in range(MAX_STEPS):
        V, L = amounts(z, u, v, l)
        if not (V >= SMALLEST_PHASE and L >= SMALLEST_PHASE):
            return VANISHED
        for i in range(n):
            X[0, i] = v[i] / V
            X[1, i] = l[i] / L
        beta[0] = V
        beta[1] = L
        log_phi(A, B, eos, X[0], S1, aux1, phi1)
        log_phi(A, B, eos, X[1], S2, aux2, phi2)
        shift = log(L / V)
        error = 0.0
        for i in range(n):
            g[i] = u[i] + shift + phi1[i] - phi2[i]
            error = max(error, abs(g[i]))
        if error < GRADIENT_TOLERANCE:
            return VANISHED if _same(X) else SOLVED
        if not error < 1e3:
            return FAILED
        step = _newton_step(A, B, eos, z, u, V, L, pair)
        if step < 0.0:
            return FAILED
        if error < LAST_ERROR and step < LAST_STEP:
            return _accept(z, u, X, beta, v, l)
    return FAILED


@compiled
def _accept(z, u, X, beta, v, l):
    """Phases at u after a step from so small an error that its square is below the tolerance."""
    beta[0], beta[1] = amounts(z, u, v, l)
    if not (beta[0] >= SMALLEST_PHASE and beta[1] >= SMALLEST_PHASE):
        return VANISHED
    for i in range(z.size):
        X[0, i] = v[i] / beta[0]
        X[1, i] = l[i] / beta[1]
    return VANISHED if _same(X) else SOLVED


@compiled
def _newton_step(A, B, eos, z, u, V, L, pair):
    """Improve u by a step of the Gibbs energy's minimisation; its largest part, -1 when there is none."""
    v, l, g, S1, S2, aux1, aux2, phi1, phi2, M1, M2 = pair
    n = z.size
    log_phi_derivatives(A, B, eos, S1, aux1, M1)
    log_phi_derivatives(A, B, eos, S2, aux2, M2)
    inverse_v = 1.0 / V
    inverse_l = 1.0 / L
    for i in range(n):
        phi1[i] = sqrt(v[i] * l[i] / z[i]) + 1e-150  # the scale of gas i
    for i in range(n):
        for j in range(i + 1):
            value = (M1[i, j] - 1.0) * inverse_v + (M2[i, j] - 1.0) * inverse_l
            M1[i, j] = value * phi1[i] * phi1[j]
        M1[i, i] += 1.0
        g[i] *= -phi1[i]
    if not damped_cholesky_solve(M1, g, M2, phi2):
        return -1.0
    largest = 0.0
    for i in range(n):
        g[i] /= phi1[i]
        largest = max(largest, abs(g[i]))
    scale = 1.0 if largest < LARGEST_STEP else LARGEST_STEP / largest
    for i in range(n):
        u[i] += scale * g[i]
    return largest


@compiled
def _same(X):
    distance = 0.0
    for i in range(X.shape[1]):
        distance += (X[0, i] - X[1, i]) ** 2
    return distance < 1e-10


@compiled
def substitute_split(A, B, eos, z, u, X, beta, pair, steps):
    """Successive substitution from phases in X, extrapolated every fifth step; leaves u. Status."""
    S1, S2, aux1, aux2, phi1, phi2 = pair[3], pair[4], pair[5], pair[6], pair[7], pair[8]
    lnK, previous, older = pair[0], pair[1], pair[2]
    n = z.size
    for step in range(steps):
        log_phi(A, B, eos, X[0], S1, aux1, phi1)
        log_phi(A, B, eos, X[1], S2, aux2, phi2)
        for i in range(n):
            older[i] = previous[i]
            previous[i] = lnK[i]
            lnK[i] = phi2[i] - phi1[i]
        V = -1.0
        if step % 5 == 4:
            _extrapolate(lnK, previous, older)
            V = solve_rachford_rice(z, lnK)
        if V <= 0.0 or V >= 1.0:
            for i in range(n):
                lnK[i] = phi2[i] - phi1[i]
            V = solve_rachford_rice(z, lnK)
        if V <= 0.0 or V >= 1.0:
            return VANISHED
        change = 0.0
        for i in range(n):
            k = exp(lnK[i])
            x = z[i] / (1.0 + V * (k - 1.0))
            change = max(change, abs(x - X[1, i]), abs(k * x - X[0, i]))
            X[1, i] = x
            X[0, i] = k * x
        _normalise(X)
        beta[0] = V
        beta[1] = 1.0 - V
        if change < 1e-4 and step > 1:
            break
    shift = log(beta[0] / beta[1])
    for i in range(n):
        u[i] = lnK[i] + shift
    return VANISHED if _same(X) else SOLVED


@compiled
def _normalise(X):
    for k in range(2):
        total = 0.0
        for i in range(X.shape[1]):
            total += X[k, i]
        for i in range(X.shape[1]):
            X[k, i] /= total


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


@compiled
def solve_rachford_rice(z, lnK):
    """Fraction of the phase with amounts K x; below 0 or above 1 where there is one phase only."""
    at_zero = -1.0
    at_one = 1.0
    for i in range(z.size):
        k = exp(lnK[i])
        at_zero += z[i] * k
        at_one -= z[i] / k
    if at_zero <= 0.0:
        return -1.0
    if at_one >= 0.0:
        return 2.0
    low = 0.0
    high = 1.0
    V = 0.5
    for _ in range(60):
        value = 0.0
        slope = 0.0
        for i in range(z.size):
            k1 = exp(lnK[i]) - 1.0
            share = k1 / (1.0 + V * k1)
            value += z[i] * share
            slope -= z[i] * share * share
        if value > 0.0:
            low = V
        else:
            high = V
        step = V - value / slope
        V_new = step if low < step < high else 0.5 * (low + high)
        if abs(V_new - V) < 1e-14:
            return V_new
        V = V_new
    return V
