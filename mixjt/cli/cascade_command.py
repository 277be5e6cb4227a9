"""The command `mixjt cascade`."""

from __future__ import annotations

from functools import cache

from mixjt.cli.options import CaseArgument, JsonOutput, ModelName, OutDirectory
from mixjt.fluid.model_names import DEFAULT


def cascade(
    case_file: CaseArgument,
    out: OutDirectory = None,
    json: JsonOutput = False,
    model: ModelName = DEFAULT,
) -> int:
    """Design a cascade of vapour-compression stages for the load.

    Chooses the fluids of one to four stages from those you can buy and the intermediate temperatures that draw
    the least power within the limits of [cascade], or solves the fluids and temperatures you state. Every stage
    has the efficiencies and the speed of [compressor]; the displacement it needs is a result. With the displacements of
    given compressors in [cascade] the greatest load that they carry is found instead. --model is that of stages
    whose fluid is a blend. Ctrl-C ends the design early and keeps what was found.

    \b
    Example
      mixjt cascade mixtures-demo/preamp-cascade.toml --out run
    """
    from mixjt.cascade.cascade_curves import power_curves
    from mixjt.cascade.design import design_cascade
    from mixjt.cascade.warming import warmings
    from mixjt.case.cascade_case import cascade_request
    from mixjt.case.case import read_case
    from mixjt.cli.deliver import deliver
    from mixjt.cli.progress import design_progress
    from mixjt.interrupt import keeping
    from mixjt.report import cascade_report as report
    from mixjt.report.output import checked_directory

    case = read_case(case_file)
    request = cascade_request(case, model)
    checked_directory(out)
    with design_progress("greatest load" if request.greatest else "least power") as progress:
        design = design_cascade(request, progress)
        warmed = ()
        if not design.interrupted:
            with keeping():
                warmed = warmings(request, len(design.best.stages))
    record = report.cascade_record(case, design, warmed)
    record["interrupted"] = design.interrupted or not warmed
    curves = cache(lambda: power_curves(design.best))
    return deliver(
        record, lambda: report.print_design(case, design, warmed, record), json, None if design.best is None else out,
        lambda: report.cascade_tables(design, curves()), lambda: report.cascade_pictures(design.best, curves()),
    )  # fmt: skip
