"""Which phases a blend has along isobars: for a first look at a blend before any circuit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mixjt.bounds import finite_or_none
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.fluid.envelope import Envelope
from mixjt.fluid.fluid import Fluid
from mixjt.parts.places import AFTERCOOLER_OUTLET, EVAPORATOR_OUTLET
from mixjt.studies.at_rest import (
    Standstill,
    StandstillRequest,
    standstill_table,
    standstill_warnings,
)
from mixjt.studies.envelopes import (
    SaturationPoints,
    TwoLiquids,
    envelope_of,
    saturation_points,
    two_liquid_region,
)

STEP = 1.0  # K between the temperatures looked at
BELOW_COLD_END = 40.0  # K, that the region of two liquids is looked for below the cold end


@dataclass(frozen=True)
class Isobar:
    """States of one blend along an isobar; arrays of shape (m,), temperatures ascending.

    pressure [Pa], temperatures [K], enthalpy [J/mol], vapour_fraction [mol/mol]; bubble_point and
    dew_point [K] are None where there is no such point.
    """

    pressure: float
    temperatures: np.ndarray
    enthalpy: np.ndarray
    vapour_fraction: np.ndarray
    phase_count: np.ndarray
    liquid_count: np.ndarray
    bubble_point: float | None
    dew_point: float | None

    @property
    def glide(self) -> float | None:
        """Dew point less bubble point [K]."""
        if self.bubble_point is None or self.dew_point is None:
            return None
        return self.dew_point - self.bubble_point

    @property
    def phase_texts(self) -> tuple[str, ...]:
        """For instance "vapour + liquid", one a temperature; empty where the model has no state."""
        return tuple(_phase_text(*counts) for counts in zip(self.phase_count, self.liquid_count, strict=True))

    @property
    def two_liquids(self) -> tuple[tuple[float, float], ...]:
        """Spans of the temperatures looked at with more than one liquid, as (lowest, highest) [K]."""
        return _spans(self.temperatures, self.liquid_count > 1)


@dataclass(frozen=True)
class BlendPhases:
    """All that `phases` tells of a blend.

    low and high are the isobars of suction and discharge; envelope and region are None where not asked for, and
    envelope where there is none; standstill is None where the circuit's volume is not known.
    """

    low: Isobar
    high: Isobar
    points: SaturationPoints
    envelope: Envelope | None
    region: TwoLiquids | None
    standstill: tuple[Standstill, ...] | None
    standstill_request: StandstillRequest | None
    model: str
    warnings: tuple[str, ...]


def blend_phases(
    fluid: Fluid,
    circuit: ThrottleCircuit,
    rest: StandstillRequest | None = None,
    with_envelope: bool = False,
) -> BlendPhases:
    """Phases of a blend.

    Parameters
    ----------
    fluid : Fluid
    circuit : ThrottleCircuit
    rest : StandstillRequest, optional
    with_envelope : bool
        Whether the envelope and the region of two liquids are traced, which takes a while.
    """
    low, high = span_isobars(fluid, circuit)
    pressures = (circuit.suction_pressure, circuit.discharge_pressure)
    standstill = None if rest is None else standstill_table(fluid, rest)
    warnings = [] if rest is None else standstill_warnings(standstill, rest)
    envelope, region = None, None
    if with_envelope:
        envelope, obstacle = envelope_of(fluid, 0.5 * pressures[0])
        warnings += [obstacle] if obstacle else []
        coldest = max(circuit.cold_temperature - BELOW_COLD_END, fluid.model.temperature_span[0])
        region = two_liquid_region(fluid, 0.5 * pressures[0], 4.0 * pressures[1], coldest)
    warnings += fluid.model.notes
    return BlendPhases(
        low=low,
        high=high,
        points=saturation_points(fluid, pressures),
        envelope=envelope,
        region=region,
        standstill=standstill,
        standstill_request=rest,
        model=fluid.model.name,
        warnings=tuple(warnings),
    )


def isobars(fluid: Fluid, pressures, temperatures) -> tuple[Isobar, ...]:
    """Phases of one blend along isobars.

    Parameters
    ----------
    fluid : Fluid
    pressures : sequence of float
        [Pa]
    temperatures : array (m,)
        [K], ascending.
    """
    return tuple(
        _isobar(fluid, float(pressure), np.asarray(temperatures, float)) for pressure in pressures
    )


def span_isobars(fluid: Fluid, circuit: ThrottleCircuit) -> tuple[Isobar, Isobar]:
    """Isobars at suction and discharge pressure from the cold end to the warm end of a circuit."""
    temperatures = _grid(circuit.cold_temperature, circuit.warm_temperature)
    return isobars(fluid, (circuit.suction_pressure, circuit.discharge_pressure), temperatures)


def circuit_isobars(result: CircuitResult) -> tuple[Isobar, Isobar]:
    """Isobars of the evaporator and of the discharge over all temperatures of a solved circuit."""
    places = result.points
    temperatures = [state.temperature for state in places.values()]
    grid = _grid(min(temperatures), max(temperatures))
    pressures = places[EVAPORATOR_OUTLET].pressure, places[AFTERCOOLER_OUTLET].pressure
    return isobars(result.fluid, pressures, grid)


def _grid(low: float, high: float) -> np.ndarray:
    return np.linspace(low, high, 1 + math.ceil((high - low) / STEP))


def _isobar(fluid: Fluid, pressure: float, temperatures: np.ndarray) -> Isobar:
    sweep = fluid.sweep(temperatures, pressure)
    return Isobar(
        pressure=pressure,
        temperatures=temperatures,
        enthalpy=sweep.enthalpy,
        vapour_fraction=sweep.vapour_fraction,
        phase_count=sweep.phase_count,
        liquid_count=sweep.liquid_count,
        bubble_point=finite_or_none(fluid.bubble_temperature(pressure)),
        dew_point=finite_or_none(fluid.dew_temperature(pressure)),
    )


def _phase_text(phases: int, liquids: int) -> str:
    return " + ".join(["vapour"] * int(phases - liquids) + ["liquid"] * int(liquids))


def _spans(temperatures: np.ndarray, inside: np.ndarray) -> tuple[tuple[float, float], ...]:
    """First and last temperature of every unbroken run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], inside, [False])).astype(int)))
    return tuple(
        (float(temperatures[a]), float(temperatures[b - 1]))
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    )
