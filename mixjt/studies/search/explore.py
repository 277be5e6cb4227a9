"""Global part of the search: which bottles to use.

The best sets of the space-filling start are climbed from; then, round by round, the neighbours of the
best sets (one bottle dropped, added or exchanged). Every family climbs a few steps on one common grid,
which is quick but lets blends gain by hiding a pinch between two grid points, and the better half is
kept twice. What is left goes on with grids of its own, and only that counts; climbs that stay near the
best of their size go on round after round.
"""

from __future__ import annotations

from collections.abc import Callable
from math import comb

from mixjt.studies.search.archive import Archive, Set
from mixjt.studies.search.climb import Climb, advance
from mixjt.studies.search.grids import COARSE, COMMON, ROUGH, common_grid
from mixjt.studies.search.landscape import Landscape, Place
from mixjt.studies.search.neighbours import PROMISING, Attempt, neighbours
from mixjt.studies.search.starts import space_filling

CHUNK = 256  # blends evaluated between two reports of progress
FEW_SETS = 45  # of one size: all are climbed from
FIRST_CLIMBS = 10  # sets of each size climbed from first, where there are more
ROUNDS = 4
FIRST_TRIES = 3  # for the first step of a climb
COMMON_STEPS, CLOSE_STEPS = 2, 4
TOLERANCE = 2e-3  # of the merit, promised by the linear model
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
    exploration = _Exploration(landscape, archive, report)
    exploration.climb("climbing", _sampled_starts(landscape, sampled, report))
    for _ in range(ROUNDS):
        before = exploration.best_merits()
        exploration.climb("exchanging", neighbours(landscape, archive, exploration.attempts))
        if all(now - then < WORTHWHILE for now, then in zip(exploration.best_merits(), before, strict=True)):
            return


def _sampled_starts(landscape: Landscape, sampled: Archive, report: Report) -> list[Place]:
    """Evaluate the space-filling start; the best place of each of the best sets of every size."""
    request = landscape.request
    amounts, log_pressures = space_filling(request)
    grid = common_grid(request, ROUGH)
    for start in range(0, len(amounts), CHUNK):
        rows = slice(start, start + CHUNK)
        some = amounts[rows], log_pressures[rows]
        sampled.offer_view(landscape.view(grid, *some), *some)
        report("sampling", min(start + CHUNK, len(amounts)), len(amounts))
    return [
        find.place
        for count in request.counts
        for find in sampled.best(count, _first_climbs(len(request.bottles), count))
    ]


def _first_climbs(bottles: int, count: int) -> int:
    return FEW_SETS if comb(bottles, count) <= FEW_SETS else FIRST_CLIMBS


class _Exploration:
    """Families of climbs, one after the other; attempts tells how far each set was climbed."""

    def __init__(self, landscape: Landscape, archive: Archive, report: Report):
        self.landscape, self.archive, self.report = landscape, archive, report
        self.attempts: dict[Set, Attempt] = {}
        self.going: list[Climb] = []
        self.grid = common_grid(landscape.request, COMMON)

    def best_merits(self) -> list[float]:
        """Of the finds of each size."""
        bests = [self.archive.best(count, 1) for count in self.landscape.request.counts]
        return [best[0].merit if best else -1e9 for best in bests]

    def climb(self, stage: str, places: list[Place]) -> None:
        """Climb from places, and further with those under way that are near the best."""
        total, done = FIRST_TRIES + COMMON_STEPS + CLOSE_STEPS, 0
        climbs = [Climb(place, self.grid) for place in places]
        for place in places:
            self.attempts.setdefault(place.present, Attempt(place)).tries += 1
        for _ in range(FIRST_TRIES):
            unmoved = [climb for climb in climbs if climb.view is None or climb.slopes is not None]
            advance(self.landscape, unmoved, 1, TOLERANCE)
            self.report(stage, done := done + 1, total)
        climbs = self._better_half(climbs)
        for _ in range(COMMON_STEPS):
            advance(self.landscape, climbs, 1, TOLERANCE)
            self.report(stage, done := done + 1, total)
        climbs = self._better_half(climbs)
        for climb in climbs:
            self.attempts[climb.place.present].finished = True
        self.going += [Climb(climb.place, self.grid, close=COARSE) for climb in climbs]
        for _ in range(CLOSE_STEPS):
            advance(self.landscape, self.going, 1, TOLERANCE)
            self._offer_all()
            self.report(stage, done := done + 1, total)
        self._drop_hopeless()

    def _better_half(self, climbs: list[Climb]) -> list[Climb]:
        """The better half of each size, after noting how far all have come."""
        for climb in climbs:
            attempt = self.attempts.setdefault(climb.place.present, Attempt(climb.place))
            if climb.merit > attempt.merit:
                attempt.place, attempt.merit = climb.place, climb.merit
        kept = []
        for count in self.landscape.request.counts:
            family = [climb for climb in climbs if len(climb.place.present) == count]
            family.sort(key=lambda climb: climb.merit, reverse=True)
            kept += family[: (len(family) + 1) // 2]
        return kept

    def _offer_all(self) -> None:
        for climb in self.going:
            if climb.view is not None:
                self.archive.offer_climb(climb)

    def _drop_hopeless(self) -> None:
        best = dict(zip(self.landscape.request.counts, self.best_merits(), strict=True))
        self.going = [
            climb
            for climb in self.going
            if not climb.finished and climb.merit > best.get(len(climb.place.present), 0.0) - PROMISING
        ]
