"""Where a recuperator pinches, and how much cooling that leaves.

Between the cold end of an adiabatic recuperator and any section of it the energy balance reads

    q = h_low(T_low) - h_high(T_high)

with q the heat taken up by the evaporator per mole. If both streams keep at least the approach a apart,
T_low <= T_high - a everywhere, and since h_low rises with temperature

    q_max = min over T_high of [ h_low(T_high - a) - h_high(T_high) ].

The high-side temperature where the least value lies is the pinch. This is the energy balance alone;
the isothermal enthalpy difference (a = 0) as a figure of merit is in Maytal & Pfotenhauer, Miniature
Joule-Thomson Cryocooling (2013) (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.components.recuperator import Side, conductance_per_flow, temperature_from_enthalpy
from mixjt.cycles.records import DifferenceCurve, PinchCurve
from mixjt.errors import ConvergenceError
from mixjt.properties.records import PropertyModel, State

MOVED = 1e-9  # of the least difference: a smaller step counts as standing still
REACHING = 1e-8  # of the least difference: an interval that promises less is left alone
MOST_ROUNDS = 40
NARROWEST = 1e-10  # of the temperature; intervals are not divided further
NEW_POINTS = 8  # put into every interval that may hold the minimum
MOST_INTERVALS = 8  # divided in one round


@dataclass(frozen=True)
class LeastDifference:
    """Minimum of h_low(T - a) - h_high(T) over a span.

    minimum [J/mol] where the high side has temperature [K]; temperatures and difference, shape (m,),
    are all points looked at, ascending.
    """

    minimum: float
    temperature: float
    temperatures: np.ndarray
    difference: np.ndarray


def enthalpy_difference(model: PropertyModel, z, high: Side, low: Side, approach: float, temperatures):
    """h_low(T - approach) - h_high(T) [J/mol] at high-side temperatures, shape (m,) or (n, m) as z."""
    temperatures = np.asarray(temperatures, dtype=float)
    return low.enthalpy(model, z, temperatures - approach) - high.enthalpy(model, z, temperatures)


def least_difference(
    model: PropertyModel,
    z,
    high: Side,
    low: Side,
    approach: float,
    span: tuple[float, float],
    points: int = 64,
) -> LeastDifference:
    """Find the least enthalpy difference over high-side temperatures within span, kinks included.

    One sweep of each side over `points` temperatures; then every interval that may hold the minimum is
    divided, until the minimum stands still. The curve has kinks where a phase appears, and a minimum
    likes to sit on one, so an interval counts as long as a straight continuation of its neighbours
    reaches below the least value found.

    Parameters
    ----------
    z : array (c,)
    high, low : Side
    approach : float
        [K]
    span : (float, float)
        Lowest and highest high-side temperature [K].
    points : int

    Raises
    ------
    ConvergenceError
        Where the property model has no state at one of the temperatures.
    """
    temperatures = np.linspace(span[0], span[1], points)
    difference = _finite(model, z, high, low, approach, temperatures)
    still = 0
    for _ in range(MOST_ROUNDS):
        intervals = _intervals_to_divide(temperatures, difference, still >= 2)
        if intervals.size == 0:
            break
        share = np.arange(1, NEW_POINTS + 1) / (NEW_POINTS + 1)
        width = np.diff(temperatures)[intervals]
        new = (temperatures[intervals, None] + width[:, None] * share).ravel()
        before = difference.min()
        values = _finite(model, z, high, low, approach, new)
        order = np.argsort(np.concatenate([temperatures, new]), kind="stable")
        temperatures = np.concatenate([temperatures, new])[order]
        difference = np.concatenate([difference, values])[order]
        moved = before - difference.min()
        still = still + 1 if moved <= _scale(difference) * MOVED else 0
    at = int(np.argmin(difference))
    return LeastDifference(float(difference[at]), float(temperatures[at]), temperatures, difference)


def _scale(difference: np.ndarray) -> float:
    return max(abs(difference.min()), 1.0)


def _intervals_to_divide(temperatures: np.ndarray, difference: np.ndarray, still: bool) -> np.ndarray:
    """Intervals whose neighbours, continued straight, reach below the minimum; those touching it first.

    The touching ones count in any case until the minimum stands still: beside a jump, which a pure
    fluid has, no straight line tells how far down the curve goes.
    """
    width = np.diff(temperatures)
    slope = np.diff(difference) / width
    from_left = np.minimum(np.concatenate([slope[:1], slope[:-1]]), 0.0) * width
    from_right = np.maximum(np.concatenate([slope[1:], slope[-1:]]), 0.0) * width
    bound = np.minimum(difference[:-1] + from_left, difference[1:] - from_right)
    at = int(np.argmin(difference))
    touching = np.zeros(width.size, dtype=bool)
    touching[max(at - 1, 0) : at + 1] = True
    wanted = bound < difference[at] - REACHING * _scale(difference)
    if not still:
        wanted |= touching
    wanted &= width > NARROWEST * temperatures[1:]
    chosen = np.flatnonzero(wanted)
    best_first = np.lexsort((bound[chosen], ~touching[chosen]))
    return np.sort(chosen[best_first[:MOST_INTERVALS]])


def _finite(model, z, high, low, approach, temperatures) -> np.ndarray:
    values = enthalpy_difference(model, z, high, low, approach, temperatures)
    if not np.all(np.isfinite(values)):
        raise ConvergenceError(
            "enthalpy along the recuperator",
            "try the other property model, or a slightly different blend",
            temperature=float(temperatures[np.argmin(np.isfinite(values))]),
        )
    return values


def difference_curve(
    model: PropertyModel,
    z,
    suction_pressure: float,
    discharge_pressure: float,
    span: tuple[float, float],
    points: int = 64,
) -> DifferenceCurve:
    """Isothermal enthalpy difference of a blend over span [K], its minimum among the points."""
    high = Side(span[0], span[1], discharge_pressure, discharge_pressure)
    low = Side(span[0], span[1], suction_pressure, suction_pressure)
    least = least_difference(model, z, high, low, 0.0, span, points)
    temperatures = np.union1d(np.linspace(span[0], span[1], points), [least.temperature])
    kept = np.searchsorted(least.temperatures, temperatures)
    return DifferenceCurve(temperatures, least.difference[kept], least.minimum, least.temperature)


def pinch_curve(
    model: PropertyModel,
    z,
    high: Side,
    low: Side,
    high_ends: tuple[State, State],
    low_ends: tuple[State, State],
    pinch_temperature: float,
    points: int = 64,
) -> PinchCurve:
    """Both streams of a recuperator against the heat transferred from its cold end.

    Sections are taken evenly in the temperature of either side and evenly in heat, and at the pinch;
    the other temperature of each follows from the energy balance.

    Parameters
    ----------
    high, low : Side
    high_ends, low_ends : (State, State)
        Cold and warm end of each side.
    pinch_temperature : float
        High-side temperature [K] of a section that must be among the points.
    """
    warm = np.linspace(high_ends[0].temperature, high_ends[1].temperature, points)
    high_table = _table(model, z, high, high_ends, np.append(warm, pinch_temperature))
    cold = np.linspace(low_ends[0].temperature, low_ends[1].temperature, points)
    low_table = _table(model, z, low, low_ends, cold)

    total = high_ends[1].enthalpy - high_ends[0].enthalpy
    heats = np.concatenate(
        [
            high_table[1] - high_ends[0].enthalpy,
            low_table[1] - low_ends[0].enthalpy,
            np.linspace(0.0, total, points),
        ]
    )
    heat = np.unique(np.clip(heats, 0.0, total))
    heat = heat[np.concatenate([[True], np.diff(heat) > 1e-9 * total])]  # equal but for rounding
    high_temperature = temperature_from_enthalpy(model, z, high, high_ends[0].enthalpy + heat, *high_table)
    low_temperature = temperature_from_enthalpy(model, z, low, low_ends[0].enthalpy + heat, *low_table)
    approach = high_temperature - low_temperature
    at = int(np.argmin(approach))
    return PinchCurve(
        heat=heat,
        high_temperature=high_temperature,
        low_temperature=low_temperature,
        smallest_approach=float(approach[at]),
        pinch_temperature=float(high_temperature[at]),
        conductance=conductance_per_flow(heat, high_temperature, low_temperature),
    )


def _table(model, z, side: Side, ends: tuple[State, State], temperatures) -> tuple[np.ndarray, np.ndarray]:
    """Temperatures and enthalpies of a side, ascending, with the two end states exactly at its ends."""
    cold, warm = ends
    gap = 1e-7 * warm.temperature  # a pure fluid may stand on its saturation temperature at an end
    inner = np.unique(temperatures)
    inner = inner[(inner > cold.temperature + gap) & (inner < warm.temperature - gap)]
    enthalpy = side.enthalpy(model, z, inner)
    enthalpy = np.concatenate([[cold.enthalpy], enthalpy, [warm.enthalpy]])
    return np.concatenate([[cold.temperature], inner, [warm.temperature]]), enthalpy
