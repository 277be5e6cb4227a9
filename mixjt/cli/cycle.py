"""The command `mixjt cycle`."""

from __future__ import annotations

from pathlib import Path

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory


def cycle(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = "fast",
) -> None:
    """Solve the throttle circuit for one blend.

    Gives the greatest cooling at the stated recuperator approach, every state point, the power, the exergy
    lost in each component, and warnings about what would not work.

    \b
    Examples
      mixjt cycle mixtures-demo/receiver-120K.toml
      mixjt cycle mixtures-demo/receiver-120K.toml --blend "nitrogen=0.4, ethane=0.3, propane=0.3" --out run
    """
    from mixjt.cli import circuit_view as view
    from mixjt.cli.request import solved_circuit
    from mixjt.cli.show import print_json

    solved = solved_circuit(case_file, blend, model)
    if out:
        _write(out, solved)
    if json:
        print_json(solved.record)
        return
    view.print_heading(solved.case, solved.blend, solved.result.model)
    for title, figures in view.FIGURES.items():
        view.print_figures(title, figures, solved.record)
    view.print_states(solved.result)
    view.print_exergy(solved.result)
    view.print_circuit_closing(solved.record["warnings"], solved.blend, solved.result)


def _write(out: Path, solved) -> None:
    """Tables, plots and summary.json."""
    from mixjt.files import records
    from mixjt.files.output import output_directory, write_json, write_table
    from mixjt.plots.property import circuit_figure, difference_figure
    from mixjt.plots.recuperator import pinch_figure
    from mixjt.plots.save import save_figure
    from mixjt.studies.phases import circuit_isobars, saturation_boundary

    result = solved.result
    boundary = saturation_boundary(solved.model, result.composition, 0.5 * result.suction_pressure)
    lines = [
        (line.pressure, line.temperatures, line.enthalpy) for line in circuit_isobars(solved.model, result)
    ]
    with output_directory(out) as scratch:
        write_json(scratch / "summary.json", solved.record)
        write_table(scratch / "state_points.csv", records.state_point_table(result))
        write_table(scratch / "exergy.csv", records.exergy_table(result))
        write_table(scratch / "pinch.csv", records.pinch_table(result.pinch))
        write_table(scratch / "enthalpy_difference.csv", records.difference_table(result.difference))
        save_figure(circuit_figure(result, boundary, lines), scratch / "circuit")
        save_figure(pinch_figure(result), scratch / "pinch")
        save_figure(difference_figure(result), scratch / "enthalpy_difference")
