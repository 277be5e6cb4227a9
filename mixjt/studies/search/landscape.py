"""The search's figure of merit over bottle fractions and pressures."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from mixjt.blend import composition_matrix
from mixjt.circuit.aftercooling import first_approach
from mixjt.circuit.layouts.separator import SeparatorCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import PropertyModel
from mixjt.studies.search.both_ends import BothEndsEvaluator
from mixjt.studies.search.evaluate import LEAST_COOLING, Evaluator, Grid, Judgement, Samples, Trials
from mixjt.studies.search.search_request import SearchRequest
from mixjt.studies.search.separator_batch import SeparatorEvaluator

PENALTY = 0.3  # of the merit, for each step by which a constraint is missed
SAME_APPROACH = 0.02  # K
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
        self.model = model
        request = request.at_hottest
        self._judge_by(request)
        alike = Fluid(model, self.matrix.mean(axis=0))  # equal parts of all bottles
        if request.circuit.aftercooler is not None:
            self._judge_by(_behind(request, first_approach(alike, request.circuit)))
        self.safety = np.full(len(self.evaluator.names), SAFETY)

    def _judge_by(self, request: SearchRequest) -> None:
        self.request = request
        kind = SeparatorEvaluator if isinstance(request.circuit, SeparatorCircuit) else Evaluator
        kind = kind if request.ambient_range is None else BothEndsEvaluator
        self.evaluator = kind(self.model, request)

    def behind(self, approach: float) -> Landscape:
        """The same with all blends behind another approach of an aftercooler of stated size [K]."""
        if not self.off(approach):
            return self
        other = copy.copy(self)
        other._judge_by(_behind(self.request, approach))
        return other

    def off(self, approach: float) -> bool:
        """Whether an aftercooler of stated size has an approach [K] far from the one that blends are judged by."""
        circuit = self.request.circuit
        return circuit.aftercooler is not None and abs(circuit.aftercooler_approach - approach) > SAME_APPROACH

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


def _behind(request: SearchRequest, approach: float) -> SearchRequest:
    return replace(request, circuit=replace(request.circuit, aftercooler_approach=approach))


def log_cooling(cooling: np.ndarray) -> np.ndarray:
    """ln(q), continued straight below the least cooling so that blends which do not cool can be ranked."""
    above = np.maximum(cooling, LEAST_COOLING)
    return np.log(above) + np.minimum(cooling - LEAST_COOLING, 0.0) / LEAST_COOLING


def log_cooling_slope(cooling: float) -> float:
    """Its derivative [mol/J]."""
    return 1.0 / max(cooling, LEAST_COOLING)
