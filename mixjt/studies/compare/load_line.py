"""Every road along the load line, outwards from the cold end of the case, and how cold it reaches."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from mixjt.circuit.solve import PLAIN
from mixjt.errors import MixjtError
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import Interrupted
from mixjt.studies.compare.blend_roads import BlendRoads
from mixjt.studies.compare.cascade_roads import CascadeRoads
from mixjt.studies.compare.compare_request import COLDEST, CompareRequest
from mixjt.studies.compare.comparison import Carried
from mixjt.studies.compare.roads import BLENDS

ABOVE_BOILING = 1.0  # K, of the lightest gas at the evaporator's pressure
NO_BLENDS = 30.0  # K below the load, where there is no gas to tell how cold it may get
INSIDE = 0.2  # K above the lowest temperature of a cascade, where it is solved
SAME = 0.05  # K
OWN = 2  # blends of a road that the next is looked for from

Kept = dict[str, list[Carried]]
Step = Callable[[str], None]


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
    """Walks all roads along the temperatures; what is found goes into kept as it is found.

    Parameters
    ----------
    request : CompareRequest
    blends, cascades : BlendRoads or None, CascadeRoads
    temperatures : array (m,)
        Ascending [K].
    kept : dict
        For each road what it carries; holds the cold end of the case already.
    step : function
        Called with a text before each piece of work.
    """

    def __init__(
        self,
        request: CompareRequest,
        blends: BlendRoads | None,
        cascades: CascadeRoads,
        temperatures: np.ndarray,
        kept: Kept,
        step: Step,
    ):
        self.request, self.blends, self.cascades = request, blends, cascades
        self.temperatures = [float(one) for one in temperatures]
        self.kept, self.step = kept, step
        self.lost: dict[tuple[str, float], str] = {}  # by road and temperature: why it is not carried there
        self.hopeless = {  # K, by cascade: too cold for any fluids
            road: request.cold_temperature for road in request.roads if road not in BLENDS and not kept[road]
        }

    def walk(self) -> None:
        """All of it."""
        if len(self.temperatures) < 2:
            return
        at = self.request.cold_temperature
        self._choose_cascades()
        for temperature in [one for one in self.temperatures if one > at + SAME]:
            self._at(temperature, self.request.roads)
        alive = [road for road in self.request.roads if self._reached(road, at)]
        for temperature in reversed([one for one in self.temperatures if one < at - SAME]):
            self._at(temperature, alive)
            alive = [road for road in alive if self._reached(road, temperature)]
        for road in self.request.roads:
            if self.kept[road]:
                self._lowest(road)

    def _choose_cascades(self) -> None:
        """Choose fluids at a few temperatures, so that the others have some to try."""
        count = min(self.request.effort.chosen_anew, len(self.temperatures))
        places = np.unique(np.linspace(0, len(self.temperatures) - 1, count).round().astype(int))
        for road in [one for one in self.request.roads if one not in BLENDS]:
            for temperature in [self.temperatures[place] for place in reversed(places)]:
                if not self._reached(road, temperature):
                    self._choose(road, temperature)

    def _at(self, temperature: float, roads: Sequence[str]) -> None:
        for road in roads:
            if self._reached(road, temperature):
                continue
            if road in BLENDS:
                self.step(f"{road} at {temperature:.4g} K")
                starts = self._starts(road, temperature)
                self._try(road, temperature, lambda: self.blends.near(road, temperature, starts))
            elif not self._try(road, temperature, lambda: self.cascades.near(road, temperature)):
                self._choose(road, temperature)

    def _choose(self, road: str, temperature: float) -> None:
        """Choose fluids anew, unless none were found for a warmer load already."""
        if temperature <= self.hopeless.get(road, 0.0):
            return
        self.step(f"{road} at {temperature:.4g} K")
        if not self._try(road, temperature, lambda: self.cascades.choose(road, temperature)):
            self.hopeless[road] = temperature

    def _try(self, road: str, temperature: float, find: Callable[[], Carried]) -> bool:
        try:
            found = find()
        except MixjtError as error:
            self.lost[road, temperature] = " ".join(str(error).split())
            return False
        self.lost.pop((road, temperature), None)
        if self.cascades.stopped or (self.blends and self.blends.stopped):
            raise Interrupted  # what a search cut short has found is no point of the line
        self.kept[road].append(found)
        return True

    def _starts(self, road: str, temperature: float) -> list[Carried]:
        """The nearest blends of the same road, and the nearest plain one."""
        found = [(one, name == road) for name in {road, PLAIN} for one in self.kept.get(name, ())]
        found.sort(key=lambda pair: (not pair[1], abs(pair[0].temperature - temperature)))
        own = [one for one, its in found if its][:OWN]
        return [*own, *[one for one, its in found if not its][:1]]

    def _reached(self, road: str, temperature: float) -> bool:
        return any(abs(one.temperature - temperature) < SAME for one in self.kept[road])

    def _lowest(self, road: str) -> None:
        """Halve the step between the coldest temperature reached and the next colder one; then a cascade's own end."""
        good = min(one.temperature for one in self.kept[road])
        colder = [one for one in self.temperatures if one < good - SAME]
        if not colder:
            return
        bad = max([*colder, *([self.hopeless[road]] if self.hopeless.get(road, good) < good else [])])
        for _ in range(self.request.effort.halvings):
            middle = 0.5 * (good + bad)
            self._at(middle, [road])
            good, bad = (middle, bad) if self._reached(road, middle) else (good, middle)
        lowest = None if road in BLENDS else cascade_reach(self.kept[road])
        if lowest is not None and lowest + INSIDE < good:
            self._at(max(lowest + INSIDE, self.request.coldest or 0.0), [road])


def cascade_reach(kept: Sequence[Carried]) -> float | None:
    """Coldest load that the fluids chosen reach within the limits [K]."""
    found = [one.result.lowest_temperature for one in kept]
    return min((one for one in found if one is not None), default=None)
