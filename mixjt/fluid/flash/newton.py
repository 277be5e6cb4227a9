"""Newton's method for the phases of one state, amounts and densities together.

One phase: its density. Two: u_i = ln(v_i / l_i), the logarithm of the amounts' ratio, and two densities. More: the
amounts of each gas in all phases but the one that holds most of it. ln phi comes at the pressure asked for, to first
order (`phase`), so that densities follow explicitly from the steps of the amounts. A step below the tolerance is
applied to first order and ends the iteration. Source of the formulation with second derivatives of the Gibbs energy:
Michelsen and Mollerup, Thermodynamic Models, 2nd ed. (2007), chapter 10; densities as unknowns are ours.
"""

from __future__ import annotations

from math import exp, log, sqrt

from numba import types

from mixjt.compiled import compiled
from mixjt.fluid.flash.kernel_types import BLEND, WORK
from mixjt.fluid.flash.linear import factor, solve
from mixjt.fluid.flash.phase import FUGACITY, MATRIX, evaluate
from mixjt.fluid.flash.slopes import slopes_of_many, slopes_of_one, slopes_of_two
from mixjt.linked import inlined

SOLVED, VANISHED, FAILED = 1, 2, 3
STEPS = 25
TINY = 1e-11  # moles of a phase that count as none
DWINDLING = 1e-5  # moles of a third phase that is on its way out where Newton's method fails
NOISE = 1e-14  # moles by which rounding changes a phase, however small that is
SAME = 1e-10  # squared distance of two compositions that count as one


@inlined
def clip(value, least, most):
    return min(max(value, least), most)


@compiled(types.int64, BLEND, WORK, types.float64, types.float64, types.float64)
def one_phase(b, w, T, p, slope):
    """Density of the feed from w.lr[0]; slope is d ln p / d T along the path that comes next."""
    n, s = b.gases, w.phase[0]
    s.T = T
    for i in range(n):
        s.x[i] = w.z[i]
    for _ in range(2 * STEPS):
        s.lr = w.lr[0]
        evaluate(b, s, p, FUGACITY)
        w.evaluations += 1
        if not s.stiffness > 0.0:
            return FAILED
        step = s.m / s.stiffness
        w.lr[0] += clip(step, -0.4, 0.4)
        if abs(step) < 0.1 * w.tolerance:
            s.lr = w.lr[0]
            g = 0.0
            for i in range(n):
                w.amount[0, i] = w.z[i]
                g += w.z[i] * (log(w.z[i]) + s.ln_phi[i])
            w.total[0], w.h, w.g, w.cp = 1.0, s.h, g, s.cp
            w.slope_lr[0] = slope * (1.0 + s.AD) / s.stiffness - s.expansion / T
            if w.graded == 1:
                slopes_of_one(b, w)
            return SOLVED
    return FAILED


@inlined
def _amounts_from_u(w, n):
    """Amounts of two phases from w.u; the totals."""
    light, heavy = 0.0, 0.0
    for i in range(n):
        e = exp(w.u[i])
        liquid = w.z[i] / (1.0 + e)
        w.amount[1, i], w.amount[0, i] = liquid, liquid * e
        light += liquid * e
        heavy += liquid
    w.total[0], w.total[1] = light, heavy


@inlined
def _two_phase_matrix(w, n, damping):
    """Scaled matrix of d(ln f' - ln f'') / d(amount moved), lower triangle."""
    a, c, iv, il = w.phase[0], w.phase[1], 1.0 / w.total[0], 1.0 / w.total[1]
    for i in range(n):
        for j in range(i + 1):
            w.H[i, j] = ((a.M[i, j] - 1.0) * iv + (c.M[i, j] - 1.0) * il) * w.scale[i] * w.scale[j]
        w.H[i, i] += 1.0 + damping


