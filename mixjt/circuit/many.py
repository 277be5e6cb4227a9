"""Greatest cooling of many blends at once, on a grid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.pinch import straight_line_bound
from mixjt.fluid.states import PropertyModel


@dataclass(frozen=True)
class GreatestCooling:
    """Greatest cooling of n blends on a grid of m high-side temperatures.

    capacity [J/mol], pinch_index and pinch_temperature [K] have shape (n,); capacity is negative where
    the blend cannot cool, NaN where the model has no answer. temperatures [K] has shape (m,), difference
    [J/mol] (n, m). compressor_inlet_enthalpy [J/mol], shape (n,), follows from the energy balance.
    lower_bound [J/mol], shape (n,), is how low the capacity may be when kinks between grid points are
    found; see `mixjt.circuit.pinch.straight_line_bound`.
    """

    capacity: np.ndarray
    lower_bound: np.ndarray
    pinch_index: np.ndarray
    pinch_temperature: np.ndarray
    compressor_inlet_enthalpy: np.ndarray
    temperatures: np.ndarray
    difference: np.ndarray


def greatest_cooling(model: PropertyModel, z, circuit: ThrottleCircuit, points: int = 64) -> GreatestCooling:
    """Greatest cooling of many blends in one circuit, on a fixed grid, for searches.

    Two sweeps, no refinement: a kink between grid points is missed, so the capacity is never too small
    (but for the pressure drops, which are spread over the whole span) and too large by at most the kink's
    depth: a few percent where a second liquid appears at the pinch, within a tenth of a kelvin or so.

    Parameters
    ----------
    z : array (n, c) or (c,)
    points : int
        Number of temperatures.
    """
    z = np.atleast_2d(np.asarray(z, dtype=float))
    temperatures = np.linspace(*circuit.span, points)
    high, low = circuit.ends()
    high_enthalpy = model.sweep(z, high.pressure(temperatures), temperatures, strict=False).enthalpy
    colder = temperatures - circuit.recuperator_approach
    low_enthalpy = model.sweep(z, low.pressure(colder), colder, strict=False).enthalpy
    difference = low_enthalpy - high_enthalpy
    index = np.argmin(difference, axis=1)
    capacity = difference[np.arange(len(z)), index]
    return GreatestCooling(
        capacity=capacity,
        lower_bound=np.minimum(straight_line_bound(temperatures, difference).min(axis=1), capacity),
        pinch_index=index,
        pinch_temperature=temperatures[index],
        compressor_inlet_enthalpy=high_enthalpy[:, -1] + capacity,
        temperatures=temperatures,
        difference=difference,
    )
