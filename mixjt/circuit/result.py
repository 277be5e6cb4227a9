"""What a solved throttle circuit consists of. SI units throughout, molar quantities per mole of blend."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from mixjt.fluid.states import State

COMPRESSOR_INLET = "compressor_inlet"
COMPRESSOR_OUTLET = "compressor_outlet"
AFTERCOOLER_OUTLET = "aftercooler_outlet"
THROTTLE_INLET = "throttle_inlet"
THROTTLE_OUTLET = "throttle_outlet"
EVAPORATOR_OUTLET = "evaporator_outlet"
# Of circuits whose recuperator has a warm and a cold section.
PRECOOLER_INLET = "precooler_inlet"
PRECOOLER_OUTLET = "precooler_outlet"
LOW_SIDE_BETWEEN = "low_side_between_sections"
# Of circuits with a phase separator.
SEPARATED_VAPOUR = "separated_vapour"
SEPARATED_LIQUID = "separated_liquid"
VAPOUR_BETWEEN = "vapour_between_sections"
LIQUID_THROTTLE_INLET = "liquid_throttle_inlet"
LIQUID_THROTTLE_OUTLET = "liquid_throttle_outlet"
JUNCTION_INLET = "junction_inlet"
JUNCTION_OUTLET = "junction_outlet"


@dataclass(frozen=True)
class DifferenceCurve:
    """Isothermal enthalpy difference h(T, p_low) - h(T, p_high) over the span; arrays of shape (m,).

    temperatures [K], difference [J/mol]; minimum [J/mol] at minimum_temperature [K].
    """

    temperatures: np.ndarray
    difference: np.ndarray
    minimum: float
    minimum_temperature: float


@dataclass(frozen=True)
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
class CircuitResult:
    """A throttle circuit solved for its greatest cooling.

    points maps the place names of this module to states, in flow order. Powers in W, flows in mol/s
    and kg/s; energy_residual and exergy_residual are relative to the compressor work. A quantity that
    does not exist is None. The freezing fields name the gas that freezes first, the least margin [K] along
    the cold path, and where, by the plausible set of pair parameters that finds least; own_freezing_margin is
    that of the result's model itself (see `mixjt.circuit.freezing`).
    """

    gases: tuple[str, ...]
    composition: np.ndarray
    model: str
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
    warnings: tuple[str, ...] = field(default=())
    freezing_gas: str | None = None
    freezing_margin: float | None = None
    freezing_place: str | None = None
    own_freezing_margin: float | None = None

    @property
    def pressure_ratio(self) -> float:
        """Of the compressor."""
        return self.discharge_pressure / self.suction_pressure

    @property
    def total_power(self) -> float:
        """Electrical power of all compressors of the circuit [W]."""
        return self.compressor_power

    @property
    def recuperator_conductance(self) -> float:
        """UA of the recuperator, all sections together [W/K]."""
        return self.pinch.conductance * self.molar_flow
