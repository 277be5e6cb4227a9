"""Cooling power and lowest temperature of many blends at once, in one plain circuit.

Everything is read off two sweeps at temperatures common to all blends, as the blend search does it (see
`mixjt.studies.search.evaluate`): cooling is the least enthalpy difference on the grid, the compressor's flow is
interpolated. An aftercooler of stated size has for all of them the outlet temperature that it has for their mean.

The lowest temperature follows from the same sweeps. Lowering the cold end only adds sections to the recuperator, so
the greatest cooling q(T_cold) is the least of h_low(T - a) - h_high(T) over all T from the aftercooler outlet down to
T_cold + a. The load Q is carried as long as q n >= Q, with n the compressor's flow, itself a function of q by way of
the compressor's inlet. With q* the cooling for which q* n(q*) = Q, the lowest temperature is therefore where the
difference, followed from the warm end, first falls below q*, less the approach. The pressure drops are spread between
the temperatures that the mean of the blends has at its lowest one.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from mixjt.blend import pure_ingredient
from mixjt.circuit.aftercooling import with_approach_held
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.solve import solved_states
from mixjt.errors import UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import PropertyModel
from mixjt.parts.recuperator.side import Ends
from mixjt.studies.search.evaluate import Evaluator, Grid, Judgement, Samples, Trials
from mixjt.studies.search.grids import FINE, close_grid, common_grid
from mixjt.studies.search.search_request import Bottle, Constraint, SearchRequest

STEP = 1.5  # K between temperatures of the search for the lowest one
LEAST_POINTS = 8
SPREADING_ROUNDS = 2  # of the pressure drops; more change the answer by millikelvins
FLOW_ROUNDS = 8  # the flow changes by about a tenth of what the cooling does


@dataclass(frozen=True)
class BatchCooling:
    """Arrays (n,) of n blends: cooling_power [W], cooling_capacity [J/mol], molar_flow [mol/s].

    The first two are negative where a blend does not cool, NaN where the model has no answer. margins (n, k) of the
    conditions that must hold, at least suction superheat and discharge temperature, are good where they are >= 0;
    names says what they are, steps what counts as one kelvin.
    """

    cooling_power: np.ndarray
    cooling_capacity: np.ndarray
    molar_flow: np.ndarray
    margins: np.ndarray
    names: tuple[str, ...]
    steps: np.ndarray


@dataclass(frozen=True)
class BatchReach:
    """Lowest temperatures (n,) [K] at which n blends carry a load.

    NaN where a blend carries it nowhere (carried is False), where it still carries it at the floor of the search
    (below_floor is True), or where the model has no answer (solved is False). slope (n,) [W/K] is what the cooling
    power gains per kelvin of warmer cold end just above.
    """

    temperature: np.ndarray
    slope: np.ndarray
    carried: np.ndarray
    below_floor: np.ndarray
    solved: np.ndarray


def batch_cooling(
    model: PropertyModel,
    z,
    circuit: ThrottleCircuit,
    suction_superheat: float = 0.0,
    constraints: Sequence[Constraint] = (),
) -> BatchCooling:
    """Cooling power of many blends at the circuit's cold temperature.

    The blends should lie close together: temperatures are dense at the pinches and the dew point of their mean,
    and the pressure drops are spread between its temperatures.

    Parameters
    ----------
    model : PropertyModel
    z : array (n, c)
        Mole fractions.
    circuit : ThrottleCircuit
    suction_superheat : float
        That counts as a margin of nought [K].
    constraints : sequence of Constraint
        Further conditions, as of a blend search.
    """
    z = np.atleast_2d(z)
    circuit = with_approach_held(Fluid(model, z.mean(axis=0)), circuit)
    evaluator = _evaluator(model, circuit, suction_superheat, constraints)
    mean = evaluator.sample(common_grid(evaluator.request, FINE), _trials(z.mean(axis=0), circuit))
    judged = evaluator.judge(mean, np.nan_to_num(mean.cooling))
    usable = np.isfinite(mean.cooling[0])
    grid = close_grid(evaluator.request, mean, judged, FINE) if usable else mean.grid
    samples = evaluator.sample(grid, _trials(z, circuit))
    judged = evaluator.judge(samples, np.nan_to_num(samples.cooling))
    flow = np.where(np.isfinite(samples.cooling), _flow(samples, judged), np.nan)
    return BatchCooling(
        samples.cooling * flow, samples.cooling, flow, judged.margins, evaluator.names, evaluator.steps
    )


def batch_reach(model: PropertyModel, z, circuit: ThrottleCircuit, load: float, floor: float) -> BatchReach:
    """Lowest temperature at which each of many blends, which should lie close together, carries a load.

    A recuperator of stated conductance keeps the approach that it has with the first blend at the circuit's own cold
    temperature, and the heat leak is spread as in a circuit that reaches down to the floor: both make a good guess, not more.

    Parameters
    ----------
    model : PropertyModel
    z : array (n, c)
        Mole fractions.
    circuit : ThrottleCircuit
        Its cold temperature does not count.
    load : float
        [W]
    floor : float
        Where the search ends, as a cold temperature [K].
    """
    z = np.atleast_2d(z)
    circuit = _with_recuperator_held(Fluid(model, z[0]), with_approach_held(Fluid(model, z.mean(axis=0)), circuit))
    evaluator = _evaluator(model, replace(circuit, cold_temperature=floor), 0.0, ())
    span = evaluator.circuit.span[1] - evaluator.circuit.span[0]
    even = common_grid(evaluator.request, max(int(np.ceil(span / STEP)) + 1, LEAST_POINTS))
    sides = circuit.ends()
    if circuit.high_side_drop > 0.0 or circuit.low_side_drop > 0.0:
        for _ in range(SPREADING_ROUNDS):
            sides = _sides_at_reach(evaluator, _spread(even, sides), z.mean(axis=0), circuit, load) or sides
    grid = _spread(even, sides)
    samples = evaluator.sample(grid, _trials(z, circuit))
    needed, flow = _needed_cooling(evaluator, samples, load)
    temperature, gradient = _first_below(grid.recuperator, samples.difference, needed)
    solved = np.isfinite(samples.cooling)
    with np.errstate(invalid="ignore"):
        carried = solved & (samples.difference[:, -1] >= needed)
        below = carried & (samples.cooling >= needed)
    return BatchReach(temperature - circuit.recuperator_approach, gradient * flow, carried, below, solved)


def _with_recuperator_held(fluid: Fluid, circuit: ThrottleCircuit) -> ThrottleCircuit:
    """The circuit with an approach in the place of its recuperator's size; that stated where it does not cool at all."""
    held = replace(circuit, recuperator_conductance=None, coil=None)
    if circuit.of_stated_size:
        with contextlib.suppress(UnreachableError):
            return replace(held, recuperator_approach=solved_states(fluid, circuit).layout.circuit.recuperator_approach)
    return held


