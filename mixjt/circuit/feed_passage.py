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

from dataclasses import dataclass

import numpy as np

from mixjt.circuit.pinch import LeastDifference, least_difference
from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.fluid.feed import FeedGas
from mixjt.fluid.states import PropertyModel
from mixjt.parts.recuperator.side import Side

ROUNDS = 60
SAME = 1e-11  # of the cooling
ROUNDING = 1e-9  # of the load


@dataclass(frozen=True)
class FeedStream:
    """The feed on its way from its inlet down to where it leaves the exchangers.

    side holds its end temperatures [K] and pressures [Pa]; outlet_enthalpy [J/mol] is that at T_f.
    """

    gas: FeedGas
    side: Side
    outlet_enthalpy: float

    def heat(self, temperatures) -> np.ndarray:
        """Heat still to be taken from the feed [J/mol of feed] where it has the given temperatures (m,)."""
        within = np.clip(temperatures, self.side.cold_temperature, self.side.warm_temperature)
        heat = self.side.enthalpy(self.gas.model, self.gas.z, within) - self.outlet_enthalpy
        return np.where(within <= self.side.cold_temperature, 0.0, heat)


@dataclass(frozen=True)
class FlashStream:
    """Flash vapour on its way back: moles per mole of feed, composition, pressure [Pa], and its enthalpy
    [J/mol] and temperature [K] where it leaves the feed's throttle."""

    gas: FeedGas
    fraction: float
    composition: np.ndarray
    pressure: float
    enthalpy: float
    temperature: float

    def heat(self, temperatures) -> np.ndarray:
        """Heat taken up until the vapour has the given temperatures (m,) [J/mol of feed]."""
        within = np.maximum(temperatures, self.temperature)
        swept = self.gas.model.sweep(np.atleast_2d(self.composition), self.pressure, within).enthalpy[0]
        return np.where(within <= self.temperature, 0.0, self.fraction * (swept - self.enthalpy))


@dataclass(frozen=True)
class HotStreams:
    """The blend's high side with the feed beside it, in place of a `Side`; enthalpy per mole of blend."""

    side: Side
    feed: FeedStream
    ratio: float

    def pressure(self, temperatures) -> np.ndarray:
        """Of the blend [Pa]."""
        return self.side.pressure(temperatures)

    def enthalpy(self, model: PropertyModel, z, temperatures) -> np.ndarray:
        """Enthalpy [J/mol of blend] over that of the feed at its outlet."""
        own = self.side.enthalpy(model, z, temperatures)
        return own if self.ratio == 0.0 else own + self.ratio * self.feed.heat(temperatures)


@dataclass(frozen=True)
class ColdStreams:
    """The blend's low side with the flash vapour beside it, if any, in place of a `Side`."""

    side: Side
    flash: FlashStream | None
    ratio: float

    def pressure(self, temperatures) -> np.ndarray:
        """Of the blend [Pa]."""
        return self.side.pressure(temperatures)

    def enthalpy(self, model: PropertyModel, z, temperatures) -> np.ndarray:
        """Enthalpy [J/mol of blend] over that of the flash vapour at the feed's throttle."""
        own = self.side.enthalpy(model, z, temperatures)
        if self.flash is None or self.ratio == 0.0:
            return own
        return own + self.ratio * self.flash.heat(temperatures)


@dataclass(frozen=True)
class GreatestFeed:
    """ratio, moles of feed per mole of blend, and the pinch search at that ratio (its minimum is the load)."""

    ratio: float
    least: LeastDifference


def greatest_feed(
    model: PropertyModel,
    z,
    high: Side,
    low: Side,
    feed: FeedStream,
    flash: FlashStream | None,
    approach: float,
    load: float,
    points: int = 64,
    start: float | None = None,
) -> GreatestFeed:
    """The greatest feed per mole of blend that leaves the other load and keeps the approach everywhere.

    Parameters
    ----------
    high, low : Side
        Of the blend.
    flash : FlashStream or None
        Flash vapour that returns through the recuperator.
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
    span = low.cold_temperature + approach, high.warm_temperature

    def search(ratio: float) -> LeastDifference:
        hot, cold = HotStreams(high, feed, ratio), ColdStreams(low, flash, ratio)
        return least_difference(model, z, hot, cold, approach, span, points)

    def need(temperature: float) -> float:
        hot = feed.heat(np.array([temperature]))[0]
        return float(hot if flash is None else hot - flash.heat(np.array([temperature - approach]))[0])

    if start:
        found = _newton(search, need, start, load)
        if found is not None:
            return found
    plain = search(0.0)
    if not plain.minimum >= (1.0 - ROUNDING) * load or not plain.minimum > 0.0:
        raise UnreachableError(_short(low.cold_temperature, plain, load))
    if plain.minimum - load <= SAME * max(plain.minimum, 1.0):
        return GreatestFeed(0.0, plain)
    found = _newton(search, need, (plain.difference[-1] - load) / need(span[1]), load)
    if found is None:
        raise ConvergenceError("the greatest feed", "try a slightly different feed pressure or cold end")
    return found


def _newton(search, need, ratio: float, load: float) -> GreatestFeed | None:
    """Newton steps until the least difference equals the load; None where they lead nowhere."""
    for _ in range(ROUNDS):
        least = search(ratio)
        short = load - least.minimum
        if abs(short) <= SAME * max(abs(least.difference[-1]), 1.0):
            return GreatestFeed(ratio, least)
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
