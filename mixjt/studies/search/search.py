"""Search for the best blends of what can be bought: global exploration, polishing, full solution."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

import numpy as np

from mixjt.errors import UnreachableError
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import keeping
from mixjt.studies.search.archive import Archive, Find
from mixjt.studies.search.explore import explore
from mixjt.studies.search.finish import Finished, chosen_for_polish, polish, solve_all
from mixjt.studies.search.landscape import Landscape
from mixjt.studies.search.obstacle import obstacle
from mixjt.studies.search.search_request import LEAST, SearchRequest
from mixjt.studies.search.search_result import SearchResult, objective_value, value_of

Progress = Callable[[str, int, int, float | None], None]
LoadModel = Callable[[Sequence[str]], PropertyModel]
MERGED_FRACTION = 0.015  # blends whose mole fractions differ by less count as one
MERGED_PRESSURE = 0.03  # and pressures, relative
NOTHING_GAINED = 1e-3  # of the objective, relative


def search(
    model: PropertyModel | LoadModel, request: SearchRequest, progress: Progress | None = None
) -> SearchResult:
    """Find the blends that make the objective greatest in a machine.

    The same request and model give the same result on any number of threads.

    Parameters
    ----------
    model : PropertyModel, or function of the gases' names that loads one
        It must hold at least request.gases.
    request : SearchRequest
    progress : function, optional
        Called with stage, done, total and the best value so far (None as long as there is none). A
        KeyboardInterrupt, there or anywhere, ends the search early and keeps what was found.

    Returns
    -------
    SearchResult

    Raises
    ------
    UnreachableError
        Where no blend cools or none meets every constraint; says which stands in the way, by how much.
    """
    started = time.monotonic()
    if not isinstance(model, PropertyModel):
        model = model(request.gases)
    landscape = Landscape(model, request)
    finds, cut = found_blends(landscape, progress)
    best = Archive()
    for find in finds:
        best.offer(find)

    def report(stage: str, done: int, total: int) -> None:
        if progress:
            progress(stage, done, total, _best_value(request, best))

    finished, lost, stopped = solve_all(landscape, finds, quick=cut, report=report)
    if not finished and not cut and not stopped:
        raise UnreachableError("no blend could be solved in full: " + "; ".join(lost))
    if finds and not any(find.feasible for find in finds):  # cut short; what is known may help all the same
        lost = [f"until then: {obstacle(landscape, finds)}", *lost]
    return _result(landscape, finished, lost, cut or stopped, time.monotonic() - started)


def found_blends(landscape: Landscape, progress: Progress | None = None) -> tuple[list[Find], bool]:
    """The best blend of every set of bottles looked at, not yet solved in full, and whether an interruption cut it short.

    Raises
    ------
    UnreachableError
        As `search`.
    """
    sampled, found, polished = Archive(), Archive(), Archive()

    def report(stage: str, done: int, total: int) -> None:
        if progress:
            progress(stage, done, total, _best_value(landscape.request, polished, found, sampled))

    with keeping() as cut:
        explore(landscape, sampled, found, report)
        polish(landscape, chosen_for_polish(landscape, found), polished, report)
    finds = _best_archive(sampled, found, polished, not cut)
    if not any(find.feasible for find in finds) and not cut:
        raise UnreachableError(obstacle(landscape, finds))
    return finds, cut.short


def _best_value(request: SearchRequest, *archives: Archive) -> float | None:
    """Objective of the best feasible find of the first archive that has one."""
    known = [archive.best_worth for archive in archives if archive.best_worth]
    return value_of(request.objective, known[0]) if known else None


def _best_archive(sampled: Archive, found: Archive, polished: Archive, complete: bool) -> list[Find]:
    """The polished finds; where the search was cut short, also what came before."""
    if complete and any(find.feasible for find in polished.finds.values()):
        return list(polished.finds.values())
    before = found.finds or sampled.finds
    return list({**before, **polished.finds}.values())


def _result(
    landscape: Landscape, finished: list[Finished], lost: list[str], interrupted: bool, seconds: float
) -> SearchResult:
    request = landscape.request
    ranked = sorted(finished, key=lambda one: one.value, reverse=True)
    by_count = {}
    for count in request.counts:
        within = [one for one in ranked if len(one.amounts) <= count]
        if within:
            by_count[count] = within[0]
    listed = _merged(ranked)[: request.shortlist]
    messages = [*_what_bottles_buy(by_count, request), *lost]
    if interrupted:
        messages.insert(0, "interrupted: these are the best blends found until then")
    return SearchResult(
        objective=request.objective,
        candidates=tuple(one.result for one in listed),
        values=tuple(objective_value(request.objective, one.result) for one in listed),
        amounts=tuple(one.amounts for one in listed),
        best_by_count={count: one.result for count, one in by_count.items()},
        amounts_by_count={count: one.amounts for count, one in by_count.items()},
        evaluations=landscape.evaluator.evaluations,
        seconds=seconds,
        interrupted=interrupted,
        messages=tuple(messages),
        ends=() if request.ambient_range is None else tuple(one.ends for one in listed),
    )


def _merged(ranked: list[Finished]) -> list[Finished]:
    """Without blends that nearly repeat a better one."""
    kept: list[Finished] = []
    for one in ranked:
        if not any(_alike(one, other) for other in kept):
            kept.append(one)
    return kept


def _alike(one: Finished, other: Finished) -> bool:
    fractions = np.abs(one.result.composition - other.result.composition)
    pressures = np.abs(one.place.log_pressures - other.place.log_pressures)
    return bool(np.all(fractions < MERGED_FRACTION) and np.all(pressures < MERGED_PRESSURE))


def _what_bottles_buy(by_count: dict[int, Finished], request: SearchRequest) -> list[str]:
    """A sentence on every bottle that is not worth having."""
    said = []
    for count, one in by_count.items():
        before = by_count.get(count - 1)
        if before is None:
            continue
        gain = one.value / before.value - 1.0
        if len(one.amounts) < count:
            said.append(f"{count} bottles buy nothing over {count - 1} in {request.objective}")
        elif gain < NOTHING_GAINED:
            less = "less" if request.objective in LEAST else "more"
            said.append(f"{count} bottles buy only {100.0 * gain:.2g} % {less} {request.objective} than {count - 1}")
    return said
