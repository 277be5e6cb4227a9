"""The command `mixjt throttle`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mixjt.cli.options import BlendText, CaseArgument, JsonOutput, ModelName, OutDirectory, SaveFile
from mixjt.fluid.model_names import DEFAULT

if TYPE_CHECKING:
    from mixjt.case.case import Case
    from mixjt.circuit.result import CircuitResult
    from mixjt.studies.throttle_study import ThrottleResult


def throttle(
    case_file: CaseArgument,
    out: OutDirectory = None,
    save: SaveFile = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
) -> int:
    """Cut a capillary for the circuit's flow, or find what a given one passes.

    The circuit of the case gives the state before the throttle, the pressure behind it and the flow. [throttle] gives
    the diameter, the length, or both; what is missing is found. Also: other bores, tolerance and debris, and the flow
    coefficient of a needle valve.

    \b
    Examples
      mixjt throttle mixtures-demo/receiver-120K.toml
      mixjt throttle mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.case.answers import throttle_answer
    from mixjt.case.case import read_case
    from mixjt.case.saved_case import checked_new_file
    from mixjt.case.throttle_case import throttle_request
    from mixjt.cli.deliver import Saving, deliver
    from mixjt.cli.progress import waiting
    from mixjt.cli.solved_case import solved_circuit
    from mixjt.report import circuit_report
    from mixjt.report import throttle_report as report
    from mixjt.report.figure import record_of
    from mixjt.report.output import checked_directory

    def show() -> None:
        about = {"throttle": report.about_throttle(result)}
        circuit_report.print_heading(solved.case, solved.blend, solved.record, solved.band, about)
        circuit_report.print_keys("Machine", circuit_report.MACHINE_KEYS, record)
        report.print_throttle(result, record)
        about_models = (*result.warnings, *solved.about_models)
        circuit_report.print_closing(record["warnings"], record["cautions"], about_models)

    checked_directory(out)
    case = read_case(case_file)
    checked_new_file(save, case)
    throttle_request(case, 0.0)  # what is wrong with the table is told before the circuit is solved
    solved = solved_circuit(case_file, blend, model)
    with waiting("marching along the tube"):
        result = throttle_of(solved.case, solved.result)
    kept = ("title", "case", "model", "blend", "cautions", *circuit_report.MACHINE_KEYS)
    record = {key: solved.record[key] for key in kept}
    record |= record_of(report.FIGURES, result)
    record["warnings"] += solved.record["warnings"]
    return deliver(
        record, show, json, out, lambda: report.throttle_tables(result), lambda: report.throttle_pictures(result),
        Saving(save, case, "mixjt throttle", lambda: throttle_answer(case, result, blend)),
    )  # fmt: skip


def throttle_of(case: Case, result: CircuitResult) -> ThrottleResult:
    """The throttle that a case asks for, between the states of its solved circuit."""
    from mixjt.case.throttle_case import throttle_request
    from mixjt.parts.places import EVAPORATOR_OUTLET, THROTTLE_INLET, THROTTLE_OUTLET
    from mixjt.studies.throttle_study import solve_throttle

    points = result.points
    asked = throttle_request(case, points[EVAPORATOR_OUTLET].temperature)
    return solve_throttle(
        result.fluid, points[THROTTLE_INLET], points[THROTTLE_OUTLET].pressure, result.mass_flow, asked
    )
