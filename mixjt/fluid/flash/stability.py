"""Stability of a state: trial phases against the tangent plane of the phases found.

A trial of amounts W has the modified tangent-plane distance tm = 1 + sum W_i (ln W_i + ln phi_i(W) - d_i - 1), with
d_i = ln x_i + ln phi_i of any phase present; below zero a phase is missing. Source: Michelsen, Fluid Phase Equilib.
9 (1982) 1; Michelsen and Mollerup (2007), chapter 9. Wilson's K-values alone miss second liquids, so that every
near-pure liquid is tried too; a trial's density is an unknown beside its composition.
"""

from __future__ import annotations

from math import exp, log, sqrt

from numba import types

from mixjt.compiled import compiled
from mixjt.fluid.flash.density import LIQUID_ROOT, VAPOUR_ROOT, is_outer, least_root, root
from mixjt.fluid.flash.kernel_types import BLEND, WORK
from mixjt.fluid.flash.linear import factor, solve
from mixjt.fluid.flash.memory import MAX_PHASES
from mixjt.fluid.flash.newton import clip
from mixjt.fluid.flash.phase import FUGACITY, MATRIX, evaluate
from mixjt.linked import inlined

STEPS = 60
SUBSTITUTIONS = 3  # before Newton's method
KNOWN = 1.0  # what a trial that ends at a phase already present returns
CLEARLY_UNSTABLE = -1e-3
UNSTABLE = -1e-8
WEAK = -1e-4
SETTLED = 0.02  # mismatch of ln density from which on conclusions are drawn
ROUGH = 0.04  # step of ln density that is good enough at the start of a trial
DENSE = 1.8  # reduced density of a liquid whose partial volumes serve as a guide
NEARLY, SAFE = 1e-2, 1e-2  # squared gradient of a trial that is nearly there, and the distance with which it may stay there
LONGEST, MOST_DAMPED = 2.0, 1e3  # step of ln W, and what is added to its scaled matrix
PURITY = 1e-4
COLD = 0.7  # of the critical temperature: below, a liquid has a density at any pressure, if its equation is sound


@inlined
def liquid_density(b, w, T, thin):
    """Rough ln density of a liquid of composition exp(w.ln_w), by corresponding states; a thin gas's when hot."""
    volume, temperature, total = 0.0, 0.0, 0.0
    for i in range(b.gases):
        e = exp(w.ln_w[i])
        total += e
        volume += e * b.critical_volume[i]
        temperature += e * b.critical_temperature[i]
    cold = 1.0 - T * total / temperature
    if cold <= 0.0:
        return thin
    return log((1.05 + 1.8 * cold ** (1.0 / 3.0) + 0.9 * cold) * total / volume)


@inlined
def _nears_known(w, n, count, tm, density):
    """Whether the trial is on its way into a phase already present: near it, and going there."""
    for k in range(count):
        slope, distance = 0.0, 0.0
        for i in range(n):
            away = w.w[i] - w.phase[k].x[i]
            slope += away * w.gradient[i]
            distance += away * away
        if slope > 0.0 and abs(2.0 * tm / slope - 1.0) < 0.2 and distance < 0.05:
            if abs(density - w.lr[k]) < 0.3:
                return True
    return False


@inlined
def _is_known(w, n, count, density):
    for k in range(count):
        distance = 0.0
        for i in range(n):
            distance += (w.w[i] - w.phase[k].x[i]) ** 2
        if distance < 1e-6 and abs(density - w.lr[k]) < 0.05:
            return True
    return False


@inlined
def _newton_step(w, n, total):
    """Steps of ln W that make the gradient vanish, shortened where long; damped where the matrix is not positive."""
    s = w.phase[MAX_PHASES]
    damping = 0.0
    for i in range(n):
        w.scale[i] = sqrt(w.w[i]) + 1e-150
    while damping < MOST_DAMPED:
        for i in range(n):
            w.trial_step[i] = -w.scale[i] * w.gradient[i]
            for j in range(i + 1):
                w.H[i, j] = s.M[i, j] * w.scale[i] * w.scale[j] / total
            w.H[i, i] += 1.0 + damping
        if factor(w.H, n):
            break
        damping = 0.5 + 4.0 * damping
    solve(w.H, n, w.trial_step)
    longest = 0.0
    for i in range(n):
        w.trial_step[i] /= w.scale[i]
        longest = max(longest, abs(w.trial_step[i]))
    for i in range(n):
        w.trial_step[i] *= min(1.0, LONGEST / (longest + 1e-300))
    return longest < LONGEST and damping == 0.0


