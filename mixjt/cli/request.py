"""From the options of a command to a case, a blend, a property model and a solved circuit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from mixjt.blend import Blend
from mixjt.cli.circuit_view import circuit_cautions
from mixjt.cli.kinds import solved_kind
from mixjt.cli.show import say
from mixjt.cycles.records import CircuitResult
from mixjt.cycles.solve import PLAIN
from mixjt.errors import InputError
from mixjt.files.case import Case, blend_from_text, read_case
from mixjt.files.circuit_case import case_circuit
from mixjt.files.records import agreement_record, at_rest_record, case_record
from mixjt.files.standstill_case import standstill_request
from mixjt.interrupt import happened, keeping
from mixjt.properties.records import PropertyModel
from mixjt.studies.agreement import INTERRUPTED, Agreement, agreements, unchecked
from mixjt.studies.kinds import Precooled
from mixjt.studies.search.repolish import Repolished, repolish
from mixjt.studies.search.request import SearchRequest
from mixjt.studies.search.result import SearchResult
from mixjt.studies.standstill import at_rest


@dataclass(frozen=True)
class Solved:
    """A case with its solved circuit, and what the outputs say about it."""

    case: Case
    blend: Blend
    model: PropertyModel
    result: CircuitResult
    agreement: Agreement
    record: dict
    study: Precooled | None = None  # of a precooled circuit


def solved_circuit(
    case_file, blend_text: str | None, model_name: str, kind: str = PLAIN, with_curve: bool = False
) -> Solved:
    """Read a case, solve its circuit for the chosen blend, and check it by another property model."""
    case = read_case(case_file)
    blend = chosen_blend(case, blend_text)
    model = chosen_model(model_name, blend.gases)
    circuit, result, more, study = solved_kind(case, kind, model, blend.composition, with_curve)
    (agreement,) = checks_by_other_model(model, [result], [circuit])
    rest = at_rest(model, result.composition, standstill_request(case), result.suction_pressure)
    record = case_record(case, result) | at_rest_record(rest) | more | agreement_record(agreement)
    record["warnings"] = [*rest.warnings, *record["warnings"], *agreement.warnings]
    record["cautions"] = circuit_cautions(blend, result)
    return Solved(case, blend, model, result, agreement, record, study)


def chosen_blend(case: Case, text: str | None) -> Blend:
    """The blend of the option, or else of the case, without the gases whose fraction is 0."""
    blend = case.blend if text is None else blend_from_text(text, case.bottles)
    if blend is None:
        raise InputError(f'{case.file} has no [blend]; add one, or give --blend "nitrogen=0.4, propane=0.6"')
    return blend.without_absent()


def search_request(case: Case, kind: str = PLAIN) -> SearchRequest:
    """What the case asks the search for, in that kind of circuit."""
    circuit = case_circuit(case, kind)
    if case.search is None:
        raise InputError(
            f"{case.file} has no [[bottle]]: list the gases you can buy, each under its own [[bottle]]"
        )
    return case.search if kind == PLAIN else replace(case.search, circuit=circuit)


def checks_by_other_model(model: PropertyModel, results, circuits) -> tuple[Agreement, ...]:
    """Results, one to one with the circuits they solve, checked by the other property model.

    An interruption, also of the seconds in which that model is loaded, leaves them unchecked.
    """
    found: tuple[Agreement, ...] = ()
    with keeping():
        found = agreements(model, other_model(model), results, circuits)
    return found or unchecked(other_name(model), len(results))


def other_model(model: PropertyModel) -> PropertyModel:
    """The model to check a result by: the reference model, or the fast one for results of the reference."""
    return chosen_model(other_name(model), model.gases)


def other_name(model: PropertyModel) -> str:
    """The name of that other model."""
    return "fast" if model.name == "reference" else "reference"


@dataclass(frozen=True)
class SecondOpinion:
    """What the other property model says of a search: checks of its candidates, one to one; the best ones
    polished on that model, and the first model's checks of those that were solved."""

    checks: tuple[Agreement, ...] = ()
    polished: tuple[Repolished, ...] = ()
    polished_checks: tuple[Agreement, ...] = ()
    cut_short: bool = False  # while polishing

    @property
    def interrupted(self) -> bool:
        """Whether candidates stand unchecked, or polishing ended early, because of it."""
        return self.cut_short or any(check.obstacle == INTERRUPTED for check in self.checks)


def second_opinion(
    model: PropertyModel, found: SearchResult, request: SearchRequest, polished: int
) -> SecondOpinion:
    """Ask the other property model about the candidates of a search, and polish the best on it.

    An interruption loses none of the candidates; after one of the search they stay unchecked.
    """
    count, circuit = len(found.candidates), request.circuit
    if found.interrupted or happened():
        return SecondOpinion(unchecked(other_name(model), count))
    checks = checks_by_other_model(model, found.candidates, [circuit] * count)
    if not polished or SecondOpinion(checks).interrupted:
        return SecondOpinion(checks)
    other = other_model(model)
    say(f"polishing the best blends on the {other.name} model; Ctrl-C ends it and keeps the search")
    again = repolish(other, request, found, count=polished)
    solved = [one.result for one in again if one.result is not None]
    cut_short = len(again) < min(polished, count)
    return SecondOpinion(checks, again, agreements(other, model, solved, [circuit] * len(solved)), cut_short)


def chosen_model(name: str, gases: Sequence[str]) -> PropertyModel:
    """The property model of that name for a list of gases."""
    from mixjt.cli.compiling import announce_compilation
    from mixjt.properties.models import load_model

    announce_compilation()
    return load_model(name, gases)
