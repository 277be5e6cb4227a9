"""The gas to be liquefied: nitrogen, pure or with oxygen and argon."""

from __future__ import annotations

import numpy as np

from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.model_names import DEFAULT
from mixjt.fluid.models import load_model
from mixjt.fluid.states import State

NITROGEN, OXYGEN, ARGON = "nitrogen", "oxygen", "argon"
AIR_OXYGEN = 0.21  # dry air holds 0.20948 (U.S. Standard Atmosphere, 1976; from memory), rounded up


def nitrogen_feed(oxygen: float = 0.0, argon: float = 0.0, model: str = DEFAULT) -> Fluid:
    """Nitrogen with impurities.

    Parameters
    ----------
    oxygen, argon : float
        Mole fractions; the rest is nitrogen.
    model : str
        See `mixjt.fluid.models.load_model`.

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
    impurities = [(gas, share) for gas, share in ((OXYGEN, oxygen), (ARGON, argon)) if share > 0.0]
    gases = (NITROGEN, *(gas for gas, _ in impurities))
    z = np.array([1.0 - oxygen - argon, *(share for _, share in impurities)])
    return Fluid(load_model(model, gases), z)


def saturated_liquid(feed: Fluid, pressure: float) -> State:
    """The feed as liquid at its bubble point [Pa].

    Raises
    ------
    UnreachableError
        Where it has none, above its critical pressure.
    """
    bubble = feed.bubble_temperature(pressure)
    if not np.isfinite(bubble):
        raise UnreachableError(
            f"the feed has no bubble point at {pressure / 1e5:.4g} bar: it is above its critical point"
        )
    return feed.tp(bubble * (1.0 - 1e-9), pressure)
