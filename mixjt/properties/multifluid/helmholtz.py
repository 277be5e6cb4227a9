"""Residual Helmholtz energy and its derivatives.

Three stages, so that a density search costs little: terms at a composition and temperature (all powers of
tau), shapes at a reduced density, and sums over the terms of each group. Derivatives are logarithmic:
delta d/d(delta) and tau d/d(tau). Sources: Kunz and Wagner, J. Chem. Eng. Data 57 (2012) 3032; terms that
are not analytic: Span and Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509, table 32.
"""

from __future__ import annotations

from math import exp, log
from typing import NamedTuple

import numpy as np

from mixjt.properties.kernels import compiled

# Columns of the sums over a group: alpha and its derivatives.
A0, AD, AT, ADD, ADT, ATT, SUMS = range(7)
# Slots of the scalars of a phase.
(
    TEMPERATURE, TAU, RHO_R, DELTA, Z, GIBBS, ON_LIQUID_ROOT,
    WARM_GAS, WARM_LIQUID, PRESSURE, SLOTS,
) = range(11)  # fmt: skip
HIGHEST_POWER = 16


class Buffers(NamedTuple):
    """Scratch arrays; the first dimension counts the phases held (P,).

    One set of arrays for all phases: a set for each would make the kernels slow to compile.
    """

    terms: np.ndarray  # (P, K) n tau^t exp(...)
    folded: np.ndarray  # (P, S) terms weighted by composition, summed by shape
    shapes: np.ndarray  # (P, S, 3) shape, its first and second logarithmic derivative over itself
    sums: np.ndarray  # (P, G + 1, SUMS); the last row is their weighted total
    group_weights: np.ndarray  # (P, G)
    slots: np.ndarray  # (P, SLOTS)
    reducing: np.ndarray  # (P, 2, c) first derivatives of 1/rho_r and T_r
    curvature: np.ndarray  # (P, 2, c, c) second derivatives
    vectors: np.ndarray  # (P, 8, c)
    x: np.ndarray  # (P, c)
    powers: np.ndarray
    decayed: np.ndarray  # (L, 3)


@compiled
def buffers(mix, phases):
    """Buffers for several phases of the mixture."""
    c = mix.critical_volumes.size
    groups = mix.group_ends.size - 1
    shapes = mix.powers.size
    return Buffers(
        np.empty((phases, mix.n.size)),
        np.empty((phases, shapes)),
        np.empty((phases, shapes, 3)),
        np.empty((phases, groups + 1, SUMS)),
        np.empty((phases, groups)),
        np.zeros((phases, SLOTS)),
        np.empty((phases, 2, c)),
        np.empty((phases, 2, c, c)),
        np.empty((phases, 8, c)),
        np.empty((phases, c)),
        np.empty(HIGHEST_POWER),
        np.empty((mix.decays.shape[0], 3)),
    )


@compiled
def reduce(mix, x, buf, q):
    """Reducing volume and temperature at composition x, with first and second derivatives."""
    c = x.size
    first, second = buf.reducing[q], buf.curvature[q]
    volume, temperature = 0.0, 0.0
    for i in range(c):
        volume += x[i] * x[i] * mix.critical_volumes[i]
        temperature += x[i] * x[i] * mix.critical_temperatures[i]
        first[0, i] = 2.0 * x[i] * mix.critical_volumes[i]
        first[1, i] = 2.0 * x[i] * mix.critical_temperatures[i]
        second[0, i, i] = 2.0 * mix.critical_volumes[i]
        second[1, i, i] = 2.0 * mix.critical_temperatures[i]
    for i in range(c):
        for j in range(i + 1, c):
            volume += _pair_terms(x, i, j, mix.volume_factors[i, j], mix.volume_squares[i, j], first[0], second[0])
            temperature += _pair_terms(
                x, i, j, mix.temperature_factors[i, j], mix.temperature_squares[i, j], first[1], second[1]
            )
    return volume, temperature


