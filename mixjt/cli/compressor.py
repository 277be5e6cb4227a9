"""The command `mixjt compressor`."""

from __future__ import annotations

from pathlib import Path

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory


def compressor(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = "fast",
) -> None:
    """Work a compressor back from its label, and show what it does on the blend.

    [rating] gives the label: refrigerant, capacity and rating point, or the ten-coefficient polynomials of its data
    sheet. Displacement, efficiencies, expected input and limits follow; then flow, power and current on the blend
    against suction and discharge pressure.

    \b
    Examples
      mixjt compressor mixtures-demo/receiver-120K.toml
      mixjt compressor mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.cli.cautions import cautions
    from mixjt.cli.compressor_view import print_rating
    from mixjt.cli.request import chosen_blend, chosen_model
    from mixjt.cli.show import print_json
    from mixjt.files.case import read_case
    from mixjt.files.output import checked_directory
    from mixjt.files.rating_case import rating_request
    from mixjt.files.rating_records import rating_record
    from mixjt.studies.rating import solve_rating

    case = read_case(case_file)
    request = rating_request(case)
    checked_directory(out)
    mixture = chosen_blend(case, blend)
    found = solve_rating(chosen_model(model, mixture.gases), mixture.composition, request)
    record = {"title": case.title, "case": case.file} | rating_record(found)
    highest = max(point.discharge_pressure for point in found.points)
    record["cautions"] = cautions(mixture.gases, mixture.fractions, highest, request.suction_temperature)
    if out:
        _write(out, case, found, record)
    if json:
        print_json(record)
        return
    print_rating(case, mixture, found, record)


def _write(out: Path, case, found, record: dict) -> None:
    from mixjt.files import rating_records as tables
    from mixjt.files.output import output_directory, write_json, write_table
    from mixjt.plots.rating import rating_figure
    from mixjt.plots.save import save_figure
    from mixjt.plots.titles import blend_text

    about = blend_text(found.gases, found.composition)
    heading = f"{case.title or 'Compressor'}: on the blend, gas entering at {found.request.suction_temperature:.4g} K"
    with output_directory(out) as scratch:
        write_json(scratch / "summary.json", record)
        write_table(scratch / "compressor_map.csv", tables.map_table(found.points))
        if found.curves:
            write_table(scratch / "compressor_curves.csv", tables.curve_table(found.curves))
        save_figure(rating_figure(found.points, heading, about), scratch / "compressor_map")
