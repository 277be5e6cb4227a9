"""The only loop of rounds: pressure profile, heat leak and approaches fit the cooling and the hot gas that they lead to."""

from __future__ import annotations

import contextlib

from mixjt.circuit.aftercooling import SAME, approach_found, first_approach
from mixjt.circuit.layout import Layout, Solution
from mixjt.circuit.recuperator_sizing import Sizing
from mixjt.errors import ConvergenceError, InputError, UnreachableError

ROUNDS = 40
COARSE, COARSER, MOST_COARSE = 16, 4, 6  # points at least, and by how much fewer, in first rounds, which are so many at most


def settled_solution(layout: Layout, points: int, near: Solution | None = None) -> Solution:
    """Sections, choice and states of a circuit that fit each other, at the approaches or the conductances stated.

    Parameters
    ----------
    points : int
        Temperatures in the first sweep of each side.
    near : Solution, optional
        Of a similar circuit, to start from; with the approach that it has where that is a result.

    Raises
    ------
    UnreachableError
        Where there is no cooling.
    ConvergenceError
    """
    last, sizing = near, Sizing(layout)
    layout = layout.behind(first_approach(layout.fluid, layout.circuit))
    if near is not None and layout.circuit.of_stated_size:
        with contextlib.suppress(InputError):  # too wide for this circuit
            layout = layout.at_approach(near.layout.circuit.recuperator_approach)
    coarse = near is None and layout.rounds_matter
    for turn in range(ROUNDS):
        grid = min(max(points // COARSER, COARSE), points) if coarse else points
        try:
            sections, choice = layout.choose(grid, last, turn)
        except UnreachableError as error:
            layout = sizing.closer(layout, error)
            continue
        solution = Solution(layout, sections, choice, layout.states(sections, choice), grid, coarse)
        behind = approach_found(solution)
        cooled = abs(behind - layout.circuit.aftercooler_approach) <= SAME
        if not coarse and cooled and layout.settled(solution, last) and sizing.met(solution):
            return solution
        coarse = coarse and turn < MOST_COARSE and not sizing.close(solution)
        last, layout = solution, sizing.next(solution).behind(behind)
    sized = "a smaller recuperator, " if layout.circuit.of_stated_size else ""
    raise ConvergenceError("the profile of the recuperator", f"try {sized}slightly different pressures or load")
