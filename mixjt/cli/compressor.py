"""The command `mixjt compressor`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory
from mixjt.properties.names import DEFAULT


def compressor(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
) -> int:
    """Work a compressor back from its label, and show what it does on the blend.

    [rating] gives the label: refrigerant, capacity and rating point, or the ten-coefficient polynomials of its data
    sheet. Displacement, efficiencies, expected input and limits follow; then flow, power and current on the blend
    against suction and discharge pressure.

    \b
    Examples
      mixjt compressor mixtures-demo/receiver-120K.toml
      mixjt compressor mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.case.case import read_case
    from mixjt.case.rating_case import rating_request
    from mixjt.cli.cautions import cautions
    from mixjt.cli.compressor_view import print_rating
    from mixjt.cli.deliver import deliver
    from mixjt.cli.request import chosen_blend, chosen_model
    from mixjt.files.output import checked_directory
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
    return deliver(
        record, lambda: print_rating(case, mixture, found, record), json, out,
        lambda: _tables(found), lambda: _pictures(case, found),
    )  # fmt: skip


def _tables(found) -> dict:
    from mixjt.files import rating_records as tables

    curves = {"compressor_curves": tables.curve_table(found.curves)} if found.curves else {}
    return {"compressor_map": tables.map_table(found.points)} | curves


def _pictures(case, found) -> dict:
    from mixjt.plots.rating import rating_figure
    from mixjt.plots.titles import blend_text

    about = blend_text(found.gases, found.composition)
    heading = f"{case.title or 'Compressor'}: on the blend, gas entering at {found.request.suction_temperature:.4g} K"
    return {"compressor_map": lambda: rating_figure(found.points, heading, about)}
