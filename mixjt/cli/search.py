"""The command `mixjt search`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from mixjt.cli.options import CaseFile, CircuitKind, JsonOutput, ModelName, OutDirectory

INTERRUPTED = 130
RobustOption = Annotated[
    bool, typer.Option("--robust", help="Also rank the blends by their worst case, and find the best worst case.")
]


def search(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    model: ModelName = "fast",
    circuit: CircuitKind = "plain",
    robust: RobustOption = False,
) -> int:
    """Find the best blends of what you can buy.

    Looks for the blends of the case's bottles that make its objective greatest within the limits of the
    machine, and shows what each further bottle buys. The same seed gives the same answer. Ctrl-C ends the
    search early and keeps what was found. With --circuit precooled the search knows the precooler; with
    --circuit separator the best blends of the plain circuit are polished for the separator. With --robust the
    blends are also ranked by the least cooling among neighbours with one bottle off by a step ([sensitivity]
    worst_case_step), and the first is moved to where that is greatest.

    \b
    Example
      mixjt search mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.cli.progress import search_progress
    from mixjt.cli.request import chosen_model, search_request, second_opinion
    from mixjt.cli.search_robust import refuse_robust, robust_of_search
    from mixjt.cli.search_view import best_cautions
    from mixjt.cli.show import print_json
    from mixjt.files.case import read_case
    from mixjt.files.output import checked_directory
    from mixjt.files.search_records import repolished_records, search_record
    from mixjt.files.sensitivity_records import robust_search_record
    from mixjt.files.standstill_case import standstill_request
    from mixjt.studies.search.kinds import search_kind
    from mixjt.studies.standstill import at_rest

    case = read_case(case_file)
    checked_directory(out)
    request = search_request(case, circuit)
    if robust:
        refuse_robust(circuit)
    properties = chosen_model(model, request.gases)
    with search_progress(request.objective) as report:
        found = search_kind(properties, request, case.circuit, report)
    worst = robust_of_search(case, properties, request, found) if robust else None
    again = case.tables["search"]["polished_on_second_model"] if circuit != "separator" else 0
    opinion = second_opinion(properties, found, request, again)
    asked = standstill_request(case)
    rests = [at_rest(properties, one.composition, asked, one.suction_pressure) for one in found.candidates]
    record = {"model": properties.name} | search_record(case, found, opinion.checks, rests)
    record["polished"] = repolished_records(opinion.polished, opinion.polished_checks)
    record["cautions"] = best_cautions(found)
    record["interrupted"] = found.interrupted or opinion.interrupted
    if worst is not None:
        record["robust"] = robust_search_record(worst)
    if out and found.candidates:
        _write(out, record, found, opinion, properties, rests)
    if json:
        print_json(record)
    else:
        _print(case, found, opinion, properties.name, circuit, worst, rests)
    cut_short = record["interrupted"] or (worst is not None and worst.blend.interrupted)
    return INTERRUPTED if cut_short else 0


def _print(case, found, opinion, model: str, circuit: str, worst, rests) -> None:
    from mixjt.cli import search_view as view
    from mixjt.cli.search_robust import print_robust_search

    view.print_heading(case, found, model)
    if not found.candidates:
        print("Interrupted before a blend was found.")
        return
    view.print_candidates(found, opinion.checks, rests)
    view.print_repolished(opinion.polished, opinion.polished_checks)
    if worst is not None:
        print_robust_search(worst)
    view.print_counts(found)
    view.print_closing(case, found, opinion.checks, rests, circuit)


def _write(out: Path, record: dict, found, opinion, properties, rests) -> None:
    """Candidates as tables and overview plot, the best one in full, and summary.json."""
    from mixjt.cli.circuit_files import write_circuit
    from mixjt.files.output import output_directory, write_json, write_table
    from mixjt.files.search_records import best_by_count_table, candidate_table, repolished_table
    from mixjt.plots.save import save_figure
    from mixjt.plots.search import search_figure

    with output_directory(out) as scratch:
        write_json(scratch / "summary.json", record)
        write_table(scratch / "candidates.csv", candidate_table(found, opinion.checks, rests))
        if opinion.polished_checks:
            table = repolished_table(opinion.polished, opinion.polished_checks)
            write_table(scratch / "polished.csv", table)
        write_table(scratch / "best_by_count.csv", best_by_count_table(found))
        save_figure(search_figure(found.candidates, found.best_by_count, found.objective), scratch / "search")
        write_circuit(scratch, found.candidates[0], properties)
