"""The command `mixjt cycle`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseFile, CircuitKind, JsonOutput, ModelName, OutDirectory
from mixjt.properties.names import DEFAULT


def cycle(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
    circuit: CircuitKind = "plain",
) -> int:
    """Solve the throttle circuit for one blend.

    Gives the greatest cooling at the stated recuperator approach, every state point, the power, the exergy
    lost in each component, and warnings about what would not work. A precooled circuit, or one with a phase
    separator, is compared with the plain one of the same blend.

    \b
    Examples
      mixjt cycle mixtures-demo/receiver-120K.toml
      mixjt cycle mixtures-demo/receiver-120K.toml --blend "nitrogen=0.4, ethane=0.3, propane=0.3" --out run
      mixjt cycle mixtures-demo/receiver-precooled.toml --circuit precooled --out run
    """
    from mixjt.cli.deliver import deliver
    from mixjt.cli.request import solved_circuit
    from mixjt.files.output import checked_directory

    checked_directory(out)
    solved = solved_circuit(case_file, blend, model, circuit, with_curve=out is not None)
    return deliver(
        solved.record, lambda: _print(solved), json, out, lambda: _tables(solved), lambda: _pictures(solved)
    )


def _print(solved) -> None:
    from mixjt.cli import circuit_view as view
    from mixjt.cli.kinds import print_kind

    view.print_heading(solved.case, solved.blend, solved.result.model, solved.band)
    for title, figures in view.FIGURES.items():
        view.print_figures(title, figures, solved.record)
    print_kind(solved.record)
    view.print_states(solved.result)
    view.print_exergy(solved.result)
    view.print_circuit_closing(solved.record["warnings"], solved.blend, solved.result)


def _tables(solved) -> dict:
    from mixjt.cli.circuit_files import circuit_tables
    from mixjt.cli.kinds import precooling_tables

    return circuit_tables(solved.result) | precooling_tables(solved.study)


def _pictures(solved) -> dict:
    from mixjt.cli.circuit_files import circuit_pictures
    from mixjt.cli.kinds import precooling_pictures

    return circuit_pictures(solved.result, solved.model) | precooling_pictures(solved.study)
