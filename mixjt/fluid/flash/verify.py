"""Which phases a state has: the stability test, and phases added until nothing is missing."""

from __future__ import annotations

from math import exp, log

from numba import types

from mixjt.compiled import compiled
from mixjt.fluid.flash.density import is_outer, least_root
from mixjt.fluid.flash.kernel_types import BLEND, WORK
from mixjt.fluid.flash.memory import MAX_PHASES
from mixjt.fluid.flash.newton import FAILED, SOLVED, clip
from mixjt.fluid.flash.phase import FUGACITY, evaluate
from mixjt.fluid.flash.split import drop, settle
from mixjt.fluid.flash.stability import least_distance, trial
from mixjt.linked import inlined

ATTEMPTS, FRESH_START, SETBACKS = 24, 12, 3
FULL = 3  # times that a phase may be missing beside the most phases there can be
WEAK, NEAR, NEAR_DENSITY = -1e-3, 0.05, 0.2  # distance, gaps of composition (squared) and ln density of a trial that
# is hardly another phase
SAME_PHASE, LIKE_PHASE, SUBSTITUTED = 1e-3, 0.03, 3  # squared distances of phases in neighbouring states, and first
# steps of a trial from a hint
MISSING = -1e-7  # distance below which a state is not accepted
DOUBTFUL = -1e-5  # distance above which a phase that can't be found is let go


@compiled(types.int64, BLEND, WORK, types.float64, types.float64)
def refresh(b, w, T, p):
    """All phases evaluated as they stand, and the tangent plane through the largest; 0 at a false density, else 1."""
    n, largest, sound = b.gases, 0, 1
    for k in range(w.count):
        s, total = w.phase[k], 0.0
        for i in range(n):
            total += w.amount[k, i]
        for i in range(n):
            s.x[i] = w.amount[k, i] / total
        s.T, s.lr, w.total[k] = T, w.lr[k], total
        evaluate(b, s, p, FUGACITY)
        w.evaluations += 1
        sound *= is_outer(b, s, p)
        if total > w.total[largest]:
            largest = k
    for i in range(n):
        w.d[i] = log(w.phase[largest].x[i]) + w.phase[largest].ln_phi[i]
    return sound


@inlined
def _is_present(w, n, hint, near):
    """Whether a phase of the hint is among those present, by its squared distance from the nearest."""
    for m in range(w.count):
        distance = (w.hint_lr[hint] - w.lr[m]) ** 2
        for i in range(n):
            distance += (w.hint[hint, i] - w.phase[m].x[i]) ** 2
        if distance < near:
            return True
    return False


@compiled(types.int64, BLEND, WORK, types.float64, types.float64)
def is_hinted(b, w, T, p):
    """Whether a phase of the hint, a state near by, leads below the plane of the present one: 1 or 0."""
    if refresh(b, w, T, p) == 0:
        return 1
    n, s = b.gases, w.phase[MAX_PHASES]
    s.T = T
    for k in range(2 * w.hints):  # substitution leads better to liquids of gases, Newton's method to second liquids
        hint, substitutions = k // 2, SUBSTITUTED * (1 - k % 2)
        if not _is_present(w, n, hint, SAME_PHASE):
            s.lr = w.hint_lr[hint]
            for i in range(n):
                w.ln_w[i] = log(w.hint[hint, i])
            w.wary = 1
            w.told_tm = trial(b, w, T, p, w.count, substitutions)
            w.wary = 0
            if w.told_tm < MISSING:
                w.told, w.best_lr = 1, s.lr
                for i in range(n):
                    w.best[i] = w.ln_w[i]
                return 1
    return 0


@inlined
def feed_alone(b, w, T, p):
    """The feed as one phase on its better density root; False where there is none."""
    n, s = b.gases, w.phase[0]
    s.T = T
    for i in range(n):
        s.x[i] = w.z[i]
        w.amount[0, i] = w.z[i]
    if least_root(b, s, p) == 0:
        return False
    w.count, w.lr[0], w.total[0] = 1, s.lr, 1.0
    return True


