"""What property models hand out, and the interface they share.

All quantities are molar and SI: K, Pa, J/mol, J/(mol K), m3/mol. Enthalpy is zero for each gas as an
ideal gas at 298.15 K, entropy at 298.15 K and 101325 Pa.
"""

from __future__ import annotations

import contextlib
import math
from copy import copy
from dataclasses import dataclass

import numpy as np

from mixjt.errors import ConvergenceError, InputError, UnreachableError

VAPOUR = "vapour"
LIQUID = "liquid"


@dataclass(frozen=True, eq=False)
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


@dataclass(frozen=True, eq=False)
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
    def liquid_volume(self) -> float:
        """Of all liquids in one mole [m3]."""
        return float(sum(phase.fraction * phase.molar_volume for phase in self.liquids))

    @property
    def phase_text(self) -> str:
        """For instance "vapour", "vapour + liquid" or "liquid + liquid"."""
        return " + ".join(phase.kind for phase in self.phases)


def phase_log_fugacities(phase: Phase, pressure: float) -> np.ndarray:
    """ln(f/Pa) (c,) of the gases of a phase at a pressure [Pa]; minus infinity of an absent one."""
    with np.errstate(divide="ignore"):
        logs = np.log(phase.composition)
    return logs + np.where(phase.composition > 0.0, phase.log_fugacity_coefficients, 0.0) + math.log(pressure)


@dataclass(frozen=True, eq=False)
class Sweep:
    """Many blends along one list of temperatures: every array has shape (n, m).

    liquid_volume [m3] is that of all liquids in one mole, liquid_amounts (n, m, c) [mol] are the gases in them. liquid_count and phase_count are integers; gibbs is G/(RT) relative to the ideal gas at the same
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
    liquid_volume: np.ndarray
    liquid_amounts: np.ndarray
    enthalpy_slopes: np.ndarray | None = None
    entropy_slopes: np.ndarray | None = None
    volume_slopes: np.ndarray | None = None
    liquid_slopes: np.ndarray | None = None
    log_fugacities: np.ndarray | None = None


@dataclass(frozen=True)
class FluidFacts:
    """What bounds the use of a pure fluid: triple and critical point [K, Pa], molar mass [kg/mol], class."""

    name: str
    triple_temperature: float
    critical_temperature: float
    critical_pressure: float
    molar_mass: float
    safety_class: str | None
    flammable: bool


class PropertyModel:
    """What may be asked of a property model; a model is bound to a tuple of gases.

    z is the overall mole fraction, shape (c,) for a single state and (n, c) for a sweep. Methods with a body here hold
    for a model that says nothing else.
    """

    name: str
    gases: tuple[str, ...]
    molar_masses: np.ndarray  # kg/mol, shape (c,)
    temperature_span: tuple[float, float]  # K, where the model has states
    notes: tuple[str, ...] = ()  # what weakens the model for its gases
    facts: FluidFacts | None = None  # of a pure fluid on its reference equation
    threads: int = 1  # that may be asked for states of it at once

    def sweep(self, z, pressures, temperatures, strict: bool = True, gradients: bool = False) -> Sweep:
        """States of n blends at m temperatures, (m,) or (n, m); pressures broadcast to (n, m).

        A state that can't be solved raises ConvergenceError, or is NaN where strict is False. Point by point here,
        without gradients, which are refused with InputError.
        """
        if gradients:
            raise InputError(f"the model {self.name} has no slopes with the amounts; take the multi-fluid model")
        z, temperatures = np.atleast_2d(z), np.asarray(temperatures, dtype=float)
        shape = (len(z), temperatures.shape[-1])
        places = np.broadcast_to(temperatures, shape), np.broadcast_to(pressures, shape)
        names = ("enthalpy", "entropy", "molar_volume", "vapour_fraction", "liquid_volume")
        found, in_liquid = np.full((*shape, len(names)), np.nan), np.full((*shape, z.shape[1]), np.nan)
        phases, liquids = np.zeros(shape, dtype=int), np.zeros(shape, dtype=int)
        for at in np.ndindex(shape):
            try:
                *found[at], phases[at], liquids[at], in_liquid[at] = self._read(z[at[0]], *(float(place[at]) for place in places))
            except (ConvergenceError, UnreachableError):
                if strict:
                    raise
        counts = {"phase_count": phases, "liquid_count": liquids, "liquid_amounts": in_liquid}
        return Sweep(**dict(zip(names, np.moveaxis(found, -1, 0), strict=True)), **counts, gibbs=np.full(shape, np.nan))

    def _read(self, z, temperature: float, pressure: float) -> tuple:
        """What a sweep tells of one state: five numbers, how many phases and liquids, and the gases in the liquids (c,)."""
        state = self.state_tp(z, temperature, pressure)
        in_liquid = sum((one.fraction * one.composition for one in state.liquids), np.zeros(len(z)))
        numbers = state.enthalpy, state.entropy, state.molar_volume, state.vapour_fraction, state.liquid_volume
        return *numbers, len(state.phases), len(state.liquids), in_liquid

    def state_tp(self, z, temperature: float, pressure: float) -> State:
        """State at temperature [K] and pressure [Pa]."""
        raise NotImplementedError

    def state_hp(self, z, enthalpy: float, pressure: float) -> State:
        """State at enthalpy [J/mol] and pressure [Pa]."""
        raise NotImplementedError

    def state_sp(self, z, entropy: float, pressure: float) -> State:
        """State at entropy [J/(mol K)] and pressure [Pa]."""
        raise NotImplementedError

    def bubble_temperature(self, z, pressure: float) -> float:
        """Temperature [K] of the first vapour on heating; NaN where there is none."""
        raise NotImplementedError

    def dew_temperature(self, z, pressure: float) -> float:
        """Temperature [K] of the first liquid on cooling; NaN where there is none."""
        raise NotImplementedError

    def bubble_pressure(self, z, temperature: float) -> float:
        """Pressure [Pa] of the first vapour on expanding; NaN where there is none."""
        raise NotImplementedError

    def dew_pressure(self, z, temperature: float) -> float:
        """Pressure [Pa] of the first liquid on compressing; NaN where there is none."""
        raise NotImplementedError

    def log_fugacities(self, z, temperatures, pressures) -> np.ndarray:
        """ln(f/Pa) (n, c) of blends z (n, c) at temperatures [K] and pressures [Pa] (n,).

        NaN where a state could not be solved, minus infinity for an absent gas.
        """
        found = np.full(np.shape(z), np.nan)
        for row, (x, temperature, pressure) in enumerate(zip(z, temperatures, pressures, strict=True)):
            with contextlib.suppress(ConvergenceError):
                densest = self.state_tp(x, float(temperature), float(pressure)).phases[-1]
                found[row] = phase_log_fugacities(densest, float(pressure))
        return found

    def transport(self, state: State) -> tuple[float, float] | None:
        """Viscosity [Pa s] and conductivity [W/(m K)] of a single-phase state; None without equations of its own."""
        return None

    def on_threads(self, threads: int) -> PropertyModel:
        """The model for so many threads."""
        other = copy(self)
        other.threads = threads
        return other

    def careful(self) -> PropertyModel:
        """The model with phases looked for at every point: a narrow region must not hide between two tests."""
        return self

    def warnings(self, z, lowest_temperature: float) -> tuple[str, ...]:
        """What to say beside results for a blend z (c,) taken down to lowest_temperature [K]."""
        return self.notes
