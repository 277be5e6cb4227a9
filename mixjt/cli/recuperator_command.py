"""The command `mixjt recuperator`."""

from __future__ import annotations

from mixjt.cli.options import (
    BlendText,
    CaseArgument,
    CircuitKind,
    JsonOutput,
    ModelName,
    OutDirectory,
    SaveFile,
)
from mixjt.fluid.model_names import DEFAULT


def recuperator(
    case_file: CaseArgument,
    out: OutDirectory = None,
    save: SaveFile = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
    circuit: CircuitKind = "plain",
) -> int:
    """Rate a recuperator made of tube in its circuit, or find the length it needs.

    [recuperator_tubes] gives the tubes. With their length, the circuit is solved with the heat transfer and the
    pressure drops of that tube, as by every other command; without it, the length follows from the approach or the
    conductance of [recuperator]. With --circuit precooled two sections are cut from it. Also: the capillary of
    [throttle], what the 20-30 % band of the correlations means, other lengths, and the tubes one can buy.

    \b
    Examples
      mixjt recuperator mixtures-demo/receiver-tubes.toml
      mixjt recuperator mixtures-demo/receiver-tubes.toml --out run
    """
    from mixjt.case.answers import recuperator_answer
    from mixjt.case.case import read_case
    from mixjt.case.circuit_case import case_circuit
    from mixjt.case.recuperator_case import recuperator_request
    from mixjt.case.saved_case import checked_new_file
    from mixjt.cli import solved_case as request
    from mixjt.cli.deliver import Saving, deliver
    from mixjt.cli.progress import waiting
    from mixjt.cli.throttle_command import throttle_of
    from mixjt.report import circuit_report, kinds_report
    from mixjt.report import recuperator_report as report
    from mixjt.report.figure import record_of
    from mixjt.report.output import checked_directory
    from mixjt.studies.band import cooling_band
    from mixjt.studies.recuperator_study import solve_recuperator

    def show() -> None:
        circuit_report.print_heading(case, chosen, record, band, report.about_recuperator(record))
        report.print_recuperator(result, record)
        circuit_report.print_closing(record["warnings"], record["cautions"], band.warnings if band else ())

    case = read_case(case_file)
    asked = recuperator_request(case)
    checked_directory(out)
    checked_new_file(save, case)
    asked_circuit = case_circuit(case, circuit)
    chosen = request.chosen_blend(case, blend)
    fluid = request.chosen_fluid(model, chosen)
    with waiting("rating the recuperator"):
        result = solve_recuperator(fluid, asked_circuit, asked)
        solved = result.solved
        band = cooling_band(solved, asked_circuit)
        tube = throttle_of(case, solved) if "throttle" in case.raw else None
    machine = circuit_report.with_band(circuit_report.case_record(case, solved) | kinds_report.kind_record(solved), band)
    record = machine | record_of(report.FIGURES, result) | record_of(report.CAPILLARY, tube)
    record["warnings"] += [*(tube.warnings if tube else ()), *machine["warnings"]]
    record["cautions"] = circuit_report.circuit_cautions(chosen, solved)
    return deliver(
        record, show, json, out, lambda: report.recuperator_tables(result), lambda: report.recuperator_pictures(result),
        Saving(save, case, "mixjt recuperator", lambda: recuperator_answer(case, result, blend)),
    )  # fmt: skip
