"""The studies of `mixjt sensitivity`, one after the other, with progress; an interruption ends the row."""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.case.sensitivity_case import case_recipe, case_response, robust_bounds, worst_case_step
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.cli.progress import step_progress, waiting
from mixjt.cli.solved_case import Solved
from mixjt.errors import MixjtError
from mixjt.fluid.fluid import Fluid
from mixjt.interrupt import keeping
from mixjt.studies.circulation import ChargeResponse
from mixjt.studies.reach import frost_free_temperature
from mixjt.studies.recipe import Recipe
from mixjt.studies.robust import RobustBlend, robust_blend
from mixjt.studies.robust_search import solved_blend
from mixjt.studies.sensitivity import Sensitivity, SensitivityRequest, solve_sensitivity
from mixjt.studies.weighing import Weighing, WeighingRequest, weigh

NO_RESPONSE = (
    "how what circulates follows the charge was not found: errors of weighing and the worst case count as if all that is charged "
    "circulated"
)
NO_CHARGE = (
    "weighing errors were not looked at: state the circuit's volumes in [volumes], or the charge in [sensitivity], for "
    'instance charge = "60 g"'
)


@dataclass(frozen=True)
class SensitivityRun:
    """All that the command found; what was not asked for, or not come to, is None."""

    recipe: Recipe
    found: Sensitivity
    frost_free: float | None
    weighing: Weighing | None
    robust: RobustBlend | None
    robust_solution: CircuitResult | None
    problem: str
    interrupted: bool
    notes: tuple[str, ...]


def run_sensitivity(
    solved: Solved,
    request: SensitivityRequest,
    weighing_request: WeighingRequest | None,
    blend_text: str | None,
    with_robust: bool,
    processes: int,
) -> SensitivityRun:
    """Run the studies."""
    model, case = solved.result.fluid.model, solved.case
    circuit = case.circuit.as_sized(solved.result)  # tubes are not rated anew: every change keeps their UA and drops
    recipe = case_recipe(case, blend_text, model.gases)
    weighing = robust = solution = frost_free = None
    notes, problem = [], ""
    with step_progress("sensitivity") as report:
        found = solve_sensitivity(model, recipe, circuit, request, report, solved.result, processes)
    with keeping() as cut:
        if found.reach is not None and found.reach.frozen and not found.interrupted:
            try:
                with waiting("where nothing freezes"):
                    frost_free = frost_free_temperature(Fluid(model, recipe.composition), circuit, found.reach.temperature)
            except MixjtError as error:
                notes.append(f"the coldest cold end at which nothing freezes was not found: {error}")
        response = None if found.interrupted else _response(solved, circuit)
        if response is None and solved.rest.inventory is not None and not found.interrupted:
            notes.append(NO_RESPONSE)
        if weighing_request is None:
            notes.append(NO_CHARGE)
        elif not found.interrupted:
            try:
                charged = recipe if response is None else recipe.holding(response.charge)
                with step_progress("weighing") as report:
                    weighing = weigh(
                        model, charged, circuit, weighing_request, found.reach, report, response and response.circulating
                    )
            except MixjtError as error:
                notes.append(f"weighing errors were not looked at: {error}")
        if with_robust and not found.interrupted and not (weighing and weighing.interrupted):
            step = worst_case_step(case)
            with step_progress("worst case") as report:
                robust = robust_blend(model, recipe, circuit, step, robust_bounds(case, recipe, step), report, response)
            solution, problem = solved_blend(model, recipe, circuit, robust)
            notes += [f"the blend of the best worst case could not be solved in full: {problem}"] if problem else []
    interrupted = cut.short or any(part is not None and part.interrupted for part in (found, weighing, robust))
    notes = (*_reach_notes(found, frost_free), *notes)
    return SensitivityRun(
        recipe, found, frost_free, weighing, robust, solution, problem, interrupted, notes
    )


def _response(solved: Solved, circuit: ThrottleCircuit) -> ChargeResponse | None:
    """How what circulates follows the charge; None where that is not known."""
    respond = case_response(solved.case)
    if respond is None or solved.rest.inventory is None:
        return None
    with waiting("what circulates of a charge"):
        return respond(solved.result.fluid, circuit)


def _reach_notes(found: Sensitivity, frost_free: float | None) -> list[str]:
    reach = found.reach
    if reach is None:
        text = "no lowest temperature was sought: state a load in [cold_end] or [sensitivity]"
        return [] if found.interrupted else [text]
    if not reach.sentence:
        return []
    free = "" if frost_free is None else f"; nothing freezes with a cold end of {frost_free:.1f} K or more"
    return [f"lowest temperature: {reach.sentence}{free}"]
