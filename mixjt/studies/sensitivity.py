"""How cooling power and lowest temperature move when one input of a circuit at a time is changed.

Every changed circuit is solved in full, so the effects are differences of solutions, not derivatives. All that is
not changed is held: the pressures above all, which in a real machine settle anew with blend, ambient and charge, and
with a recuperator of stated size its UA.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import InputError, MixjtError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import keeping
from mixjt.keys import key
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.compressor.limits import exceeded
from mixjt.parts.recuperator.heat_transfer import FILM_BAND
from mixjt.studies.reach import Reach, lowest_temperature
from mixjt.studies.recipe import Recipe, shifted
from mixjt.workers import workers

Progress = Callable[[int, int], None]  # done, total

LEAST_APPROACH = 0.5  # K, below which a changed recuperator approach is not taken
FRACTION, DIFFERENCE, RELATIVE = "mol %", "K", "%"
UNIT_SCALE = {FRACTION: 100.0, DIFFERENCE: 1.0, RELATIVE: 100.0}


@dataclass(frozen=True)
class SensitivityRequest:
    """By how much inputs are changed, up and down; fractions in mol/mol, the last two relative.

    load [W] is what the lowest temperature is asked for; None asks for none.
    """

    fraction_steps: tuple[float, ...] = key(
        "fraction", "by how much each gas or bottle is changed, up and down", default=(0.01, 0.02),
        within="[0, 0.2]", many=True,
    )
    ambient_change: float = key(
        "temperature_difference", "by how much the ambient is changed", default=10.0, within="[0, 50]"
    )
    approach_change: float = key(
        "temperature_difference", "by how much the recuperator's approach is changed, where it is stated, down to 0.5 K at most",
        default=2.0, within="[0, 30]",
    )
    conductance_change: float = key(
        "fraction", "by what part of itself the recuperator's UA is changed, where its size is stated",
        default=FILM_BAND, within="[0, 0.5]",
    )
    pressure_change: float = key(
        "fraction", "by what part of itself each pressure is changed", default=0.1, within="[0, 0.5]"
    )
    efficiency_change: float = key(
        "fraction", "by what part of itself each efficiency and the clearance is changed", default=0.1,
        within="[0, 0.5]",
    )
    load: float | None = key(
        "power", "the heat that the lowest temperature is asked for", default=None, within="(0, 1e5]",
        otherwise="that of [cold_end]",
    )


@dataclass(frozen=True)
class Change:
    """One input changed by an amount: a mole fraction, a difference [K] or a relative one, as `unit` says.

    z (c,) and circuit are what is solved; where they make no circuit, problem says why.
    """

    input: str
    amount: float
    unit: str
    z: np.ndarray | None = field(repr=False, default=None)
    circuit: ThrottleCircuit | None = field(repr=False, default=None)
    problem: str = ""

    @property
    def text(self) -> str:
        """For instance "+2 mol %"."""
        return f"{UNIT_SCALE[self.unit] * self.amount:+.3g} {self.unit}"


@dataclass(frozen=True)
class Effect:
    """What a change does: the changed circuit's solution, or None and why; its lowest temperature, where asked for.

    power_change [W] and lowest_change [K] count from the unchanged circuit, None where either is unknown.
    """

    change: Change
    result: CircuitResult | None
    reach: Reach | None
    power_change: float | None
    lowest_change: float | None
    problem: str = ""

    @property
    def limits_passed(self) -> tuple[str, ...]:
        """Names of the compressor's limits that the changed circuit passes."""
        return () if self.result is None else _passed(self.result, self.change.circuit.compressor)


@dataclass(frozen=True)
class Sensitivity:
    """The unchanged circuit, its lowest temperature, and the effects, the input with the greatest one first;
    limits_passed names the compressor's limits that the unchanged circuit passes already."""

    base: CircuitResult
    reach: Reach | None
    effects: tuple[Effect, ...]
    interrupted: bool = False
    limits_passed: tuple[str, ...] = ()

    @property
    def inputs(self) -> tuple[str, ...]:
        """Inputs in the order of the effects."""
        return tuple(dict.fromkeys(effect.change.input for effect in self.effects))


def solve_sensitivity(
    model: PropertyModel,
    recipe: Recipe,
    circuit: ThrottleCircuit,
    request: SensitivityRequest,
    progress: Progress | None = None,
    base: CircuitResult | None = None,
    processes: int = 1,
) -> Sensitivity:
    """Solve a plain circuit with every input changed in turn.

    Parameters
    ----------
    model : PropertyModel
    recipe : Recipe
        The blend, whose bottles are changed one at a time.
    circuit : ThrottleCircuit
    request : SensitivityRequest
    progress : function, optional
        Called with done and total. A KeyboardInterrupt ends the study and keeps what was found.
    base : CircuitResult, optional
        The unchanged circuit, where it has been solved.
    processes : int
        Where it is more than one, so many share the changed circuits; the answers are the same.

    Raises
    ------
    UnreachableError, ConvergenceError
        Where the unchanged circuit cannot be solved; changed ones say so in their effects.
    """
    fluid = Fluid(model, recipe.composition)
    base = solve_circuit(fluid, circuit) if base is None else base
    wanted = list(changed_circuits(recipe, circuit, request))
    reach, effects = None, []
    with keeping() as cut:
        if request.load is not None:
            reach = lowest_temperature(fluid, circuit, request.load)
        with workers(_Unchanged(model, base.cooling_power, reach), processes) as doers:
            answers = doers.answers("effect", wanted)
            for done in range(len(wanted)):
                if progress:
                    progress(done, len(wanted))
                effects.append(next(answers))
    return Sensitivity(base, reach, _ranked(effects), cut.short, _passed(base, circuit.compressor))


