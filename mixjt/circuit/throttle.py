"""The plain throttle circuit: compressor, aftercooler, recuperator, throttle, evaporator.

Assumptions: steady flow of one composition; an adiabatic recuperator whose pressure drops are linear in
the temperature of each side (see `mixjt.parts.recuperator.side`); no pressure drop in the evaporator; an
isenthalpic throttle. The cold temperature is that of the evaporator outlet, the warmest point of the
load; the throttle outlet is colder by the glide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from mixjt.circuit import result as records
from mixjt.circuit.balance import circuit_balance
from mixjt.circuit.capacity import GreatestCooling, greatest_cooling
from mixjt.circuit.curves import difference_curve, pinch_curve
from mixjt.circuit.freezing import circuit_freezing
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.outcome import checked_blend, circuit_outcome
from mixjt.circuit.pinch import LeastDifference, least_difference
from mixjt.circuit.result import CircuitResult, PinchCurve
from mixjt.circuit.sections import solved_sections
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.states import PropertyModel, State
from mixjt.parts.compressor.compression import CompressionResult, compress
from mixjt.parts.recuperator.side import Side

__all__ = ["GreatestCooling", "ThrottleCircuit", "greatest_cooling", "solve_throttle_circuit"]

DROP_ROUNDS = 30
SAME = 1e-6  # of the cooling, between two rounds


@dataclass(frozen=True)
class _Solution:
    """A recuperator at its greatest cooling, with the states around it."""

    high: Side
    low: Side
    least: LeastDifference
    aftercooler_outlet: State
    throttle_inlet: State
    evaporator_outlet: State
    compressor_inlet: State


def solve_throttle_circuit(
    model: PropertyModel, z, circuit: ThrottleCircuit, points: int = 64
) -> CircuitResult:
    """Solve a throttle circuit for its greatest cooling at the stated recuperator approach.

    Parameters
    ----------
    model : PropertyModel
    z : array (c,)
        Mole fractions of the blend in circulation.
    circuit : ThrottleCircuit
    points : int
        Temperatures in the first sweep of each side and in the curves; at least 8.

    Returns
    -------
    CircuitResult

    Raises
    ------
    InputError
        For mole fractions that are not a blend.
    UnreachableError
        Where the blend does not cool at all, or the compressor moves no gas.
    ConvergenceError
        Where a state cannot be found, or the finished recuperator undercuts its approach.

    Source: see `mixjt.circuit.pinch` for the pinch formula.
    """
    z = checked_blend(model, z)
    if points < 8:
        raise InputError(f"a circuit needs at least 8 grid points, got {points}")
    solution, curve = _recuperator(model, z, circuit, points)
    compression = compress(
        model, z, solution.compressor_inlet, circuit.discharge_pressure, circuit.compressor
    )
    throttle_outlet = model.state_hp(z, solution.throttle_inlet.enthalpy, circuit.evaporator_pressure)
    places = {
        records.COMPRESSOR_INLET: solution.compressor_inlet,
        records.COMPRESSOR_OUTLET: compression.discharge,
        records.AFTERCOOLER_OUTLET: solution.aftercooler_outlet,
        records.THROTTLE_INLET: solution.throttle_inlet,
        records.THROTTLE_OUTLET: throttle_outlet,
        records.EVAPORATOR_OUTLET: solution.evaporator_outlet,
    }
    return _result(model, z, circuit, points, solution, curve, compression, places)


def _recuperator(model, z, circuit: ThrottleCircuit, points: int) -> tuple[_Solution, PinchCurve]:
    """Greatest cooling and pinch curve, on a finer grid where the coarse one missed the pinch."""

    def solve(grid: int) -> tuple[_Solution, tuple[PinchCurve]]:
        solution = _greatest(model, z, circuit, grid)
        high_ends = (solution.throttle_inlet, solution.aftercooler_outlet)
        low_ends = (solution.evaporator_outlet, solution.compressor_inlet)
        pinch = solution.least.temperature
        return solution, (pinch_curve(model, z, solution.high, solution.low, high_ends, low_ends, pinch, grid),)

    solution, (curve,) = solved_sections(solve, circuit.recuperator_approach, points)
    return solution, curve


def _greatest(model, z, circuit: ThrottleCircuit, points: int) -> _Solution:
    """Find the pinch; with pressure drops, repeat until their profile fits the ends it leads to."""
    cooled = model.state_tp(z, circuit.warm_temperature, circuit.aftercooler_pressure)
    evaporated = model.state_tp(z, circuit.cold_temperature, circuit.evaporator_pressure)
    high, low = circuit.sides()
    before = math.inf
    for _ in range(DROP_ROUNDS):
        least = least_difference(model, z, high, low, circuit.recuperator_approach, circuit.span, points)
        cooling = least.minimum
        if not cooling > 0.0:
            raise UnreachableError(_no_cooling(circuit, least))
        before_throttle = model.state_hp(z, evaporated.enthalpy - cooling, circuit.throttle_pressure)
        suction = model.state_hp(z, cooled.enthalpy + cooling, circuit.suction_pressure)
        if high.cold_pressure == high.warm_pressure and low.cold_pressure == low.warm_pressure:
            high, low = circuit.sides(before_throttle.temperature, suction.temperature)
            break
        if abs(cooling - before) <= SAME * cooling:
            break
        before = cooling
        high, low = circuit.sides(before_throttle.temperature, suction.temperature)
    else:
        raise ConvergenceError("the pressure profile of the recuperator", "try slightly different pressures or pressure drops")
    return _Solution(high, low, least, cooled, before_throttle, evaporated, suction)


def _no_cooling(circuit: ThrottleCircuit, least: LeastDifference) -> str:
    return (
        f"no cooling at {circuit.cold_temperature:.5g} K: at the pinch, where the high side has "
        f"{least.temperature:.5g} K, the blend falls short by {-least.minimum:.4g} J/mol; try a warmer cold end, "
        "a smaller approach, a wider pressure ratio, or more of a gas that boils near the pinch temperature"
    )


def _result(
    model,
    z,
    circuit: ThrottleCircuit,
    points: int,
    solution: _Solution,
    curve: PinchCurve,
    compression: CompressionResult,
    places: dict[str, State],
) -> CircuitResult:
    cooling = solution.least.minimum
    ambient, cold = circuit.ambient_temperature, circuit.cold_temperature
    span = (cold, circuit.warm_temperature)
    return circuit_outcome(
        model,
        z,
        circuit,
        cooling,
        compression,
        places,
        curve,
        difference_curve(model, z, circuit.suction_pressure, circuit.discharge_pressure, span, points),
        circuit_balance(places, compression, cooling, ambient, cold),
        circuit_freezing(model, z, places),
    )
