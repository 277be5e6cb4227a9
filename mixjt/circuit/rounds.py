"""The only loop of rounds: pressure profile, heat leak and approach of a recuperator fit the cooling that they lead to."""

from __future__ import annotations

from mixjt.circuit.layout import Layout, Solution
from mixjt.circuit.sizing import Sizing
from mixjt.errors import ConvergenceError, UnreachableError

ROUNDS = 40


def settled_solution(layout: Layout, points: int, near: Solution | None = None) -> Solution:
    """Sections, choice and states of a circuit that fit each other, at the approach or the conductance stated.

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
    last, sizing = near, Sizing(layout)
    for turn in range(ROUNDS):
        try:
            sections, choice = layout.choose(points, last, turn)
        except UnreachableError as error:
            layout = sizing.closer(layout, error)
            continue
        solution = Solution(layout, sections, choice, layout.states(sections, choice), points)
        if layout.settled(solution, last) and sizing.met(solution):
            return solution
        last, layout = solution, sizing.next(solution)
    raise ConvergenceError(
        "the profile of the recuperator", "try slightly different pressures, pressure drops or load"
    )
