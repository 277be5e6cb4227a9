"""Density roots of a phase, found from outside.

A vapour is sought from a thin gas upwards, a liquid from beyond its density downwards. Pressure is concave in density
on the first side and convex on the second, so that Newton's method runs to the first root on that side and never
meets the false roots which multi-fluid isotherms have between vapour and liquid.
"""

from __future__ import annotations

from math import log

from numba import types

from mixjt.compiled import compiled
from mixjt.fluid.flash.kernel_types import BLEND, PHASE
from mixjt.fluid.flash.phase import DENSITY, FUGACITY, evaluate, reduce

COMPRESSED = 3.6  # reduced density from which a liquid is sought
THIN = 0.05  # reduced density below which a vapour search starts
HIGHEST = 5.0
LOWEST_TAU = 0.8  # above T_r / 0.8 there is one root only
STEPS = 80
VAPOUR_ROOT, LIQUID_ROOT = 0, 1
THICKEST_VAPOUR, THINNEST_LIQUID = 0.35, 1.8  # reduced densities between which a root may be a false one
SAME_ROOT = 0.02  # of ln density


@compiled(types.int64, BLEND, PHASE, types.float64, types.int64, types.float64)
def root(b, s, p, side, accuracy):
    """Put the ln density of s.x at s.T and p into s.lr; 1, or 0 where no root is met from that side."""
    reduce(b, s)
    rho = COMPRESSED / s.reducing_volume
    least, most = 0.8, 1.3
    if side == VAPOUR_ROOT:
        rho = min(p / (b.R * s.T), THIN / s.reducing_volume)
        least, most = 0.5, 1.5
    for _ in range(STEPS):
        s.lr = log(rho)
        evaluate(b, s, p, DENSITY)
        if not s.stiffness > 0.0 or s.delta > HIGHEST:
            return 0
        change = min(max(1.0 + s.m / s.stiffness, least), most)
        rho *= change
        if abs(change - 1.0) < accuracy:
            s.lr = log(rho)
            return 1
    return 0


@compiled(types.int64, BLEND, PHASE, types.float64)
def least_root(b, s, p):
    """Evaluate s.x at s.T and p on its root of least Gibbs energy; 1, or 0 where there is no root at all."""
    found, best, lr = 0, 0.0, 0.0
    reduce(b, s)
    single = s.reducing_temperature < LOWEST_TAU * s.T
    for side in range(2):
        if single and side == LIQUID_ROOT and found == 1:
            continue
        if root(b, s, p, side, 1e-6) == 0:
            continue
        evaluate(b, s, p, FUGACITY)
        g = 0.0
        for i in range(b.gases):
            g += s.x[i] * s.ln_phi[i]
        if found == 0 or g < best - 1e-12:
            found, best, lr = 1, g, s.lr + s.m / s.stiffness
    if found == 1:
        s.lr = lr
        evaluate(b, s, p, FUGACITY)
    return found


@compiled(types.int64, BLEND, PHASE, types.float64)
def is_outer(b, s, p):
    """Whether the density of s, evaluated at p, is a root that is met from outside: 1 or 0. Keeps s.lr."""
    if not THICKEST_VAPOUR < s.delta < THINNEST_LIQUID or s.tau < 1.0:
        return 1
    lr, found = s.lr, 0
    for side in range(2):
        if found == 0 and root(b, s, p, side, 1e-4) == 1 and abs(s.lr - lr) < SAME_ROOT:
            found = 1
    s.lr = lr
    return found
