"""The command `mixjt pinch`."""

from __future__ import annotations

from pathlib import Path

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory

ROWS = 16  # of the curve on the terminal; --out has all of it


def pinch(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = "fast",
) -> None:
    """Show where the recuperator pinches.

    Gives the temperatures of both streams along the recuperator, the smallest approach and where it lies,
    the conductance needed, and the isothermal enthalpy difference whose minimum bounds the cooling.

    \b
    Example
      mixjt pinch mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.cli import circuit_view as view
    from mixjt.cli.request import solved_circuit
    from mixjt.cli.show import print_json
    from mixjt.files.output import checked_directory

    checked_directory(out)
    solved = solved_circuit(case_file, blend, model)
    if out:
        _write(out, solved)
    if json:
        print_json(_record(solved))
        return
    view.print_heading(solved.case, solved.blend, solved.result.model, solved.agreement)
    for title in ("Recuperator", "Cooling"):
        view.print_figures(title, view.FIGURES[title], solved.record)
    view.print_pinch(solved.result.pinch, ROWS)
    view.print_circuit_closing(solved.record["warnings"], solved.blend, solved.result)


def _record(solved) -> dict:
    """The circuit's figures with both curves."""
    from mixjt.files import records

    curves = {
        "pinch_curve": records.pinch_table(solved.result.pinch).records(),
        "enthalpy_difference_curve": records.difference_table(solved.result.difference).records(),
    }
    return solved.record | curves


def _write(out: Path, solved) -> None:
    """Both curves as tables and plots, and summary.json."""
    from mixjt.cli.circuit_files import write_recuperator
    from mixjt.files.output import output_directory, write_json

    with output_directory(out) as scratch:
        write_json(scratch / "summary.json", _record(solved))
        write_recuperator(scratch, solved.result)
