"""Any kind of circuit solved for its greatest cooling.

A grid that missed a pinch shows in the finished curves, which then undercut the approach; it is refined.
"""

from __future__ import annotations

from dataclasses import fields

from mixjt.circuit.layout import Layout, Solution
from mixjt.circuit.layouts.liquefier import Liquefier, LiquefierCircuit
from mixjt.circuit.layouts.plain import Plain
from mixjt.circuit.layouts.precooled import Precooled, PrecooledCircuit
from mixjt.circuit.layouts.separator import Separator, SeparatorCircuit
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.outcome import circuit_outcome
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.rounds import settled_solution
from mixjt.errors import ConvergenceError, InputError
from mixjt.fluid.fluid import Fluid, checked_fluid
from mixjt.parts.precooler import Precooler

PLAIN, PRECOOLED, SEPARATOR = "plain", "precooled", "separator"
CIRCUIT_KINDS = (PLAIN, PRECOOLED, SEPARATOR)
LAYOUTS: dict[type[ThrottleCircuit], type[Layout]] = {
    ThrottleCircuit: Plain,
    PrecooledCircuit: Precooled,
    SeparatorCircuit: Separator,
    LiquefierCircuit: Liquefier,
}
FEWEST_POINTS = 8
APPROACH_TOLERANCE = 1e-3  # K, by which a finished section may undercut its stated approach
FINEST = 1024  # grid points, where a section that undercuts it is given up


def solve_circuit(fluid: Fluid, circuit: ThrottleCircuit, points: int = 64) -> CircuitResult:
    """Solve a circuit for its greatest cooling (a liquefier for its greatest feed) at the approach or the conductance stated.

    Parameters
    ----------
    fluid : Fluid
        The blend that the compressor moves.
    circuit : ThrottleCircuit
        Or one of its kin, each of which has a result of its own.
    points : int
        Temperatures in the first sweep of each side and in the curves; at least 8.

    Raises
    ------
    InputError
        For mole fractions that are not a blend, or too few points.
    UnreachableError
        Where the blend does not cool at all, the compressor moves no gas, or a further part cannot work.
    ConvergenceError
        Where a state cannot be found, or the finished recuperator undercuts its approach.
    """
    return circuit_outcome(solved_states(fluid, circuit, points))


def solved_states(fluid: Fluid, circuit: ThrottleCircuit, points: int = 64, near: Solution | None = None) -> Solution:
    """The same without what is read off a solution, for those who want to know little of many circuits.

    near is the solution of a similar circuit of the same kind, to start from.
    """
    return _pinches_kept(layout_of(fluid, circuit, points).prepared(points), points, near)


def layout_of(fluid: Fluid, circuit: ThrottleCircuit, points: int = 64) -> Layout:
    """A circuit bound to a blend; parameters and errors as those of `solve_circuit`."""
    if type(circuit) not in LAYOUTS:
        raise InputError(f"there is no solver for a {type(circuit).__name__}")
    if points < FEWEST_POINTS:
        raise InputError(f"a circuit needs at least {FEWEST_POINTS} grid points, got {points}")
    return LAYOUTS[type(circuit)](checked_fluid(fluid), circuit)


def _pinches_kept(layout: Layout, points: int, near: Solution | None) -> Solution:
    """A solution, on a finer grid where a coarse one missed a pinch."""
    while True:
        solution = settled_solution(layout, points, near)
        tightest = min(solution.curves, key=lambda curve: curve.smallest_approach)
        if tightest.smallest_approach >= solution.layout.circuit.recuperator_approach - APPROACH_TOLERANCE:
            return solution
        if 4 * points > FINEST:
            break
        points, near = 4 * points, solution
    raise ConvergenceError(
        "the recuperator",
        "try a slightly different blend",
        approach=tightest.smallest_approach,
        temperature=tightest.pinch_temperature,
    )


def grid_cooling(fluid: Fluid, circuit: ThrottleCircuit, points: int) -> float:
    """Cooling [J/mol] of a circuit as it stands on a fixed grid; see `Layout.grid_cooling`.

    The circuit must be what `ThrottleCircuit.as_solved` makes of a result: precooling and intermediate temperature are taken as they stand.
    """
    return layout_of(fluid, circuit, points).grid_cooling(points)


def with_precooler(circuit: ThrottleCircuit, precooler: Precooler, warm_section: bool = True) -> PrecooledCircuit:
    """A plain circuit with a precooler added."""
    return PrecooledCircuit(**_plain_values(circuit), precooler=precooler, warm_section=warm_section)


def with_separator(
    circuit: ThrottleCircuit, temperature: float | None = None, intermediate: float | None = None
) -> SeparatorCircuit:
    """A plain circuit with a phase separator added.

    Parameters
    ----------
    temperature : float, optional
        Of the separator, where a partial condenser sets it [K]; by default that of the aftercooler outlet.
    intermediate : float, optional
        High-side temperature at which liquid joins the return [K]; by default the best.
    """
    values = _plain_values(circuit)
    if temperature is not None:
        values |= {"aftercooler": None, "aftercooler_approach": temperature - circuit.ambient_temperature}
    return SeparatorCircuit(**values, intermediate_temperature=intermediate)


def with_feed(circuit: ThrottleCircuit, gas: Fluid, passage, load: float = 0.0) -> LiquefierCircuit:
    """A plain circuit with a third passage for a gas to be liquefied, and another load [W]."""
    return LiquefierCircuit(**_plain_values(circuit), gas=gas, passage=passage, load=load)


def _plain_values(circuit: ThrottleCircuit) -> dict:
    return {entry.name: getattr(circuit, entry.name) for entry in fields(ThrottleCircuit)}
