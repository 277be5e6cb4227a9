"""Exchangers inside a vapour-compression stage: liquid to suction gas, hot gas to suction gas, hot gas to air."""

from __future__ import annotations

import math

from mixjt.fluid.states import State
from mixjt.parts.stage_fluid import StageFluid

LEAST_ABOVE_DEW = 1e-3  # K; gas this close to its dew point counts as saturated


def liquid_to_gas(fluid: StageFluid, effectiveness: float, gas: State, liquid: State) -> float:
    """Heat from liquid to gas per mole [J/mol]; none where the liquid is not the warmer one."""
    if effectiveness == 0.0 or liquid.temperature <= gas.temperature:
        return 0.0
    hottest_gas = fluid.tp(liquid.temperature, gas.pressure).enthalpy
    coldest_liquid = fluid.tp(gas.temperature, liquid.pressure).enthalpy
    return effectiveness * min(hottest_gas - gas.enthalpy, liquid.enthalpy - coldest_liquid)


def warmed_gas(fluid: StageFluid, gas: State, heat: float) -> State:
    """Gas that has taken up heat [J/mol]."""
    return fluid.hp(gas.enthalpy + heat, gas.pressure) if heat > 0.0 else gas


def cooled_gas(fluid: StageFluid, enthalpy: float, pressure: float, target: float | None) -> State:
    """Hot gas of an enthalpy [J/mol], cooled to a temperature [K] if there is one: never heated, never condensed."""
    if target is not None:
        dew = fluid.dew_temperature(pressure)
        cold = fluid.tp(max(target, dew + LEAST_ABOVE_DEW) if math.isfinite(dew) else target, pressure)
        if cold.enthalpy < enthalpy:
            return cold
    return fluid.hp(enthalpy, pressure)


def cooled_by_suction(
    fluid: StageFluid, approach: float | None, hot: State, warmed: tuple[State, float], suction: State
) -> State:
    """Hot gas after it has warmed the suction gas from one state to another, or as far as it can.

    Parameters
    ----------
    fluid : StageFluid
    approach : float or None
        Smallest difference between the streams [K]; None without an exchanger.
    hot : State
        Of the hot gas before it.
    warmed : (State, float)
        Of the gas that leaves the evaporator, and heat that it has taken up since [J/mol].
    suction : State
        What it is to be at the compressor inlet.
    """
    if approach is None:
        return hot
    cold = warmed_gas(fluid, *warmed)
    warmest = hot.temperature - approach
    wanted = suction.enthalpy - cold.enthalpy
    if cold.temperature < warmest < suction.temperature:
        wanted = fluid.tp(warmest, cold.pressure).enthalpy - cold.enthalpy
    if not (wanted > 0.0 and warmest > cold.temperature):
        return hot
    coldest = cooled_gas(fluid, hot.enthalpy, hot.pressure, cold.temperature + approach)
    if coldest.enthalpy >= hot.enthalpy - wanted:
        return coldest
    return fluid.hp(hot.enthalpy - wanted, hot.pressure)
