"""The lowest temperature at which a plain circuit still carries a load: found on a grid, finished by full solutions."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from mixjt.cycles.circuit import ThrottleCircuit
from mixjt.cycles.records import THROTTLE_OUTLET, CircuitResult
from mixjt.cycles.throttle import solve_throttle_circuit
from mixjt.errors import ConvergenceError, MixjtError, UnreachableError
from mixjt.properties.records import PropertyModel
from mixjt.studies.batch import BatchReach, batch_reach

STRIDE = 20.0  # K by which the search goes deeper until the load is no longer carried
ABOVE_SPAN = 1.0  # K, the floor of the search above the lowest temperature of the property model
PLAIN_FLOOR = 60.0  # K, for models that name no span
CLOSE = 0.02  # K, to which full solutions are brought
MOST_SOLUTIONS = 8
FROST_STRIDE = 6.0  # K
FROST_CLOSE = 0.05  # K; freezing temperatures are good to about 3 K
NO_ANSWER = 1.0  # K by which the cold end is warmed where a full solution finds no cooling


@dataclass(frozen=True)
class Reach:
    """Lowest temperature [K] for a load [W]; None where there is none, and problem says why.

    solution is the circuit solved there (to within 0.02 K), with its freezing margin; slope [W/K] is what the
    cooling power gains per kelvin of warmer cold end just above.
    """

    temperature: float | None
    load: float
    problem: str = ""
    solution: CircuitResult | None = None
    slope: float | None = None

    @property
    def frozen(self) -> bool:
        """Whether a gas freezes out before this temperature is reached, so that it is not reached."""
        margin = None if self.solution is None else self.solution.freezing_margin
        return margin is not None and margin < 0.0

    @property
    def sentence(self) -> str:
        """What limits the temperature, in words; empty where it is the load alone."""
        if self.temperature is None:
            return self.problem
        if not self.frozen:
            return ""
        found = self.solution
        return (
            f"the load alone would let it down to {self.temperature:.1f} K, but {found.freezing_gas} freezes out "
            f"before: at the {found.freezing_place.replace('_', ' ')} by {-found.freezing_margin:.1f} K too cold "
            f"(throttle outlet {found.points[THROTTLE_OUTLET].temperature:.1f} K)"
        )


def coldest_of(model: PropertyModel) -> float:
    """Lowest cold temperature that is looked at with a property model [K]."""
    return getattr(model, "temperature_span", (PLAIN_FLOOR,))[0] + ABOVE_SPAN


def lowest_temperature(
    model: PropertyModel, z, circuit: ThrottleCircuit, load: float, start: float | None = None
) -> Reach:
    """The coldest evaporator outlet at which a plain circuit carries a load.

    Parameters
    ----------
    model : PropertyModel
    z : array (c,)
    circuit : ThrottleCircuit
        Its pressures, approaches and compressor hold at every cold temperature.
    load : float
        [W]
    start : float, optional
        A guess [K], by default the circuit's cold temperature.

    Returns
    -------
    Reach
        Without a temperature where the load is carried nowhere, where it is still carried at the lowest
        temperature of the property model, or where the model fails.
    """
    start = circuit.cold_temperature if start is None else start
    floor = coldest_of(model)
    bottom = float(np.clip(start - STRIDE, floor, circuit.warm_temperature - circuit.recuperator_approach - STRIDE))
    while True:
        found = batch_reach(model, z, circuit, load, bottom)
        if not found.below_floor[0] or bottom == floor:
            break
        bottom = max(bottom - STRIDE, floor)
    problem = _problem(found, load, bottom)
    if problem:
        return Reach(None, load, problem)
    try:
        return _finished(model, z, circuit, load, float(found.temperature[0]), float(found.slope[0]))
    except MixjtError as error:
        return Reach(None, load, f"the circuit at its lowest temperature could not be solved: {error}")


def _problem(found: BatchReach, load: float, bottom: float) -> str:
    if not found.solved[0]:
        return f"the property model has no answer for this blend down to {bottom:.0f} K"
    if not found.carried[0]:
        return f"the load of {load:.4g} W is carried at no temperature"
    if found.below_floor[0]:
        return f"the load of {load:.4g} W is still carried at {bottom:.0f} K, the end of the property model's range"
    return ""


def _finished(model, z, circuit: ThrottleCircuit, load: float, guess: float, slope: float) -> Reach:
    """Secant steps on full solutions, each kept between the temperatures known to be too cold and too warm."""
    cold, warm = -np.inf, np.inf
    before = None
    for _ in range(MOST_SOLUTIONS):
        try:
            solution = solve_throttle_circuit(model, z, replace(circuit, cold_temperature=guess))
        except UnreachableError:
            cold, before = guess, None
            guess = min(guess + NO_ANSWER, 0.5 * (guess + warm))
            continue
        excess = solution.cooling_power - load
        if before is not None and (solution.cooling_power - before[1]) * (guess - before[0]) > 0.0:
            slope = (solution.cooling_power - before[1]) / (guess - before[0])
        step = -excess / slope
        if abs(step) <= CLOSE:
            return Reach(guess + step, load, "", solution, slope)
        cold, warm = (max(cold, guess), warm) if excess < 0.0 else (cold, min(warm, guess))
        before, guess = (guess, solution.cooling_power), guess + step
        if not cold < guess < warm:
            guess = 0.5 * (cold + warm)
        if warm - cold <= CLOSE:
            return Reach(0.5 * (cold + warm), load, "", solution, slope)
    raise ConvergenceError("the lowest temperature", "state another load", temperature=guess)


def frost_free_temperature(model: PropertyModel, z, circuit: ThrottleCircuit, frozen_at: float) -> float | None:
    """The coldest cold end at which nothing freezes, above one where something does [K]; None if not found.

    Parameters
    ----------
    frozen_at : float
        A cold temperature with a negative freezing margin [K].
    """

    def margin(cold: float) -> float:
        found = solve_throttle_circuit(model, z, replace(circuit, cold_temperature=cold)).freezing_margin
        if found is None:
            raise UnreachableError(f"freezing at {cold:.4g} K could not be checked")
        return found

    warmest = circuit.warm_temperature - circuit.recuperator_approach
    try:
        low = frozen_at
        for high in np.arange(frozen_at + FROST_STRIDE, warmest, FROST_STRIDE):
            if margin(float(high)) >= 0.0:
                return float(brentq(margin, low, float(high), xtol=FROST_CLOSE))
            low = float(high)
    except MixjtError:
        return None
    return None
