"""The command `mixjt compare`."""

from __future__ import annotations

from mixjt.cli.options import CaseArgument, JsonOutput, ModelName, OutDirectory
from mixjt.fluid.model_names import DEFAULT


def compare(
    case_file: CaseArgument,
    out: OutDirectory = None,
    json: JsonOutput = False,
    model: ModelName = DEFAULT,
) -> int:
    """Compare blends and cascades for one load.

    Finds the plain, the precooled and the separator circuit's blend and the cascades of two and three stages that
    carry the case's load with the least power, on equal terms, and follows all of them along the load line. Takes
    about a minute; [compare] may ask for less. Ctrl-C ends it early and keeps what was found.

    \b
    Example
      mixjt compare mixtures-demo/receiver-120K.toml --out run
    """
    from loky import cpu_count

    from mixjt.case.case import read_case
    from mixjt.case.compare_case import compare_request
    from mixjt.cli.deliver import deliver
    from mixjt.cli.progress import design_progress
    from mixjt.cli.solved_case import chosen_model
    from mixjt.report import compare_report as report
    from mixjt.report.figure import record_of
    from mixjt.report.output import checked_directory
    from mixjt.studies.compare import compare as run

    case = read_case(case_file)
    request = compare_request(case, model)
    checked_directory(out)
    properties = chosen_model(model, request.search.gases) if request.search else None
    with design_progress() as progress:
        found = run.compare(properties, request, progress, cpu_count())
    record = record_of(report.RECORD, {"case": case, "found": found, "model": properties and properties.name})
    return deliver(
        record, lambda: report.print_comparison(case, found, record["model"]), json,
        out if any(road.line for road in found.roads) else None,
        lambda: report.compare_tables(found), lambda: report.compare_pictures(found),
    )  # fmt: skip
