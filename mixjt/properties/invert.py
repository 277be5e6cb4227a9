"""States at given enthalpy or entropy and pressure, by bracketing along an isobar."""

from __future__ import annotations

from scipy.optimize import brentq

from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.properties.mixed_state import across_jump
from mixjt.properties.records import State

FIRST_TEMPERATURE, FIRST_STEP = 250.0, 20.0  # K


def state_on_isobar(model, z, quantity: str, target: float, pressure: float) -> State:
    """State where quantity ("enthalpy" or "entropy") takes the target value; it rises with temperature.

    Raises
    ------
    UnreachableError
        Where the target lies outside the model's span of temperatures.
    ConvergenceError
    """
    known: dict[float, float] = {}

    def miss(temperature):
        if temperature not in known:
            known[temperature] = getattr(model.state_tp(z, temperature, pressure), quantity) - target
        return known[temperature]

    low, high = _bracket(miss, model.temperature_span, quantity, target, pressure)
    root = brentq(miss, low, high, xtol=1e-12, rtol=8.9e-16)
    state = model.state_tp(z, root, pressure)
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


def _bracket(miss, span, quantity, target, pressure):
    """Two temperatures with the target between them, found by growing steps from the middle of the span."""
    here, step = FIRST_TEMPERATURE, FIRST_STEP
    rising = miss(here) < 0.0
    while True:
        there = min(here + step, span[1]) if rising else max(here - step, span[0])
        if (miss(there) >= 0.0) == rising:
            return (here, there) if rising else (there, here)
        if there in span:
            reached = target + miss(there)
            raise UnreachableError(
                f"no state between {span[0]:g} and {span[1]:g} K has {quantity} {target:.6g} at "
                f"{pressure / 1e5:.4g} bar; at {there:g} K it is {reached:.6g}"
            )
        here, step = there, 1.5 * step
