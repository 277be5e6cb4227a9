"""What a larger or smaller recuperator does to blends that are known: cooling against its conductance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import solved_states
from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.parts.recuperator.tube_rating import Rating
from mixjt.workers import in_threads

RATIOS = (0.7, 0.85, 1.0, 1.2, 1.5)  # of the size that a blend was solved with
MOST_BLENDS, POINTS = 2, 32


@dataclass(frozen=True)
class SizePoint:
    """A blend, numbered from 1, in a recuperator of another size.

    conductance [W/K] is stated or that of the tubes, whose length [m] and metal [kg] are None where they are not known;
    smallest_approach [K] and cooling_power [W] are None where the blend does not cool.
    """

    number: int
    ratio: float
    conductance: float
    smallest_approach: float | None = None
    cooling_power: float | None = None
    length: float | None = None
    metal: float | None = None


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
    threads = results[0].fluid.model.threads if results else 1
    return tuple(in_threads(lambda one: _point(circuit, *one), asked, threads))


def _point(circuit: ThrottleCircuit, number: int, ratio: float, result: CircuitResult) -> SizePoint:
    if ratio == 1.0:
        found = result.recuperator_conductance, result.pinch.smallest_approach, result.cooling_power, result.rating
        return _told(number, ratio, *found)
    conductance = ratio * result.recuperator_conductance
    try:
        found = solved_states(result.fluid, _resized(circuit, result, ratio, conductance), POINTS)
        found.layout.works(found)  # of a precooler's stage, too, which may not be able to
    except (UnreachableError, ConvergenceError):
        return SizePoint(number, ratio, conductance)
    smallest = min(curve.smallest_approach for curve in found.curves)
    return _told(number, ratio, found.conductance, smallest, found.cooling_power, found.rating)


def _told(number, ratio, conductance, smallest_approach, cooling_power, rating: Rating | None) -> SizePoint:
    tubes = () if rating is None else (rating.length, rating.mass)
    return SizePoint(number, ratio, conductance, smallest_approach, cooling_power, *tubes)


def _resized(circuit: ThrottleCircuit, result: CircuitResult, ratio: float, conductance: float) -> ThrottleCircuit:
    settled = circuit.as_solved(result)
    if circuit.coil is None:
        return replace(settled, recuperator_conductance=conductance)
    return replace(settled, coil=replace(circuit.coil, length=ratio * result.rating.length))
