"""The worst cases of a search's blends: `mixjt search --robust`."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.case.sensitivity_case import worst_case_step
from mixjt.cli.progress import step_progress
from mixjt.cli.sensitivity_view import print_robust
from mixjt.cli.show import print_notes, print_table
from mixjt.cycles.solve import PLAIN
from mixjt.errors import InputError
from mixjt.interrupt import happened, keeping
from mixjt.properties.records import PropertyModel
from mixjt.studies.robust_search import RobustSearch, robust_search
from mixjt.studies.search.request import SearchRequest
from mixjt.studies.search.result import SearchResult


def refuse_robust(kind: str) -> None:
    """Refuse a kind of circuit whose worst cases are not known."""
    if kind != PLAIN:
        raise InputError(f"--robust knows plain circuits only; leave out --circuit {kind}, or --robust")


def robust_of_search(
    case: Case, model: PropertyModel, request: SearchRequest, found: SearchResult
) -> RobustSearch | None:
    """Worst cases of what was found; None after an interruption."""
    if happened():
        return None
    worst = None
    with keeping(), step_progress("worst case") as report:
        worst = robust_search(model, request, found, worst_case_step(case), report)
    return worst


def print_robust_search(found: RobustSearch) -> None:
    """Candidates by their worst case, and the blend whose worst case is best."""
    rows = [(one.rank, one.nominal, one.worst, one.neighbour or "the blend itself") for one in found.ranked]
    title = f"By the worst case, each bottle off by {100.0 * found.step:.3g} mol %"
    print_table(title, ("blend", "cooling|W|.3f", "worst|W|.3f", "where"), rows)
    print_robust(found.blend)
    if found.solution is None:
        print(f"It could not be solved in full: {found.problem}")
    else:
        print_notes("Warnings about this blend", found.solution.warnings)
