"""The two-parameter cubic equation of state and its fugacity coefficients.

Source: Michelsen and Mollerup, Thermodynamic Models: Fundamentals and Computational Aspects,
2nd ed. (2007), chapters 1-3; mixing rules of van der Waals, a = sum x_i x_j a_ij, b = sum x_i b_i.
"""

from __future__ import annotations

from math import acos, cos, log, pi, sqrt

from mixjt.properties.kernels import compiled

# Molar volumes, in covolumes, below which a phase with a single density root is a liquid and above which it
# is a vapour: saturated liquids stay below about 2.6 up to 0.98 Tc, critical points lie near 3.9.
LIQUID_VOLUMES, VAPOUR_VOLUMES = 1.8, 3.9
THIN = 1e-5  # b p/(R T) below which the roots are sought in another way

# Slots of the small array that carries a phase's scalars from one routine to the next.
Z, A_MIX, B_MIX, LOG_TERM, ON_LIQUID_ROOT, SLOTS = 0, 1, 2, 3, 4, 5


@compiled
def compressibility_roots(a, b, d1, d2):
    """Smallest and largest physical root Z > B of the cubic at mixture parameters a, b."""
    u = d1 + d2
    w = d1 * d2
    c2 = (u - 1.0) * b - 1.0
    c1 = (w - u) * b * b - u * b + a
    c0 = -(w * b * b * b + w * b * b + a * b)
    if b < THIN:
        return _thin_roots(b, c2, c1, c0)
    shift = -c2 / 3.0
    p = c1 - c2 * c2 / 3.0
    q = c0 + shift * (c1 + shift * (c2 + shift))
    radius = -p / 3.0
    if p < 0.0 and q * q < 4.0 * radius * radius * radius:
        r = sqrt(radius)
        ratio = -q / (2.0 * radius * r)
        angle = acos(min(1.0, max(-1.0, ratio))) / 3.0
        high = _polished(shift + 2.0 * r * cos(angle), c2, c1, c0)
        low = _polished(shift + 2.0 * r * cos(angle + 2.0 * pi / 3.0), c2, c1, c0)
        if low > b:
            return low, high
        return high, high
    s = sqrt(max(0.0, 0.25 * q * q + p * p * p / 27.0))
    t = _cube_root(-0.5 * q - s) if q > 0.0 else _cube_root(-0.5 * q + s)
    root = shift + (t - p / (3.0 * t) if t != 0.0 else 0.0)
    root = _polished(_polished(root, c2, c1, c0), c2, c1, c0)
    return root, root


@compiled
def _cube_root(value):
    return value ** (1.0 / 3.0) if value >= 0.0 else -((-value) ** (1.0 / 3.0))


@compiled
def _polished(z, c2, c1, c0):
    """One Newton step on the cubic: the closed form loses digits of a small liquid root."""
    slope = c1 + z * (2.0 * c2 + 3.0 * z)
    value = c0 + z * (c1 + z * (c2 + z))
    return z - value / slope if slope != 0.0 else z


@compiled
def _thin_roots(b, c2, c1, c0):
    """Roots at very low pressure, where the closed form loses the liquid's in rounding.

    The vapour's root lies next to 1. The liquid's, if there is one, lies below the cubic's maximum; Newton's
    method from Z = B reaches it monotonically, because the cubic is concave there.
    """
    high = 1.0
    for _ in range(6):
        high = _polished(high, c2, c1, c0)
    square = c2 * c2 - 3.0 * c1
    if c1 <= 0.0 or square <= 0.0:
        return high, high
    top = c1 / (-c2 + sqrt(square))
    if c0 + top * (c1 + top * (c2 + top)) <= 0.0 or top <= b:
        return high, high
    low = b
    for _ in range(50):
        better = _polished(low, c2, c1, c0)
        if abs(better - low) <= 1e-15 * better:
            break
        low = better
    return low, high


@compiled
def _residual_gibbs(z, a, b, d1, d2):
    return z - log(z - b) - a / (b * (d1 - d2)) * log((z + d1 * b) / (z + d2 * b))


@compiled
def mixture(A, B, x, S):
    """Mixture a and b at composition x; fills S_i = sum_j A_ij x_j."""
    a = 0.0
    b = 0.0
    for i in range(B.size):
        row = 0.0
        for j in range(B.size):
            row += A[i, j] * x[j]
        S[i] = row
        a += x[i] * row
        b += x[i] * B[i]
    return a, b


