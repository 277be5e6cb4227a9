"""The command `mixjt search`."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

import typer

from mixjt.cli.options import CaseArgument, CircuitKind, JsonOutput, ModelName, OutDirectory, SaveFile
from mixjt.fluid.model_names import DEFAULT

RobustOption = Annotated[
    bool, typer.Option("--robust", help="Also rank the blends by their worst case, and find the best worst case.")
]


def search(
    case_file: CaseArgument,
    out: OutDirectory = None,
    save: SaveFile = None,
    json: JsonOutput = False,
    model: ModelName = DEFAULT,
    circuit: CircuitKind = "plain",
    robust: RobustOption = False,
) -> int:
    """Find the best blends of what you can buy.

    Looks for the blends of the case's bottles that are best at its objective within the limits of the
    machine, and shows what each further bottle buys. The same seed gives the same answer. Ctrl-C ends the
    search early and keeps what was found. With --circuit precooled the search knows the precooler; with
    --circuit separator the best blends of the plain circuit are polished for the separator. With --robust the
    blends are also ranked by the least cooling among neighbours with one bottle off by a step ([sensitivity]
    worst_case_step; of the charge where [volumes] are known), and the first is moved to where that is greatest.

    \b
    Example
      mixjt search mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.case.answers import search_answer
    from mixjt.case.case import read_case
    from mixjt.case.saved_case import checked_new_file
    from mixjt.case.standstill_case import standstill_request
    from mixjt.cli.deliver import Saving, deliver
    from mixjt.cli.progress import search_progress, waiting
    from mixjt.cli.solved_case import chosen_model, search_request
    from mixjt.report import search_report as report
    from mixjt.report.figure import record_of
    from mixjt.report.output import checked_directory
    from mixjt.report.sensitivity_report import SEARCHED, print_robust_search
    from mixjt.report.terminal import print_notes
    from mixjt.studies.at_rest import at_rest
    from mixjt.studies.band import cooling_band
    from mixjt.studies.search.search import search as run_search
    from mixjt.studies.size_study import cooling_by_size

    def show() -> None:
        report.print_heading(case, found, properties.name)
        if not found.candidates:
            print("Interrupted before a blend was found that keeps every condition.")
            print_notes("Search", found.messages[1:])
            return
        report.print_candidates(record["candidates"], found.objective)
        report.print_ends(found)
        if worst is not None:
            print_robust_search(worst, record["candidates"][0]["warnings"])
        report.print_counts(found)
        report.print_sizes(sizes)
        about_models = (*(bands[0].warnings if bands[0] else ()), *properties.notes)
        report.print_closing(case, found, record, about_models, circuit, rests[0].inventory)

    case = read_case(case_file)
    checked_directory(out)
    checked_new_file(save, case)
    request = search_request(case, circuit)
    if robust:
        _refuse_robust(circuit)
    properties = chosen_model(model, request.gases)
    with search_progress(request.objective) as progress:
        found = run_search(properties, request, progress)
    worst = _worst_cases(case, properties, request, found) if robust else None
    asked = standstill_request(case)
    with waiting("how well the blends are known"):
        bands = [
            cooling_band(one, replace(request.circuit, ambient_temperature=one.ambient_temperature))
            for one in found.candidates
        ]
        rests = [at_rest(one, asked) for one in found.candidates]
    with waiting("the best blends in other recuperators"):
        sizes = cooling_by_size(request.circuit, found.candidates)
    run = {"case": case, "model": properties, "found": found, "bands": bands, "rests": rests, "sizes": sizes}
    record = record_of(report.FIGURES, run)
    record |= record_of((SEARCHED,), worst) if worst is not None else {}
    return deliver(
        record, show, json, out if found.candidates else None,
        lambda: report.search_tables(found, record, sizes),
        lambda: report.search_pictures(found, sizes, bands, case.load),
        Saving(
            save if found.candidates else None, case, _words(circuit, robust),
            lambda: search_answer(case, *_chosen(found, worst)),
        ),
    )  # fmt: skip


def _chosen(found, worst):
    """Amounts of bottles and circuit of the answer: the best blend, or with --robust that with the best worst case."""
    if worst is None or worst.solution is None:
        return found.amounts[0], found.candidates[0]
    return dict(zip(worst.blend.names, worst.blend.amounts.tolist(), strict=True)), worst.solution


def _words(circuit: str, robust: bool) -> str:
    """The command, as people type it."""
    from mixjt.circuit.solve import PLAIN

    return "mixjt search" + ("" if circuit == PLAIN else f" --circuit {circuit}") + (" --robust" if robust else "")


def _refuse_robust(kind: str) -> None:
    """Refuse a kind of circuit whose worst cases are not known."""
    from mixjt.circuit.solve import PLAIN
    from mixjt.errors import InputError

    if kind != PLAIN:
        raise InputError(f"--robust knows plain circuits only; leave out --circuit {kind}, or --robust")


def _worst_cases(case, model, request, found):
    """Worst cases of what was found; None after an interruption."""
    from mixjt.case.sensitivity_case import case_response, worst_case_step
    from mixjt.cli.progress import step_progress
    from mixjt.interrupt import happened, keeping
    from mixjt.studies.robust_search import robust_search

    if happened():
        return None
    worst = None
    with keeping(), step_progress("worst case") as progress:
        worst = robust_search(model, request, found, worst_case_step(case), progress, case_response(case))
    return worst
