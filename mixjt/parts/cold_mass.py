"""Metal that a cooler must cool: specific heats of copper, stainless steel and aluminium over temperature.

Source: the polynomials log10 c = sum a_k (log10 T)**k, 4 to 300 K, of the cryogenic material properties page of
the US National Institute of Standards and Technology, trc.nist.gov/cryogenics (coefficients from memory; the
tests compare them with Debye's model and with room-temperature values of a handbook).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.bounds import require_fields
from mixjt.errors import InputError
from mixjt.keys import key

COEFFICIENTS = {
    "copper": (-1.91844, -0.15973, 8.61013, -18.996, 21.9661, -12.7328, 3.54322, -0.3797),
    "stainless steel": (22.0061, -127.5528, 303.647, -381.0098, 274.0328, -112.9212, 24.7593, -2.239153),
    "aluminium": (46.6467, -314.292, 866.662, -1298.3, 1162.27, -637.795, 210.351, -38.3094, 2.96344),
}
WARMEST = 300.0  # K, above which the value at 300 K is kept: it changes by less than 2 % up to 330 K
COLDEST = 20.0  # K


def specific_heat(metal: str, temperature):
    """Specific heat [J/(kg K)] of a metal at temperatures [K], any shape.

    Raises
    ------
    InputError
        For an unknown metal or a temperature below 20 K.
    """
    if metal not in COEFFICIENTS:
        raise InputError(f"the specific heat of '{metal}' is not known; choose {', '.join(COEFFICIENTS)}")
    temperature = np.asarray(temperature, dtype=float)
    if not np.all(temperature >= COLDEST):
        raise InputError(f"specific heats hold from {COLDEST:g} K on, got {np.min(temperature):g} K")
    logs = np.log10(np.minimum(temperature, WARMEST))
    return 10.0 ** np.polynomial.polynomial.polyval(logs, COEFFICIENTS[metal])


@dataclass(frozen=True)
class ColdMass:
    """Masses [kg] at the cold end, and of the recuperator's copper, all of it, which has a temperature of its own."""

    copper: float = key("mass", "copper at the cold end", default=0.0, within="[0, 1e4]")
    stainless_steel: float = key("mass", "stainless steel at the cold end", default=0.0, within="[0, 1e4]")
    aluminium: float = key("mass", "aluminium at the cold end", default=0.0, within="[0, 1e4]")
    recuperator_copper: float = key("mass", "copper of the recuperator, all of it", default=0.0, within="[0, 1e4]")

    def __post_init__(self):
        require_fields(self, "cold mass", self.__dataclass_fields__, least=0.0)
        if self.copper + self.stainless_steel + self.aluminium + self.recuperator_copper <= 0.0:
            raise InputError("nothing is to be cooled: state copper, stainless_steel, aluminium or recuperator_copper")

    def end_capacity(self, temperature):
        """Heat capacity of the cold end [J/K] at temperatures [K], any shape."""
        return (
            self.copper * specific_heat("copper", temperature)
            + self.stainless_steel * specific_heat("stainless steel", temperature)
            + self.aluminium * specific_heat("aluminium", temperature)
        )

    def recuperator_capacity(self, temperature):
        """Heat capacity of the recuperator's copper [J/K] at its mean temperatures [K], any shape."""
        return self.recuperator_copper * specific_heat("copper", temperature)
