"""From the options of a command to a case, a blend, a property model and a solved circuit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from mixjt.blend import Blend
from mixjt.case.bottles import blend_from_text
from mixjt.case.case import Case, read_case
from mixjt.case.circuit_case import case_circuit
from mixjt.case.standstill_case import standstill_request
from mixjt.cli.circuit_view import circuit_cautions
from mixjt.cli.kinds import solved_kind
from mixjt.cycles.records import CircuitResult
from mixjt.cycles.solve import PLAIN
from mixjt.errors import InputError
from mixjt.files.records import at_rest_record, band_record, case_record
from mixjt.properties.records import PropertyModel
from mixjt.studies.band import Band, cooling_band
from mixjt.studies.kinds import Precooled
from mixjt.studies.search.request import SearchRequest
from mixjt.studies.standstill import at_rest


@dataclass(frozen=True)
class Solved:
    """A case with its solved circuit, and what the outputs say about it."""

    case: Case
    blend: Blend
    model: PropertyModel
    result: CircuitResult
    band: Band | None
    record: dict
    study: Precooled | None = None  # of a precooled circuit


def solved_circuit(
    case_file, blend_text: str | None, model_name: str, kind: str = PLAIN, with_curve: bool = False
) -> Solved:
    """Read a case, solve its circuit for the chosen blend, and find how well its cooling is known."""
    case = read_case(case_file)
    blend = chosen_blend(case, blend_text)
    model = chosen_model(model_name, blend.gases)
    circuit, result, more, study = solved_kind(case, kind, model, blend.composition, with_curve)
    band = cooling_band(model, result, circuit)
    rest = at_rest(model, result.composition, standstill_request(case), result.suction_pressure)
    record = case_record(case, result) | at_rest_record(rest) | more | band_record(band)
    record["warnings"] = [*rest.warnings, *record["warnings"], *(band.warnings if band else ())]
    record["cautions"] = circuit_cautions(blend, result)
    return Solved(case, blend, model, result, band, record, study)


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


def chosen_model(name: str, gases: Sequence[str]) -> PropertyModel:
    """The property model of that name for a list of gases."""
    from mixjt.cli.compiling import announce_compilation
    from mixjt.properties.models import load_model

    announce_compilation()
    return load_model(name, gases)
