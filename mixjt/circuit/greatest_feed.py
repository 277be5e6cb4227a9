"""The feed's passage through the recuperator, and the greatest feed that a blend can liquefy.

Per mole of blend, r moles of feed run beside the blend's high side, at its temperature in every section, from
the feed's inlet temperature down to T_f, the cold end plus the feed's approach; what the recuperator leaves to
be done the evaporator does. With q the other load, the energy balance from the cold end to any section reads

    h_low(T_low) = h_high(T) + q + r g(T)      g = h_feed(T) - h_feed(T_f)

(g = 0 below T_f). Where the flash vapour, phi moles per mole of feed, returns beside the low side, it takes up
heat too: g = h_feed(T) - h_feed(T_f) - phi [h_flash(T_low) - h_flash(outlet of the feed's throttle)].

Streams keep the approach a apart where T_low <= T - a, so that with D(T) = h_low(T - a) - h_high(T)

    q + r g(T) <= D(T)  for all T,      r_max = min over T of (D(T) - q) / g(T).

The balance is linear in r: m(r) = min over T of [D - r g] is concave, and r_max is where m = q. Newton's
method on it, r <- (D(T*) - q)/g(T*) with T* the minimiser at the present r, falls monotonically onto the root
from above, where the warm end gives a start, and each step is an ordinary pinch search, kinks and jumps
included. Energy balances alone, and composite curves of streams at one temperature: Linnhoff and others, A User
Guide on Process Integration (1982) (from memory). Newton's method for the least ratio: W. Dinkelbach,
Management Science 13 (1967) 492-498 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from mixjt.circuit.feed_states import Feed
from mixjt.circuit.pinch import LeastDifference
from mixjt.circuit.section import HIGH, LOW, Leg, Section
from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.parts import places

ROUNDS = 60
SAME = 1e-11  # of the cooling
NOISE = 1e-7  # of the cooling; at a kink a pinch search tells its minimum no better than to some 1e-8
ROUNDING = 1e-9  # of the load


@dataclass(frozen=True)
class GreatestFeed:
    """ratio, moles of feed per mole of blend, and the pinch search at that ratio (its minimum is the load)."""

    ratio: float
    least: LeastDifference


def with_feed_beside(alone: Section, feed: Feed, ratio: float) -> Section:
    """The blend's recuperator with a feed beside the high side, and what flashes off beside the low side."""
    if ratio == 0.0:
        return alone
    down = replace(feed.down, flow=ratio * feed.down.flow)
    high = (*alone.high, Leg(alone.part, places.FEED_INLET, places.FEED_RECUPERATOR_OUTLET, down, HIGH))
    low = alone.low
    if feed.back is not None:
        back = replace(feed.back, flow=ratio * feed.back.flow)
        low = (*low, Leg(alone.part, places.FLASH_VAPOUR_COLD_END, places.FLASH_VAPOUR_OUTLET, back, LOW))
    return replace(alone, high=high, low=low)


def greatest_feed(
    alone: Section, feed: Feed, approach: float, load: float, points: int = 64, start: float | None = None
) -> GreatestFeed:
    """The greatest feed per mole of blend that leaves the other load and keeps the approach everywhere.

    Parameters
    ----------
    alone : Section
        The recuperator with the blend alone.
    feed : Feed
    approach : float
        [K]
    load : float
        Heat that the evaporator takes up besides the feed's [J/mol of blend].
    start : float, optional
        A ratio close to the answer, if one is known; the steps then begin there.

    Raises
    ------
    UnreachableError
        Where the blend does not even carry the other load.
    ConvergenceError
    """

    def search(ratio: float) -> LeastDifference:
        return with_feed_beside(alone, feed, ratio).least(approach, points)

    def need(temperature: float) -> float:
        hot = feed.down.enthalpy([temperature])[0]
        return float(hot if feed.back is None else hot - feed.back.enthalpy([temperature - approach])[0])

    if start:
        found = _newton(search, need, start, load)
        if found is not None:
            return found
    plain = search(0.0)
    if not plain.minimum >= (1.0 - ROUNDING) * load or not plain.minimum > 0.0:
        raise UnreachableError(_short(alone.span[0] - approach, plain, load))
    if plain.minimum - load <= SAME * max(plain.minimum, 1.0):
        return GreatestFeed(0.0, plain)
    found = _newton(search, need, (plain.difference[-1] - load) / need(alone.span[1]), load)
    if found is None:
        raise ConvergenceError("the greatest feed", "try a slightly different feed pressure or cold end")
    return found


def _newton(search, need, ratio: float, load: float) -> GreatestFeed | None:
    """Newton steps until the least difference equals the load, or they come no nearer; None where they lead nowhere."""
    nearest, error = None, float("inf")
    for _ in range(ROUNDS):
        least = search(ratio)
        short = load - least.minimum
        off = abs(short) / max(abs(least.difference[-1]), 1.0)
        if off >= error and error <= NOISE:
            return nearest
        nearest, error = GreatestFeed(ratio, least), off
        if off <= SAME:
            return nearest
        demand = need(least.temperature)
        if not demand > 0.0 or ratio - short / demand < 0.0:
            return None
        ratio -= short / demand
    return None


def _short(cold: float, least: LeastDifference, load: float) -> str:
    what = f"at the pinch, where the high side has {least.temperature:.5g} K, the blend "
    if not least.minimum > 0.0:
        return (
            f"no cooling at {cold:.5g} K, so nothing to liquefy with: {what}falls short by {-least.minimum:.4g} J/mol; "
            "try a warmer cold end, a wider pressure ratio, or more of a gas that boils near the pinch temperature"
        )
    return (
        f"the load of {load:.4g} J/mol at the cold end leaves nothing for the feed: {what}cools by only "
        f"{least.minimum:.4g} J/mol; lower the load, or improve the blend"
    )
