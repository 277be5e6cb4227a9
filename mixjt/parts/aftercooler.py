"""An air-cooled aftercooler of stated size: how warm the blend leaves it.

The blend runs back and forth across the face of a finned coil, so that every part of the tube meets fresh air. Air that
crosses a part of conductance dUA with the heat capacity flow dC takes up dC (1 - exp(-dUA/dC)) (T - T_ambient), and so
the blend sees the conductance

    K = C (1 - exp(-UA/C)),    K = UA where the air hardly warms,

to air at ambient temperature. (For a blend of constant heat capacity this is the textbook's effectiveness of one crossing
with one stream unmixed: Kays & London, Compact Heat Exchangers, from memory.) Along the isobar, condensation included,

    integral from T_outlet to T_discharge of dh/(T - T_ambient) = K/n

with n the molar flow. Where only the face of the coil is known, its conductance is taken from the plate-fin condenser of a
textbook's problem: 0.25 m2, 2 m/s, 2025 W from 45 degC to air of 30 degC (Incropera & DeWitt, chapter on heat exchangers,
from memory), which makes 154 W/K or some 600 W/K for a square metre at its velocity. Two rows have more, a blend that does not
condense less.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mixjt.bounds import require_fields
from mixjt.constants import ATMOSPHERE, GAS_CONSTANT
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.keys import key
from mixjt.parts.recuperator.side import Ends, log_mean_difference

FACE_CONDUCTANCE = 600.0  # W/(m2 K)
FACE_VELOCITY = 2.0  # m/s
AIR_MASS, AIR_HEAT = 0.028965, 1006.0  # kg/mol, J/(kg K) near room temperature; common tables, from memory
CLOSEST = 1e-3  # K above ambient; what comes as near counts as an endless aftercooler
POINTS = 96


@dataclass(frozen=True)
class Aftercooler:
    """Its size: conductance [W/K], or the face area of the coil [m2] with the velocity of the air before it [m/s].

    With a face area the air warms as it takes up the heat, else it is taken as plenty. air_pressure [Pa] is that of the room.

    Raises
    ------
    InputError
        Without either, and for numbers that nothing can have.
    """

    conductance: float | None = key(
        "heat_conductance", "conductance UA between blend and air, from which the approach follows", default=None,
        within="(0, 1e5]", otherwise="from the face area, else the approach holds",
    )
    face_area: float | None = key(
        "area", "face of the fan-cooled coil, from which air that warms and, alone, the conductance follow", default=None,
        within="(0, 100]", otherwise="-",
    )
    face_velocity: float | None = key(
        "velocity", "of the air before the coil; with face_area", default=None, within="(0, 20]", otherwise="2 m/s"
    )
    air_pressure: float = ATMOSPHERE

    def __post_init__(self):
        require_fields(self, "aftercooler", ("conductance", "face_area", "face_velocity"), optional=True, above=0.0)
        require_fields(self, "aftercooler", ("air_pressure",), above=0.0)
        if self.conductance is None and self.face_area is None:
            raise InputError("the size of the aftercooler is its conductance or the face_area of its coil")
        if self.face_velocity is not None and self.face_area is None:
            raise InputError("face_velocity tells how much air there is only with face_area")

    def to_ambient(self, ambient: float) -> float:
        """K [W/K] between the blend and air at ambient temperature [K]; see the head of the module."""
        if self.face_area is None:
            return self.conductance
        own = FACE_CONDUCTANCE * self.face_area if self.conductance is None else self.conductance
        density = self.air_pressure * AIR_MASS / (GAS_CONSTANT * ambient)
        air = density * AIR_HEAT * self.face_area * (self.face_velocity or FACE_VELOCITY)
        return -air * math.expm1(-own / air)


def aftercooler_outlet(
    fluid: Fluid, hot: State, pressure: float, flow: float, aftercooler: Aftercooler, ambient: float
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
    aftercooler : Aftercooler
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
