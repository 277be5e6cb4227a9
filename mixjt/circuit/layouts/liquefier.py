"""Liquefier: a throttle circuit whose recuperator has a third passage, for the gas to be liquefied.

The feed runs beside the blend's high side down the recuperator, is condensed and subcooled in the evaporator
to the cold end's temperature plus its own approach, and let down to the product's pressure. There part of it
flashes off; the liquid is drawn off, the vapour vented cold or, on request, led back through the recuperator
beside the low side (warmed to the cold end's temperature in the evaporator first). See
`mixjt.circuit.greatest_feed` for the balance that fixes the greatest feed.

Assumptions besides those of `mixjt.circuit.layouts.plain`: hot streams have one temperature in every section, and so
have cold ones; the feed's pressure drop is linear in its temperature; its throttle is isenthalpic; heat leaks
are part of the load.

What the machine delivers is the load, the liquid's exergy over that of gas of the same composition at supply state,
and, where a feed with impurities parts into liquid and vapour of different composition, the work of that separation.
The feed is taken in at the room's temperature and supply pressure; vapour that is vented warms up in the room and
expands to supply pressure, unused.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from mixjt.circuit.accounting import Account, enthalpy, entropy
from mixjt.circuit.feed_states import Feed, feed_of
from mixjt.circuit.greatest_feed import greatest_feed, with_feed_beside
from mixjt.circuit.ideal_liquefier import least_work
from mixjt.circuit.layout import EVAPORATOR, Choice, Solution
from mixjt.circuit.layouts.plain import Plain
from mixjt.circuit.liquefier_result import FeedPassage, LiquefierResult
from mixjt.circuit.liquefier_warnings import feed_warnings
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import BalanceItem, PinchCurve
from mixjt.circuit.section import Leg, Section
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.parts import places
from mixjt.parts.recuperator.side import Stream

SAME = 1e-10  # of load and ratio, between two rounds
JUMP = 1.0  # J/mol, more than the feed's enthalpy changes over the step below without boiling
STEP = 1e-9  # of the temperature
TABLE = 64  # temperatures between which a side's enthalpy is looked up
NEAR_LIMIT = 0.02  # by which a load may pass the first estimate of the circuit's cooling
FEED_COMPRESSOR, FEED_THROTTLE, VENT = "feed compressor", "feed throttle", "vented vapour"
VENTED = "vented_vapour_warm"  # a state of the balance, not shown


@dataclass(frozen=True)
class LiquefierCircuit(ThrottleCircuit):
    """A throttle circuit with a third passage; see `ThrottleCircuit`.

    Parameters
    ----------
    gas : Fluid
        What is liquefied.
    passage : FeedPassage
    load : float
        Other heat that the evaporator takes up [W].
    """

    gas: Fluid | None = None
    passage: FeedPassage | None = None
    load: float = 0.0
    three_streams = "in a liquefier three run side by side: the blend down and up, and the gas to be liquefied"

    def __post_init__(self):
        super().__post_init__()
        if self.gas is None or self.passage is None:
            raise InputError("a liquefier needs a gas to be liquefied and its passage")


@dataclass(frozen=True)
class FeedChoice(Choice):
    """cooling is the load per mole of blend at the flow of the round before; ratio in moles of feed per mole of blend."""

    ratio: float


class Liquefier(Plain):
    """The liquefier with a blend in it; tolerance is the relative change of load and feed at which its rounds end."""

    kind = LiquefierResult

    def __init__(self, fluid: Fluid, circuit: LiquefierCircuit, tolerance: float = SAME):
        super().__init__(fluid, circuit)
        self.tolerance = tolerance
        self.feed: Feed = feed_of(circuit.gas, circuit.passage, circuit)

    def choose(self, points: int, last: Solution | None, turn: int) -> tuple[tuple[Section, ...], FeedChoice]:
        """The greatest feed that leaves the load."""
        alone = self.recuperator(last)
        if last is not None:
            share = self.circuit.load / last.compression.molar_flow
        else:
            share = self._first_share(alone, points) if self.circuit.load > 0.0 else 0.0
        start = None if last is None else last.choice.ratio
        found = greatest_feed(alone, self.feed, self.circuit.recuperator_approach, share, points, start)
        sections = (with_feed_beside(alone, self.feed, found.ratio),)
        return sections, FeedChoice(share, (found.least.temperature,), found.ratio)

    def _first_share(self, alone: Section, points: int) -> float:
        """The load per mole [J/mol] at the flow without feed, at most what the circuit then cools.

        A start from no load would take a flow so small that a bearable load looks too great.
        """
        circuit = self.circuit
        plain = alone.least(circuit.recuperator_approach, points).minimum
        if not plain > 0.0:
            return circuit.load
        suction = self.fluid.hp(self.cooled.enthalpy + plain, circuit.suction_pressure)
        share = circuit.load / self.compressed(suction).molar_flow
        return min(share, plain) if share <= (1.0 + NEAR_LIMIT) * plain else share

    def settled(self, solution: Solution, last: Solution | None) -> bool:
        """Whether the load per mole fits the flow, and the pressure profile, if any, no longer changes the feed."""
        circuit, ratio = self.circuit, solution.choice.ratio
        fits = abs(circuit.load - solution.cooling_power) <= self.tolerance * circuit.load
        if not self.rounds_matter:
            return fits
        return fits and last is not None and abs(ratio - last.choice.ratio) <= self.tolerance * max(ratio, 1e-6)

    def states(self, sections: tuple[Section, ...], choice: FeedChoice) -> dict[str, State]:
        """Of the blend, and of the feed."""
        circuit, fluid, (recuperator,) = self.circuit, self.fluid, sections
        target = self.evaporated.enthalpy + choice.ratio * self._returned(circuit.cold_temperature) - choice.cooling
        target -= recuperator.leak.at_cold_end
        before, feed_outlet = self._cold_end(recuperator, choice.ratio, target)
        suction = self._suction(recuperator, choice)
        found = {
            places.COMPRESSOR_INLET: suction,
            places.AFTERCOOLER_OUTLET: self.cooled,
            places.THROTTLE_INLET: before,
            places.THROTTLE_OUTLET: fluid.hp(before.enthalpy, circuit.evaporator_pressure),
            places.EVAPORATOR_OUTLET: self.evaporated,
        }
        return found | self._feed_states(found, feed_outlet)

    def _suction(self, recuperator: Section, choice: FeedChoice) -> State:
        """The blend where the low side leaves the recuperator."""
        circuit, feed_in = self.circuit, self.feed.down.enthalpy_of(self.feed.states[places.FEED_INLET])
        total = self.cooled.enthalpy + choice.ratio * feed_in + choice.cooling + recuperator.leak.total
        if self.feed.back is None or choice.ratio == 0.0:
            return self.fluid.hp(total, circuit.suction_pressure)
        table = self._table(circuit.cold_temperature, circuit.warm_temperature - circuit.recuperator_approach)
        reached = recuperator.low_side.temperature(total, table)
        return self.fluid.hp(total - choice.ratio * self._returned(reached), circuit.suction_pressure)

    def _returned(self, temperature: float) -> float:
        """Heat that the flash vapour has taken up at a temperature [J/mol of feed]."""
        return 0.0 if self.feed.back is None else float(self.feed.back.enthalpy([temperature])[0])

    @staticmethod
    def _table(coldest: float, warmest: float):
        return np.linspace(coldest, warmest, TABLE)

    def _cold_end(self, recuperator: Section, ratio: float, target: float) -> tuple[State, State]:
        """States of blend and feed where the hot streams together have an enthalpy [J/mol of blend].

        Where the feed boils at that temperature the energy balance tells how much of it has condensed.
        """
        down, pressure = self.feed.down, self.circuit.throttle_pressure
        if ratio == 0.0:
            before = self.fluid.hp(target, pressure)
            return before, self._feed_at(before.temperature)
        temperature = recuperator.high_side.temperature(target, self._table(*self.circuit.span))
        around = down.enthalpy(temperature * np.array([1.0 - STEP, 1.0 + STEP]))
        if around[1] - around[0] < JUMP:
            heat = float(down.enthalpy([temperature])[0])
            return self.fluid.hp(target - ratio * heat, pressure), self._feed_at(temperature)
        before = self.fluid.tp(temperature, pressure)
        enthalpy_left = (target - before.enthalpy) / ratio + down.origin.enthalpy
        return before, down.fluid.hp(enthalpy_left, float(down.ends.pressure(temperature)))

    def _feed_at(self, temperature: float) -> State:
        ends = self.feed.down.ends
        within = min(max(temperature, ends.cold_temperature), ends.warm_temperature)
        return self.feed.down.fluid.tp(within, float(ends.pressure(within)))

    def _feed_states(self, found: dict[str, State], outlet: State) -> dict[str, State]:
        """The feed's states in flow order."""
        known, back = self.feed.states, self.feed.back
        first = (places.FEED_SUPPLY, places.FEED_INLET)
        states = {place: known[place] for place in first} | {places.FEED_RECUPERATOR_OUTLET: outlet}
        states |= {place: state for place, state in known.items() if place not in first}
        ends = ((places.FLASH_VAPOUR_COLD_END, places.EVAPORATOR_OUTLET), (places.FLASH_VAPOUR_OUTLET, places.COMPRESSOR_INLET))
        for place, beside in () if back is None else ends:
            states[place] = back.fluid.tp(found[beside].temperature, self.circuit.passage.product_pressure)
        return states

    def legs(self, solution: Solution) -> tuple[Leg, ...]:
        """Of the blend, and of the feed beside it and beyond."""
        (recuperator,), feed, ratio = solution.sections, self.feed, solution.choice.ratio
        down = Stream(feed.down.fluid, ratio)
        chilled = [Leg(EVAPORATOR, places.FEED_RECUPERATOR_OUTLET, places.FEED_THROTTLE_INLET, down)]
        last = places.FLASH_VAPOUR
        if feed.back is not None:
            last = places.FLASH_VAPOUR_OUTLET
            back = Stream(feed.back.fluid, ratio * feed.back.flow)
            chilled.append(Leg(EVAPORATOR, places.FLASH_VAPOUR, places.FLASH_VAPOUR_COLD_END, back))
        vents = []
        if places.FLASH_VAPOUR in feed.states:
            vapour = self.circuit.gas.of(feed.states[places.FLASH_VAPOUR].composition)
            vents = [Leg(VENT, last, VENTED, Stream(vapour, ratio * feed.flash_fraction))]
        return (
            *self.shaft_legs(),
            Leg(FEED_COMPRESSOR, places.FEED_SUPPLY, places.FEED_INLET, down),
            *recuperator.high,
            *self.cold_legs(self.blend),
            *chilled,
            *recuperator.low,
            Leg(FEED_THROTTLE, places.FEED_THROTTLE_INLET, places.FEED_THROTTLE_OUTLET, down),
            *vents,
        )

    @cached_property
    def feed_work(self) -> float:
        """Electrical, of the feed's compressor [J per mole of feed]."""
        circuit, passage = self.circuit, self.circuit.passage
        compressed = circuit.gas.tp(circuit.ambient_temperature, passage.pressure)
        least = least_work(compressed, self.feed.states[places.FEED_SUPPLY], circuit.ambient_temperature)
        return least / passage.isothermal_efficiency

    @cached_property
    def product_least_work(self) -> float:
        """Of gas in the room turned into the product [J per mole of product]."""
        product = self.feed.states[places.PRODUCT]
        return least_work(product, self._in_the_room(product), self.circuit.ambient_temperature)

    def _in_the_room(self, state: State) -> State:
        """Gas of a state's composition at supply state."""
        return self.circuit.gas.of(state.composition).tp(self.circuit.ambient_temperature, self.circuit.passage.supply_pressure)

    def all_states(self, solution: Solution) -> dict[str, State]:
        """With the vented vapour where it has warmed up."""
        vapour = self.feed.states.get(places.FLASH_VAPOUR)
        return solution.points | ({} if vapour is None else {VENTED: self._in_the_room(vapour)})

    def heats(self, solution: Solution) -> dict[str, tuple[tuple[float, float], ...]]:
        """Those to the room too, in the feed's compressor and of what is vented."""
        states, ambient = self.all_states(solution), self.circuit.ambient_temperature
        found = super().heats(solution)
        for leg in self.legs(solution):
            if leg.part in (FEED_COMPRESSOR, VENT):
                gained = leg.stream.flow * (enthalpy(states[leg.end]) - enthalpy(states[leg.start]))
                found[leg.part] = ((gained - self.works(solution).get(leg.part, 0.0), ambient),)
        return found

    def works(self, solution: Solution) -> dict[str, float]:
        """The feed compressor's too."""
        return super().works(solution) | {FEED_COMPRESSOR: solution.choice.ratio * self.feed_work}

    def delivered(self, solution: Solution) -> float:
        """Exergy of load, liquid and separation [J/mol of blend]."""
        return super().delivered(solution) + solution.choice.ratio * self._product_exergy()

    def _product_exergy(self) -> float:
        """Of what leaves over what is taken in [J per mole of feed]."""
        states, share, ambient = self.feed.states, self.feed.flash_fraction, self.circuit.ambient_temperature
        leaving = (1.0 - share) * _flow_exergy(states[places.PRODUCT], ambient)
        if places.FLASH_VAPOUR in states:
            leaving += share * _flow_exergy(self._in_the_room(states[places.FLASH_VAPOUR]), ambient)
        return leaving - _flow_exergy(states[places.FEED_SUPPLY], ambient)

    def balance(self, solution: Solution) -> Account:
        """What is delivered told apart: load, product, separation of an impure feed."""
        balanced, ratio = super().balance(solution), solution.choice.ratio
        liquid = ratio * (1.0 - self.feed.flash_fraction) * self.product_least_work
        items = [BalanceItem("load", super().delivered(solution)), BalanceItem("product", liquid)]
        if len(self.circuit.gas.z) > 1 and places.FLASH_VAPOUR in self.feed.states:
            items.append(BalanceItem("separation of the feed", ratio * self._product_exergy() - liquid))
        return replace(balanced, exergy=(*balanced.exergy[:-1], *items))

    def capacity(self, solution: Solution) -> float:
        """All the heat that the blend takes from feed and load."""
        return solution.states[places.COMPRESSOR_INLET].enthalpy - self.cooled.enthalpy - solution.leak.total

    def more(self, solution: Solution, curves: tuple[PinchCurve, ...]) -> dict:
        """What becomes of the feed."""
        circuit, passage, gas = self.circuit, self.circuit.passage, self.circuit.gas
        points, ratio, flow = solution.points, solution.choice.ratio, solution.compression.molar_flow
        feed_points = {place: state for place, state in points.items() if place in places.OF_THE_FEED}
        duty = points[places.EVAPORATOR_OUTLET].enthalpy - points[places.THROTTLE_OUTLET].enthalpy
        useful = sum(item.exergy for item in self.balance(solution).exergy if item.component in ("load", "product"))
        share, vented = self.feed.flash_fraction, 0.0
        if places.FLASH_VAPOUR in feed_points:
            last = feed_points.get(places.FLASH_VAPOUR_OUTLET, feed_points[places.FLASH_VAPOUR])
            vented = self._in_the_room(last).enthalpy - last.enthalpy
        return {
            "points": {place: state for place, state in points.items() if place not in feed_points},
            "carnot_fraction": useful / (solution.compression.electrical_work + ratio * self.feed_work),
            "feed_gas": gas,
            "passage": passage,
            "feed_points": feed_points,
            "feed_ratio": ratio,
            "load": circuit.load,
            "evaporator_duty": duty * flow,
            "product_fraction": 1.0 - share,
            "flash_fraction": share,
            "feed_work": self.feed_work,
            "product_least_work": self.product_least_work,
            "loss_duty": max(vented, 0.0) * share * ratio * flow,
            "feed_bubble_point": _or_none(gas.bubble_temperature(passage.throttle_pressure)),
            "feed_dew_point": _or_none(gas.dew_temperature(passage.throttle_pressure)),
            "product_bubble_point": _or_none(gas.bubble_temperature(passage.product_pressure)),
            "product_dew_point": _or_none(gas.dew_temperature(passage.product_pressure)),
        }

    def notes(self, solution: Solution, curves: tuple[PinchCurve, ...]) -> tuple[str, ...]:
        """What the feed brings with it."""
        touching = solution.choice.ratio > 0.0 and curves[0].conductance == math.inf
        return feed_warnings(self.circuit.gas, solution.points, touching)


def _flow_exergy(state: State, ambient: float) -> float:
    return enthalpy(state) - ambient * entropy(state)


def _or_none(value: float) -> float | None:
    """None above the critical pressure, where there is no such point."""
    return float(value) if math.isfinite(value) else None
