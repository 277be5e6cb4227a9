"""The command `mixjt compare`."""

from __future__ import annotations

from pathlib import Path

from mixjt.cli.options import CaseFile, JsonOutput, ModelName, OutDirectory

INTERRUPTED = 130


def compare(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    model: ModelName = "fast",
) -> int:
    """Compare blends and cascades for one load.

    Finds the plain, the precooled and the separator circuit's blend and the cascades of two and three stages that
    carry the case's load with the least power, on equal terms, and follows all of them along the load line. Takes
    three to four minutes; [compare] may ask for less. Ctrl-C ends it early and keeps what was found.

    \b
    Example
      mixjt compare mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.cli.compare_view import print_comparison
    from mixjt.cli.progress import design_progress
    from mixjt.cli.request import chosen_model
    from mixjt.cli.show import print_json
    from mixjt.files.case import read_case
    from mixjt.files.compare_case import compare_request
    from mixjt.files.compare_records import compare_record
    from mixjt.files.output import checked_directory
    from mixjt.studies.compare import run

    case = read_case(case_file)
    request = compare_request(case, model)
    checked_directory(out)
    properties = chosen_model(model, request.search.gases) if request.search else None
    with design_progress() as report:
        found = run.compare(properties, request, report)
    found, interrupted = _checked(case, found, properties)
    record = {"model": properties and properties.name} | compare_record(case, found)
    if json:
        print_json(record)
    else:
        print_comparison(case, found, record["model"])
    if out and any(road.line for road in found.roads):
        _write(out, record, found)
    return INTERRUPTED if interrupted else 0


def _checked(case, found, properties):
    """With the second property model's word on the blends, unless the case forgoes it; and whether interrupted."""
    from mixjt.cli.request import other_model
    from mixjt.files.keys_compare import YES
    from mixjt.studies.compare.run import checked

    wanted = case.tables["compare"]["checked_on_second_model"] == YES
    blends = any(road.is_blend and road.carried for road in found.roads)
    if not (wanted and blends) or found.interrupted:
        return found, found.interrupted
    try:
        return checked(found, properties, other_model(properties)), False
    except KeyboardInterrupt:  # while the other model was loaded: its word is missing, nothing else
        return found, True


def _write(out: Path, record: dict, found) -> None:
    """Roads and load lines as tables, the plot, and summary.json."""
    from mixjt.files import compare_records as records
    from mixjt.files.output import output_directory, write_json, write_table
    from mixjt.plots.compare import compare_figure
    from mixjt.plots.save import save_figure

    with output_directory(out) as scratch:
        write_json(scratch / "summary.json", record)
        write_table(scratch / "roads.csv", records.road_table(found))
        write_table(scratch / "load_line.csv", records.line_table(found))
        write_table(scratch / "suction_warming.csv", records.warmed_table(found))
        save_figure(compare_figure(found), scratch / "compare")
