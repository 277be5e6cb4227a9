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


def cooled_gas(fluid: StageFluid, hot: State, target: float) -> State:
    """Hot gas cooled to a temperature [K]: never heated, never condensed."""
    dew = fluid.dew_temperature(hot.pressure)
    if math.isfinite(dew):
        target = max(target, dew + LEAST_ABOVE_DEW)
    return fluid.tp(target, hot.pressure) if target < hot.temperature else hot


def cooled_by_suction(fluid: StageFluid, approach: float | None, hot: State, cold: State, suction: State) -> State:
    """Hot gas after it has warmed the suction gas from one state to another, or as far as it can.

    Parameters
    ----------
    fluid : StageFluid
    approach : float or None
        Smallest difference between the streams [K]; None without an exchanger.
    hot : State
        Of the hot gas before it.
    cold, suction : State
        Of the suction gas before it, and what it is to be at the compressor inlet.
    """
    if approach is None:
        return hot
    warmest = hot.temperature - approach
    wanted = suction.enthalpy - cold.enthalpy
    if cold.temperature < warmest < suction.temperature:
        wanted = fluid.tp(warmest, cold.pressure).enthalpy - cold.enthalpy
    if not (wanted > 0.0 and warmest > cold.temperature):
        return hot
    coldest = cooled_gas(fluid, hot, cold.temperature + approach)
    if coldest.enthalpy >= hot.enthalpy - wanted:
        return coldest
    return fluid.hp(hot.enthalpy - wanted, hot.pressure)