@inlined
def _add_trial(w, n, tm, reach):
    """The trial phase beside those present: a small amount of it; where it is hardly another than one of them, that
    one parted in halves, towards the trial and away from it, `reach` times as far as the trial is (0: not so)."""
    total, k, near, part = 0.0, w.count, -1, 1e-3
    for i in range(n):
        total += exp(w.best[i])
    for i in range(n):
        part = min(part, 0.5 * w.z[i] * total / exp(w.best[i]))
    for m in range(k):
        distance = 0.0
        for i in range(n):
            distance += (exp(w.best[i]) / total - w.phase[m].x[i]) ** 2
        if reach > 0.0 and tm > WEAK and distance < NEAR and abs(w.lr[m] - w.best_lr) < NEAR_DENSITY:
            near = m
    for i in range(n):
        x = exp(w.best[i]) / total
        if near >= 0:
            ratio = clip((x / w.phase[near].x[i]) ** reach, 0.1, 1.9)
            w.amount[k, i] = 0.5 * w.amount[near, i] * ratio
            w.amount[near, i] -= w.amount[k, i]
            continue
        w.amount[k, i] = part * x
        for m in range(k):
            w.amount[m, i] *= 1.0 - part * x / w.z[i]
    w.lr[k] = w.lr[near] if near >= 0 else w.best_lr
    w.count = k + 1


@inlined
def _smallest(w):
    smallest = 0
    for k in range(1, w.count):
        if w.total[k] < w.total[smallest]:
            smallest = k
    return smallest


@compiled(types.int64, BLEND, WORK, types.float64, types.float64)
def verify(b, w, T, p):
    """Make sure of the state of w.count phases (0: nothing is known), adding phases that stability asks for.

    Returns SOLVED or FAILED; w.missing is 1 where a phase had been missing, w.count the phases found.
    """
    n, missing, setbacks, full, settled = b.gases, 0, 0, 0, True
    told, w.told = w.told, 0
    if w.count == 1 and n == 1:
        w.count, missing = 0, 1  # it may have boiled since: the energies at hand may be those of the other root
    for attempt in range(ATTEMPTS):
        if w.count == 0 or attempt == FRESH_START:
            settled = True
            if not feed_alone(b, w, T, p):
                return FAILED
        if told == 0 and refresh(b, w, T, p) == 0:
            w.count, missing = 0, 1
            setbacks += 1
            continue
        if told == 1:
            tm = w.told_tm
        else:
            tm = least_distance(b, w, T, p, w.count) if n > 1 else 0.0
        if tm > MISSING and not settled:
            settled = settle(b, w, T, p) == SOLVED
            if not settled:
                w.count = 0
                setbacks += 1
            continue
        if tm > MISSING:
            w.missing = missing
            return FAILED if n > 1 and w.doubt == 1 else SOLVED
        missing = 1
        if w.count == 1 and attempt == 0 and not feed_alone(b, w, T, p):
            return FAILED
        if w.count == MAX_PHASES:
            full += 1
            if full > FULL:
                return FAILED
            drop(w, n, w.count, _smallest(w))
            w.count -= 1
        before = w.count
        for k in range(before):
            w.known_lr[k] = w.lr[k]
            for i in range(n):
                w.known_amount[k, i] = w.amount[k, i]
        _add_trial(w, n, tm, 2.0**setbacks if setbacks > 0 else 0.0)
        result = settle(b, w, T, p)
        settled = result == SOLVED
        if told == 1 and settled and w.count == w.hints == 2:  # perhaps the phases of a state that was tested
            for k in range(w.hints):
                settled = settled and _is_present(w, n, k, LIKE_PHASE)
            if settled:
                w.missing = 1
                return SOLVED
            settled = True
        told = 0
        if result != SOLVED or w.count <= before:
            setbacks += 1
        if result != SOLVED and tm > DOUBTFUL:
            w.count = before
            for k in range(before):
                w.lr[k] = w.known_lr[k]
                for i in range(n):
                    w.amount[k, i] = w.known_amount[k, i]
            settled = True
        elif result == FAILED:
            w.count = 0  # another way may lead there
        if tm > DOUBTFUL and w.count == before and setbacks > SETBACKS:
            w.missing = missing
            return SOLVED
    return FAILED
