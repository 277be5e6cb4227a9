"""An air-cooled aftercooler of stated size: how warm the blend leaves it.

With K the conductance that the blend sees to air at ambient temperature (`mixjt.parts.air_coil`), along the isobar,
condensation included,

    integral from T_outlet to T_discharge of dh/(T - T_ambient) = K/n

with n the molar flow.
"""

from __future__ import annotations

import math

import numpy as np

from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.parts.air_coil import CLOSEST, AirCoil
from mixjt.parts.recuperator.side import Ends, log_mean_difference

POINTS = 96


def aftercooler_outlet(
    fluid: Fluid, hot: State, pressure: float, flow: float, aftercooler: AirCoil, ambient: float
) -> float:
    """Temperature [K] at which the blend leaves an aftercooler; a millikelvin above ambient at the least.

    Parameters
    ----------
    fluid : Fluid
    hot : State
        As it leaves the compressor.
    pressure : float
        Of the outlet [Pa].
    flow : float
        [mol/s]
    aftercooler : AirCoil
    ambient : float
        [K]
    """
    if hot.temperature <= ambient + CLOSEST:
        return ambient + CLOSEST
    above, enthalpy = _on_the_way(fluid, hot, pressure, ambient, ambient + CLOSEST)
    heat = np.diff(enthalpy)
    size = np.cumsum((heat / log_mean_difference(above[:-1], above[1:]))[::-1])[::-1]  # from the hot end to each point
    wanted = aftercooler.to_ambient(ambient) / flow
    if wanted >= size[0]:
        return ambient + CLOSEST
    at = int(np.flatnonzero(size > wanted)[-1])
    left = wanted - (size[at + 1] if at + 1 < len(size) else 0.0)
    capacity = heat[at] / (above[at + 1] - above[at])
    return ambient + float(above[at + 1] * math.exp(-left / capacity))


def conductance_to_ambient(fluid: Fluid, hot: State, outlet: State, flow: float, ambient: float) -> float:
    """K [W/K] that brings the blend from one state to another; infinite where the outlet is not above ambient [K]."""
    if outlet.temperature < ambient + CLOSEST or hot.temperature <= outlet.temperature:
        return math.inf
    above, enthalpy = _on_the_way(fluid, hot, outlet.pressure, ambient, outlet.temperature)
    return float(np.sum(np.diff(enthalpy) / log_mean_difference(above[:-1], above[1:]))) * flow


def _on_the_way(fluid: Fluid, hot: State, pressure: float, ambient: float, coldest: float) -> tuple[np.ndarray, np.ndarray]:
    """Kelvins above ambient, evenly in their logarithm up to the hot state's, and enthalpies there [J/mol].

    Pressure is linear in temperature, as along a recuperator.
    """
    above = np.geomspace(coldest - ambient, hot.temperature - ambient, POINTS)
    ends = Ends(coldest, hot.temperature, pressure, hot.pressure)
    enthalpy = fluid.sweep(ambient + above, ends.pressure(ambient + above)).enthalpy
    return above, np.append(enthalpy[:-1], hot.enthalpy)
