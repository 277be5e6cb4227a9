"""What property models hand out, and the interface they share.

All quantities are molar and SI: K, Pa, J/mol, J/(mol K), m3/mol. Enthalpy is zero for each gas as an
ideal gas at 298.15 K, entropy at 298.15 K and 101325 Pa.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

VAPOUR = "vapour"
LIQUID = "liquid"


@dataclass(frozen=True)
class Phase:
    """One phase of an equilibrium state.

    kind is "vapour" or "liquid"; fraction is moles of this phase per mole of blend; composition and
    log_fugacity_coefficients have shape (c,).
    """

    kind: str
    fraction: float
    composition: np.ndarray
    enthalpy: float
    entropy: float
    molar_volume: float
    log_fugacity_coefficients: np.ndarray


@dataclass(frozen=True)
class State:
    """An equilibrium state of one blend; phases are ordered from the lightest to the densest."""

    temperature: float
    pressure: float
    composition: np.ndarray
    enthalpy: float
    entropy: float
    molar_volume: float
    phases: tuple[Phase, ...]

    @property
    def vapour_fraction(self) -> float:
        """Moles of vapour per mole of blend; 0.0 where there is no vapour."""
        return float(sum(phase.fraction for phase in self.phases if phase.kind == VAPOUR))

    @property
    def liquids(self) -> tuple[Phase, ...]:
        """The liquid phases, lightest first."""
        return tuple(phase for phase in self.phases if phase.kind == LIQUID)

    @property
    def phase_text(self) -> str:
        """For instance "vapour", "vapour + liquid" or "liquid + liquid"."""
        return " + ".join(phase.kind for phase in self.phases)


@dataclass(frozen=True)
class Sweep:
    """Many blends along one list of temperatures: every array has shape (n, m).

    liquid_count and phase_count are integers; gibbs is G/(RT) relative to the ideal gas at the same
    temperature, pressure and composition, which ranks solutions of the same state.

    The slopes, (n, m, c) where asked for, are derivatives of enthalpy [J], entropy [J/K], volume [m3] and amount of
    all liquids [mol] of one mole with respect to the amounts [mol] of the gases, T and p kept; 0 for an absent gas.
    They hold as long as no phase comes or goes. log_fugacities are ln(f/Pa) of the gases, minus infinity of an absent
    one.
    """

    enthalpy: np.ndarray
    entropy: np.ndarray
    molar_volume: np.ndarray
    vapour_fraction: np.ndarray
    phase_count: np.ndarray
    liquid_count: np.ndarray
    gibbs: np.ndarray
    enthalpy_slopes: np.ndarray | None = None
    entropy_slopes: np.ndarray | None = None
    volume_slopes: np.ndarray | None = None
    liquid_slopes: np.ndarray | None = None
    log_fugacities: np.ndarray | None = None


class PropertyModel(Protocol):
    """What cycles and studies may ask of a property model; a model is bound to a tuple of gases.

    z is the overall mole fraction, shape (c,) for a single state and (n, c) for a sweep.
    """

    name: str
    gases: tuple[str, ...]
    molar_masses: np.ndarray  # kg/mol, shape (c,)

    def sweep(self, z: np.ndarray, pressures, temperatures: np.ndarray, strict: bool = True) -> Sweep:
        """States of n blends at m temperatures; pressures broadcast to (n, m).

        A state that can't be solved raises ConvergenceError, or is NaN where strict is False.
        """

    def state_tp(self, z: np.ndarray, temperature: float, pressure: float) -> State:
        """State at temperature and pressure."""

    def state_hp(self, z: np.ndarray, enthalpy: float, pressure: float) -> State:
        """State at enthalpy and pressure."""

    def state_sp(self, z: np.ndarray, entropy: float, pressure: float) -> State:
        """State at entropy and pressure."""

    def bubble_temperature(self, z: np.ndarray, pressure: float) -> float:
        """Temperature of the first vapour on heating; NaN where there is none."""

    def dew_temperature(self, z: np.ndarray, pressure: float) -> float:
        """Temperature of the first liquid on cooling; NaN where there is none."""

    def bubble_pressure(self, z: np.ndarray, temperature: float) -> float:
        """Pressure of the first vapour on expanding; NaN where there is none."""

    def dew_pressure(self, z: np.ndarray, temperature: float) -> float:
        """Pressure of the first liquid on compressing; NaN where there is none."""


@dataclass(frozen=True)
class SaturationBoundary:
    """Bubble and dew curves of one blend over a list of pressures; every array has shape (m,).

    pressures [Pa], temperatures [K], enthalpies [J/mol]; NaN where there is no such point.
    """

    pressures: np.ndarray
    bubble_temperatures: np.ndarray
    bubble_enthalpies: np.ndarray
    dew_temperatures: np.ndarray
    dew_enthalpies: np.ndarray
