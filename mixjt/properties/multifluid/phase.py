"""One phase at given temperature, pressure and composition: density, fugacities, energies.

The density roots are found from outside: a vapour from a thin gas upwards, a liquid from beyond its
density downwards. Newton's method then runs monotonically to the first root on that side (p is concave in
density there, and convex here), so that roots inside the loops which multi-fluid isotherms show between
vapour and liquid are never met. Where both exist the one of lower Gibbs energy counts.
"""

from __future__ import annotations

from math import log

import numpy as np

from mixjt.properties.kernels import compiled
from mixjt.properties.multifluid.helmholtz import (
    A0,
    AD,
    ADD,
    ADT,
    AT,
    ATT,
    DELTA,
    GIBBS,
    ON_LIQUID_ROOT,
    PRESSURE,
    RHO_R,
    TAU,
    TEMPERATURE,
    WARM_GAS,
    WARM_LIQUID,
    Z,
    set_composition,
    set_density,
    sum_groups,
)

COMPRESSED_LIQUID = 3.6  # reduced density from which the search for a liquid starts
HIGHEST_DENSITY = 5.0
LEAST_GAS_Z = 0.05
THIN_GAS = 0.05  # a vapour search starts below this reduced density, never inside the loops
THICKEST_GAS, THINNEST_LIQUID = 0.8, 1.5  # reduced densities where a warm search may start
LIQUID_DENSITY = 1.3  # a phase with one root counts as liquid above this reduced density
LOWEST_TAU = 0.8  # above T_r / 0.8 there is one root only
# NumPy integers: numba compiles a function once for every value of a literal Python integer.
ANY_ROOT, LIQUID_ROOT = np.int64(0), np.int64(1)
FIRST, SECOND = np.int64(0), np.int64(1)  # rows of the buffers
MAX_STEPS = 80
LAST_STEP = 3e-8
ROOT_TOLERANCE = 1e-13
NONE = -1.0


@compiled
def _search(mix, target, start, least, most, buf, q):
    """Reduced density where delta (1 + delta alpha') = target, and the last density that was stable.

    A step may shrink the density to `least` or raise it to `most` of its value. The first result is NONE
    where the search meets an unstable density.
    """
    delta, low, high, stable = start, 0.0, 1e300, NONE
    for _ in range(MAX_STEPS):
        _, first, second = set_density(mix, delta, buf, q)
        miss = delta * (1.0 + first) - target
        slope = 1.0 + 2.0 * first + second
        if not slope > 0.0:
            return NONE, stable
        stable = delta
        if miss < 0.0:
            low = max(low, delta)
        else:
            high = min(high, delta)
        step = -miss / slope
        if abs(step) <= LAST_STEP * delta:  # Newton's method squares the error
            return delta + step, delta
        better = min(max(delta + step, least * delta), most * delta)
        if not low < better < high:
            if high - low <= 4.0 * ROOT_TOLERANCE * delta:
                return delta, delta
            better = 0.5 * (max(low, least * delta) + min(high, most * delta))
        if better > HIGHEST_DENSITY:
            return NONE, NONE
        delta = better
    return NONE, NONE


@compiled
def gas_root(mix, target, buf, q):
    """Vapour root from where the last search ended, else from the ideal gas; NONE where there is none.

    Kept is the root, or, with a minus sign, the density up to which a vapour was stable.
    """
    warm = buf.slots[q, WARM_GAS]
    root, stable = NONE, NONE
    if 0.0 < abs(warm) < THICKEST_GAS:
        root, stable = _search(mix, target, min(0.95 * abs(warm), target / LEAST_GAS_Z), 0.5, 1.25, buf, q)
    if root < 0.0 and (stable < 0.0 or warm > 0.0):
        root, stable = _search(mix, target, min(target, THIN_GAS), 0.5, 1.25, buf, q)
    buf.slots[q, WARM_GAS] = root if root > 0.0 else -abs(stable)
    return root


