"""What a solved throttle circuit consists of. SI units throughout, molar quantities per mole of blend."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.parts.recuperator.tube_rating import CutRating, Rating

if TYPE_CHECKING:
    from mixjt.circuit.machine import ThrottleCircuit


@dataclass(frozen=True, eq=False)
class DifferenceCurve:
    """Isothermal enthalpy difference h(T, p_low) - h(T, p_high) over the span; arrays of shape (m,).

    temperatures [K], difference [J/mol]; minimum [J/mol] at minimum_temperature [K].
    """

    temperatures: np.ndarray
    difference: np.ndarray
    minimum: float
    minimum_temperature: float


@dataclass(frozen=True, eq=False)
class PinchCurve:
    """Both streams of the recuperator against heat transferred from the cold end; arrays of shape (m,).

    heat [J/mol], high_temperature and low_temperature [K], smallest_approach [K] where the high side
    has pinch_temperature [K]; conductance is UA per molar flow [J/(mol K)].
    """

    heat: np.ndarray
    high_temperature: np.ndarray
    low_temperature: np.ndarray
    smallest_approach: float
    pinch_temperature: float
    conductance: float


@dataclass(frozen=True)
class BalanceItem:
    """Exergy destroyed in, or carried out by, one component, per mole of blend [J/mol]."""

    component: str
    exergy: float


@dataclass(frozen=True)
class FreezingPoint:
    """The point of one leg that is nearest to a solid, or deepest in it.

    place is a state point, or the leg where the point lies between two; temperature [K] and pressure [Pa];
    gas, margin [K] and freezing_temperature [K] are None where nothing freezes down to searched_to [K].
    problem says what could not be solved.
    """

    place: str
    temperature: float
    pressure: float
    gas: str | None
    margin: float | None
    freezing_temperature: float | None
    searched_to: float
    problem: str | None = None


@dataclass(frozen=True)
class FreezingReport:
    """Freezing along the cold path: one point for each leg, and the worst of them.

    gas, margin [K] and place are None where nothing freezes within the model's span, or where a leg that
    may be worse could not be solved; warnings says so. They are those of the set of pair parameters that finds least
    margin; own_margin [K] is that of the circuit's model, None likewise.
    """

    points: tuple[FreezingPoint, ...]
    gas: str | None
    margin: float | None
    place: str | None
    warnings: tuple[str, ...]
    own_margin: float | None = None


NOT_LOOKED_FOR = FreezingReport((), None, None, None, ())


@dataclass(frozen=True)
class CircuitResult:
    """A throttle circuit solved for its greatest cooling.

    points maps the names of `mixjt.parts.places` to states, in flow order. Powers in W, flows in mol/s
    and kg/s; energy_residual and exergy_residual are relative to the compressor work. A quantity that
    does not exist is None.
    """

    fluid: Fluid  # the blend that the compressor moves
    cold_temperature: float
    warm_temperature: float
    ambient_temperature: float
    suction_pressure: float
    discharge_pressure: float
    cooling_capacity: float  # J/mol, at the stated approach
    cooling_power: float  # W
    compressor_work: float  # J/mol, into the gas
    compressor_power: float  # W, electrical
    supply_current: float | None  # A
    cop: float
    carnot_fraction: float
    molar_flow: float
    mass_flow: float
    volumetric_efficiency: float
    discharge_temperature: float  # of the line
    valve_temperature: float  # of the gas at the discharge valve, before the shell has its loss
    shell_temperature: float  # of the compressor
    cylinder_inlet_temperature: float  # of the suction gas, as the shell has warmed it
    leakage: float  # inside the compressor, over what it moves
    suction_superheat: float | None  # K
    dew_point_low: float | None  # K, at suction pressure
    bubble_point_low: float | None
    dew_point_high: float | None  # K, at discharge pressure
    bubble_point_high: float | None
    points: dict[str, State]
    pinch: PinchCurve
    difference: DifferenceCurve
    aftercooler_heat: float  # J/mol, rejected
    shell_heat: float  # J/mol, lost from the compressor shell
    exergy: tuple[BalanceItem, ...]
    energy_residual: float
    exergy_residual: float
    freezing: FreezingReport = NOT_LOOKED_FOR
    warnings: tuple[str, ...] = ()
    aftercooler_conductance: float | None = None  # W/K to air at ambient; None where the outlet is not above it
    insulation_conductance: float | None = None  # W/K; None, like the leak, where no insulation is stated
    heat_leak: float | None = None  # W, into recuperator and cold end
    cold_end_leak: float | None = None  # W, of it into the evaporator
    circuit: ThrottleCircuit | None = None  # as solved: with the approach and the pressure drops found
    rating: Rating | CutRating | None = None  # of the recuperator, where its tubes are known

    @property
    def gases(self) -> tuple[str, ...]:
        """Of the property model, absent ones too."""
        return self.fluid.gases

    @property
    def composition(self) -> np.ndarray:
        """Mole fractions (c,)."""
        return self.fluid.z

    @property
    def model(self) -> str:
        """Name of the property model."""
        return self.fluid.model.name

    @property
    def freezing_gas(self) -> str | None:
        """The gas that freezes first along the cold path."""
        return self.freezing.gas

    @property
    def freezing_margin(self) -> float | None:
        """The least margin [K], by the plausible set of pair parameters that finds least."""
        return self.freezing.margin

    @property
    def freezing_place(self) -> str | None:
        """Where that is."""
        return self.freezing.place

    @property
    def own_freezing_margin(self) -> float | None:
        """The least margin [K] by the result's model itself."""
        return self.freezing.own_margin

    @property
    def aftercooler_approach(self) -> float:
        """Outlet of the aftercooler above ambient [K]."""
        return self.warm_temperature - self.ambient_temperature

    @property
    def pressure_ratio(self) -> float:
        """Of the compressor."""
        return self.discharge_pressure / self.suction_pressure

    @property
    def electrical_power(self) -> float:
        """Of the compressor [W], under the name of its limit."""
        return self.compressor_power

    @property
    def total_power(self) -> float:
        """Electrical power of all compressors of the circuit [W]."""
        return self.compressor_power

    @property
    def recuperator_duty(self) -> float:
        """Heat that the high side gives in the recuperator, all sections together [W]."""
        return float(self.pinch.heat[-1]) * self.molar_flow

    @property
    def recuperator_conductance(self) -> float:
        """UA of the recuperator, all sections together [W/K]."""
        return self.pinch.conductance * self.molar_flow