@inlined
def _nearest_density(b, w, T, p, count):
    """Density for the composition exp(w.ln_w) by the partial volumes of the nearest liquid there is: one of the phases
    present, or the one in the last slot."""
    n, s = b.gases, w.phase[MAX_PHASES]
    total, nearest, least = 0.0, MAX_PHASES, 0.0
    for i in range(n):
        w.w[i] = exp(w.ln_w[i])
        total += w.w[i]
    for i in range(n):
        w.w[i] /= total
        least += (w.w[i] - s.x[i]) ** 2
    for k in range(count):
        distance = 0.0
        for i in range(n):
            distance += (w.w[i] - w.phase[k].x[i]) ** 2
        if distance < least and w.phase[k].delta > DENSE:
            nearest, least = k, distance
    base, volume = w.phase[nearest], 0.0
    for i in range(n):
        volume += w.w[i] * base.v[i]
    if 0.5 < volume < 2.0 and base.delta > DENSE:
        s.lr = base.lr + clip(base.m / base.stiffness, -0.3, 0.3) - log(volume)
    else:
        s.lr = liquid_density(b, w, T, log(p / (b.R * T)))


@compiled(types.float64, BLEND, WORK, types.float64, types.float64, types.int64, types.int64)
def trial(b, w, T, p, count, substitutions):
    """Follow one trial from w.ln_w and the density in the last slot; its tm, or KNOWN."""
    n, s = b.gases, w.phase[MAX_PHASES]
    before, drop, unstable_densities = 1e300, 1e300, 0
    w.stationary = 0
    for step in range(STEPS):
        total = 0.0
        for i in range(n):
            w.w[i] = exp(w.ln_w[i])
            total += w.w[i]
        if not 1e-8 < total < 1e250:
            return KNOWN
        for i in range(n):
            s.x[i] = w.w[i] / total
        newton = step >= substitutions
        evaluate(b, s, p, MATRIX if newton else FUGACITY)
        w.evaluations += 1
        if not s.stiffness > 0.0:
            unstable_densities += 1
            side = VAPOUR_ROOT if s.delta < 1.0 or unstable_densities > 1 else LIQUID_ROOT
            if unstable_densities > 2 or (root(b, s, p, side, 0.05) == 0 and root(b, s, p, 1 - side, 0.05) == 0):
                return KNOWN
            continue
        tm, miss = 1.0, 0.0
        for i in range(n):
            g = w.ln_w[i] + s.ln_phi[i] - w.d[i]
            w.gradient[i] = g
            tm += w.w[i] * (g - 1.0)
            miss += w.w[i] * g * g
        if tm != tm:
            return KNOWN
        off = s.m / s.stiffness
        settled = abs(off) < SETTLED
        if tm < UNSTABLE and abs(off) < 1e-3 and is_outer(b, s, p) == 0:  # between vapour and liquid: a false root
            unstable_densities += 1
            if unstable_densities > 2 or least_root(b, s, p) == 0:
                return KNOWN
            continue
        if abs(off) < 1e-3 and tm < CLEARLY_UNSTABLE and step >= 1:
            return tm
        if settled and w.wary == 0 and -1e-9 < tm < 0.05 and _nears_known(w, n, count, tm, s.lr):
            return KNOWN
        if miss < 1e-10 and abs(off) < 1e-4:
            w.stationary = 1
            return KNOWN if _is_known(w, n, count, s.lr) else tm
        if settled and substitutions > 0 and step >= 3 and tm > 0.03:  # substitution that will stop well above the plane
            now = before - tm
            if 0.0 <= now <= 0.8 * drop:
                ratio = now / drop
                if tm - 3.0 * now * ratio / (1.0 - ratio) > 0.02:
                    return tm
        drop, before = before - tm, tm
        whole = False
        if newton:
            whole = _newton_step(w, n, total)
        else:
            for i in range(n):
                w.trial_step[i] = -w.gradient[i]
        change, gain = 0.0, 0.0
        for i in range(n):
            w.ln_w[i] += w.trial_step[i]
            change += s.x[i] * w.trial_step[i] * (1.0 - s.v[i])
            gain -= 0.5 * w.w[i] * w.gradient[i] * w.trial_step[i]
        if whole and miss < NEARLY and abs(off) < 3e-3:
            if tm - 3.0 * gain > SAFE:
                w.stationary = 1
                return tm - gain
            for i in range(n):
                w.w[i] = exp(w.ln_w[i])
            if _is_known(w, n, count, s.lr + off + change):
                return KNOWN
        if newton or s.delta < DENSE:
            s.lr += clip(off, -0.3, 0.3) + clip(change, -0.3, 0.3)
        else:
            _nearest_density(b, w, T, p, count)
    return KNOWN


