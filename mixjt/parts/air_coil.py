"""An air-cooled coil of stated size: the aftercooler of a blend, the condenser of a stage.

The fluid runs back and forth across the face of a finned coil, so that every part of the tube meets fresh air. Air that
crosses a part of conductance dUA with the heat capacity flow dC takes up dC (1 - exp(-dUA/dC)) (T - T_ambient), and so
the fluid sees the conductance

    K = C (1 - exp(-UA/C)),    K = UA where the air hardly warms,

to air at ambient temperature. (For a fluid of constant heat capacity this is the textbook's effectiveness of one crossing
with one stream unmixed: Kays & London, Compact Heat Exchangers, from memory.) Where only the face of the coil is known, its
conductance is taken from the plate-fin condenser of a textbook's problem: 0.25 m2, 2 m/s, 2025 W from 45 degC to air of
30 degC (Incropera & DeWitt, chapter on heat exchangers, from memory), which makes 154 W/K or some 600 W/K for a square metre
at its velocity. Two rows have more, a blend that does not condense less.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from mixjt.bounds import require_fields
from mixjt.constants import ATMOSPHERE, GAS_CONSTANT
from mixjt.errors import InputError
from mixjt.keys import key

FACE_CONDUCTANCE = 600.0  # W/(m2 K)
FACE_VELOCITY = 2.0  # m/s
AIR_MASS, AIR_HEAT = 0.028965, 1006.0  # kg/mol, J/(kg K) near room temperature; common tables, from memory
CLOSEST = 1e-3  # K above ambient; what comes as near counts as an endless coil


@dataclass(frozen=True)
class AirCoil:
    """Its size: conductance [W/K], or the face area of the coil [m2] with the velocity of the air before it [m/s].

    With a face area the air warms as it takes up the heat, else it is taken as plenty. air_pressure [Pa] is that of the room.

    Raises
    ------
    InputError
        Without either, and for numbers that nothing can have.
    """

    conductance: float | None = key(
        "heat_conductance", "conductance UA to the air, from which the approach follows", default=None,
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
        require_fields(self, "air-cooled coil", ("conductance", "face_area", "face_velocity"), optional=True, above=0.0)
        require_fields(self, "air-cooled coil", ("air_pressure",), above=0.0)
        if self.conductance is None and self.face_area is None:
            raise InputError("the size of an air-cooled coil is its conductance or its face area; a velocity of the air goes with an area")
        if self.face_velocity is not None and self.face_area is None:
            raise InputError("face_velocity tells how much air there is only with face_area")

    def to_ambient(self, ambient: float) -> float:
        """K [W/K] between the fluid and air at ambient temperature [K]; see the head of the module."""
        if self.face_area is None:
            return self.conductance
        own = FACE_CONDUCTANCE * self.face_area if self.conductance is None else self.conductance
        density = self.air_pressure * AIR_MASS / (GAS_CONSTANT * ambient)
        air = density * AIR_HEAT * self.face_area * (self.face_velocity or FACE_VELOCITY)
        return -air * math.expm1(-own / air)
