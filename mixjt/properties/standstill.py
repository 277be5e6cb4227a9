"""A circuit at rest: the pressure of its whole charge at one temperature in one volume.

Held is what state the blend takes when its mean molar volume is that of the circuit, V / n: pressure is
sought along the isotherm, on which the molar volume of an equilibrium state falls strictly as the pressure
rises (a mechanical stability condition; Callen, Thermodynamics, 2nd ed. (1985), chapter 8, from memory).
"""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize import brentq

from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.properties.records import PropertyModel, State

LOWEST_PRESSURE, HIGHEST_PRESSURE = 1e3, 4e7  # Pa, between which the pressure is sought


def standstill_state(model: PropertyModel, z, temperature: float, molar_volume: float) -> State:
    """State of a blend at a temperature in a given molar volume.

    Parameters
    ----------
    model : PropertyModel
    z : array (c,)
        Mole fractions of the whole charge.
    temperature : float
        [K]
    molar_volume : float
        Volume of the circuit over amount of the charge [m3/mol].

    Raises
    ------
    InputError
    UnreachableError
        Where the charge would stand above 400 bar or below 0.01 bar.
    ConvergenceError
    """
    if not (math.isfinite(molar_volume) and molar_volume > 0.0):
        raise InputError(f"molar volume must be above 0, got {molar_volume}")
    z = np.asarray(z, dtype=float)

    def excess(log_pressure: float) -> float:
        return math.log(model.state_tp(z, temperature, math.exp(log_pressure)).molar_volume / molar_volume)

    low, high = math.log(LOWEST_PRESSURE), math.log(HIGHEST_PRESSURE)
    if excess(low) < 0.0 or excess(high) > 0.0:
        bound = "below 0.01 bar" if excess(low) < 0.0 else "above 400 bar"
        raise UnreachableError(
            f"at {temperature:.5g} K the charge would stand {bound} in this volume; check charge and volume"
        )
    root, report = brentq(excess, low, high, xtol=1e-10, rtol=1e-12, full_output=True, disp=False)
    if not report.converged:
        raise ConvergenceError(
            "pressure at standstill", "try a slightly different temperature", temperature_K=temperature
        )
    return model.state_tp(z, temperature, math.exp(root))


def standstill_charge(model: PropertyModel, z, temperature: float, pressure: float, volume: float) -> float:
    """Charge [kg] that fills a volume [m3] at a temperature [K] and a pressure [Pa]."""
    z = np.asarray(z, dtype=float)
    state = model.state_tp(z, temperature, pressure)
    return volume / state.molar_volume * float(z @ model.molar_masses)
