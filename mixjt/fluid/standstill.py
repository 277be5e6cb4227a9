"""A circuit at rest: the pressure of its whole charge at one temperature in one volume.

Held is what state the fluid takes when its mean molar volume is that of the circuit, V / n: pressure is
sought along the isotherm, on which the molar volume of an equilibrium state falls strictly as the pressure
rises (a mechanical stability condition; Callen, Thermodynamics, 2nd ed. (1985), chapter 8, from memory).
A pure fluid partly liquid jumps there from vapour to liquid at its saturation pressure, which is then the answer.
"""

from __future__ import annotations

import math

from mixjt.constants import ZERO_CELSIUS
from mixjt.errors import InputError, MixjtError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.roots import root_between
from mixjt.fluid.states import State

HOTTEST_DAY = ZERO_CELSIUS + 50.0  # K, that a machine may stand through (common practice, no source)
LOWEST_PRESSURE, HIGHEST_PRESSURE = 1e2, 4e7  # Pa, between which the pressure is sought
OFF_SATURATION = 1e-4  # of the pressure: the library refuses states of a pure fluid on the line itself
STEP_DOWN = 0.25  # of ln p, where an equation of state ends below the highest pressure


def standstill_pressure(fluid: Fluid, temperature: float, molar_volume: float) -> float:
    """Pressure [Pa] of a charge at a temperature in a given molar volume, one phase or more.

    Parameters
    ----------
    fluid : Fluid
    temperature : float
        [K]
    molar_volume : float
        Volume of the circuit over amount of the charge [m3/mol].

    Raises
    ------
    InputError
    UnreachableError
        Where the charge would stand above 400 bar (or what the equation of state covers) or below 1 mbar.
    ConvergenceError
    """
    if not (math.isfinite(molar_volume) and molar_volume > 0.0):
        raise InputError(f"molar volume must be above 0, got {molar_volume}")

    def excess(log_pressure: float) -> float:
        return math.log(fluid.tp(temperature, math.exp(log_pressure)).molar_volume / molar_volume)

    low, high = math.log(LOWEST_PRESSURE), math.log(HIGHEST_PRESSURE)
    saturated = _saturated(fluid.model, temperature)
    if saturated is not None:
        vapour, liquid = saturated
        if liquid.molar_volume <= molar_volume <= vapour.molar_volume:
            return vapour.pressure
        if molar_volume > vapour.molar_volume:
            high = math.log(vapour.pressure * (1.0 - OFF_SATURATION))
            if excess(high) > 0.0:
                return vapour.pressure
        else:
            low = math.log(liquid.pressure * (1.0 + OFF_SATURATION))
            if excess(low) < 0.0:
                return liquid.pressure
    high = _within_range(fluid, temperature, low, high)
    if excess(low) < 0.0 or excess(high) > 0.0:
        bound = f"below {math.exp(low) / 1e5:.3g} bar" if excess(low) < 0.0 else f"above {math.exp(high) / 1e5:.3g} bar"
        raise UnreachableError(
            f"at {temperature:.5g} K the charge would stand {bound} in this volume; check charge and volume"
        )
    return math.exp(root_between(excess, low, high, 1e-12, 1e-12))


def standstill_state(fluid: Fluid, temperature: float, molar_volume: float) -> State:
    """State of a blend at a temperature in a given molar volume; parameters and errors as `standstill_pressure`."""
    return fluid.tp(temperature, standstill_pressure(fluid, temperature, molar_volume))


def standstill_charge(fluid: Fluid, temperature: float, pressure: float, volume: float) -> float:
    """Charge [kg] that fills a volume [m3] at a temperature [K] and a pressure [Pa]."""
    state = fluid.tp(temperature, pressure)
    return volume / state.molar_volume * fluid.molar_mass


def buffer_volume(charge: float, volume: float, allowed: float, held: float) -> float | None:
    """Buffer [m3] to add on the low side so that a circuit at rest keeps to a pressure; None where none can.

    While the circuit runs the buffer holds gas at suction pressure, which adds to the charge:
    m + W rho_held = (V + W) rho_allowed.

    Parameters
    ----------
    charge, volume : float
        Of the circuit as it is [kg], [m3].
    allowed, held : float
        Density at the pressure allowed, at rest and hot, and of what the buffer holds while running [kg/m3].
    """
    short = charge - volume * allowed
    if short <= 0.0:
        return 0.0
    return short / (allowed - held) if allowed > held else None


def _saturated(model, temperature: float) -> tuple[State, State] | None:
    """Saturated vapour and liquid of a pure fluid; None for a blend, and outside the two-phase range."""
    facts = model.facts
    if facts is None or not facts.triple_temperature <= temperature < facts.critical_temperature:
        return None
    return model.saturated_vapour(temperature), model.saturated_liquid(temperature)


def _within_range(fluid, temperature: float, low: float, high: float) -> float:
    """The highest of ever lower pressures (logarithms) at which the model has a state."""
    while high > low:
        try:
            fluid.tp(temperature, math.exp(high))
            return high
        except MixjtError:
            high -= STEP_DOWN
    return low
