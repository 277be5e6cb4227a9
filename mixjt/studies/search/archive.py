"""What a search has found so far: the best place for every set of bottles."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from mixjt.studies.search.climb import Climb
from mixjt.studies.search.landscape import Place, View

MENDABLE = 0.5  # steps by which a constraint may be missed

Set = tuple[int, ...]  # bottles present, by number


@dataclass(frozen=True, eq=False)
class Find:
    """A place with its merit and the steps (k,) by which it misses each constraint; cooling in J/mol."""

    place: Place
    merit: float
    missed: np.ndarray
    cooling: float

    @property
    def feasible(self) -> bool:
        """Whether it cools and meets the constraints but for what a last polish can mend."""
        return bool(self.cooling > 0.0 and np.all(self.missed <= MENDABLE))

    @property
    def rank(self) -> tuple[bool, float]:
        """For sorting: what is feasible first, then by merit."""
        return self.feasible, self.merit


@dataclass
class Archive:
    """Best find of every set of bottles."""

    finds: dict[Set, Find] = field(default_factory=dict)

    def offer(self, find: Find) -> None:
        """Keep it if it is the best of its set."""
        known = self.finds.get(find.place.present)
        if np.isfinite(find.merit) and (known is None or find.rank > known.rank):
            self.finds[find.place.present] = find

    def offer_view(self, view: View, amounts, log_pressures) -> None:
        """Offer all places of a view, given as rows."""
        for row, merit in enumerate(view.merit):
            place = Place(amounts[row], log_pressures[row])
            self.offer(Find(place, float(merit), view.missed[row], float(view.samples.cooling[row])))

    def offer_climb(self, climb: Climb) -> None:
        """Offer the place a climb has reached."""
        view = climb.view
        self.offer(Find(climb.place, climb.merit, view.missed[0], float(view.samples.cooling[0])))

    def best(self, count: int | None = None, most: int | None = None) -> list[Find]:
        """Finds with so many bottles (of any number by default), best first, at most so many."""
        chosen = [find for key, find in self.finds.items() if count is None or len(key) == count]
        return sorted(chosen, key=lambda find: find.rank, reverse=True)[:most]

    @property
    def best_worth(self) -> float | None:
        """Of the best feasible find, see `search_result.worth`; None as long as there is none."""
        best = self.best(most=1)
        return float(np.exp(best[0].merit)) if best and best[0].feasible else None
