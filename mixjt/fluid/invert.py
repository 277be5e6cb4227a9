"""States at given enthalpy or entropy and pressure, by bracketing along an isobar."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.interpolate import POINTS, Cubics
from mixjt.fluid.mixed_state import across_jump
from mixjt.fluid.roots import root_between
from mixjt.fluid.states import State, Sweep

FIRST_POINTS, THEN_POINTS = 33, 9  # temperatures of two grids that bracket the answer
TOGETHER = 6  # of the first grid that are swept at once
USUAL = 14  # of the first grid, at 296 K of the models' span: what is colder is asked for most
REMEMBERED = 64  # isobars whose first grids are kept
SECANTS, NEAR = 4, 1e-3  # steps that a smooth isobar takes at most; of an interval, for the slope of its cubic
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

    grid, values = _bracket(model, z, quantity, target, pressure)
    low, high = _around(grid, values, quantity, target, pressure, within=True)
    root = _root_where_smooth(miss, grid, values, target, low, high)
    if root is not None:
        return known[root]
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


def _root_where_smooth(miss, grid, values, target: float, low: float, high: float) -> float | None:
    """Root by secants from what a cubic through the grid makes of it; None where they lead nowhere at once."""
    solved = np.isfinite(values)
    if np.count_nonzero(solved) < POINTS or np.any(np.diff(values[solved]) <= 0.0):
        return None
    whole = float(np.diff(np.interp([low, high], grid[solved], values[solved]))[0])
    near = NEAR * whole
    at, beyond = Cubics(values[solved], (grid[solved],), 0).at(np.array([target, target + near]))[0].tolist()
    slope = near / (beyond - at) if beyond > at else whole / (high - low)
    enough = XTOL * slope
    before = None
    for _ in range(SECANTS):
        if not low <= at <= high:
            return None
        left = miss(at)
        if abs(left) <= enough:
            return at
        if before is not None:
            slope = (left - before[1]) / (at - before[0])
        if not slope > 0.0:
            return None
        before, at = (at, left), at - left / slope
    return None


def _root(miss, low: float, high: float) -> float:
    """Root of a rising function; an end whose value only a sweep's rounding keeps from zero is the root itself."""
    if miss(low) >= 0.0:
        return low
    if miss(high) <= 0.0:
        return high
    return root_between(miss, low, high, XTOL)


def _bracket(model, z, quantity, target, pressure):
    """Temperatures around the target, and what the isobar has there: first on a grid of the span, then on one of a part of it."""
    grid = np.linspace(*model.temperature_span, FIRST_POINTS)
    values = np.full(FIRST_POINTS, np.nan)
    parts = _parts_swept(model, np.asarray(z, dtype=float).tobytes(), float(pressure))

    def look(last: int) -> None:
        some = slice(max(last - TOGETHER, 0), last + 1)
        if last not in parts:
            parts[last] = model.sweep(z, pressure, grid[some], strict=False)
        values[some] = getattr(parts[last], quantity)[0]

    warm = cold = USUAL
    look(warm)
    while not values[warm] >= target and warm < FIRST_POINTS - 1:
        warm += TOGETHER
        look(warm)
    while not values[max(cold - TOGETHER, 0)] < target and cold > TOGETHER:
        cold -= TOGETHER
        look(cold)
    grid = np.linspace(*_around(grid, values, quantity, target, pressure), THEN_POINTS)
    return grid, getattr(model.sweep(z, pressure, grid, strict=False), quantity)[0]


@lru_cache(REMEMBERED)
def _parts_swept(model, z: bytes, pressure: float) -> dict[int, Sweep]:
    """Of the first grid on an isobar, by their warm ends: a machine asks for many states on few isobars."""
    return {}


def _around(grid, values, quantity, target, pressure, within: bool = False):
    """The two neighbours of the grid with the target between them; within where only rounding can put it beyond the ends."""
    solved = np.flatnonzero(np.isfinite(values))
    if within and solved.size > 1:
        target = min(max(target, np.nextafter(values[solved[0]], np.inf)), values[solved[-1]])
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
