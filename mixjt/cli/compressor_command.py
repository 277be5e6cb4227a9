"""The command `mixjt compressor`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseArgument, JsonOutput, ModelName, OutDirectory, SaveFile
from mixjt.fluid.model_names import DEFAULT


def compressor(
    case_file: CaseArgument,
    out: OutDirectory = None,
    save: SaveFile = None,
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
    from mixjt.case.answers import compressor_answer
    from mixjt.case.case import read_case
    from mixjt.case.rating_case import rating_request
    from mixjt.case.saved_case import checked_new_file
    from mixjt.cli.deliver import Saving, deliver
    from mixjt.cli.progress import waiting
    from mixjt.cli.solved_case import chosen_blend, chosen_fluid
    from mixjt.report import compressor_report as report
    from mixjt.report.cautions import cautions
    from mixjt.report.output import checked_directory
    from mixjt.studies.label_study import solve_rating

    case = read_case(case_file)
    checked_directory(out)
    checked_new_file(save, case)
    request = rating_request(case)
    mixture = chosen_blend(case, blend)
    fluid = chosen_fluid(model, mixture)
    with waiting("mapping the compressor"):
        found = solve_rating(fluid, request)
    record = {"title": case.title, "case": case.file} | report.rating_record(found)
    highest = max(point.discharge_pressure for point in found.points)
    record["cautions"] = cautions(mixture.gases, mixture.fractions, highest, request.suction_temperature)
    return deliver(
        record, lambda: report.print_rating(case, mixture, found, record), json, out,
        lambda: report.compressor_tables(found), lambda: report.compressor_pictures(found),
        Saving(save, case, "mixjt compressor", lambda: compressor_answer(case, request, blend)),
    )  # fmt: skip
