"""The lowest temperature at which a plain circuit still carries a load: found on a grid, finished by full solutions."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.layout import Solution
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.outcome import circuit_outcome
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import solve_circuit, solved_states
from mixjt.errors import ConvergenceError, MixjtError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.roots import root_between
from mixjt.fluid.states import PropertyModel
from mixjt.parts.places import THROTTLE_OUTLET
from mixjt.studies.batch import BatchReach, batch_reach

STRIDE = 20.0  # K by which the search goes deeper until the load is no longer carried
ABOVE_SPAN = 1.0  # K, the floor of the search above the lowest temperature of the property model
CLOSE = 0.02  # K, to which full solutions are brought
LEAST_STRIDE = 0.2  # K, first step away from a guess that is not close; the next ones double
MOST_STRIDES = 8
SECANTS, LONGEST_STEP = 4, 4.0  # K
FROST_STRIDE = 6.0  # K
FROST_CLOSE = 0.05  # K; freezing temperatures are good to about 3 K


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
    return model.temperature_span[0] + ABOVE_SPAN


def lowest_temperature(fluid: Fluid, circuit: ThrottleCircuit, load: float) -> Reach:
    """The coldest evaporator outlet at which a plain circuit carries a load.

    Parameters
    ----------
    fluid : Fluid
    circuit : ThrottleCircuit
        Its pressures, approaches and compressor hold at every cold temperature; its own is where the search starts.
    load : float
        [W]

    Returns
    -------
    Reach
        Without a temperature where the load is carried nowhere, where it is still carried at the lowest
        temperature of the property model, or where the model fails.
    """
    floor = coldest_of(fluid.model)
    warmest = circuit.warm_temperature - circuit.recuperator_approach
    bottom = float(np.clip(circuit.cold_temperature - STRIDE, floor, warmest - STRIDE))
    while True:
        found = batch_reach(fluid.model, fluid.z, circuit, load, bottom)
        if not found.below_floor[0] or bottom == floor:
            break
        bottom = max(bottom - STRIDE, floor)
    problem = _problem(found, load, bottom)
    if problem:
        return Reach(None, load, problem)
    try:
        return _finished(fluid, circuit, load, float(found.temperature[0]), float(found.slope[0]))
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


def _finished(fluid, circuit: ThrottleCircuit, load: float, guess: float, slope: float) -> Reach:
    """Full solutions from a guess on: one where the guess is good, secants where it is near, else a bracket and its root.

    A kink of the cooling between two points of the guess's grid makes a bad guess; cooling may then be flat for
    kelvins, where no slope helps.
    """
    known: dict[float, Solution] = {}
    useless: set[float] = set()  # where there is no cooling

    def excess(cold: float) -> float:
        if cold not in known and cold not in useless:
            near = min(known, key=lambda other: abs(other - cold), default=None)
            try:
                known[cold] = solved_states(fluid, replace(circuit, cold_temperature=cold), near=known.get(near))
            except UnreachableError:
                useless.add(cold)
        return known[cold].cooling_power - load if cold in known else -load

    at, before = guess, None
    for _ in range(SECANTS):
        miss = excess(at)
        if before is not None:
            slope = (miss - before[1]) / (at - before[0])
        if at not in known or not slope > 0.0:
            break
        step = -miss / slope
        if abs(step) <= CLOSE:
            return Reach(at + step, load, "", circuit_outcome(known[at]), slope)
        before, at = (at, miss), at + math.copysign(min(abs(step), LONGEST_STEP), step)
    miss = excess(guess)
    step = -miss / slope if slope > 0.0 else math.copysign(LEAST_STRIDE, -miss)
    stride, other = math.copysign(min(max(abs(step), LEAST_STRIDE), LONGEST_STEP), step), guess  # a flat stretch has no slope
    for _ in range(MOST_STRIDES):
        near, near_miss = other, miss
        other = max(near + stride, coldest_of(fluid.model))
        miss = excess(other)
        if miss * near_miss <= 0.0 and other != near:
            break
        stride *= 2.0
    else:
        raise ConvergenceError("the lowest temperature", "state another load", temperature=other)
    found = root_between(excess, *sorted((near, other)), CLOSE)
    solved = min(known, key=lambda cold: abs(cold - found))
    return Reach(found, load, "", circuit_outcome(known[solved]), abs((miss - near_miss) / (other - near)))


def frost_free_temperature(fluid: Fluid, circuit: ThrottleCircuit, frozen_at: float) -> float:
    """The coldest cold end at which nothing freezes, above one where something does [K].

    Parameters
    ----------
    frozen_at : float
        A cold temperature with a negative freezing margin [K].

    Raises
    ------
    UnreachableError
        Where something freezes up to the warm end.
    MixjtError
        Where a circuit on the way cannot be solved or checked.
    """

    def margin(cold: float) -> float:
        found = solve_circuit(fluid, replace(circuit, cold_temperature=cold)).freezing_margin
        if found is None:
            raise UnreachableError(f"freezing at {cold:.4g} K could not be checked")
        return found

    warmest, low = circuit.warm_temperature - circuit.recuperator_approach, frozen_at
    for high in np.arange(frozen_at + FROST_STRIDE, warmest, FROST_STRIDE):
        if margin(float(high)) >= 0.0:
            return root_between(margin, low, float(high), FROST_CLOSE)
        low = float(high)
    raise UnreachableError(f"a gas freezes with every cold end up to {low:.4g} K")
