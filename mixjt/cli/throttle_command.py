"""The command `mixjt throttle`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseArgument, JsonOutput, ModelName, OutDirectory, SaveFile
from mixjt.fluid.model_names import DEFAULT


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
    from mixjt.parts.places import EVAPORATOR_OUTLET, THROTTLE_INLET, THROTTLE_OUTLET
    from mixjt.report import circuit_report
    from mixjt.report import throttle_report as report
    from mixjt.report.figure import record_of
    from mixjt.report.output import checked_directory
    from mixjt.studies.throttle_study import solve_throttle

    def show() -> None:
        about = {"throttle": report.about_throttle(result)}
        circuit_report.print_heading(solved.case, solved.blend, solved.record, solved.band, about)
        report.print_throttle(result, record)
        about_models = (*result.warnings, *solved.about_models)
        circuit_report.print_closing(record["warnings"], record["cautions"], about_models)

    checked_directory(out)
    case = read_case(case_file)
    checked_new_file(save, case)
    throttle_request(case, 0.0)  # what is wrong with the table is told before the circuit is solved
    solved = solved_circuit(case_file, blend, model)
    points = solved.result.points
    asked = throttle_request(solved.case, points[EVAPORATOR_OUTLET].temperature)
    with waiting("marching along the tube"):
        result = solve_throttle(
            solved.result.fluid, points[THROTTLE_INLET], points[THROTTLE_OUTLET].pressure,
            solved.result.mass_flow, asked,
        )  # fmt: skip
    record = {key: solved.record[key] for key in ("title", "case", "model", "blend", "cautions")}
    record |= record_of(report.FIGURES, result)
    record["warnings"] += solved.record["warnings"]
    return deliver(
        record, show, json, out, lambda: report.throttle_tables(result), lambda: report.throttle_pictures(result),
        Saving(save, case, "mixjt throttle", lambda: throttle_answer(case, result, blend)),
    )  # fmt: skip