@inlined
def _finish_two(b, w, T, p, slope, up, down):
    """Apply the last step to first order, to g to second, and find the slopes along the path from the factor at hand."""
    n, a, c = b.gases, w.phase[0], w.phase[1]
    light, heavy = w.total[0], w.total[1]
    za, zc = 1.0 + a.AD + a.m, 1.0 + c.AD + c.m
    h = light * a.h + heavy * c.h
    g = -0.5 * (light * a.m * a.m / a.stiffness + heavy * c.m * c.m / c.stiffness)
    for i in range(n):
        moved = w.scale[i] * w.scale[i] * w.step[i]
        mu_a, mu_c = log(a.x[i]) + a.ln_phi[i], log(c.x[i]) + c.ln_phi[i]
        heat = a.hi[i] - c.hi[i]
        h += heat * moved
        g += w.amount[0, i] * mu_a + w.amount[1, i] * mu_c + 0.5 * (mu_a - mu_c) * moved
        w.slope_u[i] = (heat / T - slope * (za * a.v[i] - zc * c.v[i])) * w.scale[i]
        w.u[i] += w.step[i]
    solve(w.H, n, w.slope_u)
    latent, a_shift, c_shift = 0.0, 0.0, 0.0
    for i in range(n):
        w.slope_u[i] /= w.scale[i]
        moved = w.scale[i] * w.scale[i] * w.slope_u[i]
        a_shift += moved * (1.0 - a.v[i])
        c_shift -= moved * (1.0 - c.v[i])
        latent += moved * (a.hi[i] - c.hi[i]) * T
    w.lr[0] += up
    w.lr[1] += down
    w.slope_lr[0] = a_shift / light - a.expansion / T + slope * za / a.stiffness
    w.slope_lr[1] = c_shift / heavy - c.expansion / T + slope * zc / c.stiffness
    w.h, w.g, w.cp = h, g, latent + light * a.cp + heavy * c.cp
    _amounts_from_u(w, n)


@compiled(types.int64, BLEND, WORK, types.float64, types.float64, types.float64)
def two_phases(b, w, T, p, slope):
    """Two phases from w.u and w.lr; leaves amounts, densities, h, g, cp and the slopes of u and lr along the path."""
    n, a, c = b.gases, w.phase[0], w.phase[1]
    a.T = T
    c.T = T
    for _ in range(STEPS):
        _amounts_from_u(w, n)
        light, heavy = w.total[0], w.total[1]
        if not (light > TINY and heavy > TINY):
            return FAILED if light != light else VANISHED
        iv, il, distance = 1.0 / light, 1.0 / heavy, 0.0
        for i in range(n):
            a.x[i], c.x[i] = w.amount[0, i] * iv, w.amount[1, i] * il
            distance += (a.x[i] - c.x[i]) ** 2
        a.lr, c.lr = w.lr[0], w.lr[1]
        evaluate(b, a, p, MATRIX)
        evaluate(b, c, p, MATRIX)
        w.evaluations += 2
        if distance < SAME and abs(a.lr - c.lr) < 1e-3:
            return VANISHED
        if not (a.stiffness > 0.0 and c.stiffness > 0.0):
            return FAILED
        shift = log(heavy * iv)
        for i in range(n):
            w.scale[i] = sqrt(w.amount[0, i] * w.amount[1, i] / w.z[i]) + 1e-150
            w.step[i] = -(w.u[i] + shift + a.ln_phi[i] - c.ln_phi[i]) * w.scale[i]
        damping = 0.0
        while True:
            _two_phase_matrix(w, n, damping)
            if factor(w.H, n):
                break
            damping = 1e-4 if damping == 0.0 else damping * 10.0
            if damping > 1e4:
                return FAILED
        solve(w.H, n, w.step)
        largest = 0.0
        for i in range(n):
            w.step[i] /= w.scale[i]
            largest = max(largest, abs(w.step[i]))
        part = 1.0 if largest < 2.0 else 2.0 / largest
        up, down = a.m / a.stiffness, c.m / c.stiffness
        for i in range(n):
            moved = w.scale[i] * w.scale[i] * w.step[i] * part
            up += moved * (1.0 - a.v[i]) * iv
            down -= moved * (1.0 - c.v[i]) * il
        largest = max(largest, max(abs(up), abs(down)))
        if not largest < 1e6:
            return FAILED
        gained, off = 0.0, 0.0
        for i in range(n):
            gained += w.scale[i] * w.scale[i] * w.step[i]
        shift = gained / min(light, heavy) if abs(gained) < NOISE else 0.0
        for i in range(n):
            off = max(off, abs(w.step[i] - shift))
        if max(off, max(abs(up), abs(down))) < w.tolerance and damping == 0.0:
            if w.graded == 1:
                slopes_of_two(b, w)
            _finish_two(b, w, T, p, slope, up, down)
            return SOLVED
        for i in range(n):
            w.u[i] += part * w.step[i]
        w.lr[0] += clip(up, -0.5, 0.5)
        w.lr[1] += clip(down, -0.3, 0.3)
    return FAILED