@compiled
def _pair_terms(x, i, j, factor, square, first, second):
    """factor a b (a + b) / (square a + b) with a = x_i, b = x_j; adds its derivatives."""
    a, b = x[i], x[j]
    inverse = 1.0 / (square * a + b)
    value = a * b * (a + b) * inverse
    by_a = (b * (2.0 * a + b) - value * square) * inverse
    by_b = (a * (a + 2.0 * b) - value) * inverse
    first[i] += factor * by_a
    first[j] += factor * by_b
    second[i, i] += factor * (2.0 * b - 2.0 * by_a * square) * inverse
    second[j, j] += factor * (2.0 * a - 2.0 * by_b) * inverse
    second[i, j] = factor * (2.0 * (a + b) - by_a - by_b * square) * inverse
    second[j, i] = second[i, j]
    return factor * value


@compiled
def set_composition(mix, x, temperature, buf, q):
    """First stage: everything that depends on composition and temperature only."""
    volume, reducing_temperature = reduce(mix, x, buf, q)
    tau = reducing_temperature / temperature
    slots, weights, folded, terms = buf.slots[q], buf.group_weights[q], buf.folded[q], buf.terms[q]
    slots[TEMPERATURE], slots[TAU], slots[RHO_R] = temperature, tau, 1.0 / volume
    c = x.size
    for g in range(weights.size):
        weights[g] = x[g] if g < c else 0.0
    for i in range(c):
        buf.x[q, i] = x[i]
        for j in range(i + 1, c):
            if mix.functions[i, j] >= 0:
                weights[mix.functions[i, j]] += mix.weights[i, j] * x[i] * x[j]
    for s in range(folded.size):
        folded[s] = 0.0
    log_tau = log(tau)
    for g in range(weights.size):
        weight = weights[g]
        for k in range(mix.group_ends[g], mix.group_ends[g + 1]):
            exponent = mix.t[k] * log_tau
            if mix.beta[k] != 0.0:
                exponent -= mix.beta[k] * (tau - mix.gamma[k]) ** 2
            value = mix.n[k] * exp(exponent)
            terms[k] = value
            folded[mix.shape[k]] += weight * value


@compiled
def set_density(mix, delta, buf, q):
    """Second stage: shapes at a reduced density; returns alpha, delta alpha', delta^2 alpha''."""
    power, folded, shapes = buf.powers, buf.folded[q], buf.shapes[q]
    power[0] = 1.0
    for k in range(1, HIGHEST_POWER):
        power[k] = power[k - 1] * delta
    for k in range(mix.decays.shape[0]):
        l = mix.decays[k, 0]
        u = mix.decays[k, 1] * power[int(l)]
        buf.decayed[k, 0] = exp(-u)
        buf.decayed[k, 1] = -l * u
        buf.decayed[k, 2] = -l * l * u
    alpha, first, second = 0.0, 0.0, 0.0
    for s in range(mix.powers.size):
        value = power[mix.powers[s]]
        one = float(mix.powers[s])
        two = 0.0
        k = mix.decay[s]
        if k >= 0:
            value *= buf.decayed[k, 0]
            one += buf.decayed[k, 1]
            two += buf.decayed[k, 2]
        eta, slope = mix.gaussian[s, 0], mix.gaussian[s, 2]
        if eta != 0.0 or slope != 0.0:
            away = delta - mix.gaussian[s, 1]
            value *= exp(-eta * away * away - slope * delta)
            one -= delta * (2.0 * eta * away + slope)
            two -= delta * (2.0 * eta * (away + delta) + slope)
        curved = one * one - one + two
        shapes[s, 0], shapes[s, 1], shapes[s, 2] = value, one, curved
        value *= folded[s]
        alpha += value
        first += value * one
        second += value * curved
    for r in range(mix.special.shape[0]):
        weight = buf.group_weights[q, int(mix.special[r, 8])]
        a0, ad, _, add, _, _ = special_term(mix.special[r], delta, buf.slots[q, TAU])
        alpha += weight * a0
        first += weight * ad
        second += weight * add
    return alpha, first, second


