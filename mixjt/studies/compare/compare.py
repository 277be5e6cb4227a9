"""One load at one temperature on every road, and the load line around it."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from types import SimpleNamespace

from mixjt.cascade.warming import Warming
from mixjt.circuit.solve import PLAIN
from mixjt.errors import MixjtError
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import Interrupted, holding, keeping
from mixjt.studies.band import cooling_band
from mixjt.studies.compare.advice import Option, advice
from mixjt.studies.compare.blend_roads import BlendRoads, overestimate
from mixjt.studies.compare.cascade_roads import CascadeRoads
from mixjt.studies.compare.compare_request import CompareRequest
from mixjt.studies.compare.comparison import Carried, Comparison, Road
from mixjt.studies.compare.crossing import blends_and_cascades, each_blend_and_cascades
from mixjt.studies.compare.equal_size import equal_conductance, equal_terms
from mixjt.studies.compare.equal_terms import terms
from mixjt.studies.compare.figures import blend_figures, cascade_figures
from mixjt.studies.compare.leaves_out import leaves_out
from mixjt.studies.compare.load_line import SAME, LoadLine, cascade_reach, line_temperatures
from mixjt.studies.compare.roads import BLENDS, CASCADES, road_label
from mixjt.studies.compare.schedule import WAIT, Chain, Job, Schedule
from mixjt.units import kelvin_text
from mixjt.workers import Workers, workers

Progress = Callable[[str, int, int, float | None], None]
NOT_LOOKED = "not looked for: the comparison was interrupted"
CUT_SHORT = "not looked for to the end: the comparison was interrupted"
EQUAL_LEFT_OUT = "interrupted: powers with equal UA that had not been worked out are left out"
NO_GASES = "the case has no [[bottle]] and no [blend]: there is nothing to blend"


def compare(
    model: PropertyModel | None, request: CompareRequest, progress: Progress | None = None, processes: int = 1
) -> Comparison:
    """Carry one load on every road with the least power.

    Parameters
    ----------
    model : PropertyModel, optional
        Of the bottles' gases; None where the request has none.
    request : CompareRequest
    progress : function, optional
        Called with stage, done, total and the least power so far [W] (None as long as there is none). A
        KeyboardInterrupt, there or anywhere, ends the comparison early and keeps what was found.
    processes : int
        Where it is more than one, so many besides this one share the work; the answers are the same.

    Returns
    -------
    Comparison
        Roads that do not carry the load say why.
    """
    if set(request.roads) == {PLAIN}:
        processes = 1  # one thing after the other
    if model is not None and processes > 1:
        model = model.on_threads(1)
    return _Run(model, request, progress).run(processes)


def options(roads: Sequence[Road]) -> list[Option]:
    """What advice looks at."""
    return [
        Option(road.name, road.label, None, obstacle=road.obstacle, looked_for=road.looked_for)
        if road.figures is None
        else Option(
            road=road.name,
            label=road.label,
            power=road.figures.power,
            compressors=road.figures.compressors,
            own=(road.figures.own_capacity, road.figures.own_power),
            running=road.figures.running_pressure,
            standing=road.figures.hot_standing_pressure,
            lowest=road.lowest_temperature,
            band=road.band and road.band.fraction,
        )
        for road in roads
    ]


class _Run:
    """One comparison under way."""

    def __init__(self, model: PropertyModel | None, request: CompareRequest, progress: Progress | None):
        self.model, self.request, self.progress = model, request, progress
        self.blends = None if model is None or request.search is None else BlendRoads(model, request)
        self.cascades = CascadeRoads(request)
        self.kept: dict[str, list[Carried]] = {road: [] for road in request.roads}
        self.obstacles = dict.fromkeys(request.roads, NOT_LOOKED)
        self.cut_short: str | None = None  # what was under way when the interruption came
        self.warmings: dict[str, tuple[Warming, ...]] = {}
        self.temperatures = line_temperatures(model, request)
        self.line = LoadLine(request, self.temperatures, self.kept, self._stopped)
        self.searched = PLAIN not in request.roads
        self.schedule: Schedule | None = None
        self.done = 0

    def run(self, processes: int = 1) -> Comparison:
        started, request = time.monotonic(), self.request
        roads, shared, powers = None, None, {}
        with keeping() as cut, workers(SimpleNamespace(blends=self.blends, cascades=self.cascades), processes) as doers:
            self.schedule = Schedule(doers, self._begin)
            in_order = sorted(request.roads, key=lambda one: one in BLENDS and BLENDS.index(one))
            self.schedule.run([self._chain(road) for road in in_order])
            with holding():
                roads = self._roads(False)
            shared = equal_conductance(roads, request.conductance)
            self._look_at_equal_size(doers, roads, shared, powers)
        interrupted = roads is None
        roads = tuple(replace(road, equal_power=powers.get(road.name)) for road in roads or self._roads(True))
        said = self._interrupted() if interrupted else [EQUAL_LEFT_OUT] if cut else []
        return Comparison(
            load=request.load,
            cold_temperature=request.cold_temperature,
            ambient_temperature=request.ambient,
            roads=roads,
            crossing=blends_and_cascades(roads, interrupted),
            advice=advice(options(roads), request.cold_temperature, interrupted),
            messages=(*said, *terms(request), *equal_terms(shared)),
            seconds=time.monotonic() - started,
            suction_temperature=request.cascade.cascade.suction_temperature,
            interrupted=interrupted,
            road_crossings={} if interrupted else each_blend_and_cascades(roads),
            equal_conductance=shared,
            lost=tuple((*where, why) for where, why in sorted(self.line.lost.items())),
        )

    def _stopped(self) -> bool:
        """Whether an interruption cut something short here."""
        return self.cascades.stopped or bool(self.blends and self.blends.stopped)

    def _interrupted(self) -> list[str]:
        said = "interrupted: these are the roads found until then, and no load line was followed to its ends"
        return [said if self.cut_short is None else f"{said}; a better {road_label(self.cut_short)} may exist"]

    def _chain(self, road: str) -> Chain:
        """All of a road: the cold end of the case, then the load line."""
        if road in BLENDS and self.blends is None:
            self.obstacles[road] = NO_GASES
            return
        while road in BLENDS and road != PLAIN and not self.searched:
            yield WAIT
        try:
            found = yield from self._at_cold_end(road)
        except MixjtError as error:
            self.obstacles[road] = " ".join(str(error).split())
        else:
            self.kept[road].append(found)
            if self._stopped():
                self.cut_short = road
                raise Interrupted
        if road == PLAIN:
            self.searched = True
            yield WAIT  # the cold ends of the other roads come first
        if road in CASCADES:
            found = self.kept[road][0] if self.kept[road] else None
            self.warmings[road] = yield Job("cascades.warmings", (road, found, self.obstacles[road]))
        yield from self.line.follow(road)

    def _at_cold_end(self, road: str) -> Chain:
        temperature = self.request.cold_temperature
        told = f"{road} at {temperature:.4g} K"
        if road == PLAIN:  # here, for an interruption to keep the best blend until then
            self._begin(Job("blends.searched", (road,), told))
            try:
                return self.blends.searched(self._searching)
            finally:
                self.line.known = self.blends.known
        if road in CASCADES:
            return (yield Job("cascades.choose", (road, temperature), told))
        plain = self.kept.get(PLAIN)
        return (yield Job("blends.at_cold_end", (road, self.line.known, overestimate(plain[0].result) if plain else 0.0), told))

    def _begin(self, job: Job) -> None:
        if job.told:
            self.done += 1
            self._inner(job.told)
        road = job.given[0]
        if self.obstacles[road] == NOT_LOOKED:
            self.obstacles[road] = CUT_SHORT

    def _searching(self, *told) -> None:
        """Progress of the search that is done here; workers must not wait for it."""
        if self.schedule.doers.pools:
            self.schedule.advance()
        self._inner(*told)

    def _inner(self, text: str, *_) -> None:
        """Progress of the whole, whatever part reports; its counts are an estimate."""
        if self.progress:
            total = len(self.request.roads) * (max(len(self.temperatures), 1) + self.request.effort.halvings)
            powers = [one.power for kept in self.kept.values() for one in kept if self._here(one)]
            self.progress(text, min(self.done - 1, total), total, min(powers, default=None))

    def _here(self, one: Carried) -> bool:
        return abs(one.temperature - self.request.cold_temperature) < SAME

    def _road(self, name: str, interrupted: bool) -> Road:
        kept = sorted(self.kept[name], key=lambda one: one.temperature)
        carried = next((one for one in kept if self._here(one)), None)
        band = None
        if name in BLENDS and carried is not None:
            band = cooling_band(carried.result, carried.circuit)
        return Road(
            name=name,
            carried=carried,
            figures=self._figures(name, carried),
            obstacle="" if carried is not None else self._obstacle(name, [] if interrupted else kept),
            line=tuple(kept),
            lowest_temperature=None if interrupted else self._lowest(name, kept),
            leaves_out=leaves_out(name),
            band=band,
            looked_for=carried is not None or self.obstacles[name] not in (NOT_LOOKED, CUT_SHORT),
            warmings=self.warmings.get(name, ()),
        )

    def _roads(self, interrupted: bool) -> tuple[Road, ...]:
        return tuple(self._road(road, interrupted) for road in self.request.roads)

    def _look_at_equal_size(
        self, doers: Workers, roads: Sequence[Road], conductance: float | None, powers: dict[str, float | None]
    ) -> None:
        """What blends' roads take with a recuperator of one conductance [W/K], into powers [W] by road as it is found."""
        asked = [] if conductance is None else [road for road in roads if road.is_blend and road.carried is not None]
        found = doers.answers("blends.power_at", [(road.carried, conductance) for road in asked])
        for road, power in zip(asked, found, strict=True):
            powers[road.name] = power

    def _figures(self, name: str, carried: Carried | None):
        if carried is None:
            return None
        return blend_figures(self.model, carried, self.request) if name in BLENDS else cascade_figures(carried)

    def _obstacle(self, name: str, kept: list[Carried]) -> str:
        """Why the load is not carried; of a cascade, what stops the fluids that reach furthest."""
        lowest = self._lowest(name, kept)
        if lowest is None:
            return self.obstacles[name]
        if name in BLENDS:
            return f"reaches {kelvin_text(lowest)} at the lowest; {self.obstacles[name]}"
        return self.cascades.shortfall(min(kept, key=lambda one: one.result.lowest_temperature))

    def _lowest(self, name: str, kept: list[Carried]) -> float | None:
        if name not in BLENDS:
            return cascade_reach(kept)
        return kept[0].temperature if kept and len(self.temperatures) > 1 else None
