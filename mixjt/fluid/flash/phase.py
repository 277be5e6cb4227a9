"""One phase at its temperature, density and composition: fugacities, enthalpies, volumes and their derivatives.

ln phi is given at the pressure asked for, to first order in how far the phase's own pressure is from it, so that the
density can be an unknown of Newton's method beside the composition. The reducing volume and temperature are
homogeneous of second degree in the mole fractions. Sources: Kunz and Wagner, J. Chem. Eng. Data 57 (2012) 3032;
Michelsen and Mollerup, Thermodynamic Models, 2nd ed. (2007), chapters 1 and 2.
"""

from __future__ import annotations

from math import exp, log

from numba import types

from mixjt.compiled import compiled
from mixjt.fluid.flash.kernel_types import BLEND, PHASE
from mixjt.fluid.flash.terms import sum_terms

DENSITY, FUGACITY, MATRIX = 0, 1, 2  # how much `evaluate` works out


@compiled(types.void, BLEND, PHASE)
def reduce(b, s):
    """What depends on s.x alone: reducing volume and temperature with first derivatives, weights of the functions,
    coefficients of the shared terms.

    Each pair adds f a c (a + c) / (q a + c) to the reducing quantities, with a, c the mole fractions and q = beta^2.
    """
    n, pairs = b.gases, b.pairs
    for k in range(pairs):
        s.xa[k], s.xb[k] = s.x[b.first[k]], s.x[b.second[k]]
    volume, temperature = 0.0, 0.0
    for k in range(pairs):
        a, c = s.xa[k], s.xb[k]
        product = a * c * (a + c)
        f, q = b.volume_factor[k], b.volume_square[k]
        inverse = 1.0 / (q * a + c + 1e-300)
        value = product * inverse
        volume += f * value
        s.va[k], s.vb[k] = f * (c * (2.0 * a + c) - value * q) * inverse, f * (a * (a + 2.0 * c) - value) * inverse
        s.vi[k] = inverse
        f, q = b.temperature_factor[k], b.temperature_square[k]
        inverse = 1.0 / (q * a + c + 1e-300)
        value = product * inverse
        temperature += f * value
        s.ta[k], s.tb[k] = f * (c * (2.0 * a + c) - value * q) * inverse, f * (a * (a + 2.0 * c) - value) * inverse
        s.ti[k] = inverse
    for f in range(b.all_functions):
        s.fw[f] = 0.0
    for k in range(b.shared):
        s.folded[k] = 0.0
    for i in range(n):
        v, t = s.x[i] * b.critical_volume[i], s.x[i] * b.critical_temperature[i]
        s.by_v[i], s.by_t[i] = 2.0 * v, 2.0 * t
        volume += s.x[i] * v
        temperature += s.x[i] * t
        for k in range(b.shared):
            s.folded[k] += s.x[i] * b.coefficient[i, k]
    k = 0
    for i in range(n):
        v, t = 0.0, 0.0
        for j in range(i + 1, n):
            v += s.va[k]
            t += s.ta[k]
            s.by_v[j] += s.vb[k]
            s.by_t[j] += s.tb[k]
            s.fw[b.function[k]] += b.weight[k] * s.x[i] * s.x[j]
            k += 1
        s.by_v[i] += v
        s.by_t[i] += t
    s.reducing_volume, s.reducing_temperature = volume, temperature


