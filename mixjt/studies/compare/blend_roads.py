"""Throttle circuits that carry the load at one temperature with the least power: plain, precooled, separator."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields, replace

import numpy as np

from mixjt.cascade.cascade_limits import stage_excesses, worst_excess
from mixjt.cascade.cascade_records import Cascade
from mixjt.circuit.layouts.precooled import PrecooledCircuit, PrecooledResult
from mixjt.circuit.places import COMPRESSOR_INLET
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import PLAIN, PRECOOLED
from mixjt.errors import MixjtError, UnreachableError
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import Interrupted
from mixjt.parts.precooler import Precooler, precooling_stage
from mixjt.studies.compare.blends import climbed, finished, place_of
from mixjt.studies.compare.compare_request import CompareRequest
from mixjt.studies.compare.comparison import Carried
from mixjt.studies.search.landscape import Place
from mixjt.studies.search.result import SearchResult
from mixjt.studies.search.search import search
from mixjt.studies.search.search_request import COP, SearchRequest
from mixjt.studies.search.separator_search import search_separator

ABOVE_COLD_END = 5.0  # K; there is no precooling closer to the cold end and its approach
LIMIT_HALVINGS = 10  # to 0.1 K of a span of 100 K
FROZEN = -1e-3  # K of freezing margin; a blend that keeps a margin of zero keeps it about so well
POLISHED = 2  # blends that are polished for a separator at the cold end; one along the load line

Report = Callable[[str, int, int, float | None], None]
Blend = tuple[CircuitResult, dict[str, float]]


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
        self.shortlist: tuple[Blend, ...] = ()  # plain blends at the cold end, best first

    def at_cold_end(self, road: str, report: Report | None = None) -> Carried:
        """At the temperature of the case, thoroughly; the plain road first, the others start from its blends.

        Raises
        ------
        MixjtError
            Where the road does not get there.
        """
        temperature, effort = self.request.cold_temperature, self.request.effort
        if road == PLAIN:
            self.shortlist = self._searched(temperature, effort.samples, report)
            return self._plain(temperature, *self.shortlist[0])
        if road == PRECOOLED:
            return self._precooled(temperature, self.shortlist, effort.samples, effort.precooling)
        return self._separator(temperature, self.shortlist[:POLISHED])

    def near(self, road: str, temperature: float, starts: Sequence[Carried], anew: bool = False) -> Carried:
        """At another temperature [K], by a local search from blends that are good nearby.

        Parameters
        ----------
        road : str
        temperature : float
        starts : sequence of Carried
            Of any kind of circuit, best first.
        anew : bool
            Whether a plain blend may be searched for among all sets of bottles, if the effort allows.

        Raises
        ------
        MixjtError
        """
        known = [(one.result, one.bottles) for one in starts]
        samples, count = self.request.effort.line_samples, self.request.effort.line_precooling
        if road == PLAIN:
            if anew and self.request.effort.searched_anew:
                return self._plain(temperature, *self._searched(temperature, samples, None)[0])
            wanted = self.request.blends_at(temperature)
            found = finished(climbed(self.model, wanted, self._places(wanted, known), samples))
            return self._plain(temperature, found.result, found.amounts)
        if road == PRECOOLED:
            return self._precooled(temperature, known, samples, count)
        return self._separator(temperature, known[:1])

    def _searched(self, temperature: float, samples: int, report: Report | None) -> tuple[Blend, ...]:
        """Plain blends of a full search, best first."""
        found = search(self.model, replace(self.request.blends_at(temperature), samples=samples), report)
        self.stopped = self.stopped or found.interrupted
        if not found.candidates:
            raise Interrupted
        return tuple(zip(found.candidates, found.amounts, strict=True))

    def _precooled(self, temperature: float, known: Sequence[Blend], samples: int, count: int) -> Carried:
        """The best of a few precooling temperatures; one that serves no purpose shows as an idle precooler."""
        climbs, why = [], []
        for circuit in self.request.precooled:
            try:
                temperatures = self._precooling(circuit, temperature, count)
            except MixjtError as error:
                why.append(str(error))
                continue
            for precooling in temperatures:
                try:
                    climbs.append(self._climbed(temperature, circuit.at(precooling), known, samples))
                except MixjtError as error:  # another precooling temperature may do
                    why.append(str(error))
        for circuit, climb in sorted(climbs, key=lambda one: one[1].merit, reverse=True):
            try:
                found = finished(climb)
                return self._carried(temperature, circuit, found.result, found.amounts)
            except MixjtError as error:  # it only looked good on the search's grid: the next best, then
                why.append(str(error))
        raise UnreachableError(why[0])

    def _climbed(self, temperature: float, circuit, known: Sequence[Blend], samples: int):
        wanted = self.request.blends_at(temperature, circuit)
        return circuit, climbed(self.model, wanted, self._places(wanted, known), samples)

    def _precooling(self, circuit: PrecooledCircuit, temperature: float, count: int) -> list[float]:
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
        return np.unique(np.linspace(max(low, coldest), high, count)).tolist()

    def _separator(self, temperature: float, known: Sequence[Blend]) -> Carried:
        if not known:
            raise UnreachableError("there is no plain blend to start from: a separator's are polished plain ones")
        wanted = self.request.blends_at(temperature)
        circuit = self.request.blends_at(temperature, self.request.separator).circuit
        starts = SearchResult(
            objective=COP,
            candidates=tuple(_as_plain(result) for result, _ in known),
            values=tuple(result.cop for result, _ in known),
            amounts=tuple(amounts for _, amounts in known),
            best_by_count={},
            amounts_by_count={},
            evaluations=0,
            seconds=0.0,
            interrupted=False,
            messages=(),
        )
        found = search_separator(self.model, wanted, circuit, starts)
        if found.interrupted:  # what it holds then may be the plain circuits
            raise Interrupted
        return self._carried(temperature, self.request.separator, found.candidates[0], found.amounts[0])

    def _places(self, wanted: SearchRequest, known: Sequence[Blend]) -> list[Place]:
        return [place_of(wanted, result, amounts) for result, amounts in known]

    def _plain(self, temperature: float, result: CircuitResult, amounts: dict[str, float]) -> Carried:
        return self._carried(temperature, self.request.search.circuit, result, amounts)

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
            contents += f"; {precooled} at {result.precooler_temperature:.4g} K"
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


def _as_plain(result: CircuitResult) -> CircuitResult:
    """Only what every kind of circuit has: its blend and pressures then serve as a start for another kind."""
    return CircuitResult(**{entry.name: getattr(result, entry.name) for entry in fields(CircuitResult)})
