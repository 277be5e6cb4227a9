"""Global part of the search: which bottles to use.

The best sets of the space-filling start are climbed from; then, round by round, the neighbours of the
best sets (one bottle dropped, added or exchanged) that have not been looked at yet. Every family climbs a
few steps on one common grid, which is quick but lets blends gain by hiding a pinch between two grid
points; the better half goes on with grids of its own, and only that counts. Where the sets of some number of bottles are few, all are climbed from.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import comb

import numpy as np

from mixjt.studies.search.archive import Archive, Find, Set
from mixjt.studies.search.climb import Climb, advance
from mixjt.studies.search.grids import COARSE, COMMON, ROUGH, common_grid
from mixjt.studies.search.landscape import Landscape, Place
from mixjt.studies.search.starts import space_filling, towards

CHUNK = 256  # blends evaluated between two reports of progress
FEW_SETS = 45  # of one size: all are climbed from
FIRST_CLIMBS = 10  # sets of each size climbed from first, where there are more
PARENTS, EXCHANGED = 3, 2  # sets of each size whose neighbours are looked at, with one bottle more or less; exchanged
NEW_SHARES = (0.03, 0.12)  # tried for a bottle that is added
ROUNDS = 4
COMMON_STEPS, CLOSE_STEPS = 4, 4
COARSE_TOLERANCE = 2e-3
WORTHWHILE = 1e-3  # rise of a merit that calls for another round

Report = Callable[[str, int, int], None]


def explore(landscape: Landscape, sampled: Archive, archive: Archive, report: Report) -> None:
    """Fill the archive with climbed blends of every number of bottles asked for.

    Parameters
    ----------
    sampled, archive : Archive
        For the space-filling start and for what is climbed from it; their merits come from different
        grids and do not compare.
    report : function
        Called with stage, done and total.
    """
    first = _sampled_starts(landscape, sampled, report)
    reached: dict[Set, float] = {}
    _climb_family(landscape, archive, reached, first, lambda done, total: report("climbing", done, total))
    for _ in range(ROUNDS):
        before = _bests(landscape, archive)
        family = _neighbours(landscape, archive, reached)
        if not family:
            return
        _climb_family(landscape, archive, reached, family, lambda done, total: report("exchanging", done, total))
        after = _bests(landscape, archive)
        if all(now - then < WORTHWHILE for now, then in zip(after, before)):
            return


def _sampled_starts(landscape: Landscape, sampled: Archive, report: Report) -> list[Place]:
    """Evaluate the space-filling start; the best place of each of the best sets of every size."""
    request = landscape.request
    amounts, log_pressures = space_filling(request)
    grid = common_grid(request, ROUGH)
    for start in range(0, len(amounts), CHUNK):
        rows = slice(start, start + CHUNK)
        offer_all(landscape, sampled, grid, amounts[rows], log_pressures[rows])
        report("sampling", min(start + CHUNK, len(amounts)), len(amounts))
    return [
        find.place
        for count in request.counts
        for find in sampled.best(count, _first_climbs(len(request.bottles), count))
    ]


def _first_climbs(bottles: int, count: int) -> int:
    return FEW_SETS if comb(bottles, count) <= FEW_SETS else FIRST_CLIMBS


def offer_all(landscape: Landscape, archive: Archive, grid, amounts, log_pressures) -> None:
    """Evaluate places given as rows and offer them all."""
    view = landscape.view(grid, amounts, log_pressures)
    for row, merit in enumerate(view.merit):
        place = Place(amounts[row], log_pressures[row])
        archive.offer(Find(place, float(merit), view.missed[row], float(view.samples.cooling[row])))


def offer_climb(archive: Archive, climb: Climb) -> None:
    """Offer the place a climb has reached."""
    archive.offer(
        Find(climb.place, climb.merit, climb.view.missed[0], float(climb.view.samples.cooling[0]))
    )


def _climb_family(
    landscape: Landscape, archive: Archive, reached: dict[Set, float], places: list[Place], report
) -> None:
    """Climb from all places a few steps, then the better half of each size further."""
    grid = common_grid(landscape.request, COMMON)
    climbs = [Climb(place, grid) for place in places]
    total = COMMON_STEPS + CLOSE_STEPS
    for step in range(COMMON_STEPS):
        advance(landscape, climbs, 1, COARSE_TOLERANCE)
        report(step + 1, total)
    for climb in climbs:
        key = climb.place.present
        reached[key] = max(climb.merit, reached.get(key, -np.inf))
    climbs = [Climb(climb.place, grid, close=COARSE) for climb in _better_half(landscape, climbs)]
    for step in range(COMMON_STEPS, total):
        advance(landscape, climbs, 1, COARSE_TOLERANCE)
        for climb in climbs:
            if climb.view is not None:
                offer_climb(archive, climb)
        report(step + 1, total)


def _better_half(landscape: Landscape, climbs: list[Climb]) -> list[Climb]:
    kept = []
    for count in landscape.request.counts:
        family = [climb for climb in climbs if len(climb.place.present) == count]
        family.sort(key=lambda climb: climb.merit, reverse=True)
        kept += family[: (len(family) + 1) // 2]
    return kept


def _bests(landscape: Landscape, archive: Archive) -> list[float]:
    bests = [archive.best(count, 1) for count in landscape.request.counts]
    return [best[0].merit if best else -1e9 for best in bests]


def _neighbours(landscape: Landscape, archive: Archive, reached: dict[Set, float]) -> list[Place]:
    """Starts one bottle away from the best sets, the best of several tries for each set.

    A set climbed from before is taken up again where the new start is above what was reached then.
    """
    request = landscape.request
    wanted: list[np.ndarray] = []
    present: list[np.ndarray] = []
    log_pressures: list[np.ndarray] = []
    for count in request.counts:
        for rank, find in enumerate(archive.best(count, PARENTS)):
            for members, amounts in _variants(find.place, len(request.bottles), exchange=rank < EXCHANGED):
                key = tuple(int(i) for i in np.flatnonzero(members))
                if len(key) in request.counts and request.possible(members):
                    present.append(members)
                    wanted.append(amounts)
                    log_pressures.append(find.place.log_pressures)
    if not present:
        return []
    members = np.array(present)
    tried = Archive()
    offer_all(
        landscape,
        tried,
        common_grid(request, COMMON),
        towards(request, members, np.array(wanted)),
        np.array(log_pressures),
    )
    return [find.place for key, find in tried.finds.items() if find.merit > reached.get(key, -np.inf)]


def _variants(place: Place, bottles: int, exchange: bool) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Sets one bottle away, and fractions to start from in them."""
    inside = place.amounts > 0.0
    for dropped in np.flatnonzero(inside):
        amounts = place.amounts.copy()
        amounts[dropped] = 0.0
        yield amounts > 0.0, amounts / max(amounts.sum(), 1e-9)
        for added in np.flatnonzero(~inside) if exchange else ():
            exchanged = amounts.copy()
            exchanged[added] = place.amounts[dropped]
            yield exchanged > 0.0, exchanged
    for added in np.flatnonzero(~inside):
        for share in NEW_SHARES:
            amounts = (1.0 - share) * place.amounts
            amounts[added] = share
            yield amounts > 0.0, amounts
