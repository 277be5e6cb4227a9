"""Sets of bottles next to the best ones, and where to start in them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from mixjt.studies.search.archive import Archive, Set
from mixjt.studies.search.grids import COMMON, common_grid
from mixjt.studies.search.landscape import Landscape, Place
from mixjt.studies.search.starts import towards

PARENTS = 3  # sets of each size whose neighbours are looked at
NEW_SHARES = (0.03, 0.12)  # tried for a bottle that is added
PROMISING = 0.3  # of the merit below the best of its size
MOST_STARTS = 24  # of each size in one round
MOST_TRIES = 2  # from different starts, for sets given up that were not promising


@dataclass
class Attempt:
    """How far a set was climbed on the common grid, how often, and whether it went on from there."""

    place: Place
    merit: float = -np.inf
    tries: int = 0
    finished: bool = False


def neighbours(landscape: Landscape, archive: Archive, attempts: dict[Set, Attempt]) -> list[Place]:
    """Starts one bottle away from the best sets of every size; the best of several tries in each set.

    A set climbed from before is taken up again where the new start is above what was reached then, or
    where it was given up; a poor start may hide a good set.
    """
    request = landscape.request
    wanted, present, log_pressures = [], [], []
    for count in request.counts:
        for find in archive.best(count, PARENTS):
            for amounts in variants(find.place):
                members = amounts > 0.0
                if members.sum() in request.counts and request.possible(members):
                    present.append(members)
                    wanted.append(amounts)
                    log_pressures.append(find.place.log_pressures)
    if not present:
        return []
    tried = Archive()
    amounts = towards(request, np.array(present), np.array(wanted))
    tried.offer_view(landscape.view(common_grid(request, COMMON), amounts, np.array(log_pressures)),
                     amounts, log_pressures)
    return [place for count in request.counts for place in _worth_climbing(tried, attempts, count)]


def variants(place: Place) -> Iterator[np.ndarray]:
    """Fractions with one bottle dropped, exchanged or added."""
    inside = place.amounts > 0.0
    for dropped in np.flatnonzero(inside):
        amounts = place.amounts.copy()
        amounts[dropped] = 0.0
        yield amounts / max(amounts.sum(), 1e-9)
        for added in np.flatnonzero(~inside):
            exchanged = amounts.copy()
            exchanged[added] = place.amounts[dropped]
            yield exchanged
    for added in np.flatnonzero(~inside):
        for share in NEW_SHARES:
            amounts = (1.0 - share) * place.amounts
            amounts[added] = share
            yield amounts


def _worth_climbing(tried: Archive, attempts: dict[Set, Attempt], count: int) -> list[Place]:
    """Places to start from in sets of one size that were not climbed yet, or not far enough; best first."""
    best = max((attempt.merit for key, attempt in attempts.items() if len(key) == count), default=-np.inf)
    places: list[Place] = []
    for find in tried.best(count):
        before = attempts.get(find.place.present)
        if before is None or find.merit > before.merit:
            places.append(find.place)
        elif not before.finished and before.merit > best - PROMISING:
            places.append(before.place)
        elif not before.finished and before.tries < MOST_TRIES:
            places.append(find.place)
    return places[:MOST_STARTS]
