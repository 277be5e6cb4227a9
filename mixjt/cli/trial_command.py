"""The command `mixjt trial`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from mixjt.cli.options import CaseArgument, JsonOutput, ModelName, OutDirectory, SaveFile
from mixjt.fluid.model_names import DEFAULT

LogArgument = Annotated[
    Path, typer.Argument(metavar="LOG.csv", help="The log of a run: one line a time, with whatever columns there are.")
]


def trial(
    case_file: CaseArgument,
    log_file: LogArgument,
    out: OutDirectory = None,
    json: JsonOutput = False,
    model: ModelName = DEFAULT,
    save: SaveFile = None,
) -> int:
    """Read the log of a run against the machine of the case.

    Finds where the run stood still, fits what the readings can tell of the machine (conductance of the recuperator, heat
    leak, compressor, throttle, charge, sensors), and names what may be wrong, with the evidence for and against it and
    what to do next. Columns are guessed from their headers, which is told; [trial] of the case overrules it. Without the
    capillary of [throttle] and the volumes of [volumes] the pressures are held as measured. --save writes the case with
    what the log has told. Takes some minutes; Ctrl-C while a fault is fitted keeps what was found.

    \b
    Example
      mixjt trial mixtures-demo/receiver-first-run.toml mixtures-demo/receiver-first-run.csv --out run
    """
    from loky import cpu_count

    from mixjt.case.case import read_case
    from mixjt.case.contradictions import contradictions
    from mixjt.case.log_file import read_log
    from mixjt.case.saved_case import checked_new_file
    from mixjt.case.trial_answer import trial_answer, trial_before
    from mixjt.case.trial_case import built_machine, log_request, steady_limits
    from mixjt.cli.deliver import Saving, deliver
    from mixjt.cli.progress import stage_progress, waiting
    from mixjt.cli.solved_case import chosen_blend, chosen_fluid, starting_blend
    from mixjt.errors import UnreachableError
    from mixjt.report import trial_report as report
    from mixjt.report import trial_text as text
    from mixjt.report.output import checked_directory
    from mixjt.studies.trial.trial import read_trial

    case = read_case(case_file)
    request, limits = log_request(case), steady_limits(case)
    checked_directory(out)
    checked_new_file(save, case)
    log = read_log(log_file, request)
    blend = chosen_blend(case, None) if case.charge is None else starting_blend(case)
    fluid = chosen_fluid(model, blend)
    with waiting("solving the circuit"):
        built, band = built_machine(case, fluid, case.charge is not None)
    with stage_progress() as progress:
        found = read_trial(built, log, request, limits, cpu_count(), progress)
    told = report.ToldTrial(case, str(log_file), blend, found, band)
    record = report.trial_record(told, contradictions(case))
    code = deliver(
        record, lambda: text.print_trial(told, record), json, out,
        lambda: report.trial_tables(told), lambda: report.trial_pictures(told),
        Saving(save if found.fits else None, case, "mixjt trial", lambda: trial_answer(case, found), lambda: trial_before(case, found)),
    )  # fmt: skip
    if save is not None and not found.fits:
        raise UnreachableError(f"--save: {save} is not written: no machine near that of the case fits the log well")
    return code
