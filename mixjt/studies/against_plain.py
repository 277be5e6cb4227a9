"""One blend in the kind of circuit asked for, with what that kind buys over the plain one."""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.circuit.layouts.precooled import PrecooledCircuit, PrecooledResult
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.studies.precooling import (
    PrecoolingCurve,
    PrecoolingGain,
    best_precooling,
    precooling_curve,
    precooling_gain,
)


@dataclass(frozen=True)
class PrecoolingStudy:
    """A precooled circuit, its curve over the precooling temperature, and the plain circuit, None where that fails."""

    result: PrecooledResult
    curve: PrecoolingCurve | None
    plain: CircuitResult | None
    gain: PrecoolingGain


def solve_precooling(
    fluid: Fluid,
    plain: ThrottleCircuit,
    circuit: PrecooledCircuit,
    temperatures: tuple[float, float] | None,
    aim: str,
    best: bool,
    with_curve: bool = True,
) -> PrecoolingStudy:
    """Solve a precooled circuit and compare it with the plain one.

    Parameters
    ----------
    plain, circuit : ThrottleCircuit, PrecooledCircuit
    temperatures : (float, float)
        Range of the curve [K].
    aim : str
        See `best_precooling`.
    best : bool
        Whether to look for the best precooling temperature within the range, or take the circuit's own.
    with_curve : bool
        Whether a curve is wanted where the temperature is the circuit's own.
    """
    curve = None
    if best:
        result, curve = best_precooling(fluid, circuit, temperatures, aim)
    else:
        result = solve_circuit(fluid, circuit)
        if with_curve:
            curve = precooling_curve(fluid, circuit, temperatures)
    without = plain_or_none(fluid, plain)
    return PrecoolingStudy(result, curve, without, precooling_gain(result, without))


def plain_or_none(fluid: Fluid, circuit: ThrottleCircuit) -> CircuitResult | None:
    """The plain circuit of the same blend; None where it does not cool or cannot be solved."""
    try:
        return solve_circuit(fluid, circuit)
    except (UnreachableError, ConvergenceError):
        return None
