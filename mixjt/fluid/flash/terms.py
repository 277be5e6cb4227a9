"""Sums over the terms of the residual Helmholtz energy at one reduced density and temperature.

Derivatives are logarithmic: A_d = delta d/d(delta), A_t = tau d/d(tau), A_dd = delta^2 d2/d(delta)2 and so on.
Sources of the forms: Kunz and Wagner, J. Chem. Eng. Data 57 (2012) 3032, eqs. 10-13 and appendix; Gaussian terms in
density and temperature: Setzmann and Wagner, J. Phys. Chem. Ref. Data 20 (1991) 1061.
"""

from __future__ import annotations

from math import log

from llvmlite import ir
from numba import njit, types
from numba.extending import intrinsic

from mixjt.compiled import compiled
from mixjt.fluid.flash.kernel_types import BLEND, PHASE
from mixjt.fluid.flash.memory import WINDOW

ROUNDING = 6755399441055744.0  # 1.5 * 2^52: adding it leaves the nearest integer in the low bits
LOG2_E = 1.4426950408889634
LN2_HIGH, LN2_LOW = 0.6931471803691238, 1.9082149292705877e-10
LEAST_EXPONENT = -700.0


@intrinsic
def _bits(context, value):
    def generate(context, builder, signature, arguments):
        return builder.bitcast(arguments[0], ir.IntType(64))

    return types.int64(types.float64), generate


@intrinsic
def _from_bits(context, value):
    def generate(context, builder, signature, arguments):
        return builder.bitcast(arguments[0], ir.DoubleType())

    return types.float64(types.int64), generate


@njit(fastmath={"contract"}, error_model="numpy", inline="never")
def exponential(y):
    """exp(y) without branches, so that a loop over it becomes vector code: 2^k times a Taylor polynomial.

    Below -700 the value at -700 is returned, which is as good as zero here. Relative error below 1e-15.
    """
    y = max(y, LEAST_EXPONENT)
    shifted = y * LOG2_E + ROUNDING
    whole = shifted - ROUNDING
    r = y - whole * LN2_HIGH
    r = r - whole * LN2_LOW
    r2 = r * r
    r4 = r2 * r2
    low = (1.0 + r) + (0.5 + 1.0 / 6.0 * r) * r2
    middle = (1.0 / 24.0 + 1.0 / 120.0 * r) + (1.0 / 720.0 + 1.0 / 5040.0 * r) * r2
    high = (1.0 / 40320.0 + 1.0 / 362880.0 * r) + (1.0 / 3628800.0 + 1.0 / 39916800.0 * r) * r2
    value = low + (middle + high * r4) * r4
    return _from_bits(_bits(value) + (_bits(shifted) << 52))


@compiled(types.void, BLEND, PHASE)
def shared_terms(b, s):
    """Terms that differ from gas to gas in their coefficients only; those are summed over the gases first."""
    delta = s.delta
    ln_d, ln_t, d2 = log(delta), log(s.tau), delta * delta
    d3 = d2 * delta
    d6 = d3 * d3
    ad, add, adt, att = 0.0, 0.0, 0.0, 0.0
    for k in range(b.shared):
        d, t = b.d[k], b.t[k]
        e1, e2, e3, e6 = b.c1[k] * delta, b.c2[k] * d2, b.c3[k] * d3, b.c6[k] * d6
        value = exponential(t * ln_t + d * ln_d + e1 + e2 + e3 + e6)
        once = d + e1 + 2.0 * e2 + 3.0 * e3 + 6.0 * e6
        s.term[k], s.term_d[k], s.term_t[k] = value, value * once, value * t
        value *= s.folded[k]
        ad += value * once
        add += value * (once * once - d + 2.0 * e2 + 6.0 * e3 + 30.0 * e6)
        adt += value * once * t
        att += value * b.tt[k]
    s.AD, s.ADD, s.ADT, s.ATT = ad, add, adt, att


@compiled(types.void, BLEND, PHASE)
def share_terms(b, s):
    """The shared terms gas by gas, and A0 and AT."""
    a0, at = 0.0, 0.0
    for i in range(b.gases):
        q0, q1, q2 = 0.0, 0.0, 0.0
        for k in range(b.shared):
            c = b.coefficient[i, k]
            q0 += c * s.term[k]
            q1 += c * s.term_d[k]
            q2 += c * s.term_t[k]
        s.g0[i], s.g1[i], s.g2[i] = q0, q1, q2
        a0 += s.x[i] * q0
        at += s.x[i] * q2
    s.A0, s.AT = a0, at


