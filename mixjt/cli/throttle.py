"""The command `mixjt throttle`."""

from __future__ import annotations

from pathlib import Path

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory


def throttle(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = "fast",
) -> None:
    """Cut a capillary for the circuit's flow, or find what a given one passes.

    The circuit of the case gives the state before the throttle, the pressure behind it and the flow. [throttle] gives
    the diameter, the length, or both; what is missing is found. Also: other bores, tolerance and debris, and the flow
    coefficient of a needle valve.

    \b
    Examples
      mixjt throttle mixtures-demo/receiver-120K.toml
      mixjt throttle mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.cli import circuit_view
    from mixjt.cli.request import solved_circuit
    from mixjt.cli.show import print_json
    from mixjt.cli.throttle_view import print_throttle
    from mixjt.cycles.records import EVAPORATOR_OUTLET, THROTTLE_INLET, THROTTLE_OUTLET
    from mixjt.files.case import read_case
    from mixjt.files.output import checked_directory
    from mixjt.files.throttle_case import throttle_request
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
    if out:
        _write(out, record, result)
    if json:
        print_json(record)
        return
    circuit_view.print_heading(solved.case, solved.blend, solved.result.model, solved.agreement)
    print_throttle(result, record)
    circuit_view.print_circuit_closing(record["warnings"], solved.blend, solved.result)


def _write(out: Path, record: dict, result) -> None:
    from mixjt.files import throttle_records as tables
    from mixjt.files.output import output_directory, write_json, write_table
    from mixjt.plots.save import save_figure
    from mixjt.plots.throttle import throttle_figure

    with output_directory(out) as scratch:
        write_json(scratch / "summary.json", record)
        write_table(scratch / "throttle_profile.csv", tables.profile_table(result))
        write_table(scratch / "throttle_sensitivity.csv", tables.sensitivity_table(result))
        write_table(scratch / "throttle_bores.csv", tables.bore_table(result))
        save_figure(throttle_figure(result), scratch / "throttle")
