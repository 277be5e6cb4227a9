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

POINTS, NEAR_POINTS = 128, 16
ZOOMS, DIVIDED = 3, 16  # grids, and cells that one is divided into by the next


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
    wanted, left = aftercooler.to_ambient(ambient) / flow, 0.0
    ends = Ends(ambient + CLOSEST, hot.temperature, pressure, hot.pressure)
    above = _spread(CLOSEST, hot.temperature - ambient)
    for _ in range(ZOOMS):  # the cell where it ends is divided further: a dew point may lie in it
        heat = np.diff(_enthalpies(fluid, hot, ends, ambient, above))
        size = np.cumsum((heat / log_mean_difference(above[:-1], above[1:]))[::-1])[::-1] + left  # from the hot end to each point
        if wanted >= size[0]:
            return ambient + CLOSEST
        at = int(np.flatnonzero(size > wanted)[-1])
        left = size[at + 1] if at + 1 < len(size) else left
        capacity, cell = heat[at] / (above[at + 1] - above[at]), above[at : at + 2]
        above = np.linspace(*cell, DIVIDED + 1)
    return ambient + float(cell[1] * math.exp(-(wanted - left) / capacity))


def conductance_to_ambient(fluid: Fluid, hot: State, outlet: State, flow: float, ambient: float) -> float:
    """K [W/K] that brings the blend from one state to another; infinite where the outlet is not above ambient [K]."""
    if outlet.temperature < ambient + CLOSEST or hot.temperature <= outlet.temperature:
        return math.inf
    above = _spread(outlet.temperature - ambient, hot.temperature - ambient)
    ends = Ends(outlet.temperature, hot.temperature, outlet.pressure, hot.pressure)
    heat = np.diff(_enthalpies(fluid, hot, ends, ambient, above))
    return float(np.sum(heat / log_mean_difference(above[:-1], above[1:]))) * flow


def _spread(coldest: float, hottest: float) -> np.ndarray:
    """Kelvins above ambient: evenly in their logarithm up to 1 K, then evenly."""
    if coldest >= 1.0 or hottest <= 1.0:
        return np.linspace(coldest, hottest, POINTS)
    return np.concatenate([np.geomspace(coldest, 1.0, NEAR_POINTS)[:-1], np.linspace(1.0, hottest, POINTS)])


def _enthalpies(fluid: Fluid, hot: State, ends: Ends, ambient: float, above: np.ndarray) -> np.ndarray:
    """[J/mol] at kelvins above ambient, that of the hot state at its own. Pressure is linear in temperature, as along a recuperator."""
    enthalpy = fluid.sweep(ambient + above, ends.pressure(ambient + above)).enthalpy
    return np.append(enthalpy[:-1], hot.enthalpy) if ambient + above[-1] >= hot.temperature else enthalpy
