"""The command `mixjt phases`."""

from __future__ import annotations

from pathlib import Path

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory

ROWS = 20  # of the table on the terminal; --out has all of it


def phases(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = "fast",
) -> None:
    """Show the phases of a blend at both pressures.

    Gives bubble point, dew point and glide at suction and discharge pressure, the vapour fraction from the
    cold end to the warm end, and where the blend splits into two liquids.

    \b
    Example
      mixjt phases mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.cli.request import chosen_blend, chosen_model
    from mixjt.cli.show import print_json
    from mixjt.files.case import read_case
    from mixjt.files.phase_records import phase_record
    from mixjt.studies.phases import span_isobars

    case = read_case(case_file)
    mixed = chosen_blend(case, blend)
    properties = chosen_model(model, mixed.gases)
    low, high = span_isobars(properties, mixed.composition, case.circuit)
    record = phase_record(case, mixed, properties.name, low, high)
    if out:
        _write(out, record, (low, high), properties, mixed)
    if json:
        print_json(record)
    else:
        _print(case, mixed, record, low, high)


def _print(case, blend, record: dict, low, high) -> None:
    from mixjt.cli import circuit_view as view
    from mixjt.cli.show import print_table

    view.print_heading(case, blend, record["model"])
    rows = [
        (name, line.pressure / 1e5, line.bubble_point, line.dew_point, line.glide)
        for name, line in (("suction", low), ("discharge", high))
    ]
    print_table(
        "Saturation", ("side", "p|bar abs|.3f", "bubble point|K|.2f", "dew point|K|.2f", "glide|K|.2f"), rows
    )
    count = len(low.temperatures)
    picked = [round(k * (count - 1) / (ROWS - 1)) for k in range(ROWS)]
    columns = ("T|K|.1f", "suction", "vapour|mol/mol|.4f", "discharge", "vapour|mol/mol|.4f")
    states = [
        (
            low.temperatures[k],
            low.phase_texts[k],
            low.vapour_fraction[k],
            high.phase_texts[k],
            high.vapour_fraction[k],
        )
        for k in picked
    ]
    print_table("Phases from the cold end to the warm end", columns, states)
    view.print_closing(record["warnings"], blend, high.pressure, case.circuit.cold_temperature)


def _write(out: Path, record: dict, isobars, properties, blend) -> None:
    """States and envelope as tables, the envelope as a plot, and summary.json."""
    from mixjt.files.output import output_directory, write_json, write_table
    from mixjt.files.phase_records import boundary_table, phase_table
    from mixjt.plots.save import save_figure
    from mixjt.studies.phases import saturation_boundary

    boundary = saturation_boundary(properties, blend.composition, 0.5 * isobars[0].pressure)
    with output_directory(out) as scratch:
        write_json(scratch / "summary.json", record)
        write_table(scratch / "phases.csv", phase_table(isobars))
        write_table(scratch / "envelope.csv", boundary_table(boundary))
        save_figure(_envelope_figure(boundary, isobars, blend, properties.name), scratch / "envelope")


def _envelope_figure(boundary, isobars, blend, model: str):
    """Phase envelope with the two pressures of the case, from the cold end to the warm end."""
    from mixjt.plots.property import plot_envelope
    from mixjt.plots.style import HIGH_SIDE, LOW_SIDE, add_legend, new_figure, print_style
    from mixjt.plots.titles import blend_text, pressure_text, set_title

    with print_style():
        figure = new_figure()
        axes = plot_envelope(figure.subplots(), boundary)
        for name, line, style in zip(("suction", "discharge"), isobars, (LOW_SIDE, HIGH_SIDE), strict=True):
            label = f"{name}, {pressure_text(line.pressure)}"
            axes.plot(line.temperatures[[0, -1]], [line.pressure / 1e5] * 2, label=label, **style)
        add_legend(figure)
        blend_line = blend_text(blend.gases, blend.composition)
        set_title(figure, "Phase envelope of the blend", blend_line, f"{model} model")
    return figure
