"""What a larger or smaller recuperator does to blends that are known: cooling against its conductance."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import ConvergenceError, UnreachableError

RATIOS = (0.7, 0.85, 1.0, 1.2, 1.5)  # of the size that a blend was solved with
MOST_BLENDS, POINTS = 2, 32


@dataclass(frozen=True)
class SizePoint:
    """A blend, numbered from 1, in a recuperator of another size; result is None where it does not cool."""

    number: int
    ratio: float
    conductance: float  # W/K, stated or that of the tubes
    result: CircuitResult | None


def cooling_by_size(circuit: ThrottleCircuit, results: Sequence[CircuitResult]) -> tuple[SizePoint, ...]:
    """The first few blends in recuperators of other sizes, at the pressures that they were solved with.

    Parameters
    ----------
    circuit : ThrottleCircuit
        In which they were solved.
    results : sequence of CircuitResult
        Tubes that are known are made longer and shorter, else the conductance greater and less.
    """
    asked = [(number, ratio, result) for number, result in enumerate(results[:MOST_BLENDS], start=1) for ratio in RATIOS]
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return tuple(pool.map(lambda one: _point(circuit, *one), asked))


def _point(circuit: ThrottleCircuit, number: int, ratio: float, result: CircuitResult) -> SizePoint:
    conductance, solved = ratio * result.recuperator_conductance, result if ratio == 1.0 else None
    if solved is None:
        with contextlib.suppress(UnreachableError, ConvergenceError):
            solved = solve_circuit(result.fluid, _resized(circuit, result, ratio, conductance), POINTS)
            conductance = solved.recuperator_conductance
    return SizePoint(number, ratio, conductance, solved)


def _resized(circuit: ThrottleCircuit, result: CircuitResult, ratio: float, conductance: float) -> ThrottleCircuit:
    settled = circuit.as_solved(result)
    if circuit.coil is None:
        return replace(settled, recuperator_conductance=conductance)
    return replace(settled, coil=replace(circuit.coil, length=ratio * result.rating.length))
