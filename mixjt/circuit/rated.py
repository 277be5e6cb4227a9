"""A throttle circuit whose recuperator is made of real tube: its approach and pressure drops follow from the tube.

The recuperator's inlets are known (aftercooler outlet and evaporator outlet), so its rating gives the throttle
inlet, and with it the cooling, directly; only the flow, which the compressor draws at the suction state that
results, and the pressure drops have to be repeated until they fit. The circuit is then solved at the approach that
gives the same duty, so that all its other figures (states, exergy, warnings) belong to that recuperator.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from mixjt.circuit.aftercooling import with_approach_held
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid, checked_fluid
from mixjt.fluid.roots import root_between
from mixjt.parts.compressor.compression import compress
from mixjt.parts.recuperator.tube_rating import (
    CELLS,
    Rating,
    StreamPair,
    design_recuperator,
    rate_recuperator,
    stream_pair,
)
from mixjt.parts.recuperator.tubes import ExchangerTubes

ROUNDS = 25
STILL = 1e-5  # relative change of flow and pressures that ends the rounds
CLOSE = 1e-4  # of the duty: how well the circuit meets it
FIRST_STEP = 1.15  # ratio of the first two approaches tried; squared with every further one


@dataclass(frozen=True)
class RatedCircuit:
    """A circuit consistent with its recuperator.

    circuit holds the pressure drops and the approach found; result is its solution, rating the recuperator's. cooling
    [J/mol] and cooling_power [W] are the rating's; the result's differ by less than 0.1 % of the duty unless heat
    leaks in. pair is what further ratings at the same inlets start from.
    """

    circuit: ThrottleCircuit
    result: CircuitResult
    rating: Rating
    pair: StreamPair
    cooling: float
    cooling_power: float


def solve_rated_circuit(
    fluid: Fluid,
    circuit: ThrottleCircuit,
    tubes: ExchangerTubes,
    length: float | None = None,
    approach: float | None = None,
    heat_leak: float = 0.0,
    cells: int = CELLS,
) -> RatedCircuit:
    """Solve a throttle circuit with a recuperator of given tubes.

    Parameters
    ----------
    fluid : Fluid
    circuit : ThrottleCircuit
        Its approach and recuperator pressure drops are only where the search starts; an aftercooler of stated size gets
        the outlet temperature that it has for gas which comes back as warm as that approach allows.
    tubes : ExchangerTubes
    length : float, optional
        Of the recuperator [m]; or else
    approach : float, optional
        The smallest approach it is to reach [K], from which the length follows.
    heat_leak : float
        Into the recuperator [W].
    cells : int

    Raises
    ------
    InputError
        Unless exactly one of length and approach is given.
    UnreachableError
        Where this recuperator leaves no cooling, or its drops leave no pressure.
    ConvergenceError
    """
    if (length is None) == (approach is None):
        raise InputError("a recuperator needs either its length or its smallest approach")
    fluid = checked_fluid(fluid)
    circuit = with_approach_held(fluid, circuit)

    def rated(pair: StreamPair) -> Rating:
        if length is not None:
            return rate_recuperator(pair, tubes, length, heat_leak, cells)
        return design_recuperator(pair, tubes, approach=approach, heat_leak=heat_leak, cells=cells)

    circuit, pair, rating = _settled(fluid, circuit, rated)
    cooling = pair.low_enthalpy - rating.high_outlet_enthalpy
    if not cooling > 0.0:
        raise UnreachableError(
            f"this recuperator leaves no cooling at {circuit.cold_temperature:.5g} K: with a smallest approach of "
            f"{rating.smallest_approach:.3g} K the blend falls short by {-cooling:.4g} J/mol; take a longer one"
        )
    circuit, result = _matching(fluid, circuit, rating, cooling)
    return RatedCircuit(circuit, result, rating, pair, cooling, cooling * pair.molar_flow)


def _settled(fluid, circuit: ThrottleCircuit, rated) -> tuple[ThrottleCircuit, StreamPair, Rating]:
    """Repeat rating and compression until flow and pressure drops stand still."""
    cooled = fluid.tp(circuit.warm_temperature, circuit.aftercooler_pressure)
    suction = fluid.tp(circuit.warm_temperature - max(circuit.recuperator_approach, 1.0),
                             circuit.suction_pressure)  # fmt: skip
    flow = compress(fluid, suction, circuit.discharge_pressure, circuit.compressor, circuit.ambient_temperature).molar_flow
    pair = None
    for _ in range(ROUNDS):
        evaporated = fluid.tp(circuit.cold_temperature, circuit.evaporator_pressure)
        if pair is None or not _covers(pair, circuit):
            pair = stream_pair(fluid, flow, cooled, evaporated, 1.2 * circuit.high_side_drop,
                               1.2 * circuit.low_side_drop)  # fmt: skip
        pair = replace(pair, molar_flow=flow, low_enthalpy=evaporated.enthalpy, low_pressure=evaporated.pressure)
        rating = rated(pair)
        suction = fluid.hp(rating.low_outlet_enthalpy, circuit.suction_pressure)
        drawn = compress(fluid, suction, circuit.discharge_pressure, circuit.compressor, circuit.ambient_temperature).molar_flow
        try:
            changed = replace(circuit, high_side_drop=rating.high_drop, low_side_drop=rating.low_drop)
        except InputError as error:
            raise UnreachableError(f"this recuperator takes too much pressure: {error}") from None
        moved = max(
            abs(drawn - flow) / flow,
            abs(changed.throttle_pressure - circuit.throttle_pressure) / circuit.throttle_pressure,
            abs(changed.evaporator_pressure - circuit.evaporator_pressure) / circuit.evaporator_pressure,
        )
        circuit, flow = changed, drawn
        if moved < STILL:
            return circuit, pair, rating
    raise ConvergenceError(
        "the circuit with its recuperator", "take a tube with smaller pressure drops", low_side_drop=rating.low_drop
    )


def _covers(pair: StreamPair, circuit: ThrottleCircuit) -> bool:
    """Whether the isobars of the pair enclose the circuit's pressures, or nearly."""
    high, low = pair.high.isobars.pressures, pair.low.isobars.pressures
    return (
        0.97 * high.min() <= circuit.throttle_pressure
        and 0.97 * low.min() <= circuit.suction_pressure
        and circuit.evaporator_pressure <= 1.03 * low.max()
    )


def _matching(fluid, circuit: ThrottleCircuit, rating: Rating, cooling: float):
    """The circuit's approach that gives the rated cooling, and its solution there."""
    known: dict[float, CircuitResult] = {}
    tolerance = CLOSE * rating.duty / rating.molar_flow

    def excess(approach: float) -> float:
        try:
            known[approach] = solve_circuit(fluid, replace(circuit, recuperator_approach=approach))
        except UnreachableError:  # no cooling at this approach
            return -cooling
        return known[approach].cooling_capacity - cooling

    near = rating.smallest_approach
    first = excess(near)
    if abs(first) <= tolerance:
        return replace(circuit, recuperator_approach=near), known[near]
    for power in range(7):
        ratio = FIRST_STEP ** (2**power)
        far = near * ratio if first > 0.0 else near / ratio
        other = excess(far)
        if first * other <= 0.0:
            break
        near, first = far, other
    else:
        raise ConvergenceError("the circuit's approach to its recuperator", "take a longer recuperator", approach=near)
    found = root_between(excess, near, far, 1e-3 * near, 1e-6)
    if found not in known:
        excess(found)
    if found not in known:
        raise ConvergenceError("the circuit's approach to its recuperator", "take a longer recuperator", approach=found)
    return replace(circuit, recuperator_approach=found), known[found]
