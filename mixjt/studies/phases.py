"""Which phases a blend has along isobars: for a first look at a blend before any circuit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mixjt.cycles.circuit import ThrottleCircuit
from mixjt.properties.records import PropertyModel

STEP = 1.0  # K between the temperatures looked at


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


def isobars(model: PropertyModel, z, pressures, temperatures) -> tuple[Isobar, ...]:
    """Phases of one blend along isobars.

    Parameters
    ----------
    model : PropertyModel
    z : array (c,)
        Mole fractions.
    pressures : sequence of float
        [Pa]
    temperatures : array (m,)
        [K], ascending.
    """
    z = np.asarray(z, dtype=float)
    return tuple(
        _isobar(model, z, float(pressure), np.asarray(temperatures, float)) for pressure in pressures
    )


def span_isobars(model: PropertyModel, z, circuit: ThrottleCircuit) -> tuple[Isobar, Isobar]:
    """Isobars at suction and discharge pressure from the cold end to the warm end of a circuit."""
    low, high = circuit.cold_temperature, circuit.warm_temperature
    temperatures = np.linspace(low, high, 1 + math.ceil((high - low) / STEP))
    return isobars(model, z, (circuit.suction_pressure, circuit.discharge_pressure), temperatures)


def _isobar(model: PropertyModel, z: np.ndarray, pressure: float, temperatures: np.ndarray) -> Isobar:
    sweep = model.sweep(z[None, :], pressure, temperatures)
    return Isobar(
        pressure=pressure,
        temperatures=temperatures,
        enthalpy=sweep.enthalpy[0],
        vapour_fraction=sweep.vapour_fraction[0],
        phase_count=sweep.phase_count[0],
        liquid_count=sweep.liquid_count[0],
        bubble_point=_or_none(model.bubble_temperature(z, pressure)),
        dew_point=_or_none(model.dew_temperature(z, pressure)),
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


def _or_none(temperature: float) -> float | None:
    return float(temperature) if math.isfinite(temperature) else None
