"""The gas to be liquefied: pure nitrogen on its reference equation, or nitrogen with oxygen and argon.

Enthalpies and entropies have the zeros of all property models, so that a feed may exchange heat with a blend
described by another model. Reference equation of nitrogen: Span et al., J. Phys. Chem. Ref. Data 29 (2000) 1361.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np

from mixjt.errors import InputError, UnreachableError
from mixjt.properties.models import FAST, load_model
from mixjt.properties.pure import PureModel
from mixjt.properties.records import PropertyModel, State

NITROGEN, OXYGEN, ARGON = "nitrogen", "oxygen", "argon"
AIR_OXYGEN = 0.21  # dry air holds 0.20948 (U.S. Standard Atmosphere, 1976; from memory), rounded up
NEAR = 1e-5  # of the saturation temperature, within which the library must be told which phase is meant


@dataclass(frozen=True)
class FeedGas:
    """A gas to be liquefied: its property model and mole fractions z (c,)."""

    model: PropertyModel
    z: np.ndarray

    @property
    def molar_mass(self) -> float:
        """[kg/mol]"""
        return float(self.z @ self.model.molar_masses)

    def fraction(self, gas: str, composition=None) -> float:
        """Mole fraction of a gas in the feed, or in another composition (c,) of the same gases."""
        values = self.z if composition is None else composition
        return float(values[self.model.gases.index(gas)]) if gas in self.model.gases else 0.0


class PureFeed(PureModel):
    """`PureModel` with sweeps, and with states next to saturation, where an isobar jumps."""

    def __init__(self, fluid: str):
        super().__init__(fluid)
        self._boiling: dict[float, float] = {}

    def state_tp(self, z, temperature: float, pressure: float) -> State:
        """State at temperature [K] and pressure [Pa]; exactly at saturation the vapour."""
        boiling = self._boiling_point(pressure)
        if boiling is None or abs(temperature - boiling) > NEAR * boiling:
            return super().state_tp(z, temperature, pressure)
        self._state.specify_phase(self._cp.iphase_gas if temperature >= boiling else self._cp.iphase_liquid)
        try:
            return super().state_tp(z, temperature, pressure)
        finally:
            self._state.unspecify_phase()

    def sweep(self, z, pressures, temperatures, strict: bool = True):
        """Enthalpies and entropies at temperatures (m,), each of shape (1, m); pressures broadcast to it."""
        temperatures = np.atleast_1d(np.asarray(temperatures, dtype=float))
        pressures = np.broadcast_to(np.asarray(pressures, dtype=float), (1, temperatures.size))[0]
        states = [self.state_tp(z, float(t), float(p)) for t, p in zip(temperatures, pressures)]
        return SimpleNamespace(
            enthalpy=np.array([[state.enthalpy for state in states]]),
            entropy=np.array([[state.entropy for state in states]]),
        )

    def bubble_pressure(self, z, temperature: float) -> float:
        """Vapour pressure [Pa]; NaN above the critical temperature."""
        critical = temperature >= self.facts.critical_temperature
        return float("nan") if critical else self.saturation_pressure(temperature)

    dew_pressure = bubble_pressure

    def _boiling_point(self, pressure: float) -> float | None:
        if not pressure < self.facts.critical_pressure:
            return None
        if pressure not in self._boiling:
            self._boiling[pressure] = self.saturation_temperature(pressure)
        return self._boiling[pressure]


def nitrogen_feed(oxygen: float = 0.0, argon: float = 0.0, model: str = FAST) -> FeedGas:
    """Nitrogen with impurities.

    Parameters
    ----------
    oxygen, argon : float
        Mole fractions; the rest is nitrogen. Without either the reference equation of nitrogen is used.
    model : str
        Property model of a feed that is not pure; see `mixjt.properties.models.load_model`.

    Raises
    ------
    InputError
        For fractions below 0, more oxygen than air has, or so much that nitrogen is less than half.
    """
    if oxygen > AIR_OXYGEN:
        raise InputError(
            f"a feed with {oxygen:.4g} oxygen holds more than air's {AIR_OXYGEN:.4g}: its liquid explodes with oil and "
            "hydrocarbons; feed nitrogen with no more oxygen than air has"
        )
    if not (oxygen >= 0.0 and argon >= 0.0 and oxygen + argon <= 0.5):
        raise InputError(
            f"a feed with {oxygen:.4g} oxygen and {argon:.4g} argon is no nitrogen: fractions must be at least 0 and "
            "leave half of it or more to nitrogen"
        )
    if oxygen == 0.0 and argon == 0.0:
        return FeedGas(PureFeed(NITROGEN), np.array([1.0]))
    impurities = [(gas, share) for gas, share in ((OXYGEN, oxygen), (ARGON, argon)) if share > 0.0]
    gases = (NITROGEN, *(gas for gas, _ in impurities))
    z = np.array([1.0 - oxygen - argon, *(share for _, share in impurities)])
    return FeedGas(load_model(model, gases), z)


def saturated_liquid(feed: FeedGas, pressure: float) -> State:
    """The feed as liquid at its bubble point [Pa].

    Raises
    ------
    UnreachableError
        Where it has none, above its critical pressure.
    """
    bubble = feed.model.bubble_temperature(feed.z, pressure)
    if not np.isfinite(bubble):
        raise UnreachableError(
            f"the feed has no bubble point at {pressure / 1e5:.4g} bar: it is above its critical point"
        )
    return feed.model.state_tp(feed.z, bubble * (1.0 - 1e-9), pressure)
