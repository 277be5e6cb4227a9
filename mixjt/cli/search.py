"""The command `mixjt search`."""

from __future__ import annotations

from typing import Annotated

import typer

from mixjt.cli.options import CaseFile, CircuitKind, JsonOutput, ModelName, OutDirectory
from mixjt.properties.names import DEFAULT

RobustOption = Annotated[
    bool, typer.Option("--robust", help="Also rank the blends by their worst case, and find the best worst case.")
]


def search(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    model: ModelName = DEFAULT,
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
    from mixjt.case.case import read_case
    from mixjt.case.standstill_case import standstill_request
    from mixjt.cli.deliver import deliver
    from mixjt.cli.progress import search_progress
    from mixjt.cli.request import chosen_model, search_request
    from mixjt.cli.search_robust import refuse_robust, robust_of_search
    from mixjt.cli.search_view import best_cautions
    from mixjt.files.output import checked_directory
    from mixjt.files.search_records import search_record
    from mixjt.files.sensitivity_records import robust_search_record
    from mixjt.studies.band import cooling_band
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
    bands = [cooling_band(properties, one, request.circuit) for one in found.candidates]
    asked = standstill_request(case)
    rests = [at_rest(properties, one.composition, asked, one.suction_pressure) for one in found.candidates]
    record = {"model": properties.name} | search_record(case, found, bands, rests)
    record["cautions"] = best_cautions(found)
    record["interrupted"] = found.interrupted
    if worst is not None:
        record["robust"] = robust_search_record(worst)
    return deliver(
        record, lambda: _print(case, found, bands, properties.name, circuit, worst, rests), json,
        out if found.candidates else None, lambda: _tables(found, bands, rests),
        lambda: _pictures(found, properties),
    )  # fmt: skip


def _print(case, found, bands, model: str, circuit: str, worst, rests) -> None:
    from mixjt.cli import search_view as view
    from mixjt.cli.search_robust import print_robust_search
    from mixjt.cli.show import print_notes

    view.print_heading(case, found, model)
    if not found.candidates:
        print("Interrupted before a blend was found that keeps every condition.")
        print_notes("Search", found.messages[1:])
        return
    view.print_candidates(found, bands, rests)
    if worst is not None:
        print_robust_search(worst)
    view.print_counts(found)
    view.print_closing(case, found, bands, rests, circuit)


def _tables(found, bands, rests) -> dict:
    """Candidates, and the best one in full."""
    from mixjt.cli.circuit_files import circuit_tables
    from mixjt.files.search_records import best_by_count_table, candidate_table

    tables = {
        "candidates": candidate_table(found, bands, rests),
        "best_by_count": best_by_count_table(found),
    }
    return tables | circuit_tables(found.candidates[0])


def _pictures(found, properties) -> dict:
    """An overview, and the best one in full."""
    from mixjt.cli.circuit_files import circuit_pictures
    from mixjt.plots.search import search_figure

    overview = {"search": lambda: search_figure(found.candidates, found.best_by_count, found.objective)}
    return overview | circuit_pictures(found.candidates[0], properties)