def _passed(result: CircuitResult, compressor: Compressor) -> tuple[str, ...]:
    return tuple(limit.name for limit in exceeded(result, compressor))


def changed_circuits(recipe: Recipe, circuit: ThrottleCircuit, request: SensitivityRequest) -> Iterator[Change]:
    """All changed circuits, input by input, from the most negative amount to the most positive."""
    z = recipe.composition
    for k, name in enumerate(recipe.names):
        for step in _both_ways(request.fraction_steps):
            yield _fraction_change(recipe, k, name, step, circuit)
    for name, unit, amount, make in _circuit_inputs(circuit, request):
        for step in _both_ways((amount,)):
            try:
                yield Change(name, step, unit, z, make(step))
            except InputError as error:
                yield Change(name, step, unit, problem=str(error))


def _both_ways(steps) -> list[float]:
    return sorted({sign * step for step in steps for sign in (-1.0, 1.0)})


def _fraction_change(recipe: Recipe, k: int, name: str, step: float, circuit: ThrottleCircuit) -> Change:
    amounts = shifted(recipe.amounts, k, step)
    if amounts is None:
        problem = f"there is only {100.0 * recipe.amounts[k]:.3g} mol % of it"
        return Change(name, step, FRACTION, problem=problem)
    return Change(name, step, FRACTION, recipe.mixed(amounts), circuit)


def _circuit_inputs(circuit: ThrottleCircuit, request: SensitivityRequest):
    """Name, unit, amount and the changed circuit as a function of the signed amount."""
    compressor = circuit.compressor
    relative, pressures = request.efficiency_change, request.pressure_change

    def machine(**changed) -> ThrottleCircuit:
        return replace(circuit, compressor=replace(compressor, **changed))

    yield "ambient temperature", DIFFERENCE, request.ambient_change, lambda step: replace(
        circuit, ambient_temperature=circuit.ambient_temperature + step
    )
    if circuit.recuperator_conductance is None:
        yield "recuperator approach", DIFFERENCE, request.approach_change, lambda step: replace(
            circuit, recuperator_approach=_changed_approach(circuit.recuperator_approach, step)
        )
    else:
        yield "recuperator UA", RELATIVE, request.conductance_change, lambda step: replace(
            circuit, recuperator_conductance=circuit.recuperator_conductance * (1.0 + step)
        )
    for name in ("suction_pressure", "discharge_pressure"):
        yield name.replace("_", " "), RELATIVE, pressures, lambda step, name=name: replace(
            circuit, **{name: getattr(circuit, name) * (1.0 + step)}
        )
    yield "volumetric efficiency", RELATIVE, relative, lambda step: machine(
        displacement=compressor.displacement * (1.0 + step)
    )
    if compressor.clearance > 0.0:
        yield "clearance", RELATIVE, relative, lambda step: machine(clearance=compressor.clearance * (1.0 + step))
    yield "isentropic efficiency", RELATIVE, relative, lambda step: machine(
        isentropic_efficiency=min(compressor.isentropic_efficiency * (1.0 + step), 1.0)
    )


def _changed_approach(approach: float, step: float) -> float:
    return max(approach + step, min(approach, LEAST_APPROACH))


@dataclass(frozen=True)
class _Unchanged:
    """What effects count from."""

    model: PropertyModel
    cooling_power: float
    reach: Reach | None

    def effect(self, change: Change) -> Effect:
        """Of one change."""
        if change.problem:
            return Effect(change, None, None, None, None, change.problem)
        result, problem, moved, reach = None, "", None, self.reach
        try:
            result = solve_circuit(Fluid(self.model, change.z), change.circuit)
            moved = result.cooling_power - self.cooling_power
        except MixjtError as error:
            problem = str(error)
        if reach is None:
            return Effect(change, result, None, moved, None, problem)
        try:
            lowest = lowest_temperature(Fluid(self.model, change.z), change.circuit, reach.load)
        except MixjtError as error:
            lowest = Reach(None, reach.load, str(error))
        known = lowest.temperature is not None and reach.temperature is not None
        colder = lowest.temperature - reach.temperature if known else None
        return Effect(change, result, lowest, moved, colder, problem or lowest.problem)


def _ranked(effects: list[Effect]) -> tuple[Effect, ...]:
    """Inputs by their greatest effect on the cooling power, then on the lowest temperature."""
    sizes = greatest_effects(effects)
    order = sorted(sizes, key=lambda name: sizes[name], reverse=True)
    return tuple(effect for name in order for effect in effects if effect.change.input == name)


def greatest_effects(effects) -> dict[str, tuple[float, float]]:
    """Greatest effect of each input on the cooling power [W] and on the lowest temperature [K]."""
    sizes: dict[str, tuple[float, float]] = {}
    for effect in effects:
        power, lowest = sizes.get(effect.change.input, (0.0, 0.0))
        here = (abs(effect.power_change or 0.0), abs(effect.lowest_change or 0.0))
        sizes[effect.change.input] = (max(power, here[0]), max(lowest, here[1]))
    return sizes