@compiled(types.void, BLEND, PHASE, types.float64)
def fugacities(b, s, ln_z):
    """ln phi, partial volumes and enthalpies from the sums that `sum_terms` left."""
    n = b.gases
    for i in range(n):
        s.ra[i] = 0.0
    for k in range(b.pairs):
        w = b.weight[k]
        if w != 0.0:
            i, j, g = b.first[k], b.second[k], b.function[k]
            wi, wj = w * s.x[j], w * s.x[i]
            s.ra[i] += wi * s.f0[g]
            s.ra[j] += wj * s.f0[g]
            s.g1[i] += wi * s.f1[g]
            s.g1[j] += wj * s.f1[g]
            s.g2[i] += wi * s.f2[g]
            s.g2[j] += wj * s.f2[g]
    m0, m1, m2 = 0.0, 0.0, 0.0
    for i in range(n):
        s.g0[i] += s.ra[i]
        m0 += s.x[i] * s.g0[i]
        m1 += s.x[i] * s.g1[i]
        m2 += s.x[i] * s.g2[i]
    ad, at, adt = s.AD, s.AT, s.ADT
    by_delta, by_tau = ad + s.ADD, at + s.ATT
    inverse = 1.0 / s.stiffness
    thermal = 1.0 + ad - adt
    s.expansion = thermal * inverse
    iv, it = 1.0 / s.reducing_volume, 1.0 / s.reducing_temperature
    for i in range(n):
        D, E = s.by_v[i] * iv - 1.0, s.by_t[i] * it - 2.0
        s.D[i], s.E[i] = D, E
        s.g1[i] -= m1
        s.g2[i] -= m2
        s.dd[i] = by_delta * D + adt * E + s.g1[i]
        s.dt[i] = adt * D + by_tau * E + s.g2[i]
        v = (1.0 + ad + s.dd[i]) * inverse
        s.v[i] = v
        s.ln_phi[i] = s.A0 + ad * D + at * E + s.g0[i] - m0 - ln_z + v * s.m
        s.hi[i] = at + s.dt[i] - 1.0 + v * thermal
    s.h = at + ad + (1.0 - s.expansion) * s.m
    s.cp = thermal * s.expansion - s.ATT - 1.0


@compiled(types.void, BLEND, PHASE)
def matrix(b, s):
    """M from what `fugacities` left; symmetric."""
    n = b.gases
    ad, at = s.AD, s.AT
    by_v, by_t = ad / s.reducing_volume, at / s.reducing_temperature
    inverse = 1.0 / s.stiffness
    mean = 0.0
    for i in range(n):
        mean += s.x[i] * s.ra[i]
    for i in range(n):
        D, E = s.D[i], s.E[i]
        forced = (1.0 + ad + s.dd[i]) * inverse
        base = 1.0 + mean - 2.0 * at - s.ra[i] - at * E - forced * (1.0 + ad)
        p, q = s.dd[i] - ad * D, s.dt[i] - at * E - at
        for j in range(n):
            s.M[i, j] = (
                base + p * s.D[j] + q * s.E[j] + D * s.g1[j] + E * s.g2[j] - s.ra[j] - forced * s.dd[j]
            )
        s.M[i, i] += 2.0 * (by_v * b.critical_volume[i] + by_t * b.critical_temperature[i])
    for k in range(b.pairs):  # second derivatives of the reducing quantities
        a, c = s.xa[k], s.xb[k]
        q, f, w, va, vb = b.volume_square[k], b.volume_factor[k], 2.0 * by_v * s.vi[k], s.va[k], s.vb[k]
        s.aa[k], s.bb[k] = w * (f * c - q * va), w * (f * a - vb)
        s.ab[k] = w * (f * (a + c) - 0.5 * (va + q * vb))
        q, f, w, va, vb = b.temperature_square[k], b.temperature_factor[k], 2.0 * by_t * s.ti[k], s.ta[k], s.tb[k]
        s.aa[k] += w * (f * c - q * va)
        s.bb[k] += w * (f * a - vb)
        s.ab[k] += w * (f * (a + c) - 0.5 * (va + q * vb))
    k = 0
    for i in range(n):
        for j in range(i + 1, n):
            w = s.ab[k]
            if b.weight[k] != 0.0:
                w += b.weight[k] * s.f0[b.function[k]]
            s.M[i, j] += w
            s.M[j, i] += w
            s.M[i, i] += s.aa[k]
            s.M[j, j] += s.bb[k]
            k += 1


@compiled(types.void, BLEND, PHASE, types.float64, types.int64)
def evaluate(b, s, p, depth):
    """The phase at s.x, s.T and ln density s.lr, for pressure p; depth is DENSITY (of a composition that `reduce`
    has seen), FUGACITY or MATRIX.

    m = p/(rho R T) - Z tells how far the density is from that of p, stiffness = d p/d rho / (R T); v are partial
    molar volumes times the density, hi partial molar enthalpies, M_ij = d ln phi_i / d n_j per mole at T, p.
    """
    if depth != DENSITY:
        reduce(b, s)
    rho = exp(s.lr)
    s.tau, s.delta = s.reducing_temperature / s.T, rho * s.reducing_volume
    sum_terms(b, s, types.int64(depth != DENSITY))
    s.stiffness = 1.0 + 2.0 * s.AD + s.ADD
    z = p / (rho * b.R * s.T)
    s.m = z - 1.0 - s.AD
    if depth == DENSITY:
        return
    fugacities(b, s, log(z))
    if depth == MATRIX:
        matrix(b, s)
