"""The command `mixjt sensitivity`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory

INTERRUPTED = 130
RobustOption = Annotated[
    bool, typer.Option("--robust", help="Also find the blend nearby whose worst case is best.")
]


def sensitivity(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = "fast",
    robust: RobustOption = False,
) -> int:
    """See what each input of a plain circuit is worth, and what weighing errors do.

    Changes every gas or bottle of the blend, ambient, pressures, approach and efficiencies one at a time by the amounts
    in [sensitivity], and tells how cooling power and the lowest temperature for the load move. With a charge in
    [sensitivity] or [standstill] it also draws charges with weighing errors. Ctrl-C keeps what was found.

    \b
    Examples
      mixjt sensitivity mixtures-demo/receiver-120K.toml
      mixjt sensitivity mixtures-demo/receiver-120K.toml --robust --out run
    """
    from mixjt.cli import sensitivity_view as view
    from mixjt.cli.request import chosen_blend, solved_circuit
    from mixjt.cli.sensitivity_run import run_sensitivity
    from mixjt.cli.show import print_json
    from mixjt.files.case import read_case
    from mixjt.files.output import checked_directory
    from mixjt.files.sensitivity_case import sensitivity_request, weighing_request

    checked_directory(out)
    case = read_case(case_file)
    chosen_blend(case, blend)  # what is wrong with the case is told before the circuit is solved
    request, charge = sensitivity_request(case), weighing_request(case, blend)
    solved = solved_circuit(case_file, blend, model)
    run = run_sensitivity(solved, request, charge, blend, robust)
    if out and run.found.effects:
        _write(out, run)
    if json:
        print_json(run.record)
    else:
        view.print_sensitivity(solved, run)
    return INTERRUPTED if run.interrupted else 0


def _write(out: Path, run) -> None:
    from mixjt.files import sensitivity_records as tables
    from mixjt.files.output import output_directory, write_json, write_table
    from mixjt.plots.save import save_figure
    from mixjt.plots.sensitivity import tornado_figure, weighing_figure

    with output_directory(out) as scratch:
        write_json(scratch / "summary.json", run.record)
        write_table(scratch / "sensitivity.csv", tables.effect_table(run.found))
        save_figure(tornado_figure(run.found), scratch / "sensitivity")
        if run.weighing is None:
            return
        names = run.recipe.names
        write_table(scratch / "weighing.csv", tables.draw_table(run.weighing, names))
        write_table(scratch / "weighing_masses.csv", tables.mass_table(run.weighing, run.contributions, names))
        if run.weighing.power_percentiles is not None:
            save_figure(weighing_figure(run.weighing, run.found.base), scratch / "weighing")
