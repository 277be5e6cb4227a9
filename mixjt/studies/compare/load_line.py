"""Every road along the load line, outwards from the cold end of the case, and how cold it reaches."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from mixjt.circuit.solve import PLAIN
from mixjt.errors import MixjtError
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import Interrupted
from mixjt.studies.compare.blend_roads import overestimate
from mixjt.studies.compare.compare_request import COLDEST, CompareRequest
from mixjt.studies.compare.comparison import Carried
from mixjt.studies.compare.roads import BLENDS
from mixjt.studies.compare.schedule import WAIT, Chain, Job
from mixjt.studies.search.landscape import Place, place_of

ABOVE_BOILING = 1.0  # K, of the lightest gas at the evaporator's pressure
NO_BLENDS = 30.0  # K below the load, where there is no gas to tell how cold it may get
INSIDE = 0.2  # K above the lowest temperature of a cascade, where it is solved
SAME = 0.05  # K
OWN = 2  # blends of a road that the next is looked for from

Kept = dict[str, list[Carried]]


def line_temperatures(model: PropertyModel | None, request: CompareRequest) -> np.ndarray:
    """Temperatures of the load line [K], ascending, that of the load among them; empty where none is asked for."""
    if request.steps == 0:
        return np.array([])
    at = request.cold_temperature
    warmest = max(request.warmest, at)
    coldest = min(_coldest(model, request), at)
    if warmest - coldest < SAME:
        return np.array([at])
    above = int(round((request.steps - 1) * (warmest - at) / (warmest - coldest)))
    if warmest - at > SAME:
        above = max(above, 1)
    below = request.steps - 1 - above
    if at - coldest > SAME:
        below = max(below, 1)
    return np.unique(np.concatenate([np.linspace(coldest, at, below + 1), np.linspace(at, warmest, above + 1)]))


def _coldest(model: PropertyModel | None, request: CompareRequest) -> float:
    if request.coldest is not None:
        return request.coldest
    if model is None or request.search is None:
        return max(request.cold_temperature - NO_BLENDS, COLDEST)
    circuit = request.search.circuit
    pressure = request.search.pressure_ranges[0, 0] + circuit.low_side_drop
    boiling = [float(model.bubble_temperature(row, pressure)) for row in np.eye(len(model.gases))]
    boiling = [one for one in boiling if np.isfinite(one)]
    return max(min(boiling, default=COLDEST) + ABOVE_BOILING, COLDEST)


class LoadLine:
    """Follows roads along the temperatures; what is found goes into kept as it is found.

    Parameters
    ----------
    request : CompareRequest
    temperatures : array (m,)
        Ascending [K].
    kept : dict
        For each road what it carries; a road is followed when the cold end of the case has been tried.
    stopped : function
        Tells whether an interruption has cut the last piece short.
    """

    def __init__(self, request: CompareRequest, temperatures: np.ndarray, kept: Kept, stopped: Callable[[], bool]):
        self.request, self.kept, self.stopped = request, kept, stopped
        at, found = request.cold_temperature, [float(one) for one in temperatures]
        self.temperatures = found
        self.warmer, self.colder = [t for t in found if t > at + SAME], [t for t in reversed(found) if t < at - SAME]
        self.order = {t: place for place, t in enumerate([at, *self.warmer, *self.colder])}
        self.known: list[Place] = []  # plain blends of the search at the cold end
        self.lost: dict[tuple[str, float], str] = {}  # by road and temperature: why it is not carried there
        self.hopeless: dict[str, float] = {}  # K, by cascade: too cold for any fluids
        self.passed: set[float] = set()  # where the plain road has been tried
        self.walked, self.ended = PLAIN not in request.roads, PLAIN not in request.roads  # whether it has, all the way

    def follow(self, road: str) -> Chain:
        """The jobs of one road, outwards from the cold end, with what is to be done with their answers."""
        if len(self.temperatures) > 1:
            if road not in BLENDS:
                yield from self._choose_fluids(road)
            for temperature in self.warmer:
                yield from self._at(road, temperature)
            for before, temperature in pairwise([self.request.cold_temperature, *self.colder]):
                if not self._reached(road, before):
                    break
                yield from self._at(road, temperature)
            self.walked = self.walked or road == PLAIN
            if self.kept[road]:
                yield from self._lowest(road)
        self.ended = self.ended or road == PLAIN

    def starts(self, road: str, temperature: float) -> tuple[list[Place], float]:
        """Places to start from and what they need to be kept from freezing by other pair parameters [K].

        The nearest blends of the same road, and the nearest plain one of those that precede this temperature.
        """
        now = self.order.get(temperature, np.inf)
        before = [one for one in self.kept.get(PLAIN, ()) if self.order.get(one.temperature, np.inf) <= now]

        def apart(one: Carried) -> float:
            return abs(one.temperature - temperature)

        found = sorted(self.kept[road], key=apart)[:OWN]
        found += [] if road == PLAIN else sorted(before, key=apart)[:1]
        places = [place_of(self.request.search, one.result, one.bottles) for one in found]
        return [*places, *self.known], overestimate(found[0].result) if found else 0.0

    def _choose_fluids(self, road: str) -> Chain:
        """Of a cascade at a few temperatures, so that the others have some to try."""
        if not self.kept[road]:
            self.hopeless[road] = self.request.cold_temperature
        count = min(self.request.effort.chosen_anew, len(self.temperatures))
        places = np.unique(np.linspace(0, len(self.temperatures) - 1, count).round().astype(int))
        for temperature in [self.temperatures[place] for place in reversed(places)]:
            if not self._reached(road, temperature):
                yield from self._choose(road, temperature)

    def _at(self, road: str, temperature: float) -> Chain:
        if self._reached(road, temperature):
            return
        if road in BLENDS:
            while road != PLAIN and not self._plain_is_past(temperature):
                yield WAIT
            given = road, temperature, *self.starts(road, temperature)
            yield from self._try(road, temperature, Job("blends.near", given, f"{road} at {temperature:.4g} K"))
        else:
            chosen = list({one.fluids: tuple(stage.fluid for stage in one.result.stages) for one in self.kept[road]}.values())
            if not (yield from self._try(road, temperature, Job("cascades.near", (road, temperature, chosen)))):
                yield from self._choose(road, temperature)
        if road == PLAIN:
            self.passed.add(temperature)

    def _plain_is_past(self, temperature: float) -> bool:
        """Whether all plain blends that `starts` may look at are known."""
        if temperature not in self.order:
            return self.ended
        return self.walked or temperature in self.passed

    def _choose(self, road: str, temperature: float) -> Chain:
        """Choose fluids anew, unless none were found for a warmer load already."""
        if temperature <= self.hopeless.get(road, 0.0):
            return
        job = Job("cascades.choose", (road, temperature), f"{road} at {temperature:.4g} K")
        if not (yield from self._try(road, temperature, job)):
            self.hopeless[road] = temperature

    def _try(self, road: str, temperature: float, job: Job) -> Chain:
        """Whether the job carries the load."""
        try:
            found = yield job
        except MixjtError as error:
            self.lost[road, temperature] = " ".join(str(error).split())
            return False
        self.lost.pop((road, temperature), None)
        if self.stopped():
            raise Interrupted  # what a search cut short has found is no point of the line
        self.kept[road].append(found)
        return True

    def _reached(self, road: str, temperature: float) -> bool:
        return any(abs(one.temperature - temperature) < SAME for one in self.kept[road])

    def _lowest(self, road: str) -> Chain:
        """Halve the step between the coldest temperature reached and the next colder one; then a cascade's own end."""
        good = min(one.temperature for one in self.kept[road])
        colder = [one for one in self.temperatures if one < good - SAME]
        if not colder:
            return
        bad = max([*colder, *([self.hopeless[road]] if self.hopeless.get(road, good) < good else [])])
        for _ in range(self.request.effort.halvings):
            middle = 0.5 * (good + bad)
            yield from self._at(road, middle)
            good, bad = (middle, bad) if self._reached(road, middle) else (good, middle)
        lowest = None if road in BLENDS else cascade_reach(self.kept[road])
        if lowest is not None and lowest + INSIDE < good:
            yield from self._at(road, max(lowest + INSIDE, self.request.coldest or 0.0))


def cascade_reach(kept: Sequence[Carried]) -> float | None:
    """Coldest load that the fluids chosen reach within the limits [K]."""
    found = [one.result.lowest_temperature for one in kept]
    return min((one for one in found if one is not None), default=None)
