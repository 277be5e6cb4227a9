"""The command `mixjt pinch`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseArgument, JsonOutput, ModelName, OutDirectory
from mixjt.fluid.model_names import DEFAULT

ROWS = 16  # of the curve on the terminal; --out has all of it


def pinch(
    case_file: CaseArgument,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
) -> int:
    """Show where the recuperator pinches.

    Gives the temperatures of both streams along the recuperator, the smallest approach and where it lies,
    the conductance needed, and the isothermal enthalpy difference whose minimum bounds the cooling.

    \b
    Example
      mixjt pinch mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.cli.deliver import deliver
    from mixjt.cli.solved_case import solved_circuit
    from mixjt.report import circuit_report as report
    from mixjt.report.figure import print_figures, record_of
    from mixjt.report.output import checked_directory

    def show() -> None:
        report.print_heading(solved.case, solved.blend, record, solved.band)
        for table in (report.RECUPERATOR, report.COOLING):
            print_figures(report.ALL_FIGURES, table, record)
        report.print_pinch(result.pinch, ROWS)
        report.print_closing(record["warnings"], record["cautions"], solved.about_models)

    checked_directory(out)
    solved = solved_circuit(case_file, blend, model)
    result = solved.result
    record = solved.record | record_of(report.CURVES, result)
    return deliver(
        record, show, json, out,
        lambda: report.pinch_tables(result), lambda: report.pinch_pictures(result, solved.band),
    )  # fmt: skip