@compiled(types.int64, BLEND, WORK, types.float64, types.float64, types.int64, types.int64)
def set_phases(b, w, T, p, count, depth):
    """Evaluate all phases at w.amount, w.lr; 0 at an unstable density, else 1."""
    n = b.gases
    for k in range(count):
        s, total = w.phase[k], 0.0
        for i in range(n):
            total += w.amount[k, i]
        w.total[k] = total
        for i in range(n):
            s.x[i] = w.amount[k, i] / total
        s.T, s.lr = T, w.lr[k]
        evaluate(b, s, p, depth)
        if not s.stiffness > 0.0:
            return 0
    w.evaluations += count
    return 1


@inlined
def _gone(w, n, count):
    """A phase that has vanished, or is the same as another; -1 for none."""
    for k in range(count):
        if not w.total[k] > TINY:
            return k
        for m in range(k):
            distance = abs(w.phase[k].lr - w.phase[m].lr) ** 2
            for i in range(n):
                distance += (w.phase[k].x[i] - w.phase[m].x[i]) ** 2
            if distance < 1e-9:
                return k
    return -1


@inlined
def _dwindling(w, count):
    """VANISHED where a phase has nearly no moles left, else FAILED."""
    for k in range(count):
        if w.total[k] < DWINDLING:
            w.missing = k
            return VANISHED
    return FAILED


@inlined
def _choose_references(w, n, count):
    """The phase that holds most of a gas is its reference; the others' amounts are the unknowns. Their number."""
    unknowns = 0
    for i in range(n):
        w.reference[i] = 0
        for k in range(1, count):
            if w.amount[k, i] > w.amount[w.reference[i], i]:
                w.reference[i] = k
        for k in range(count):
            w.place[k, i] = -1
            if k != w.reference[i]:
                w.place[k, i] = unknowns
                unknowns += 1
    return unknowns


@inlined
def _add(w, row, column, value):
    if row >= 0 and column >= 0:
        w.G[row, column] += value


@inlined
def _many_phase_matrix(w, n, count, size, damping):
    for r in range(size):
        for q in range(size):
            w.G[r, q] = 0.0
    for k in range(count):
        s, inverse = w.phase[k], 1.0 / w.total[k]
        for i in range(n):
            for j in range(n):
                value = (s.M[i, j] - 1.0) * inverse
                if i == j:
                    value += 1.0 / w.amount[k, i]
                own_i, own_j = w.reference[i] == k, w.reference[j] == k
                if not own_i and not own_j:
                    _add(w, w.place[k, i], w.place[k, j], value)
                elif own_i and own_j:
                    for q in range(count):
                        for r in range(count):
                            _add(w, w.place[q, i], w.place[r, j], value)
                elif own_i:
                    for q in range(count):
                        _add(w, w.place[q, i], w.place[k, j], -value)
                else:
                    for r in range(count):
                        _add(w, w.place[k, i], w.place[r, j], -value)
    for r in range(size):
        for q in range(size):
            w.G[r, q] *= w.unknown[r] * w.unknown[q]
        w.G[r, r] += damping


