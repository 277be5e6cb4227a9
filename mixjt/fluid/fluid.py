"""A blend as one thing: a property model with a composition."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.blend import refuse_oxygen_with_fuel
from mixjt.errors import InputError
from mixjt.fluid.states import PropertyModel, State, Sweep


@dataclass(frozen=True, eq=False)
class Fluid:
    """What flows through a part of the machine: a property model and its mole fractions z, shape (c,).

    Errors are those of the model's methods.
    """

    model: PropertyModel
    z: np.ndarray

    def __post_init__(self):
        own = np.array(self.z, dtype=float)
        own.setflags(write=False)
        object.__setattr__(self, "z", own)

    @property
    def gases(self) -> tuple[str, ...]:
        """Of the model, absent ones too."""
        return self.model.gases

    @property
    def molar_mass(self) -> float:
        """[kg/mol]"""
        return float(self.z @ self.model.molar_masses)

    def fraction(self, gas: str) -> float:
        """Mole fraction of a gas, 0 of one the model does not know."""
        return float(self.z[self.gases.index(gas)]) if gas in self.gases else 0.0

    def of(self, z) -> Fluid:
        """The same gases in another composition."""
        return Fluid(self.model, z)

    def tp(self, temperature: float, pressure: float) -> State:
        """State at temperature [K] and pressure [Pa]."""
        return self.model.state_tp(self.z, temperature, pressure)

    def hp(self, enthalpy: float, pressure: float) -> State:
        """State at enthalpy [J/mol] and pressure [Pa]."""
        return self.model.state_hp(self.z, enthalpy, pressure)

    def sp(self, entropy: float, pressure: float) -> State:
        """State at entropy [J/(mol K)] and pressure [Pa]."""
        return self.model.state_sp(self.z, entropy, pressure)

    def sweep(self, temperatures, pressures, strict: bool = True) -> Sweep:
        """States at temperatures [K] (m,), pressures [Pa] a number or (m,); every array of shape (m,)."""
        swept = self.model.sweep(self.z[None, :], pressures, np.asarray(temperatures, dtype=float), strict)
        return type(swept)(**{name: None if array is None else array[0] for name, array in vars(swept).items()})

    def bubble_temperature(self, pressure: float) -> float:
        """[K] at a pressure [Pa]; NaN where there is none."""
        return self.model.bubble_temperature(self.z, pressure)

    def dew_temperature(self, pressure: float) -> float:
        """[K] at a pressure [Pa]; NaN where there is none."""
        return self.model.dew_temperature(self.z, pressure)

    def bubble_pressure(self, temperature: float) -> float:
        """[Pa] at a temperature [K]; NaN where there is none."""
        return self.model.bubble_pressure(self.z, temperature)

    def dew_pressure(self, temperature: float) -> float:
        """[Pa] at a temperature [K]; NaN where there is none."""
        return self.model.dew_pressure(self.z, temperature)

    def careful(self) -> Fluid:
        """The same with phases looked for at every point of a sweep; see `PropertyModel.careful`."""
        return Fluid(self.model.careful(), self.z)


def checked_fluid(fluid: Fluid) -> Fluid:
    """The fluid with mole fractions that add up to exactly 1.

    Raises
    ------
    InputError
        For mole fractions that are not a blend of the model's gases, and for oxygen with a gas that burns.
    """
    z, count = fluid.z, len(fluid.gases)
    if z.shape != (count,):
        raise InputError(f"the blend needs {count} mole fractions, one for each gas, got shape {z.shape}")
    if not np.all(np.isfinite(z)) or np.any(z < 0.0) or abs(z.sum() - 1.0) > 1e-6:
        raise InputError(f"mole fractions must be at least 0 and add up to 1; they add up to {z.sum():.8g}")
    refuse_oxygen_with_fuel(name for name, x in zip(fluid.gases, z, strict=True) if x > 0.0)
    return fluid.of(z / z.sum())
