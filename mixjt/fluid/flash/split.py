"""From an unstable state and a trial phase to the phases that coexist: substitution, then Newton's method.

Amounts of the phases at fixed fugacity coefficients minimise Q = sum_k b_k - sum_i z_i ln(sum_k b_k / phi_ik), which
is convex (Michelsen, Comput. Chem. Eng. 18 (1994) 545; Michelsen and Mollerup (2007), chapter 11).
"""

from __future__ import annotations

from math import exp, log

from numba import types

from mixjt.compiled import compiled
from mixjt.fluid.flash.density import LIQUID_ROOT, VAPOUR_ROOT, is_outer, least_root, root
from mixjt.fluid.flash.kernel_types import BLEND, WORK
from mixjt.fluid.flash.memory import MAX_PHASES
from mixjt.fluid.flash.newton import FAILED, SOLVED, VANISHED, clip, many_phases, two_phases
from mixjt.fluid.flash.phase import FUGACITY, evaluate, reduce
from mixjt.linked import inlined

SUBSTITUTIONS = 150
NEWTON_FIRST, NEWTON_EVERY = 3, 6
UNSETTLED = 4  # what `settle` returns where phases are nearer to equilibrium than before, but not there
DENSITY_STEPS, CLOSE = 12, 0.01  # of ln density
DWINDLING_SHARE = 1e-2  # amount of a phase that may be let go when Newton's method says that it vanishes
PATIENCE = 12  # substitutions that a phase may spend at amount zero


@inlined
def _objective(w, n, count):
    q = 0.0
    for k in range(count):
        q += w.b[k]
    for i in range(n):
        e = 0.0
        for k in range(count):
            e += w.b[k] * w.ln_f[k, i]
        q -= w.z[i] * log(e)
    return q


@inlined
def _reduced_step(w, n, count, active):
    """Newton step of the amounts that are not held at zero, by elimination; in w.total as scratch."""
    for k in range(count):
        w.total[k] = -1.0
        for m in range(count):
            w.B[k, m] = 0.0
    for i in range(n):
        e = 0.0
        for k in range(count):
            e += w.b[k] * w.ln_f[k, i]
        for k in range(count):
            x = w.ln_f[k, i] / e
            w.total[k] += w.z[i] * x
            for m in range(count):
                w.B[k, m] += w.z[i] * x * w.ln_f[m, i] / e
    for k in range(count):
        if not active[k]:
            for m in range(count):
                w.B[k, m] = 0.0
                w.B[m, k] = 0.0
            w.total[k] = 0.0
            w.B[k, k] = 1.0
        else:
            w.B[k, k] += 1e-12 + 1e-9 * w.B[k, k]  # singular where phases outnumber the gases
    for k in range(count):
        for m in range(k + 1, count):
            ratio = w.B[m, k] / w.B[k, k]
            for r in range(k, count):
                w.B[m, r] -= ratio * w.B[k, r]
            w.total[m] -= ratio * w.total[k]
    for k in range(count - 1, -1, -1):
        for m in range(k + 1, count):
            w.total[k] -= w.B[k, m] * w.total[m]
        w.total[k] /= w.B[k, k]


@inlined
def _revived(w, n, count, k):
    """Amount to start again from for a phase held at zero: Newton's step, which from there never goes too far; 0 where
    Q does not fall with it."""
    slope, curvature = 1.0, 0.0
    for i in range(n):
        e = 0.0
        for m in range(count):
            e += w.b[m] * w.ln_f[m, i]
        ratio = w.ln_f[k, i] / e
        slope -= w.z[i] * ratio
        curvature += w.z[i] * ratio * ratio
    return -slope / curvature if slope < -1e-10 else 0.0


@compiled(types.void, BLEND, WORK, types.int64)
def share_out(b, w, count):
    """Amounts w.b of the phases for fixed ln phi of the phases; w.ln_f becomes exp(least ln phi - ln phi)."""
    n = b.gases
    for i in range(n):
        least = w.phase[0].ln_phi[i]
        for k in range(1, count):
            least = min(least, w.phase[k].ln_phi[i])
        for k in range(count):
            w.ln_f[k, i] = exp(max(least - w.phase[k].ln_phi[i], -600.0))
    active = (w.b[0] > 0.0, w.b[1] > 0.0, w.b[2] > 0.0, w.b[3] > 0.0, w.b[4] > 0.0)
    for _ in range(60):
        _reduced_step(w, n, count, active)
        part, stopped = 1.0, -1
        for k in range(count):
            if active[k] and w.total[k] < 0.0 and w.b[k] + part * w.total[k] < 0.0:
                part, stopped = -w.b[k] / w.total[k], k
        now, largest = _objective(w, n, count), 0.0
        for k in range(count):
            w.old_b[k] = w.b[k]
            if abs(w.total[k]) > 0.01 * w.b[k]:  # a trace's phase may be as small as the trace
                largest = 1.0
            largest = max(largest, abs(w.total[k]))
        full = part
        for _ in range(30):
            for k in range(count):
                w.b[k] = max(w.old_b[k] + part * w.total[k], 0.0)
            if _objective(w, n, count) <= now + 1e-14:
                break
            part *= 0.5
        if stopped >= 0 and part == full:
            w.b[stopped] = 0.0
        if largest < 1e-10 and stopped < 0:
            changed = False
            for k in range(count):
                if w.b[k] == 0.0:
                    w.b[k] = _revived(w, n, count, k)
                    changed = changed or w.b[k] > 0.0
            if not changed:
                break
        active = (w.b[0] > 0.0, w.b[1] > 0.0, w.b[2] > 0.0, w.b[3] > 0.0, w.b[4] > 0.0)