@compiled
def solve_density(a, b, eos, aux):
    """Store the root of least Gibbs energy and what hangs on it in aux."""
    d1, d2 = eos[0], eos[1]
    low, high = compressibility_roots(a, b, d1, d2)
    z = high
    aux[ON_LIQUID_ROOT] = 0.0
    if high > low:
        if _residual_gibbs(low, a, b, d1, d2) < _residual_gibbs(high, a, b, d1, d2):
            z = low
            aux[ON_LIQUID_ROOT] = 1.0
    elif _liquid_like(z, a, b, eos[2]):
        aux[ON_LIQUID_ROOT] = 1.0
    aux[Z] = z
    aux[A_MIX] = a
    aux[B_MIX] = b
    aux[LOG_TERM] = log((z + d1 * b) / (z + d2 * b)) / (d1 - d2)


@compiled
def _liquid_like(z, a, b, critical_ratio):
    """Whether a phase with a single density root is called liquid.

    By its volume where that is clear; in between, by whether the temperature is below the critical one of a
    pure fluid with the mixture's a and b.
    """
    volume = z / b
    return volume < LIQUID_VOLUMES or (volume < VAPOUR_VOLUMES and a / b > critical_ratio)


@compiled
def log_phi(A, B, eos, x, S, aux, out):
    """ln phi of every gas at composition x on the root of least Gibbs energy."""
    a, b = mixture(A, B, x, S)
    solve_density(a, b, eos, aux)
    _log_phi_from(B, S, aux, out)


@compiled
def _log_phi_from(B, S, aux, out):
    z, a, b, ell = aux[Z], aux[A_MIX], aux[B_MIX], aux[LOG_TERM]
    f0 = -log(z - b)
    f1 = (z - 1.0) / b + a * ell / (b * b)
    f2 = -2.0 * ell / b
    for i in range(B.size):
        out[i] = f0 + B[i] * f1 + S[i] * f2


@compiled
def log_phi_at_pure(A, B, eos, k, aux, out):
    """ln phi of every gas at infinite dilution in liquid gas k (its smallest density root)."""
    a, b = A[k, k], B[k]
    low, _ = compressibility_roots(a, b, eos[0], eos[1])
    ell = log((low + eos[0] * b) / (low + eos[1] * b)) / (eos[0] - eos[1])
    f0 = -log(low - b)
    f1 = (low - 1.0) / b + a * ell / (b * b)
    f2 = -2.0 * ell / b
    for i in range(B.size):
        out[i] = f0 + B[i] * f1 + A[i, k] * f2


@compiled
def log_phi_derivatives(A, B, eos, S, aux, M):
    """M_ij = n d(ln phi_i)/d(n_j) at the state held in S and aux; symmetric."""
    d1, d2 = eos[0], eos[1]
    z, a, b, ell = aux[Z], aux[A_MIX], aux[B_MIX], aux[LOG_TERM]
    inverse = 1.0 / ((z + d1 * b) * (z + d2 * b))
    ell_z = -b * inverse
    ell_b = z * inverse
    # Implicit derivatives of Z from 1 = 1/(Z - B) - A / ((Z + d1 B)(Z + d2 B)).
    repulsion = 1.0 / ((z - b) * (z - b))
    slope_z = -repulsion + a * inverse * inverse * (2.0 * z + (d1 + d2) * b)
    slope_b = repulsion + a * inverse * inverse * ((d1 + d2) * z + 2.0 * d1 * d2 * b)
    z_a = inverse / slope_z
    z_b = -slope_b / slope_z
    f0_z = -1.0 / (z - b)
    f1_z = 1.0 / b + a * ell_z / (b * b)
    f1_a = ell / (b * b)
    f1_b = -(z - 1.0) / (b * b) + a * ell_b / (b * b) - 2.0 * a * ell / (b * b * b)
    f2 = -2.0 * ell / b
    f2_z = -2.0 * ell_z / b
    f2_b = -2.0 * ell_b / b + 2.0 * ell / (b * b)
    n = B.size
    for i in range(n):
        by_z = f0_z + B[i] * f1_z + S[i] * f2_z
        by_a = 2.0 * (B[i] * f1_a + by_z * z_a)
        by_b = -f0_z + B[i] * f1_b + S[i] * f2_b + by_z * z_b
        constant = -by_a * a - by_b * b - f2 * S[i]
        for j in range(n):
            M[i, j] = constant + by_a * S[j] + by_b * B[j] + f2 * A[i, j]


@compiled
def residual_enthalpy(E, x, aux):
    """Residual enthalpy over RT; E_ij = (T da_ij/dT - a_ij) p / (R T)^2."""
    e = 0.0
    for i in range(x.size):
        row = 0.0
        for j in range(x.size):
            row += E[i, j] * x[j]
        e += x[i] * row
    return aux[Z] - 1.0 + e * aux[LOG_TERM] / aux[B_MIX]


@compiled
def residual_gibbs(aux):
    """Residual Gibbs energy over RT at the state held in aux."""
    z, a, b = aux[Z], aux[A_MIX], aux[B_MIX]
    return z - 1.0 - log(z - b) - a * aux[LOG_TERM] / b
