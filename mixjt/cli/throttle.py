"""The command `mixjt throttle`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory
from mixjt.properties.names import DEFAULT


def throttle(
    case_file: CaseFile,
    out: OutDirectory = None,
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
    from mixjt.case.case import read_case
    from mixjt.case.throttle_case import throttle_request
    from mixjt.cli.deliver import deliver
    from mixjt.cli.request import solved_circuit
    from mixjt.cycles.records import EVAPORATOR_OUTLET, THROTTLE_INLET, THROTTLE_OUTLET
    from mixjt.files.output import checked_directory
    from mixjt.files.throttle_records import throttle_record
    from mixjt.studies.throttle import solve_throttle

    checked_directory(out)
    throttle_request(read_case(case_file), 0.0)  # what is wrong with the table is told before the circuit is solved
    solved = solved_circuit(case_file, blend, model)
    points = solved.result.points
    result = solve_throttle(
        solved.model, solved.blend.composition, points[THROTTLE_INLET], points[THROTTLE_OUTLET].pressure,
        solved.result.mass_flow, throttle_request(solved.case, points[EVAPORATOR_OUTLET].temperature),
    )  # fmt: skip
    record = {key: solved.record[key] for key in ("title", "case", "model", "blend", "cautions")} | throttle_record(result)
    record["warnings"] += solved.record["warnings"]
    return deliver(
        record, lambda: _print(solved, result, record), json, out, lambda: _tables(result), lambda: _pictures(result)
    )


def _print(solved, result, record: dict) -> None:
    from mixjt.cli import circuit_view
    from mixjt.cli.throttle_view import print_throttle

    circuit_view.print_heading(solved.case, solved.blend, solved.result.model, solved.band)
    print_throttle(result, record)
    circuit_view.print_circuit_closing(record["warnings"], solved.blend, solved.result)


def _tables(result) -> dict:
    from mixjt.files import throttle_records as tables

    return {
        "throttle_profile": tables.profile_table(result),
        "throttle_sensitivity": tables.sensitivity_table(result),
        "throttle_bores": tables.bore_table(result),
    }


def _pictures(result) -> dict:
    from mixjt.plots.throttle import throttle_figure

    return {"throttle": lambda: throttle_figure(result)}