@inlined
def _step_many(w, n, count):
    """Take the step in w.direction, shortened where amounts would turn negative; its largest part."""
    largest, part = 0.0, 1.0
    for k in range(count):
        for i in range(n):
            w.move[k, i] = 0.0
    for k in range(count):
        for i in range(n):
            if w.place[k, i] >= 0:
                step = w.direction[w.place[k, i]] * w.unknown[w.place[k, i]]
                w.move[k, i] += step
                w.move[w.reference[i], i] -= step
    for k in range(count):
        gained = 0.0
        for i in range(n):
            gained += w.move[k, i]
        shift = gained / w.total[k] if abs(gained) < NOISE else 0.0
        for i in range(n):
            largest = max(largest, abs(w.move[k, i] / w.amount[k, i] - shift))
            if k == w.reference[i] and w.move[k, i] < -0.8 * w.amount[k, i]:
                part = min(part, -0.8 * w.amount[k, i] / w.move[k, i])
    for k in range(count):
        s, change = w.phase[k], w.phase[k].m / w.phase[k].stiffness
        for i in range(n):
            change += part * w.move[k, i] * (1.0 - s.v[i]) / w.total[k]
        largest = max(largest, abs(change))
        w.lr[k] += clip(change, -0.4, 0.3)
    for i in range(n):
        left = w.z[i]
        for k in range(count):
            if k != w.reference[i]:
                w.amount[k, i] *= exp(clip(part * w.move[k, i] / w.amount[k, i], -2.0, 1.0))
                left -= w.amount[k, i]
        if left > 0.1 * w.amount[w.reference[i], i]:
            w.amount[w.reference[i], i] = left
        else:  # steps in the logarithm went too far together
            total = w.z[i] - left + w.amount[w.reference[i], i]
            for k in range(count):
                w.amount[k, i] *= w.z[i] / total
    return largest


@inlined
def _totals(b, w, T, p, count):
    """h and g of the state as it stands."""
    if set_phases(b, w, T, p, count, FUGACITY) == 0:
        return False
    h, g = 0.0, 0.0
    for k in range(count):
        s = w.phase[k]
        h += w.total[k] * s.h
        for i in range(b.gases):
            g += w.amount[k, i] * (log(s.x[i]) + s.ln_phi[i])
    w.h, w.g, w.cp = h, g, 0.0
    return True


@compiled(types.int64, BLEND, WORK, types.float64, types.float64, types.int64)
def many_phases(b, w, T, p, count):
    """Any number of phases from w.amount and w.lr; leaves them with h and g. w.missing names a phase that vanished."""
    n = b.gases
    for _ in range(2 * STEPS):
        solid = set_phases(b, w, T, p, count, MATRIX) == 1
        w.missing = _gone(w, n, count)
        if w.missing >= 0:
            return VANISHED
        if not solid:
            return _dwindling(w, count)
        size = _choose_references(w, n, count)
        for k in range(count):
            for i in range(n):
                if w.place[k, i] >= 0:
                    s, r = w.phase[k], w.reference[i]
                    other = w.phase[r]
                    miss = log(s.x[i]) + s.ln_phi[i] - log(other.x[i]) - other.ln_phi[i]
                    held, kept = w.amount[k, i], w.amount[r, i]
                    w.unknown[w.place[k, i]] = sqrt(held * kept / (held + kept)) + 1e-150
                    w.direction[w.place[k, i]] = -miss * w.unknown[w.place[k, i]]
        damping = 0.0
        while True:
            _many_phase_matrix(w, n, count, size, damping)
            if factor(w.G, size):
                break
            damping = 1e-4 if damping == 0.0 else damping * 10.0
            if damping > 1e4:
                return _dwindling(w, count)
        solve(w.G, size, w.direction)
        largest = _step_many(w, n, count)
        if not largest < 1e6:
            return _dwindling(w, count)
        if largest < 0.1 * w.tolerance and damping == 0.0:
            if not _totals(b, w, T, p, count):
                return FAILED
            if w.graded == 1:
                slopes_of_many(b, w, count)
            return SOLVED
    return _dwindling(w, count)