@compiled
def liquid_root(mix, target, buf, q):
    """Liquid root from where the last search ended, else from a compressed liquid; NONE where none.

    Kept is the root, or, with a minus sign, the density down to which a liquid was stable.
    """
    warm = buf.slots[q, WARM_LIQUID]
    root, stable = NONE, NONE
    if abs(warm) > THINNEST_LIQUID:
        root, stable = _search(mix, target, 1.03 * abs(warm), 0.85, 1.3, buf, q)
    if root < 0.0 and (stable < 0.0 or warm > 0.0):
        root, stable = _search(mix, target, COMPRESSED_LIQUID, 0.85, 1.3, buf, q)
    buf.slots[q, WARM_LIQUID] = root if root > 0.0 else -abs(stable)
    return root


@compiled
def solve_density(mix, pressure, want, buf, q):
    """Set the density in buf: the root of least Gibbs energy, or the liquid root where it is wanted."""
    slots = buf.slots[q]
    slots[PRESSURE] = pressure
    target = pressure / (mix.gas_constant * slots[TEMPERATURE] * slots[RHO_R])
    one_root = slots[TAU] < LOWEST_TAU
    heavy = NONE if one_root else liquid_root(mix, target, buf, q)
    light = NONE
    if heavy < 0.0 or want == ANY_ROOT:
        light = gas_root(mix, target, buf, q)
    if one_root and light < 0.0:
        heavy = liquid_root(mix, target, buf, q)
    slots[ON_LIQUID_ROOT] = 1.0 if heavy > 0.0 else 0.0
    delta = heavy if heavy > 0.0 else light
    if heavy > 0.0 and light > 0.0 and abs(heavy - light) > 1e-8 * heavy:
        if _gibbs(mix, light, target, buf, q) < _gibbs(mix, heavy, target, buf, q):
            delta = light
            slots[ON_LIQUID_ROOT] = 0.0
    else:
        slots[ON_LIQUID_ROOT] = 1.0 if delta > LIQUID_DENSITY else 0.0
    slots[DELTA] = delta
    if delta < 0.0:
        slots[Z], slots[GIBBS] = np.nan, np.nan
        return
    slots[GIBBS] = _gibbs(mix, delta, target, buf, q)
    slots[Z] = target / delta


@compiled
def _gibbs(mix, delta, target, buf, q):
    """Residual Gibbs energy over RT at the pressure that target stands for; leaves the shapes there."""
    alpha, first, _ = set_density(mix, delta, buf, q)
    z = target / delta
    return alpha + first - log(z)


@compiled
def log_phi(mix, temperature, pressure, x, buf, q, want, out):
    """ln phi of every gas at composition x; NaN where no density root was found."""
    set_composition(mix, x, temperature, buf, q)
    solve_density(mix, pressure, want, buf, q)
    c = x.size
    if not buf.slots[q, DELTA] > 0.0:
        for i in range(c):
            out[i] = np.nan
        return
    sum_groups(mix, buf, q)
    sums, v = buf.sums[q], buf.vectors[q]
    total = sums[sums.shape[0] - 1]
    _mole_number_derivatives(mix, x, buf, q)
    log_z = log(buf.slots[q, Z])
    for i in range(c):
        out[i] = total[A0] + total[AD] * v[0, i] + total[AT] * v[1, i] + v[2, i] - log_z


@compiled
def _mole_number_derivatives(mix, x, buf, q):
    """Fill vectors: n d ln(delta)/dn_i, n d ln(tau)/dn_i, then n d/dn_i of the explicit composition
    dependence of alpha, delta alpha' and tau alpha'.

    The first two at constant volume and temperature.
    """
    c = x.size
    v, sums = buf.vectors[q], buf.sums[q]
    volume = 1.0 / buf.slots[q, RHO_R]
    temperature = buf.slots[q, TAU] * buf.slots[q, TEMPERATURE]
    mean_v, mean_t, mean_a, mean_d, mean_tau = 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(c):
        v[2, i], v[3, i], v[4, i] = sums[i, A0], sums[i, AD], sums[i, AT]
    for i in range(c):
        for j in range(i + 1, c):
            g = mix.functions[i, j]
            if g >= 0:
                weight = mix.weights[i, j]
                for row, column in ((2, A0), (3, AD), (4, AT)):
                    v[row, i] += weight * x[j] * sums[g, column]
                    v[row, j] += weight * x[i] * sums[g, column]
    for i in range(c):
        mean_v += x[i] * buf.reducing[q, 0, i]
        mean_t += x[i] * buf.reducing[q, 1, i]
        mean_a += x[i] * v[2, i]
        mean_d += x[i] * v[3, i]
        mean_tau += x[i] * v[4, i]
    for i in range(c):
        v[0, i] = 1.0 + (buf.reducing[q, 0, i] - mean_v) / volume
        v[1, i] = (buf.reducing[q, 1, i] - mean_t) / temperature
        v[2, i] -= mean_a
        v[3, i] -= mean_d
        v[4, i] -= mean_tau


