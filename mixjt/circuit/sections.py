"""A recuperator in two sections: states along a side, the sections' curves, and both put together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

import numpy as np

from mixjt.circuit.result import PinchCurve
from mixjt.errors import ConvergenceError
from mixjt.fluid.states import PropertyModel, State
from mixjt.parts.recuperator.side import Side, temperature_from_enthalpy

APPROACH_TOLERANCE = 1e-3  # K, by which a finished section may undercut its stated approach
FINEST = 1024  # grid points, where a section that undercuts it is given up
NO_LENGTH = 1e-6  # K; a section shorter than this is none

Solution = TypeVar("Solution")


def state_on_side(model: PropertyModel, z, side: Side, enthalpy: float, low: float, high: float) -> State:
    """The state of an enthalpy [J/mol] on a side, between two temperatures [K] that enclose it."""
    if side.cold_pressure == side.warm_pressure:
        return model.state_hp(z, enthalpy, side.cold_pressure)
    table = np.linspace(low, high, 9)
    known = side.enthalpy(model, z, table)
    target = float(np.clip(enthalpy, known[0], known[-1]))
    (temperature,) = temperature_from_enthalpy(model, z, side, [target], table, known)
    return model.state_hp(z, enthalpy, float(side.pressure(temperature)))


def joined(sections: Sequence[PinchCurve]) -> PinchCurve:
    """Sections in flow order of the low side, the coldest first, as one curve against heat."""
    offsets = np.concatenate([[0.0], np.cumsum([section.heat[-1] for section in sections])])
    tightest = min(sections, key=lambda section: section.smallest_approach)
    return PinchCurve(
        heat=np.concatenate([offset + section.heat for offset, section in zip(offsets, sections)]),
        high_temperature=np.concatenate([section.high_temperature for section in sections]),
        low_temperature=np.concatenate([section.low_temperature for section in sections]),
        smallest_approach=tightest.smallest_approach,
        pinch_temperature=tightest.pinch_temperature,
        conductance=float(sum(section.conductance for section in sections)),
    )


def solved_sections(
    solve: Callable[[int], tuple[Solution, tuple[PinchCurve, ...]]], approach: float, points: int
) -> tuple[Solution, tuple[PinchCurve, ...]]:
    """A solution with the curves of its sections, on a finer grid where a coarse one missed a pinch.

    Parameters
    ----------
    solve : function
        Of the number of grid points.
    approach : float
        That every section must keep [K].

    Raises
    ------
    ConvergenceError
        Where even the finest grid leaves a section with a smaller approach.
    """
    while True:
        solution, curves = solve(points)
        tightest = min(curves, key=lambda curve: curve.smallest_approach)
        if tightest.smallest_approach >= approach - APPROACH_TOLERANCE:
            return solution, curves
        if 4 * points > FINEST:
            break
        points *= 4
    raise ConvergenceError(
        "the recuperator",
        "try a slightly different blend",
        approach=tightest.smallest_approach,
        temperature=tightest.pinch_temperature,
    )
