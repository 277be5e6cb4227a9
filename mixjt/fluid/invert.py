"""States at given enthalpy or entropy and pressure, by bracketing along an isobar."""

from __future__ import annotations

import numpy as np

from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.mixed_state import across_jump
from mixjt.fluid.roots import root_between
from mixjt.fluid.states import State

FIRST_POINTS, THEN_POINTS = 33, 17  # temperatures of two grids that bracket the answer
TOGETHER = 6  # of the first grid that are swept at once
XTOL = 1e-9  # K


def state_on_isobar(model, z, quantity: str, target: float, pressure: float) -> State:
    """State where quantity ("enthalpy" or "entropy") takes the target value; it rises with temperature.

    Raises
    ------
    InputError
        For a target that is not finite.
    UnreachableError
        Where the target lies outside the model's span of temperatures.
    ConvergenceError
    """
    if not np.isfinite(target):
        raise InputError(f"{quantity} must be a finite number, not {target}")
    known: dict[float, State] = {}

    def miss(temperature):
        if temperature not in known:
            known[temperature] = model.state_tp(z, temperature, pressure)
        return getattr(known[temperature], quantity) - target

    low, high = _bracket(model, z, quantity, target, pressure)
    root = _root(miss, low, high)
    miss(root)
    state = known[root]
    scale = 1e-7 * max(1.0, abs(miss(high) - miss(low)))
    if abs(getattr(state, quantity) - target) <= scale:
        return state
    state = across_jump(model, z, root, pressure, quantity, target)
    if state is None:
        raise ConvergenceError(
            f"flash at {quantity} and pressure",
            "try a slightly different pressure",
            temperature_K=float(root),
            pressure_Pa=float(pressure),
        )
    return state


def _root(miss, low: float, high: float) -> float:
    """Root of a rising function; an end whose value only a sweep's rounding keeps from zero is the root itself."""
    if miss(low) >= 0.0:
        return low
    if miss(high) <= 0.0:
        return high
    return root_between(miss, low, high, XTOL)


def _bracket(model, z, quantity, target, pressure):
    """Two temperatures with the target between them, first on a grid of the span, then on one of a part of it."""
    grid = np.linspace(*model.temperature_span, FIRST_POINTS)
    values = np.full(FIRST_POINTS, np.nan)
    for last in range(FIRST_POINTS - 1, 0, -TOGETHER):  # from warm to cold, as far as it takes
        some = slice(max(last - TOGETHER, 0), last + 1)
        values[some] = _on_isobar(model, z, quantity, grid[some], pressure)
        if values[some.start] < target:
            break
    low, high = _around(grid, values, quantity, target, pressure)
    grid = np.linspace(low, high, THEN_POINTS)
    return _around(grid, _on_isobar(model, z, quantity, grid, pressure), quantity, target, pressure)


def _on_isobar(model, z, quantity, temperatures, pressure):
    return getattr(model.sweep(z, pressure, temperatures, strict=False), quantity)[0]


def _around(grid, values, quantity, target, pressure):
    """The two neighbours of the grid with the target between them."""
    solved = np.flatnonzero(np.isfinite(values))
    above = solved[np.searchsorted(values[solved], target) :][:1]
    below = solved[solved < above] if above.size else solved[-1:]
    if not above.size or not below.size:
        _outside(grid, values, quantity, target, pressure)
    return float(grid[below[-1]]), float(grid[above[0]])


def _outside(grid, values, quantity, target, pressure):
    solved = np.flatnonzero(np.isfinite(values))
    there = solved[-1 if target > values[solved].max(initial=-np.inf) else 0] if solved.size else 0
    raise UnreachableError(
        f"no state between {grid[0]:g} and {grid[-1]:g} K has {quantity} {target:.6g} at {pressure / 1e5:.4g} bar; "
        f"at {grid[there]:g} K it is {values[there]:.6g}"
    )
