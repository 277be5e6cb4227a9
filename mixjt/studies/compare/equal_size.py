"""Roads with recuperators of one size: what each takes to carry the load with the same conductance."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from mixjt.circuit.layout import Solution
from mixjt.circuit.outcome import circuit_outcome
from mixjt.circuit.solve import solved_states
from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.fluid.roots import root_between
from mixjt.studies.compare.comparison import Carried, Road

POINTS = 32  # of each circuit
CLOSE = 1e-3  # of the machine's size
MOST, STEPS = 4.0, 8  # times that of the stated approach, or one over so many; steps to there


def equal_conductance(roads: Sequence[Road], stated: float | None) -> float | None:
    """The conductance to compare at [W/K]: that stated, or else the least that a blend takes at the stated approach."""
    needed = [road.figures.recuperator_conductance for road in roads if road.is_blend and road.figures is not None]
    return stated or min(needed, default=None)


def equal_terms(conductance: float | None) -> list[str]:
    """What those powers mean, for people."""
    if conductance is None:
        return []
    return [
        f'"with equal UA": the power of each blend\'s road where its recuperator has {conductance:.3g} W/K in all, whatever '
        "approach that leaves it, and the compressor the size that carries the load then; sections of one recuperator "
        "share it at equal approaches"
    ]


def power_at_conductance(carried: Carried, load: float, conductance: float) -> float | None:
    """Electrical power [W] of a blend's road with that recuperator [W/K]; None where it does not carry the load [W].

    A machine s times the size has s times the flow, so it is solved at its own size with conductance / s.
    """
    circuit, result = carried.circuit.as_solved(carried.result), carried.result
    first = math.log(load / result.cooling_power)
    solved: dict[float, Solution] = {}

    def surplus(size: float) -> float:
        shared = replace(circuit, recuperator_conductance=conductance * math.exp(-size))
        try:
            solved[size] = solved_states(result.fluid, shared, POINTS, near=next(reversed(solved.values()), None))
        except UnreachableError:
            return -1.0
        return math.exp(size) * solved[size].cooling_power / load - 1.0

    with contextlib.suppress(ConvergenceError):
        size = _vanishing(surplus, first)
        if size is not None and abs(surplus(size)) < 10.0 * CLOSE:
            return math.exp(size) * circuit_outcome(solved[size]).total_power
    return None


def _vanishing(surplus: Callable[[float], float], first: float) -> float | None:
    """The logarithm of a size at which nothing is left over, looked for from a first one on; None where there is none.

    What larger machines carry rises until their recuperator is so small for them that they cool no more.
    """
    at, here = first, surplus(first)
    step = math.copysign(math.log(MOST) / STEPS, -here)
    for _ in range(STEPS if abs(here) > CLOSE else 0):
        further = surplus(at + step)
        if (further > 0.0) != (here > 0.0):
            return root_between(surplus, min(at, at + step), max(at, at + step), CLOSE)
        if further < here < 0.0:
            return None
        at, here = at + step, further
    return at if abs(here) <= CLOSE else None
