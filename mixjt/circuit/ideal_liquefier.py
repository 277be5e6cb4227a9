"""The least work that second law allows for liquefaction.

The exergy of the liquid over that of the gas at the room's temperature T0,

    w = (h_liquid - h_gas) - T0 (s_liquid - s_gas),

which a chain of Carnot refrigerators that cool the gas along its isobar, each taking dq at T, also needs:
w = integral (T0/T - 1) dq. Source: Barron, Cryogenic Systems (1985), chapter 3 (from memory).
"""

from __future__ import annotations

import numpy as np

from mixjt.fluid.feed import saturated_liquid
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State

SECTIONS = 41  # of the two-phase range


def least_work(liquid: State, gas: State, ambient: float) -> float:
    """Least work to turn gas into liquid in a room at a temperature [K]; J/mol of the same composition."""
    return (liquid.enthalpy - gas.enthalpy) - ambient * (liquid.entropy - gas.entropy)


def carnot_work(feed: Fluid, ambient: float, pressure: float) -> float:
    """Work [J/mol] of Carnot refrigerators that cool a feed along an isobar [Pa] to its bubble point.

    The heat is cp dT outside the two-phase range and T ds in it; for a pure feed all latent heat is taken at
    the boiling temperature.

    Raises
    ------
    UnreachableError
        Above the critical pressure.
    """
    from scipy.integrate import quad

    liquid = saturated_liquid(feed, pressure)
    dew = feed.dew_temperature(pressure) * (1.0 + 1e-9)
    vapour = feed.tp(dew, pressure)
    gas_part = quad(
        lambda t: _heat_capacity(feed, t, pressure) * (ambient / t - 1.0), dew + 1e-2, ambient, epsrel=1e-9
    )[0]
    gas_part += _heat_capacity(feed, dew + 2e-2, pressure) * (ambient / dew - 1.0) * 1e-2
    if dew - liquid.temperature < 1e-4:
        return gas_part + (vapour.enthalpy - liquid.enthalpy) * (ambient / dew - 1.0)
    return gas_part + _two_phase_part(feed, liquid, vapour, ambient, pressure)


def _two_phase_part(feed: Fluid, liquid: State, vapour: State, ambient: float, pressure: float) -> float:
    from scipy.integrate import simpson

    enthalpies = np.linspace(liquid.enthalpy, vapour.enthalpy, SECTIONS)
    inner = [feed.hp(h, pressure).temperature for h in enthalpies[1:-1]]
    temperatures = np.array([liquid.temperature, *inner, vapour.temperature])
    return float(simpson(ambient / temperatures - 1.0, x=enthalpies))


def _heat_capacity(feed: Fluid, temperature: float, pressure: float, step: float = 5e-3) -> float:
    """cp [J/(mol K)] by a central difference."""
    low, high = (
        feed.tp(temperature + sign * step, pressure).enthalpy for sign in (-1, 1)
    )
    return (high - low) / (2.0 * step)