def _spread(grid: Grid, sides: tuple[Ends, Ends]) -> Grid:
    return replace(grid, high_side=sides[0], low_side=sides[1])


def _sides_at_reach(evaluator: Evaluator, grid: Grid, z, circuit: ThrottleCircuit, load: float):
    """The recuperator's sides of one blend at its lowest temperature; None where there is none."""
    samples = evaluator.sample(grid, _trials(z, circuit))
    needed, _ = _needed_cooling(evaluator, samples, load)
    warm, _ = _first_below(grid.recuperator, samples.difference, needed)
    if not np.isfinite(warm[0]):
        return None
    cold = float(warm[0]) - circuit.recuperator_approach
    inlet = float(evaluator.judge(samples, needed).suction_temperature[0])
    before_throttle = np.interp(cold, grid.low, samples.low.enthalpy[0]) - needed[0]
    throttle = float(np.interp(before_throttle, samples.high[0], grid.recuperator))
    warmest = circuit.warm_temperature - circuit.recuperator_approach
    return replace(circuit, cold_temperature=cold).ends(throttle, min(max(inlet, cold + 1.0), warmest))


def _needed_cooling(evaluator: Evaluator, samples: Samples, load: float) -> tuple[np.ndarray, np.ndarray]:
    """Cooling (n,) [J/mol] for which cooling times the flow it leads to is the load, and that flow [mol/s]."""
    most = np.nan_to_num(samples.difference[:, -1])  # at the warm end; no blend cools by more
    cooling = most
    for _ in range(FLOW_ROUNDS):
        flow = _flow(samples, evaluator.judge(samples, np.minimum(cooling, most)))
        cooling = load / flow
    return cooling, flow


def _flow(samples: Samples, judged: Judgement) -> np.ndarray:
    """Molar flow (n,) [mol/s].

    The gas that enters the cylinder was read off the low side's pressure profile, which is that of the mean blend; its
    density is brought to the suction pressure as that of an ideal gas.
    """
    profile = samples.grid.low_side.pressure(judged.entering_temperature)
    return np.exp(judged.log_gain) * samples.trials.suction / profile


def _first_below(temperatures: np.ndarray, difference: np.ndarray, needed: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where each row, followed from its last column, first falls below what is needed, and its slope there."""
    found, slope = np.full(len(difference), np.nan), np.full(len(difference), np.nan)
    for row, values in enumerate(difference):
        short = np.flatnonzero(values < needed[row])
        if short.size == 0 or short[-1] == len(values) - 1:
            continue
        k = short[-1]
        slope[row] = (values[k + 1] - values[k]) / (temperatures[k + 1] - temperatures[k])
        found[row] = temperatures[k] + (needed[row] - values[k]) / slope[row]
    return found, slope


def _evaluator(model, circuit: ThrottleCircuit, superheat: float, constraints) -> Evaluator:
    bottles = tuple(Bottle(pure_ingredient(name)) for name in model.gases)
    request = SearchRequest(
        circuit, bottles, largest_number_of_gases=len(bottles), smallest_fraction=0.0,
        suction_superheat=superheat, constraints=constraints,
    )  # fmt: skip
    return Evaluator(model, request)


def _trials(z, circuit: ThrottleCircuit) -> Trials:
    z = np.atleast_2d(np.asarray(z, dtype=float))
    return Trials(z, np.full(len(z), circuit.suction_pressure), np.full(len(z), circuit.discharge_pressure))