@compiled(types.void, BLEND, PHASE)
def function_terms(b, s):
    """Plain departure functions, added to the totals."""
    delta = s.delta
    ln_d, ln_t, d2 = log(delta), log(s.tau), delta * delta
    for f in range(b.functions):
        q0, q1, q2, q3, q4, q5 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
        for k in range(WINDOW):
            d, t = b.function_d[f, k], b.function_t[f, k]
            e1, e2 = b.function_c1[f, k] * delta, b.function_c2[f, k] * d2
            value = b.function_n[f, k] * exponential(t * ln_t + d * ln_d + e1 + e2)
            once = d + e1 + 2.0 * e2
            q0 += value
            q1 += value * once
            q2 += value * t
            q3 += value * (once * once - d + 2.0 * e2)
            q4 += value * once * t
            q5 += value * t * t
        s.f0[f], s.f1[f], s.f2[f] = q0, q1, q2
        weight = s.fw[f]
        s.A0 += weight * q0
        s.AD += weight * q1
        s.AT += weight * q2
        s.ADD += weight * q3
        s.ADT += weight * q4
        s.ATT += weight * (q5 - q2)


@compiled(types.void, BLEND, PHASE)
def general_terms(b, s):
    """Terms with more kinds of factors, added to the totals, to g0..g2 of their gas or to f0..f2 of their function."""
    delta, tau = s.delta, s.tau
    ln_d, ln_t, d2 = log(delta), log(tau), delta * delta
    d3, d4 = d2 * delta, d2 * d2
    d5, d6 = d4 * delta, d3 * d3
    for k in range(b.general):
        away, warm = delta - b.epsilon[k], tau - b.gamma[k]
        c = b.g1[k] * delta + b.g2[k] * d2 + b.g3[k] * d3 + b.g4[k] * d4 + b.g5[k] * d5 + b.g6[k] * d6
        c -= b.eta[k] * away * away + b.beta[k] * warm * warm
        s.w0[k] = exponential(b.gt[k] * ln_t + b.gd[k] * ln_d + c)
    for k in range(b.general):
        away, warm = delta - b.epsilon[k], tau - b.gamma[k]
        e1, e2, e3 = b.g1[k] * delta, b.g2[k] * d2, b.g3[k] * d3
        e4, e5, e6 = b.g4[k] * d4, b.g5[k] * d5, b.g6[k] * d6
        eta, beta = 2.0 * b.eta[k] * delta, 2.0 * b.beta[k] * tau
        once = b.gd[k] + e1 + 2.0 * e2 + 3.0 * e3 + 4.0 * e4 + 5.0 * e5 + 6.0 * e6 - eta * away
        twice = e1 + 4.0 * e2 + 9.0 * e3 + 16.0 * e4 + 25.0 * e5 + 36.0 * e6
        twice -= eta * (away + delta)
        hot = b.gt[k] - beta * warm
        value = b.gn[k] * s.w0[k]
        s.w0[k] = value
        s.w1[k] = value * once
        s.w2[k] = value * hot
        s.w3[k] = value * (once * once - once + twice)
        s.w4[k] = value * once * hot
        s.w5[k] = value * (hot * hot - hot - beta * (warm + tau))
    for g in range(b.general_groups):
        q0, q1, q2, q3, q4, q5 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
        for k in range(b.start[g], b.start[g + 1]):
            q0 += s.w0[k]
            q1 += s.w1[k]
            q2 += s.w2[k]
            q3 += s.w3[k]
            q4 += s.w4[k]
            q5 += s.w5[k]
        owner = b.owner[g]
        if g < b.general_gases:
            weight = s.x[owner]
            s.g0[owner] += q0
            s.g1[owner] += q1
            s.g2[owner] += q2
        else:
            weight = s.fw[owner]
            s.f0[owner], s.f1[owner], s.f2[owner] = q0, q1, q2
        s.A0 += weight * q0
        s.AD += weight * q1
        s.AT += weight * q2
        s.ADD += weight * q3
        s.ADT += weight * q4
        s.ATT += weight * q5


@compiled(types.void, BLEND, PHASE, types.int64)
def sum_terms(b, s, by_gas):
    """Sums over all terms at s.delta, s.tau, s.x, s.fw, s.folded: totals, per function (f0..f2) and, where by_gas is
    1, per gas (g0..g2); without it, totals of density only."""
    shared_terms(b, s)
    if by_gas == 1:
        share_terms(b, s)
    function_terms(b, s)
    if b.general > 0:
        general_terms(b, s)