@inlined
def _start(b, w, T, p, count, which, gas_present):
    """Put the start of a trial into w.ln_w and the last slot; False where it is not called for.

    0 to n - 1: liquids of one gas nearly pure; n: the ideal gas of the same fugacities; n + 1: the liquid by Wilson's
    K-values, for one phase; n + 2: half way between two phases.
    """
    n, s = b.gases, w.phase[MAX_PHASES]
    thin = log(p / (b.R * T))
    if which < n:
        if gas_present and T > 1.1 * b.critical_temperature[which]:
            return False
        for i in range(n):
            w.ln_w[i] = log(PURITY)
        w.ln_w[which] = log(1.0 - PURITY * (n - 1))
        s.lr = liquid_density(b, w, T, thin)
    elif which == n:
        if gas_present:
            return False
        for i in range(n):
            w.ln_w[i] = w.d[i]
        s.lr = thin
    elif which == n + 1:
        if count > 1:
            return False
        for i in range(n):
            w.ln_w[i] = w.d[i] - (b.wilson[0, i] - b.wilson[1, i] / T - log(p))
        s.lr = liquid_density(b, w, T, thin)
    else:
        if count < 2:
            return False
        for i in range(n):
            w.ln_w[i] = log(0.5 * (w.phase[count - 1].x[i] + w.phase[0].x[i]))
        s.lr = w.lr[count - 1]
    return True


@inlined
def _substitute_once(b, w, T, p, which, count):
    """First substitution of a near-pure liquid with its density settled, then the density guessed anew."""
    n, s = b.gases, w.phase[MAX_PHASES]
    for i in range(n):
        s.x[i] = exp(w.ln_w[i])
    guess = s.lr
    s.lr += w.correction[which]
    for _ in range(8):
        evaluate(b, s, p, FUGACITY)
        w.evaluations += 1
        if not s.stiffness > 0.0:
            side = VAPOUR_ROOT if s.delta < 1.0 else LIQUID_ROOT
            if root(b, s, p, side, SETTLED) == 0:
                return False
            evaluate(b, s, p, FUGACITY)
            break
        off = s.m / s.stiffness
        if abs(off) < ROUGH:
            w.correction[which] = clip(s.lr + off - guess, -0.2, 0.2) if s.delta > DENSE else 0.0
            break
        s.lr += clip(off, -0.2, 0.3)
    for i in range(n):
        w.ln_w[i] = w.d[i] - s.ln_phi[i]
    _nearest_density(b, w, T, p, count)
    return True


@compiled(types.float64, BLEND, WORK, types.float64, types.float64, types.int64)
def least_distance(b, w, T, p, count):
    """Least tm over the trials against the plane w.d of `count` phases; the trial itself in w.best, w.best_lr.

    Ends at the first clearly negative one. A trial that stopped at a stationary point starts there the next time.
    w.doubt is 1 where a nearly pure liquid has no density: its equation ends above this temperature.
    """
    n, s = b.gases, w.phase[MAX_PHASES]
    s.T = T
    w.tests += 1
    w.doubt = 0
    least = 1e300
    lightest = w.lr[0]
    for k in range(1, count):
        lightest = min(lightest, w.lr[k])
    gas_present = count > 1 and lightest < log(4.0 * p / (b.R * T))
    for which in range(n + 3):
        tm = KNOWN
        if w.kept[which] == 1:
            w.kept[which] = 0
            for i in range(n):
                w.ln_w[i] = w.kept_w[which, i]
            s.lr = w.kept_lr[which]
            tm = trial(b, w, T, p, count, 0)
        if tm == KNOWN:
            if not _start(b, w, T, p, count, which, gas_present):
                continue
            if which < n and not _substitute_once(b, w, T, p, which, count):
                if T < COLD * b.critical_temperature[which]:
                    w.doubt = 1
                continue
            tm = trial(b, w, T, p, count, SUBSTITUTIONS)
        if w.stationary == 1 and -1e-8 < tm < 0.5 and which < n + 2:
            w.kept[which], w.kept_lr[which] = 1, s.lr
            for i in range(n):
                w.kept_w[which, i] = w.ln_w[i]
        if tm < least:
            least = tm
            if tm < UNSTABLE:
                w.best_lr = s.lr
                for i in range(n):
                    w.best[i] = w.ln_w[i]
            if tm < WEAK:  # a weak one may hide a phase that is clearly missing
                return least
    return least
