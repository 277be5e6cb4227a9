"""Throttle circuits that carry the load at one temperature with the least power: plain, precooled, separator."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from mixjt.cascade.cascade_limits import stage_excesses, worst_excess
from mixjt.cascade.cascade_records import Cascade
from mixjt.circuit.layouts.precooled import PrecooledCircuit, PrecooledResult
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import PRECOOLED, SEPARATOR
from mixjt.errors import MixjtError, UnreachableError
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import Interrupted
from mixjt.parts.places import COMPRESSOR_INLET
from mixjt.parts.precooler import Precooler, precooling_stage
from mixjt.studies.compare.blends import Climbed, climbed, finished, looked_at, polished, sampled
from mixjt.studies.compare.compare_request import CompareRequest
from mixjt.studies.compare.comparison import Carried
from mixjt.studies.compare.equal_size import power_at_conductance
from mixjt.studies.search.finish import OFF, USUAL_APPROACH
from mixjt.studies.search.landscape import Landscape, Place
from mixjt.studies.search.search import found_blends
from mixjt.studies.search.search_request import SearchRequest

ABOVE_COLD_END = 5.0  # K; there is no precooling closer to the cold end and its approach
SHORTLIST = 2  # blends of a search that are polished besides the best of each number of bottles
LIMIT_HALVINGS = 10  # to 0.1 K of a span of 100 K
FROZEN = -1e-3  # K of freezing margin; a blend that keeps a margin of zero keeps it about so well
LOOKED, ANCHORS = 9, 3  # precooling temperatures looked at first, and at how many of them blends are climbed to at the cold end
TURNS, MOVING, NARROWED = 5, 3, 0.4  # steps to a better one, rounds of climbing at each, and how the step shrinks
STARTS = 4  # places that precooling temperatures are judged by

Report = Callable[[str, int, int, float | None], None]


class BlendRoads:
    """Finds blends for one request; stopped tells whether an interruption cut a search short.

    Parameters
    ----------
    model : PropertyModel
    request : CompareRequest
    """

    def __init__(self, model: PropertyModel, request: CompareRequest):
        self.model, self.request = model, request
        self.stopped = False
        self.known: list[Place] = []  # plain blends of the search at the cold end, best first

    def searched(self, report: Report | None = None) -> Carried:
        """The plain road at the temperature of the case, by a full search; known then holds what it found besides.

        Raises
        ------
        MixjtError
            Where the road does not get there.
        """
        temperature, samples = self.request.cold_temperature, self.request.effort.samples
        landscape = Landscape(self.model, replace(self.request.blends_at(temperature), samples=samples, shortlist=SHORTLIST))
        finds, stopped = found_blends(landscape, report)
        climb = Climbed(landscape, tuple(sorted(finds, key=lambda find: find.rank, reverse=True)))
        self.stopped, self.known = self.stopped or stopped, climb.places
        if stopped and not np.isfinite(climb.merit):
            raise Interrupted
        return self._finished(temperature, climb)

    def at_cold_end(self, road: str, starts: Sequence[Place], allowance: float) -> Carried:
        """Another road at the temperature of the case, thoroughly, from plain blends; parameters as those of `near`.

        Raises
        ------
        MixjtError
            Where the road does not get there.
        """
        temperature, samples = self.request.cold_temperature, self.request.effort.samples
        starts = starts or sampled(self.request.blends_at(temperature), samples)
        if road == PRECOOLED:
            return self._precooled(temperature, starts, samples, ANCHORS, allowance)
        return self._finished(temperature, self._climbed(temperature, self.request.separator, starts, samples, allowance))

    def near(self, road: str, temperature: float, starts: Sequence[Place], allowance: float = 0.0) -> Carried:
        """At another temperature [K], by a local search from blends that are good nearby.

        Parameters
        ----------
        road : str
        temperature : float
        starts : sequence of Place
            Nearest first; where there is none, blends of a space-filling start.
        allowance : float
            That climbs keep from freezing besides [K].

        Raises
        ------
        MixjtError
        """
        samples = self.request.effort.line_samples
        places = starts or sampled(self.request.blends_at(temperature), self.request.effort.samples)
        if road == PRECOOLED:
            return self._precooled(temperature, places, samples, 1, allowance)
        circuit = self.request.separator if road == SEPARATOR else self.request.search.circuit
        climb = self._climbed(temperature, circuit, places, samples, allowance)
        more = self._overestimate(climb)
        if more > allowance + OFF:  # other bottles may be best where more is kept from freezing
            with contextlib.suppress(UnreachableError):
                return self._finished(temperature, self._climbed(temperature, circuit, places, samples, more))
        return self._finished(temperature, climb)

    def power_at(self, asked: tuple[Carried, float]) -> float | None:
        """What a road takes with a recuperator of a conductance [W/K], which comes second; see `power_at_conductance`."""
        carried, conductance = asked
        return power_at_conductance(carried, self.request.load + self.request.cold_leak, conductance)

    def _climbed(self, temperature: float, circuit, starts: Sequence[Place], samples: int, allowance: float) -> Climbed:
        wanted = self.request.blends_at(temperature, circuit, allowance)
        climb = climbed(self.model, wanted, starts, samples)
        if climb.finds and climb.places[0].present != starts[0].present:  # sets next to the new one may be better yet
            climb = climbed(self.model, wanted, climb.places[:1])
        return polished(self.model, wanted, climb.places[:1])

    def _overestimate(self, climb: Climbed) -> float:
        """Of its best blend; 0 where there is none that can be solved."""
        if not np.isfinite(climb.merit):
            return 0.0
        landscape, place = climb.landscape, climb.places[0]
        with contextlib.suppress(MixjtError):
            return overestimate(landscape.solved(place, USUAL_APPROACH))
        return 0.0

    def _precooled(
        self, temperature: float, starts: Sequence[Place], samples: int, anchors: int, allowance: float
    ) -> Carried:
        """The best of both suctions and of the precooling temperatures; one that serves no purpose shows as an idle precooler."""
        climbs, why = [], []
        for circuit in self.request.precooled:
            try:
                span = np.linspace(*self._precooling(circuit, temperature), LOOKED)
                for part in np.array_split(span, anchors):
                    tried = [self.request.blends_at(temperature, circuit.at(float(one)), allowance) for one in np.unique(part)]
                    wanted = self._best_precooled(tried, starts[:STARTS])
                    climbs.append((span, climbed(self.model, wanted, starts, samples)))
            except MixjtError as error:
                why.append(str(error))
        for span, climb in sorted(climbs, key=lambda one: one[1].merit, reverse=True):
            try:
                climb = self._narrowed(temperature, span, climb, allowance)
                return self._finished(temperature, climb)
            except MixjtError as error:  # it only looked good on the search's grid: the next best, then
                why.append(str(error))
        raise UnreachableError(why[0])

    def _narrowed(self, temperature: float, span: np.ndarray, climb: Climbed, allowance: float) -> Climbed:
        """A better precooling temperature, the blend climbing on at each that is tried; then the blend polished."""
        step, low, high = span[1] - span[0], span[0], span[-1]
        for _ in range(TURNS if low < high and np.isfinite(climb.merit) else 0):
            circuit, places = climb.landscape.request.circuit, climb.places[:1]
            here = circuit.precooler.temperature
            others = {min(max(here + move, low), high) for move in (-step, 0.0, step)}
            wanted = [self.request.blends_at(temperature, circuit.at(one), allowance) for one in sorted(others)]
            climb = max((polished(self.model, one, places, MOVING) for one in wanted), key=lambda one: one.merit)
            if climb.landscape.request.circuit.precooler.temperature == here:
                step *= NARROWED
        return polished(self.model, climb.landscape.request, climb.places[:1])

    def _best_precooled(self, wanted: Sequence[SearchRequest], places: Sequence[Place]) -> SearchRequest:
        """The request with that precooling temperature at which the best of the places is best, roughly."""

        def rank(request: SearchRequest) -> tuple[bool, float]:
            finds = looked_at(self.model, request, places).finds
            return finds[0].rank if finds else (False, -np.inf)

        return max(wanted, key=rank)

    def _precooling(self, circuit: PrecooledCircuit, temperature: float) -> tuple[float, float]:
        """Lowest and highest precooling temperature [K]."""
        low, high = self.request.precooling_temperatures
        if not circuit.warm_section:  # the gas is drawn in an approach colder than that, or colder still
            low = max(low, min(high, self.request.coldest_suction + circuit.recuperator_approach))
        coldest = temperature + circuit.recuperator_approach + ABOVE_COLD_END
        high = min(high, circuit.warm_temperature)
        if low < high:
            low = least_precooling(circuit.precooler, self.request.cascade.cascade, low, high)
        if not max(low, coldest) <= high:
            raise UnreachableError(
                f"precooling to {high:.5g} K or colder leaves nothing to the blend at {temperature:.5g} K"
            )
        return max(low, coldest), high

    def _finished(self, temperature: float, climb: Climbed) -> Carried:
        found, stopped = finished(climb)
        self.stopped = self.stopped or stopped
        return self._carried(temperature, climb.landscape.request.circuit, found.result, found.amounts)

    def _carried(self, temperature: float, circuit, result: CircuitResult, amounts: dict[str, float]) -> Carried:
        """Load and leak carried by a solved blend.

        Raises
        ------
        UnreachableError
            For a blend that freezes, and for gas too cold for the compressor.
        """
        self._check(temperature, result)
        present = {name: x for name, x in amounts.items() if x > 0.0}
        contents = ", ".join(f"{name} {100.0 * x:.3g}" for name, x in present.items()) + " mole %"
        precooled = precooling_text(result, circuit) if isinstance(result, PrecooledResult) else ""
        if precooled:
            contents += f"; {precooled}" + ("" if result.stage is None else f" at {result.precooler_temperature:.4g} K")
        power = (self.request.load + self.request.cold_leak) / result.cop
        return Carried(
            temperature=temperature,
            power=power,
            cop=self.request.load / power,
            own_capacity=max(0.0, result.cooling_power - self.request.cold_leak),
            contents=contents,
            result=result,
            bottles=present,
            fluids=(*sorted(present), *([precooled] if precooled else [])),
            circuit=replace(circuit, cold_temperature=temperature),
        )

    def _check(self, temperature: float, result: CircuitResult) -> None:
        margin, inlet = result.freezing_margin, result.points[COMPRESSOR_INLET].temperature
        if margin is not None and margin < FROZEN:
            raise UnreachableError(
                f"at {temperature:.5g} K the best blend freezes: {result.freezing_gas} would have to be {-margin:.2g} K "
                "warmer to stay liquid"
            )
        if inlet < self.request.coldest_suction:
            raise UnreachableError(
                f"the compressor would draw in gas of {inlet:.5g} K, colder than the {self.request.coldest_suction:.5g} K "
                "of suction_temperature"
            )


def overestimate(result: CircuitResult) -> float:
    """By how much [K] the search's own model has a blend farther from freezing than the worst pair parameters."""
    freezing = result.freezing
    return 0.0 if freezing.margin is None else max(freezing.own_margin - freezing.margin, 0.0)


def precooling_text(result: PrecooledResult, circuit: PrecooledCircuit) -> str:
    """For instance "propane, suction cold"."""
    fluid = "an idle precooler" if result.stage is None else result.precooler_fluid
    return f"{fluid}, suction {'warm' if circuit.warm_section else 'cold'}"


def least_precooling(precooler: Precooler, cascade: Cascade, low: float, high: float) -> float:
    """The coldest precooling temperature of a range [K] at which the stage keeps the limits of a cascade's stages.

    On equal terms a precooler may not run under vacuum or at a ratio that a cascade is denied. All limits ease as
    the stage evaporates warmer.

    Raises
    ------
    UnreachableError
        Where even the warmest breaks a limit.
    """

    def hindrance(temperature: float) -> str:
        try:
            cycle = precooling_stage(precooler, temperature, cascade.ambient_temperature)
        except UnreachableError as error:
            return str(error)
        worst = worst_excess(stage_excesses(cycle, cascade.limits, 0))
        return worst.text if worst else ""

    if not hindrance(low):
        return low
    if why := hindrance(high):
        raise UnreachableError(f"the precooler breaks a limit even at {high:.5g} K: {why}")
    for _ in range(LIMIT_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if hindrance(middle) else (low, middle)
    return high

