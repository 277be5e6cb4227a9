"""From the options of a command to a case, a blend, a property model and a solved circuit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from mixjt.blend import Blend
from mixjt.case.bottles import blend_from_text
from mixjt.case.case import Case, read_case
from mixjt.case.circuit_case import case_circuit, precooling_request
from mixjt.case.inventory_case import case_volumes, charged_amounts
from mixjt.case.oil_case import case_oil
from mixjt.case.standstill_case import standstill_request
from mixjt.circuit.layouts.separator import SeparatorResult
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import PLAIN, PRECOOLED, solve_circuit
from mixjt.cli.progress import waiting
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import PropertyModel
from mixjt.report.circuit_report import case_record, circuit_cautions, with_band, with_rest
from mixjt.report.figure import record_of
from mixjt.report.inventory_report import CIRCULATION
from mixjt.report.kinds_report import SEPARATED_FIGURES, gain_record, kind_record
from mixjt.studies.against_plain import PrecoolingStudy, plain_or_none, solve_precooling
from mixjt.studies.at_rest import AtRest, at_rest
from mixjt.studies.band import Band, cooling_band
from mixjt.studies.charge.drawn import gases_in, usable_bottles
from mixjt.studies.circulation import Circulation, circulating
from mixjt.studies.precooling import precooling_gain
from mixjt.studies.search.search_request import Bottle, SearchRequest


@dataclass(frozen=True)
class Solved:
    """A case with its solved circuit, and what the outputs say about it."""

    case: Case
    blend: Blend
    result: CircuitResult
    band: Band | None
    record: dict
    rest: AtRest
    study: PrecoolingStudy | None = None  # of a precooled circuit

    @property
    def about_models(self) -> tuple[str, ...]:
        """Those of the warnings that say only how well the figures are known."""
        return (*(self.band.warnings if self.band else ()), *self.result.fluid.model.notes)


def solved_circuit(
    case_file, blend_text: str | None, model_name: str, kind: str = PLAIN, with_curve: bool = False,
    follow_charge: bool = False, to_fill: bool = False,
) -> Solved:
    """Read a case, solve its circuit for the chosen blend, or follow_charge for what circulates of its [charge], and find how
    well its cooling is known; to_fill among all gases of the bottles it is to be filled from.
    """
    case = read_case(case_file)
    charged = follow_charge and case.charge is not None and blend_text is None
    if charged and kind != PLAIN:
        raise InputError("what circulates of a [charge] is known of the plain circuit only; leave out --circuit, or give --blend")
    blend = starting_blend(case) if charged else chosen_blend(case, blend_text)
    fluid = chosen_fluid(model_name, among_bottles(blend, case.bottles) if to_fill else blend)
    with waiting("solving the circuit"):
        if charged:
            circulation = charged_circuit(case, fluid)
            result, more, study = circulation.result, record_of(CIRCULATION, circulation), None
            circuit, blend = case.circuit, Blend(result.gases, tuple(result.composition)).without_absent()
        else:
            circuit, result, more, study = solved_kind(case, kind, fluid, with_curve)
        band = cooling_band(result, circuit)
        rest = at_rest(result, standstill_request(case))
    record = with_band(with_rest(case_record(case, result), rest) | more, band)
    record["cautions"] = circuit_cautions(blend, result)
    return Solved(case, blend, result, band, record, rest, study)


def charged_circuit(case: Case, fluid: Fluid) -> Circulation:
    """The plain circuit with what circulates of the case's charge, from a blend to start from."""
    charge = charged_amounts(case, fluid.gases)
    return circulating(fluid, case.circuit, charge, case_volumes(case), case_oil(case))


def ambient_ends(solved: Solved, kind: str) -> tuple[list[CircuitResult], list[str]]:
    """The circuit in the coldest and the hottest ambient of the case, and why it has no answer there; nothing without a range."""
    ends, lost = [], []
    ambients = solved.case.tables["ambient"]["temperature_range"] if kind == PLAIN else None
    circuit = replace(solved.case.circuit, suction_pressure=solved.result.suction_pressure)
    for ambient in ambients or ():
        try:
            ends.append(solve_circuit(solved.result.fluid, replace(circuit, ambient_temperature=ambient)))
        except (InputError, ConvergenceError, UnreachableError) as error:
            lost.append(f"in an ambient of {ambient:.5g} K: {error}")
    return ends, lost


def solved_kind(
    case: Case, kind: str, fluid: Fluid, with_curve: bool
) -> tuple[ThrottleCircuit, CircuitResult, dict, PrecoolingStudy | None]:
    """The circuit of a kind, its result, what the record says besides, and the study of a precooled one."""
    if kind == PRECOOLED:
        request = precooling_request(case)
        study = solve_precooling(
            fluid, case.circuit, request.circuit, request.temperatures, request.aim,
            best=not request.stated, with_curve=with_curve,
        )  # fmt: skip
        record = kind_record(study.result) | gain_record(study.gain, study.plain)
        return request.circuit, study.result, record, study
    circuit = case_circuit(case, kind)
    result = solve_circuit(fluid, circuit)
    record = kind_record(result)
    if isinstance(result, SeparatorResult):
        plain = plain_or_none(fluid, case.circuit)
        record |= record_of(SEPARATED_FIGURES, result) | gain_record(precooling_gain(result, plain), plain)
    return circuit, result, record, None


def chosen_blend(case: Case, text: str | None) -> Blend:
    """The blend of the option, or else of the case, without the gases whose fraction is 0."""
    blend = case.blend if text is None else blend_from_text(text, case.bottles)
    if blend is None:
        raise InputError(f'{case.file} has no [blend]; add one, give --blend "nitrogen=0.4, propane=0.6", or let `mixjt search --save NEW.toml` find one')
    return blend.without_absent()


def starting_blend(case: Case) -> Blend:
    """A blend of the gases of [charge], from which to look for what circulates."""
    stated = case.blend.to_dict() if case.blend else {}
    shares = {name: stated.get(name, 0.0) for name in case.charge}
    total = sum(shares.values())
    if total == 0.0:
        shares, total = case.charge, sum(case.charge.values())
    return Blend(tuple(shares), tuple(x / total for x in shares.values()))


def search_request(case: Case, kind: str = PLAIN) -> SearchRequest:
    """What the case asks the search for, in that kind of circuit."""
    circuit = case_circuit(case, kind)
    if case.search is None:
        raise InputError(
            f"{case.file} has no [[bottle]]: list the gases you can buy, each under its own [[bottle]]"
        )
    return case.search if kind == PLAIN else replace(case.search, circuit=circuit)


def among_bottles(blend: Blend, bottles: Sequence[Bottle]) -> Blend:
    """The blend among all gases that the bottles for it hold, whose charge a property model must know."""
    gases = dict.fromkeys((*blend.gases, *gases_in(usable_bottles(blend.gases, bottles))))
    return Blend(tuple(gases), tuple(blend.to_dict().get(name, 0.0) for name in gases))


def chosen_fluid(name: str, blend: Blend) -> Fluid:
    """A blend with the property model of that name."""
    return Fluid(chosen_model(name, blend.gases), blend.composition)


def chosen_model(name: str, gases: Sequence[str]) -> PropertyModel:
    """The property model of that name for a list of gases."""
    from mixjt.cli.compiling import announce_compilation
    from mixjt.fluid.models import load_model

    announce_compilation()
    return load_model(name, gases)
