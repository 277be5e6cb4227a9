"""How enthalpy, entropy, volume and the amount of liquid of a state change with the amounts of the gases, T and p kept.

One phase: its partial molar quantities. More: with F = 0 the equality of fugacities, Q = sum_P sum_i n_i^P q_i^P and
the amounts theta that Newton's method solved for, dQ/dn_j = (dQ/dn_j)_theta - (dF/dn_j)^T (dF/dtheta)^-1 dQ/dtheta,
with the factor of the symmetric matrix dF/dtheta that its last step left. Changes of the partial molar quantities
themselves cancel after Gibbs and Duhem. Derivatives of the fugacities: Michelsen and Mollerup, Thermodynamic Models,
2nd ed. (2007), chapters 1 and 10; the adjoint form of implicit differentiation is textbook calculus.
"""

from __future__ import annotations

from math import exp, log

from numba import types

from mixjt.compiled import compiled
from mixjt.fluid.flash.kernel_types import BLEND, WORK
from mixjt.fluid.flash.linear import solve
from mixjt.fluid.flash.quantities import (
    ENTHALPY,
    ENTROPY,
    LIQUID,
    LIQUID_ALONE,
    LIQUID_BESIDE,
    VOLUME,
)
from mixjt.linked import inlined


@inlined
def is_liquid(w, k, count):
    """Whether phase k of `count` counts as liquid."""
    densest = count > 1
    for m in range(count):
        if w.lr[m] > w.lr[k]:
            densest = False
    return densest or exp(w.lr[k]) * w.phase[k].reducing_volume > (LIQUID_ALONE if count == 1 else LIQUID_BESIDE)


@inlined
def _fill_partial(w, n, count, quantity):
    """Partial molar quantities of all phases as they were evaluated last."""
    for k in range(count):
        s = w.phase[k]
        expanded = 1.0 + s.AD + s.m  # pV/RT
        share = 1.0 if is_liquid(w, k, count) else 0.0
        for i in range(n):
            if quantity == ENTHALPY:
                w.partial[k, i] = s.hi[i]
            elif quantity == VOLUME:
                w.partial[k, i] = s.v[i] * expanded
            else:
                w.partial[k, i] = share


@inlined
def _fill_entropy(w, n, first):
    """From the enthalpies: a chemical potential is the derivative of the Gibbs energy whatever the phases do."""
    for i in range(n):
        s = w.phase[w.reference[i] if first < 0 else first]
        w.by_amount[ENTROPY, i] = w.by_amount[ENTHALPY, i] - log(s.x[i]) - s.ln_phi[i]


@compiled(types.void, BLEND, WORK)
def slopes_of_one(b, w):
    """w.by_amount of a single phase."""
    n = b.gases
    for quantity in (ENTHALPY, VOLUME, LIQUID):
        _fill_partial(w, n, 1, quantity)
        for i in range(n):
            w.by_amount[quantity, i] = w.partial[0, i]
    _fill_entropy(w, n, 0)


@compiled(types.void, BLEND, WORK)
def slopes_of_two(b, w):
    """w.by_amount of two phases, from the scaled factor w.H of d(ln f' - ln f'')/d(amount moved).

    theta is the vapour; its row of dF/dn is the liquid's d ln f''/dn.
    """
    n, a, inverse = b.gases, w.phase[0], 1.0 / w.total[0]
    for quantity in (ENTHALPY, VOLUME, LIQUID):
        _fill_partial(w, n, 2, quantity)
        for i in range(n):
            w.shift[i] = (w.partial[1, i] - w.partial[0, i]) * w.scale[i]
        solve(w.H, n, w.shift)
        whole = 0.0
        for i in range(n):
            w.shift[i] *= w.scale[i]
            whole += w.shift[i]
        for i in range(n):
            value = w.shift[i] / a.x[i] - whole
            for j in range(n):
                value += a.M[i, j] * w.shift[j]
            w.by_amount[quantity, i] = w.partial[0, i] + value * inverse
    _fill_entropy(w, n, 0)


@compiled(types.void, BLEND, WORK, types.int64)
def slopes_of_many(b, w, count):
    """w.by_amount of any number of phases, from the scaled factor w.G over the phases that aren't a gas's reference."""
    n = b.gases
    for quantity in (ENTHALPY, VOLUME, LIQUID):
        _fill_partial(w, n, count, quantity)
        size = 0
        for k in range(count):
            for i in range(n):
                place = w.place[k, i]
                if place >= 0:
                    w.direction[place] = (w.partial[k, i] - w.partial[w.reference[i], i]) * w.unknown[place]
                    size += 1
        solve(w.G, size, w.direction)
        for j in range(n):
            r = w.reference[j]
            s, inverse, value = w.phase[r], 1.0 / w.total[r], w.partial[r, j]
            for i in range(n):
                change = (s.M[i, j] - 1.0) * inverse  # of ln f_i in the reference phase of j
                if i == j:
                    change += 1.0 / w.amount[r, j]
                for k in range(count):
                    place = w.place[k, i]
                    if place >= 0 and k == r:
                        value -= change * w.direction[place] * w.unknown[place]
                    if place >= 0 and w.reference[i] == r:
                        value += change * w.direction[place] * w.unknown[place]
            w.by_amount[quantity, j] = value
    _fill_entropy(w, n, -1)
