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

from mixjt.properties.flash.compiled import compiled
from mixjt.properties.flash.layout import BLEND, PHASE, WINDOW

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
    tail = 1.0 / 39916800.0 * r + 1.0 / 3628800.0
    tail = tail * r + 1.0 / 362880.0
    tail = tail * r + 1.0 / 40320.0
    tail = tail * r + 1.0 / 5040.0
    tail = tail * r + 1.0 / 720.0
    tail = tail * r + 1.0 / 120.0
    tail = tail * r + 1.0 / 24.0
    tail = tail * r + 1.0 / 6.0
    tail = tail * r + 0.5
    tail = tail * r + 1.0
    value = tail * r + 1.0
    return _from_bits(_bits(value) + (_bits(shifted) << 52))


@compiled(types.void, BLEND, PHASE)
def plain_terms(b, s):
    """Shared terms, whose coefficients are summed over the gases first, and plain departure functions."""
    n, m, shared = b.gases, b.plain, b.shared
    delta = s.delta
    ln_d, ln_t, d2 = log(delta), log(s.tau), delta * delta
    d3 = d2 * delta
    d6 = d3 * d3
    for k in range(m):
        s.term[k] = exponential(
            b.t[k] * ln_t + b.d[k] * ln_d + b.c1[k] * delta + b.c2[k] * d2 + b.c3[k] * d3 + b.c6[k] * d6
        )
    for k in range(m):
        s.folded[k] = 0.0
    for i in range(n):
        x = s.x[i]
        for k in range(shared):
            s.folded[k] += x * b.coefficient[i, k]
    for f in range(b.functions):
        weight, first = s.fw[f], b.function_start[f]
        for k in range(WINDOW):
            s.folded[first + k] += weight * b.function_n[f, k]
    for k in range(m):
        e1, e2, e3, e6 = b.c1[k] * delta, b.c2[k] * d2, b.c3[k] * d3, b.c6[k] * d6
        once = b.d[k] + e1 + 2.0 * e2 + 3.0 * e3 + 6.0 * e6
        value = s.term[k]
        s.term_d[k] = value * once
        s.term_t[k] = value * b.t[k]
        s.term_dd[k] = value * (once * once - b.d[k] + 2.0 * e2 + 6.0 * e3 + 30.0 * e6)
    add, adt, att = 0.0, 0.0, 0.0
    for k in range(m):
        c = s.folded[k]
        add += c * s.term_dd[k]
        adt += c * s.term_d[k] * b.t[k]
        att += c * s.term[k] * b.tt[k]
    a0, ad, at = 0.0, 0.0, 0.0
    for i in range(n):
        q0, q1, q2 = 0.0, 0.0, 0.0
        for k in range(shared):
            c = b.coefficient[i, k]
            q0 += c * s.term[k]
            q1 += c * s.term_d[k]
            q2 += c * s.term_t[k]
        s.g0[i], s.g1[i], s.g2[i] = q0, q1, q2
        x = s.x[i]
        a0 += x * q0
        ad += x * q1
        at += x * q2
    for f in range(b.functions):
        q0, q1, q2 = 0.0, 0.0, 0.0
        first = b.function_start[f]
        for k in range(WINDOW):
            c = b.function_n[f, k]
            q0 += c * s.term[first + k]
            q1 += c * s.term_d[first + k]
            q2 += c * s.term_t[first + k]
        s.f0[f], s.f1[f], s.f2[f] = q0, q1, q2
        weight = s.fw[f]
        a0 += weight * q0
        ad += weight * q1
        at += weight * q2
    s.A0, s.AD, s.AT, s.ADD, s.ADT, s.ATT = a0, ad, at, add, adt, att


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


@compiled(types.void, BLEND, PHASE)
def sum_terms(b, s):
    """Sums over all terms at s.delta, s.tau, s.x, s.fw: totals, per gas (g0..g2) and per function (f0..f2)."""
    plain_terms(b, s)
    if b.general > 0:
        general_terms(b, s)
