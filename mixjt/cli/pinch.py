"""The command `mixjt pinch`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory
from mixjt.properties.names import DEFAULT

ROWS = 16  # of the curve on the terminal; --out has all of it


def pinch(
    case_file: CaseFile,
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
    from mixjt.cli.circuit_files import recuperator_pictures, recuperator_tables
    from mixjt.cli.deliver import deliver
    from mixjt.cli.request import solved_circuit
    from mixjt.files.output import checked_directory

    checked_directory(out)
    solved = solved_circuit(case_file, blend, model)
    return deliver(
        _record(solved), lambda: _print(solved), json, out,
        lambda: recuperator_tables(solved.result), lambda: recuperator_pictures(solved.result),
    )  # fmt: skip


def _print(solved) -> None:
    from mixjt.cli import circuit_view as view

    view.print_heading(solved.case, solved.blend, solved.result.model, solved.band)
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
