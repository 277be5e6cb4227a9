"""Blends that a search has found, ranked by their worst case, and the best of them moved to where it is best."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import MixjtError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import PropertyModel
from mixjt.studies.circulation import ChargeResponse
from mixjt.studies.recipe import Recipe, recipe_of
from mixjt.studies.robust import STEP, Bounds, RobustBlend, robust_blend, worst_case
from mixjt.studies.search.search_request import SearchRequest
from mixjt.studies.search.search_result import SearchResult
from mixjt.studies.sensitivity import Progress


@dataclass(frozen=True)
class RankedCandidate:
    """A candidate of a search: its rank there, from 1, nominal and worst cooling power [W], the worst neighbour."""

    rank: int
    nominal: float
    worst: float
    neighbour: str


@dataclass(frozen=True)
class RobustSearch:
    """Candidates by their worst case, best first; the blend near the first of them whose worst case is best.

    solution is that blend's circuit solved in full, None where problem says why not.
    """

    step: float
    ranked: tuple[RankedCandidate, ...]
    blend: RobustBlend
    solution: CircuitResult | None
    problem: str = ""


def robust_search(
    model: PropertyModel,
    request: SearchRequest,
    found: SearchResult,
    step: float = STEP,
    progress: Progress | None = None,
    respond: Callable[[Fluid, ThrottleCircuit], ChargeResponse | None] | None = None,
) -> RobustSearch:
    """Rank the candidates of a search for a plain circuit by their worst case, and polish the first.

    Parameters
    ----------
    model : PropertyModel
        Of at least request.gases.
    request : SearchRequest
        What was searched for; bounds, superheat and conditions hold for every neighbour as well.
    found : SearchResult
    step : float
        What a bottle may be off [mol/mol].
    progress : function, optional
        Called with done and total.
    respond : function, optional
        How what circulates follows the charge, from a blend and its circuit; None where that is not known. Without it all
        that is charged circulates.

    Raises
    ------
    UnreachableError
        Where no candidate has a worst case.
    """
    pairs = zip(found.amounts, found.candidates, strict=True)
    starts = [_start(model, request, amounts, result) for amounts, result in pairs]
    responses = [respond(Fluid(model, recipe.composition), circuit) if respond else None for recipe, circuit in starts]
    ranked = []
    for rank, ((recipe, circuit), response) in enumerate(zip(starts, responses, strict=True), start=1):
        one = worst_case(model, recipe, recipe.amounts, circuit, step, response=response)
        if np.isfinite(one.worst[0]):
            ranked.append(RankedCandidate(rank, float(one.nominal[0]), float(one.worst[0]), one.neighbour[0]))
    if not ranked:
        raise UnreachableError("no blend has a worst case: the property model has no answer for their neighbours")
    ranked.sort(key=lambda one: one.worst, reverse=True)
    first = ranked[0].rank - 1
    (recipe, circuit), response = starts[first], responses[first]
    blend = robust_blend(model, recipe, circuit, step, _bounds(request, recipe), progress, response)
    solution, problem = solved_blend(model, recipe, circuit, blend)
    return RobustSearch(step, tuple(ranked), blend, solution, problem)


def solved_blend(
    model: PropertyModel, recipe: Recipe, circuit: ThrottleCircuit, blend: RobustBlend
) -> tuple[CircuitResult | None, str]:
    """The circuit of a robust blend solved in full, or None and why."""
    try:
        return solve_circuit(Fluid(model, recipe.mixed(blend.amounts)), circuit), ""
    except MixjtError as error:
        return None, str(error)


def _start(model, request: SearchRequest, amounts, result: CircuitResult) -> tuple[Recipe, ThrottleCircuit]:
    items = {bottle.ingredient.name: bottle.ingredient for bottle in request.bottles}
    recipe = recipe_of([items[name] for name in amounts], list(amounts.values()), model.gases)
    circuit = replace(
        request.circuit, suction_pressure=result.suction_pressure, discharge_pressure=result.discharge_pressure
    )
    return recipe, circuit


def _bounds(request: SearchRequest, recipe: Recipe) -> Bounds:
    places = [request.names.index(name) for name in recipe.names]
    return Bounds(request.lowest[places], request.highest[places], request.suction_superheat, request.constraints)
