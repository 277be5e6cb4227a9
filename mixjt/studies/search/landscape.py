"""The search's figure of merit over bottle fractions and pressures."""

from __future__ import annotations

import contextlib
import copy
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from mixjt.blend import composition_matrix
from mixjt.circuit.aftercooling import first_approach
from mixjt.circuit.layouts.separator import SeparatorCircuit
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import PropertyModel
from mixjt.studies.search.both_ends import BothEndsEvaluator
from mixjt.studies.search.charge_limit import ChargeConstraint
from mixjt.studies.search.evaluate import LEAST_COOLING, Evaluator, Grid, Judgement, Samples, Trials
from mixjt.studies.search.grids import ROUGH, common_grid
from mixjt.studies.search.search_request import SearchRequest
from mixjt.studies.search.separator_batch import SeparatorEvaluator
from mixjt.studies.search.starts import space_filling

PENALTY = 0.3  # of the merit, for each step by which a constraint is missed
SAME_APPROACH = 0.02  # K
SAME_CHARGE = 5e-3  # of what a circuit holds
SAME_COIL, SAME_RATIO = 2e-3, 0.02  # of a conductance or a pressure; of an approach
FIRST_BLENDS, FIRST_TRIES = 256, 5  # looked at, and solved in full at most, to see what tubes do
SAFETY = 0.01  # steps kept from every constraint, for what interpolation leaves open


@dataclass(frozen=True)
class Place:
    """Bottle fractions (bottles,) and logarithms of suction and discharge pressure (2,)."""

    amounts: np.ndarray
    log_pressures: np.ndarray

    @cached_property
    def present(self) -> tuple[int, ...]:
        """Which bottles it uses."""
        return tuple(int(i) for i in np.flatnonzero(self.amounts > 0.0))


def place_of(request: SearchRequest, result: CircuitResult, amounts: Mapping[str, float]) -> Place:
    """Where a solved blend stands: fractions by bottle, and the circuit's pressures."""
    shares = np.array([amounts.get(name, 0.0) for name in request.names])
    return Place(shares, np.log([result.suction_pressure, result.discharge_pressure]))


@dataclass(frozen=True)
class View:
    """Places seen on one grid: samples, judgement and merit (n,), which is -inf where there is no answer."""

    samples: Samples
    judgement: Judgement
    merit: np.ndarray
    missed: np.ndarray  # (n, k) steps by which each constraint is missed

    def part(self, rows) -> View:
        """Some of the places."""
        return View(self.samples.part(rows), self.judgement.part(rows), self.merit[rows], self.missed[rows])


