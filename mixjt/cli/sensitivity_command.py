"""The command `mixjt sensitivity`."""

from __future__ import annotations

from typing import Annotated

import typer

from mixjt.cli.options import BlendText, CaseArgument, JsonOutput, ModelName, OutDirectory
from mixjt.fluid.model_names import DEFAULT

RobustOption = Annotated[
    bool, typer.Option("--robust", help="Also find the blend nearby whose worst case is best.")
]


def sensitivity(
    case_file: CaseArgument,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
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
    from loky import cpu_count

    from mixjt.case.case import read_case
    from mixjt.case.inventory_case import case_volumes
    from mixjt.case.sensitivity_case import sensitivity_request, weighing_request
    from mixjt.cli.deliver import deliver
    from mixjt.cli.sensitivity_run import run_sensitivity
    from mixjt.cli.solved_case import chosen_blend, solved_circuit
    from mixjt.report import sensitivity_report as report
    from mixjt.report.circuit_report import print_closing, print_heading
    from mixjt.report.output import checked_directory

    def show() -> None:
        print_heading(solved.case, solved.blend, record, solved.band)
        report.print_sensitivity(run)
        print_closing(record["warnings"], record["cautions"], solved.about_models)

    checked_directory(out)
    case = read_case(case_file)
    chosen_blend(case, blend)  # what is wrong with the case is told before the circuit is solved
    request = sensitivity_request(case)
    weighing_request(case, blend, 0.0 if case_volumes(case) else None)
    solved = solved_circuit(case_file, blend, model)
    held = solved.rest.inventory
    charge = weighing_request(case, blend, held and held.charge.mass)
    run = run_sensitivity(solved, request, charge, blend, robust, cpu_count())
    record = report.sensitivity_record(run, solved.record)
    return deliver(
        record, show, json, out if run.found.effects else None,
        lambda: report.sensitivity_tables(run), lambda: report.sensitivity_pictures(run, solved.band),
    )  # fmt: skip