@inlined
def save(w, n, count):
    for k in range(count):
        w.try_lr[k] = w.lr[k]
        for i in range(n):
            w.try_amount[k, i] = w.amount[k, i]


@inlined
def recall(w, n, count):
    for k in range(count):
        w.lr[k] = w.try_lr[k]
        for i in range(n):
            w.amount[k, i] = w.try_amount[k, i]


@inlined
def order_two(b, w):
    """Put the lighter of two phases first, and set w.u."""
    n = b.gases
    if w.lr[0] > w.lr[1]:
        w.lr[0], w.lr[1] = w.lr[1], w.lr[0]
        for i in range(n):
            w.amount[0, i], w.amount[1, i] = w.amount[1, i], w.amount[0, i]
    for i in range(n):
        w.u[i] = log(w.amount[0, i] / w.amount[1, i])


@inlined
def drop(w, n, count, gone):
    """Give the amounts of a phase to the others and close the gap."""
    for i in range(n):
        rest = w.z[i] - w.amount[gone, i]
        for k in range(count):
            w.amount[k, i] *= w.z[i] / max(rest, 1e-300)
    for k in range(gone, count - 1):
        w.lr[k], w.b[k], w.old_delta[k] = w.lr[k + 1], w.b[k + 1], w.old_delta[k + 1]
        for i in range(n):
            w.amount[k, i], w.old_ln_phi[k, i] = w.amount[k + 1, i], w.old_ln_phi[k + 1, i]


@inlined
def _newton(b, w, T, p, count):
    if count == 2:
        order_two(b, w)
        return two_phases(b, w, T, p, 0.0)
    return many_phases(b, w, T, p, count)


@inlined
def _settle_density(b, w, s, p):
    """Evaluate a phase near its density root, from s.lr."""
    for _ in range(DENSITY_STEPS):
        evaluate(b, s, p, FUGACITY)
        w.evaluations += 1
        if not s.stiffness > 0.0:
            side = VAPOUR_ROOT if s.delta < 1.0 else LIQUID_ROOT
            if root(b, s, p, side, 1e-3) == 0 and root(b, s, p, 1 - side, 1e-3) == 0:
                return False
            evaluate(b, s, p, FUGACITY)
        off = s.m / s.stiffness
        if abs(off) < CLOSE:
            break
        s.lr += clip(off, -0.3, 0.3)
    return is_outer(b, s, p) == 1 or least_root(b, s, p) == 1


@compiled(types.int64, BLEND, WORK, types.float64, types.float64)
def settle(b, w, T, p):
    """Bring w.count phases, whose amounts and densities are rough, to equilibrium; fewer may remain. SOLVED, UNSETTLED or FAILED."""
    n, count = b.gases, w.count
    idle = 0
    for step in range(SUBSTITUTIONS):
        for k in range(count):
            total = 0.0
            for i in range(n):
                total += w.amount[k, i]
            if step == 0:
                w.b[k] = max(total, 1e-4)
            s = w.phase[k]
            for i in range(n):
                s.x[i] = w.amount[k, i] / total
            s.T, s.lr = T, w.lr[k]
            if step > 0 and w.old_delta[k] > 1.0:  # a liquid whose composition has moved keeps its reduced density
                reduce(b, s)
                s.lr = log(w.old_delta[k] / s.reducing_volume)
            if not _settle_density(b, w, s, p):
                return FAILED
            w.lr[k], w.old_delta[k] = s.lr, s.delta
            for i in range(n):
                if step > NEWTON_FIRST:  # strongly non-ideal liquids would swing ever farther to and fro
                    s.ln_phi[i] = 0.5 * (s.ln_phi[i] + w.old_ln_phi[k, i])
                w.old_ln_phi[k, i] = s.ln_phi[i]
        for k in range(count, MAX_PHASES):
            w.b[k] = 0.0
        share_out(b, w, count)
        gone = -1
        for i in range(n):
            e = 0.0
            for k in range(count):
                e += w.b[k] * w.ln_f[k, i]
            for k in range(count):
                w.amount[k, i] = max(w.b[k], 1e-9) * w.z[i] * w.ln_f[k, i] / e + 1e-300
        for k in range(count):
            if w.b[k] == 0.0:
                gone = k
        idle = idle + 1 if gone >= 0 else 0
        for k in range(1, count):
            for m in range(k):
                distance = (w.lr[k] - w.lr[m]) ** 2
                for i in range(n):
                    distance += (w.phase[k].x[i] - w.phase[m].x[i]) ** 2
                if distance < 1e-9:
                    gone, idle = k, PATIENCE + 1
        if idle > PATIENCE:
            drop(w, n, count, gone)
            count -= 1
            w.count, idle = count, 0
            if count == 1:
                return SOLVED
            continue
        if gone < 0 and step % NEWTON_EVERY == NEWTON_FIRST:
            save(w, n, count)
            result = _newton(b, w, T, p, count)
            if result == VANISHED and count > 2 and w.b[w.missing] < DWINDLING_SHARE:
                drop(w, n, count, w.missing)
                w.count = count - 1
                result = _newton(b, w, T, p, count - 1)
            if result == SOLVED:
                return SOLVED
            w.count = count
            recall(w, n, count)
    return UNSETTLED
