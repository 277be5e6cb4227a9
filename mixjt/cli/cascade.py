"""The command `mixjt cascade`."""

from __future__ import annotations

from pathlib import Path

from mixjt.cli.options import CaseFile, JsonOutput, ModelName, OutDirectory

INTERRUPTED = 130


def cascade(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    model: ModelName = "fast",
) -> int:
    """Design a cascade of vapour-compression stages for the load.

    Chooses the fluids of one to four stages from those you can buy and the intermediate temperatures that draw
    the least power within the limits of [cascade], or solves the fluids and temperatures you state. Every stage
    has the efficiencies and the speed of [compressor]; the displacement it needs is a result. --model is that of
    stages whose fluid is a blend. Ctrl-C ends the design early and keeps what was found.

    \b
    Example
      mixjt cascade mixtures-demo/preamp-cascade.toml --out run
    """
    from mixjt.cli.cascade_view import cascade_cautions, print_design
    from mixjt.cli.progress import design_progress
    from mixjt.cli.show import print_json
    from mixjt.files.cascade_case import cascade_request
    from mixjt.files.cascade_records import cascade_record
    from mixjt.files.case import read_case
    from mixjt.files.output import checked_directory
    from mixjt.studies.cascade_design import design_cascade
    from mixjt.studies.cascade_warming import warmings

    case = read_case(case_file)
    request = cascade_request(case, model)
    checked_directory(out)
    with design_progress() as report:
        design = design_cascade(request, report)
        warmed = () if design.interrupted else warmings(request, len(design.best.stages))
    record = cascade_record(case, design, warmed)
    record["cautions"] = [] if design.best is None else cascade_cautions(design.best)
    if out and design.best is not None:
        _write(out, record, design)
    if json:
        print_json(record)
    else:
        print_design(case, design, warmed)
    return INTERRUPTED if design.interrupted else 0


def _write(out: Path, record: dict, design) -> None:
    """Tables of the best cascade and of all candidates, plots, and summary.json."""
    from mixjt.files import cascade_records as records
    from mixjt.files.output import output_directory, write_json, write_table
    from mixjt.plots.cascade import power_figure, stages_figure
    from mixjt.plots.save import save_figure
    from mixjt.studies.cascade_curves import power_curves, stage_domes

    best = design.best
    with output_directory(out) as scratch:
        write_json(scratch / "summary.json", record)
        write_table(scratch / "stages.csv", records.stage_table(best))
        write_table(scratch / "state_points.csv", records.state_table(best))
        write_table(scratch / "exergy.csv", records.exergy_table(best))
        write_table(scratch / "candidates.csv", records.candidate_table(design))
        write_table(scratch / "ruled_out.csv", records.ruled_out_table(design.ruled_out))
        save_figure(stages_figure(best, stage_domes(best)), scratch / "stages")
        curves = power_curves(best)
        if curves:
            write_table(scratch / "power.csv", records.power_table(best, curves))
            save_figure(power_figure(best, curves), scratch / "power")
