"""From the options of a command to a case, a blend, a property model and a solved circuit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from mixjt.blend import Blend
from mixjt.cycles.circuit import ThrottleCircuit
from mixjt.cycles.records import CircuitResult
from mixjt.cycles.throttle import solve_throttle_circuit
from mixjt.errors import InputError
from mixjt.files.case import Case, blend_from_text, read_case
from mixjt.files.records import agreement_record, case_record
from mixjt.properties.records import PropertyModel
from mixjt.studies.agreement import Agreement, agreements
from mixjt.studies.search.request import SearchRequest
from mixjt.studies.search.result import SearchResult


@dataclass(frozen=True)
class Solved:
    """A case with its solved circuit, and what the outputs say about it."""

    case: Case
    blend: Blend
    model: PropertyModel
    result: CircuitResult
    agreement: Agreement
    record: dict


def solved_circuit(case_file, blend_text: str | None, model_name: str) -> Solved:
    """Read a case, solve its circuit for the chosen blend, and check it by another property model."""
    case = read_case(case_file)
    blend = chosen_blend(case, blend_text)
    model = chosen_model(model_name, blend.gases)
    result = solve_throttle_circuit(model, blend.composition, case.circuit)
    (agreement,) = agreements(model, other_model(model), [result], [case.circuit])
    record = case_record(case, result) | agreement_record(agreement)
    record["warnings"] += agreement.warnings
    return Solved(case, blend, model, result, agreement, record)


def chosen_blend(case: Case, text: str | None) -> Blend:
    """The blend of the option, or else of the case, without the gases whose fraction is 0."""
    blend = case.blend if text is None else blend_from_text(text, case.bottles)
    if blend is None:
        raise InputError(f'{case.file} has no [blend]; add one, or give --blend "nitrogen=0.4, propane=0.6"')
    return blend.without_absent()


def search_request(case: Case) -> SearchRequest:
    """What the case asks the search for."""
    if case.search is None:
        raise InputError(
            f"{case.file} has no [[bottle]]: list the gases you can buy, each under its own [[bottle]]"
        )
    return case.search


def other_model(model: PropertyModel) -> PropertyModel:
    """The model to check a result by: the reference model, or the fast one for results of the reference."""
    return chosen_model("fast" if model.name == "reference" else "reference", model.gases)


def candidate_checks(
    model: PropertyModel, found: SearchResult, circuit: ThrottleCircuit
) -> tuple[Agreement, ...]:
    """What the other property model says about every candidate of a search."""
    circuits = [
        replace(
            circuit, suction_pressure=result.suction_pressure, discharge_pressure=result.discharge_pressure
        )
        for result in found.candidates
    ]
    return agreements(model, other_model(model), found.candidates, circuits) if circuits else ()


def chosen_model(name: str, gases: Sequence[str]) -> PropertyModel:
    """The property model of that name for a list of gases."""
    from mixjt.cli.compiling import announce_compilation
    from mixjt.properties.models import load_model

    announce_compilation()
    return load_model(name, gases)