@compiled
def special_term(row, delta, tau):
    """A term that is not analytic at the critical point, with its logarithmic derivatives."""
    n, a, b, beta, A, B, C, D = row[0], row[1], row[2], row[3], row[4], row[5], row[6], row[7]
    d = delta - 1.0
    if abs(d) < 1e-10:
        d = 1e-10
    t = tau - 1.0
    d2 = d * d
    theta = -t + A * d2 ** (0.5 / beta)
    theta_d = A / beta * d2 ** (0.5 / beta) / d
    theta_dd = A / beta * (1.0 / beta - 1.0) * d2 ** (0.5 / beta - 1.0)
    big = theta * theta + B * d2**a
    big_d = 2.0 * theta * theta_d + 2.0 * a * B * d2**a / d
    big_dd = 2.0 * theta_d**2 + 2.0 * theta * theta_dd + 2.0 * a * (2.0 * a - 1.0) * B * d2 ** (a - 1.0)
    big_t, big_tt, big_dt = -2.0 * theta, 2.0, -2.0 * theta_d
    psi = exp(-C * d2 - D * t * t)
    psi_d, psi_t = -2.0 * C * d, -2.0 * D * t  # over psi
    psi_dd, psi_tt, psi_dt = psi_d**2 - 2.0 * C, psi_t**2 - 2.0 * D, psi_d * psi_t
    # Logarithmic derivatives of big^b.
    r_d, r_t = b * big_d / big, b * big_t / big
    r_dd = b * big_dd / big + b * (b - 1.0) * (big_d / big) ** 2
    r_tt = b * big_tt / big + b * (b - 1.0) * (big_t / big) ** 2
    r_dt = b * big_dt / big + b * (b - 1.0) * big_d * big_t / big**2
    value = n * delta * big**b * psi
    by_d = 1.0 / delta + r_d + psi_d
    by_t = r_t + psi_t
    by_dd = r_dd + psi_dd + 2.0 * (r_d * psi_d + (r_d + psi_d) / delta)
    by_tt = r_tt + psi_tt + 2.0 * r_t * psi_t
    by_dt = r_dt + psi_dt + r_d * psi_t + r_t * psi_d + by_t / delta
    return (
        value,
        value * delta * by_d,
        value * tau * by_t,
        value * delta**2 * by_dd,
        value * delta * tau * by_dt,
        value * tau**2 * by_tt,
    )


@compiled
def sum_groups(mix, buf, q):
    """Third stage: sums over the terms of each group, and their weighted total in the last row."""
    sums, terms, shapes, tau = buf.sums[q], buf.terms[q], buf.shapes[q], buf.slots[q, TAU]
    groups = buf.group_weights.shape[1]
    for r in range(SUMS):
        sums[groups, r] = 0.0
    for g in range(groups):
        a0, ad, at, add, adt, att = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
        for k in range(mix.group_ends[g], mix.group_ends[g + 1]):
            s = mix.shape[k]
            value = terms[k] * shapes[s, 0]
            by_t = mix.t[k]
            curved = by_t * (by_t - 1.0)
            if mix.beta[k] != 0.0:
                by_t -= 2.0 * mix.beta[k] * tau * (tau - mix.gamma[k])
                curved = by_t * by_t - by_t - 2.0 * mix.beta[k] * tau * (2.0 * tau - mix.gamma[k])
            a0 += value
            ad += value * shapes[s, 1]
            add += value * shapes[s, 2]
            at += value * by_t
            adt += value * by_t * shapes[s, 1]
            att += value * curved
        sums[g, A0], sums[g, AD], sums[g, AT] = a0, ad, at
        sums[g, ADD], sums[g, ADT], sums[g, ATT] = add, adt, att
    for r in range(mix.special.shape[0]):
        g = int(mix.special[r, 8])
        extra = special_term(mix.special[r], buf.slots[q, DELTA], tau)
        sums[g, A0] += extra[0]
        sums[g, AD] += extra[1]
        sums[g, AT] += extra[2]
        sums[g, ADD] += extra[3]
        sums[g, ADT] += extra[4]
        sums[g, ATT] += extra[5]
    for g in range(groups):
        for r in range(SUMS):
            sums[groups, r] += buf.group_weights[q, g] * sums[g, r]
