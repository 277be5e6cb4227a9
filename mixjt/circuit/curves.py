"""Curves along a recuperator: isothermal enthalpy difference, and both streams against heat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.circuit.pinch import least_difference
from mixjt.circuit.result import DifferenceCurve, PinchCurve
from mixjt.fluid.fluid import Fluid
from mixjt.parts.insulation import NO_LEAK, Leak
from mixjt.parts.recuperator.side import (
    ZERO_DIFFERENCE,
    Ends,
    Side,
    Stream,
    conductance_per_flow,
    temperature_from_enthalpy,
)

SEGMENT_ERROR = 1e-4  # of the conductance, in one segment of the recuperator
MOST_DIVISIONS, PARTS = 5, 4


def difference_curve(
    fluid: Fluid,
    suction_pressure: float,
    discharge_pressure: float,
    span: tuple[float, float],
    points: int = 64,
) -> DifferenceCurve:
    """Isothermal enthalpy difference of a blend over span [K], its minimum among the points."""
    high, low = (
        Side((Stream(fluid, ends=Ends(*span, pressure, pressure)),)) for pressure in (discharge_pressure, suction_pressure)
    )
    least = least_difference(high, low, 0.0, span, points)
    temperatures = np.union1d(np.linspace(span[0], span[1], points), [least.temperature])
    kept = np.searchsorted(least.temperatures, temperatures)
    return DifferenceCurve(temperatures, least.difference[kept], least.minimum, least.temperature)


@dataclass(frozen=True)
class SectionEnd:
    """Temperature [K] and enthalpy [J/mol of blend] of all streams of a side at one end of it."""

    temperature: float
    enthalpy: float


def pinch_curve(
    high: Side,
    low: Side,
    high_ends: tuple[SectionEnd, SectionEnd],
    low_ends: tuple[SectionEnd, SectionEnd],
    pinch_temperature: float,
    points: int = 64,
    leak: Leak = NO_LEAK,
    rough: bool = False,
) -> PinchCurve:
    """Both streams of a recuperator against the heat that the high side gives off from its cold end on.

    Sections are taken evenly in the temperature of either side and evenly in heat, at the pinch, and
    more closely where the approach bends; the temperatures follow from the energy balance.

    Parameters
    ----------
    high, low : Side
    high_ends, low_ends : (SectionEnd, SectionEnd)
        Cold and warm end of each side.
    pinch_temperature : float
        High-side temperature [K] of a section that must be among the points.
    leak : Leak, optional
        Into the low side.
    rough : bool
        Whether to leave it at that where the approach bends.
    """
    warm = np.linspace(high_ends[0].temperature, high_ends[1].temperature, points)
    high_table = _table(high, high_ends, np.append(warm, pinch_temperature))
    cold = np.linspace(low_ends[0].temperature, low_ends[1].temperature, points)
    low_table = _table(low, low_ends, cold)

    def leaked(high_temperature) -> np.ndarray:
        """Into the low side, from the cold end on [J/mol of blend]."""
        return leak.before(high_temperature) - leak.before(high_ends[0].temperature)

    def sections(heat) -> np.ndarray:
        """Heat, high-side and low-side temperature, shape (3, k)."""
        high_temperature = temperature_from_enthalpy(high, high_table[1][0] + heat, *high_table)
        reached = np.clip(low_table[1][0] + heat + leaked(high_temperature), *low_table[1][[0, -1]])
        low_temperature = temperature_from_enthalpy(low, reached, *low_table)
        return np.array([heat, high_temperature, low_temperature])

    found = sections(_first_heats(high_table[1], low_table[1], points))
    for _ in range(0 if rough else MOST_DIVISIONS):
        further = _heats_to_insert(found[0], found[1] - found[2])
        if further.size == 0:
            break
        found = np.concatenate([found, sections(further)], axis=1)
        found = found[:, np.argsort(found[0])]
    approach = found[1] - found[2]
    at = int(np.argmin(approach))
    return PinchCurve(
        *found,
        smallest_approach=float(approach[at]),
        pinch_temperature=float(found[1, at]),
        conductance=conductance_per_flow(*found),
    )


def _first_heats(high_enthalpy: np.ndarray, low_enthalpy: np.ndarray, points: int) -> np.ndarray:
    """Heats of both sides' known points and of `points` sections between the ends, without doubles."""
    total = high_enthalpy[-1] - high_enthalpy[0]
    even = np.linspace(0.0, total, points)
    heat = np.concatenate([high_enthalpy - high_enthalpy[0], low_enthalpy - low_enthalpy[0], even])
    heat = np.unique(np.clip(heat, 0.0, total))
    return heat[np.concatenate([[True], np.diff(heat) > 1e-9 * total])]  # equal but for rounding


def _heats_to_insert(heat: np.ndarray, approach: np.ndarray) -> np.ndarray:
    """Heats that divide the segments where the approach bends too much for its log-mean, as beside a kink.

    A bend is how far a point lies off the line between its neighbours; by way of d(1/approach) it changes
    the conductance of a segment by about heat * bend / approach**2.
    """
    if np.any(approach <= ZERO_DIFFERENCE):
        return np.empty(0)
    share = (heat[1:-1] - heat[:-2]) / (heat[2:] - heat[:-2])
    bend = np.zeros_like(heat)
    bend[1:-1] = np.abs(approach[1:-1] - (1.0 - share) * approach[:-2] - share * approach[2:])
    inverse_square = 1.0 / (approach[:-1] * approach[1:])
    error = np.diff(heat) * np.maximum(bend[:-1], bend[1:]) * inverse_square
    whole = np.sum(np.diff(heat) / np.sqrt(approach[:-1] * approach[1:]))
    wanted = error > SEGMENT_ERROR * whole
    share = np.arange(1, PARTS) / PARTS
    return (heat[:-1][wanted, None] + np.diff(heat)[wanted, None] * share).ravel()


def _table(side: Side, ends: tuple[SectionEnd, SectionEnd], temperatures) -> tuple[np.ndarray, np.ndarray]:
    """Temperatures and enthalpies of a side, ascending, with the two end states exactly at its ends."""
    cold, warm = ends
    gap = 1e-7 * warm.temperature  # a pure fluid may stand on its saturation temperature at an end
    inner = np.unique(temperatures)
    inner = inner[(inner > cold.temperature + gap) & (inner < warm.temperature - gap)]
    enthalpy = side.enthalpy(inner)
    enthalpy = np.concatenate([[cold.enthalpy], enthalpy, [warm.enthalpy]])
    return np.concatenate([[cold.temperature], inner, [warm.temperature]]), enthalpy