@compiled
def log_phi_derivatives(mix, buf, q, M):
    """M_ij = n d(ln phi_i)/d(n_j) at the state that log_phi left in buf; symmetric."""
    v, sums, x = buf.vectors[q], buf.sums[q], buf.x[q]
    c = x.size
    total = sums[sums.shape[0] - 1]
    volume = 1.0 / buf.slots[q, RHO_R]
    temperature = buf.slots[q, TAU] * buf.slots[q, TEMPERATURE]
    mean_v = _curvature_rows(buf.reducing[q, 0], buf.curvature[q, 0], volume, x, v[5])
    mean_t = _curvature_rows(buf.reducing[q, 1], buf.curvature[q, 1], temperature, x, v[6])
    mean_a = 0.0
    for i in range(c):
        v[7, i] = 0.0
        for j in range(c):
            if mix.functions[i, j] >= 0:
                v[7, i] += mix.weights[i, j] * sums[mix.functions[i, j], A0] * x[j]
        mean_a += x[i] * v[7, i]
    ad, at = total[AD], total[AT]
    by_delta = ad + total[ADD]
    by_tau = at + total[ATT]
    cross = total[ADT]
    stiffness = 1.0 + 2.0 * ad + total[ADD]
    constant = 1.0 + ad + ad * mean_v + at * mean_t + mean_a
    for i in range(c):
        delta_i = by_delta * v[0, i] + cross * v[1, i] + v[3, i]
        tau_i = cross * v[0, i] + by_tau * v[1, i] + v[4, i]
        for j in range(i + 1):
            delta_j = by_delta * v[0, j] + cross * v[1, j] + v[3, j]
            value = constant + delta_i * v[0, j] + tau_i * v[1, j] + v[3, j] * v[0, i] + v[4, j] * v[1, i]
            log_v = buf.curvature[q, 0, i, j] / volume - buf.reducing[q, 0, i] * buf.reducing[q, 0, j] / volume**2
            log_t = buf.curvature[q, 1, i, j] - buf.reducing[q, 1, i] * buf.reducing[q, 1, j] / temperature
            value += ad * (log_v - v[5, i] - v[5, j])
            value += at * (log_t / temperature - v[6, i] - v[6, j])
            value -= v[7, i] + v[7, j]
            if mix.functions[i, j] >= 0:
                value += mix.weights[i, j] * sums[mix.functions[i, j], A0]
            value -= (1.0 + ad + delta_i) * (1.0 + ad + delta_j) / stiffness
            M[i, j] = value
            M[j, i] = value


@compiled
def _curvature_rows(first, second, value, x, rows):
    """rows_i = sum_j x_j d2 ln(Y)/dx_i dx_j for a reducing quantity Y; returns sum_i x_i rows_i."""
    c = x.size
    slope = 0.0
    for i in range(c):
        slope += x[i] * first[i]
    mean = 0.0
    for i in range(c):
        row = 0.0
        for j in range(c):
            row += second[i, j] * x[j]
        rows[i] = row / value - first[i] * slope / (value * value)
        mean += x[i] * rows[i]
    return mean


@compiled
def residual_enthalpy(buf, q):
    """Residual enthalpy over RT at the state that log_phi left in buf."""
    total = buf.sums[q, buf.sums.shape[1] - 1]
    return total[AT] + total[AD]