class Landscape:
    """Merit of places: the logarithm of the objective, less a penalty for constraints that are missed."""

    def __init__(self, model: PropertyModel, request: SearchRequest):
        names, matrix = composition_matrix([bottle.ingredient for bottle in request.bottles])
        unknown = [name for name in names if name not in model.gases]
        if unknown:
            raise InputError(f"the property model does not hold {', '.join(unknown)}, which the bottles contain")
        self.matrix = np.zeros((len(matrix), len(model.gases)))
        for column, name in enumerate(names):
            self.matrix[:, list(model.gases).index(name)] = matrix[:, column]
        self.model, self.asked = model, request.at_hottest
        request = self.asked
        alike = Fluid(model, self.matrix.mean(axis=0))  # equal parts of all bottles
        circuit = replace(request.circuit, aftercooler_approach=first_approach(alike, request.circuit))
        self._judge_by(replace(circuit, coil=None))
        self.safety = np.full(len(self.evaluator.names), SAFETY)
        if request.circuit.coil is not None:
            self._judge_by_first_coil()

    def _judge_by(self, circuit: ThrottleCircuit) -> None:
        """Judge blends in a circuit whose outlet of the aftercooler, conductance and pressure drops are those of all of them."""
        self.request = request = replace(self.asked, circuit=circuit)
        kind = SeparatorEvaluator if isinstance(request.circuit, SeparatorCircuit) else Evaluator
        kind = kind if request.ambient_range is None else BothEndsEvaluator
        self.evaluator = kind(self.model, request)

    @property
    def _charges(self) -> list[ChargeConstraint]:
        return [item for item in self.asked.constraints if isinstance(item, ChargeConstraint)]

    def _judge_by_first_coil(self) -> None:
        """Judge blends by what the tubes do with the best of a few that they cool at all with."""
        amounts, log_pressures = (rows[:FIRST_BLENDS] for rows in space_filling(self.request))
        merit = self.view(common_grid(self.request, ROUGH), amounts, log_pressures).merit
        for row in np.argsort(-merit, kind="stable")[:FIRST_TRIES]:
            place = Place(amounts[row], log_pressures[row])
            with contextlib.suppress(UnreachableError, ConvergenceError):
                self._judge_by(self._like(self.solved(place, self.request.circuit.recuperator_approach)))
                return

    def solved(self, place: Place, approach: float, ambient: float | None = None) -> CircuitResult:
        """The circuit at a place in full, in its own ambient or another [K].

        Of a recuperator of stated size the search for its approach [K] starts at the one given.

        Raises
        ------
        UnreachableError, ConvergenceError
        """
        suction, discharge = (float(value) for value in np.exp(place.log_pressures))
        circuit = replace(self.request.circuit, suction_pressure=suction, discharge_pressure=discharge)
        if self.asked.circuit.of_stated_size:
            circuit = replace(circuit, recuperator_approach=approach)
        if self.asked.circuit.coil is not None:
            stated = self.asked.circuit
            circuit = replace(circuit, coil=stated.coil, recuperator_conductance=stated.recuperator_conductance)
        if ambient is not None:
            circuit = replace(circuit, ambient_temperature=ambient)
        return solve_circuit(Fluid(self.model, self.blend(place)), circuit)

    def behind(self, result: CircuitResult) -> Landscape:
        """The same with all blends judged by the aftercooler's outlet, the conductance, the drops and the charge of a solved one."""
        if not self.off(result):
            return self
        other = copy.copy(self)
        held = [item.corrected(result) if isinstance(item, ChargeConstraint) else item for item in self.asked.constraints]
        other.asked = replace(self.asked, constraints=tuple(held))
        other._judge_by(self._like(result))
        return other

    @property
    def sized(self) -> bool:
        """Whether something about the circuit follows from sizes and moves with the blend."""
        asked = self.asked.circuit
        return asked.aftercooler is not None or asked.coil is not None or self._by_approach or bool(self._charges)

    @property
    def _by_approach(self) -> bool:
        """Whether a stated conductance is judged by the approach that a solved blend has with it."""
        return self.asked.circuit.recuperator_conductance is not None and isinstance(self.asked.circuit, SeparatorCircuit)

    def off(self, result: CircuitResult) -> bool:
        """Whether these are far from those that blends are judged by, where they follow from sizes."""
        judged, asked = self.request.circuit, self.asked.circuit
        cooled = abs(judged.aftercooler_approach - result.aftercooler_approach) <= SAME_APPROACH
        if asked.aftercooler is not None and not cooled:
            return True
        if self._by_approach and abs(judged.recuperator_approach / result.circuit.recuperator_approach - 1.0) > SAME_RATIO:
            return True
        if any(abs(item.corrected(result).factor / item.factor - 1.0) > SAME_CHARGE for item in self._charges):
            return True
        if asked.coil is None:
            return False
        pairs = [(getattr(judged, side), getattr(result.circuit, side)) for side in ("throttle_pressure", "evaporator_pressure")]
        if asked.of_stated_length:
            pairs.append((judged.recuperator_conductance or np.inf, result.recuperator_conductance))
        return any(abs(one / other - 1.0) > SAME_COIL for one, other in pairs)

    def _like(self, result: CircuitResult) -> ThrottleCircuit:
        """The circuit that blends are judged by after one has been solved."""
        return replace(self.asked.circuit.as_sized(result), aftercooler_approach=result.aftercooler_approach)

    def with_safety(self, safety: np.ndarray) -> Landscape:
        """The same landscape, keeping other distances (k,) from the constraints."""
        other = copy.copy(self)
        other.safety = safety
        return other

    def trials(self, amounts: np.ndarray, log_pressures: np.ndarray) -> Trials:
        """Blends and pressures of places given as rows."""
        z = amounts @ self.matrix
        pressures = np.exp(log_pressures)
        return Trials(z / z.sum(axis=1, keepdims=True), pressures[:, 0], pressures[:, 1])

    def blend(self, place: Place) -> np.ndarray:
        """Mole fractions (c,) of one place."""
        return self.trials(place.amounts[None], place.log_pressures[None]).z[0]

    def sample(self, grid: Grid, amounts: np.ndarray, log_pressures: np.ndarray) -> Samples:
        """Sweep places given as rows."""
        return self.evaluator.sample(grid, self.trials(amounts, log_pressures))

    def view(self, grid: Grid, amounts: np.ndarray, log_pressures: np.ndarray) -> View:
        """Evaluate places given as rows."""
        samples = self.sample(grid, amounts, log_pressures)
        return self.seen(samples, self.evaluator.judge(samples, samples.cooling))

    def seen(self, samples: Samples, judgement: Judgement) -> View:
        """Merit of what has been swept and judged."""
        missed = self.missed(judgement.margins)
        merit = log_cooling(samples.cooling) + judgement.log_gain - PENALTY * missed.sum(axis=1)
        return View(samples, judgement, np.where(np.isfinite(merit), merit, -np.inf), missed)

    def missed(self, margins: np.ndarray) -> np.ndarray:
        """Steps by which each constraint is missed, zero where it holds."""
        return np.maximum(self.safety - margins / self.evaluator.steps, 0.0)


def log_cooling(cooling: np.ndarray) -> np.ndarray:
    """ln(q), continued straight below the least cooling so that blends which do not cool can be ranked."""
    above = np.maximum(cooling, LEAST_COOLING)
    return np.log(above) + np.minimum(cooling - LEAST_COOLING, 0.0) / LEAST_COOLING


def log_cooling_slope(cooling: float) -> float:
    """Its derivative [mol/J]."""
    return 1.0 / max(cooling, LEAST_COOLING)
