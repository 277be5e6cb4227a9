"""The only loop of rounds: the pressure profile of a recuperator fits the ends that its cooling leads to."""

from __future__ import annotations

from mixjt.circuit.layout import Layout, Solution
from mixjt.errors import ConvergenceError

ROUNDS = 40


def settled_solution(layout: Layout, points: int, near: Solution | None = None) -> Solution:
    """Sections, choice and states of a circuit that fit each other.

    Parameters
    ----------
    points : int
        Temperatures in the first sweep of each side.
    near : Solution, optional
        Of a similar circuit, to start from.

    Raises
    ------
    UnreachableError
        Where there is no cooling.
    ConvergenceError
    """
    last = near
    for turn in range(ROUNDS):
        sections, choice = layout.choose(points, last, turn)
        solution = Solution(layout, sections, choice, layout.states(sections, choice))
        if layout.settled(solution, last):
            return solution
        last = solution
    raise ConvergenceError(
        "the pressure profile of the recuperator", "try slightly different pressures, pressure drops or load"
    )
