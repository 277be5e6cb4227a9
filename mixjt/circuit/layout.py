"""What a kind of circuit is made of, and what it becomes when it is solved.

A circuit states its temperatures, pressures and parts (`ThrottleCircuit` and its kin); its layout binds it to a blend
and tells how streams run: the sections of the recuperator, the free choice that gives the greatest cooling, the states
that follow, and the legs between them. All else is the same for every kind: the rounds that fit the pressure profile
(`mixjt.circuit.solve`), balances, freezing, curves and warnings (`mixjt.circuit.outcome`) follow from these.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from mixjt.circuit.accounting import Account, Component, account, enthalpy
from mixjt.circuit.curves import difference_curve
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.pinch import LeastDifference
from mixjt.circuit.rated import Asked, CoilStreams, asked_of_sections
from mixjt.circuit.result import CircuitResult, DifferenceCurve, PinchCurve
from mixjt.circuit.section import Leg, Section
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.parts import places
from mixjt.parts.compressor.compression import CompressionResult, compress
from mixjt.parts.insulation import NO_LEAK, Leak, spread_leak
from mixjt.parts.recuperator.side import Stream, length_shares
from mixjt.parts.recuperator.tube_rating import CutRating, Rating

SAME = 1e-6  # of the cooling, between two rounds
SAME_LEAK = 1e-5  # of the cooling, by which the whole leak moves
LEAK_POINTS = 33
COMPRESSOR, AFTERCOOLER, RECUPERATOR = "compressor", "aftercooler", "recuperator"
THROTTLE, EVAPORATOR = "throttle", "evaporator"


@dataclass(frozen=True)
class Choice:
    """What was free in a circuit: cooling, the heat that the evaporator takes up [J/mol of blend].

    pinches are the high-side temperatures [K] at which the sections pinch, the coldest section first.
    """

    cooling: float
    pinches: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Solution:
    """A circuit at its greatest cooling: sections, choice, and the states by place but that after the compressor.

    grid is how many temperatures its sides are first looked at; rough says that its curves are not divided where they bend.
    """

    layout: Layout
    sections: tuple[Section, ...]
    choice: Choice
    states: Mapping[str, State]
    grid: int
    rough: bool = False

    @property
    def cooling(self) -> float:
        """[J/mol of blend]"""
        return self.choice.cooling

    @property
    def cooling_power(self) -> float:
        """[W]"""
        return self.cooling * self.compression.molar_flow

    @cached_property
    def compression(self) -> CompressionResult:
        """What the compressor does with the gas that reaches it."""
        return self.layout.compressed(self.states[places.COMPRESSOR_INLET])

    @cached_property
    def points(self) -> dict[str, State]:
        """All states, in flow order of the legs."""
        found = {places.COMPRESSOR_INLET: self.states[places.COMPRESSOR_INLET], places.COMPRESSOR_OUTLET: self.compression.discharge}
        return found | self.states

    @cached_property
    def curves(self) -> tuple[PinchCurve, ...]:
        """Of the sections, the coldest first."""
        pairs = zip(self.sections, self.choice.pinches, strict=True)
        return tuple(section.curve(self.states, pinch, self.grid, self.rough) for section, pinch in pairs)

    @property
    def conductance(self) -> float:
        """UA of all sections [W/K], infinite where streams touch."""
        return sum(curve.conductance for curve in self.curves) * self.compression.molar_flow

    @property
    def leak(self) -> Leak:
        """Into recuperator and cold end."""
        return self.sections[0].leak

    @cached_property
    def rating(self) -> Rating | CutRating | None:
        """What the tubes of the recuperator do at this flow and these inlets; None where they are not known."""
        return self.layout.rating(self)


@dataclass(frozen=True)
class Expected:
    """What a round is expected to find: temperatures of the throttle's inlet and the suction [K], and the leak."""

    ends: tuple[float, float]
    leak: Leak


class Layout:
    """A circuit with a blend in it; what is here holds for the plain circuit and, where they say nothing else, its kin.

    Parameters
    ----------
    fluid : Fluid
    circuit : ThrottleCircuit
    """

    kind: type[CircuitResult] = CircuitResult

    def __init__(self, fluid: Fluid, circuit: ThrottleCircuit):
        self.fluid, self.circuit = fluid, circuit
        self.blend = Stream(fluid)
        self.streams = CoilStreams(fluid)
        self.expected: Expected | None = None

    @cached_property
    def cooled(self) -> State:
        """The aftercooler's outlet."""
        return self.fluid.tp(self.circuit.warm_temperature, self.circuit.aftercooler_pressure)

    @cached_property
    def evaporated(self) -> State:
        """The evaporator's outlet."""
        return self.fluid.tp(self.circuit.cold_temperature, self.circuit.evaporator_pressure)

    def compressed(self, suction: State) -> CompressionResult:
        """What the compressor does with gas in a state."""
        circuit = self.circuit
        return compress(self.fluid, suction, circuit.discharge_pressure, circuit.compressor, circuit.ambient_temperature)

    def at_approach(self, approach: float) -> Layout:
        """The same with another approach of the recuperator [K]."""
        other = copy(self)  # with all that is known of it already
        other.circuit = replace(self.circuit, recuperator_approach=approach)
        return other

    def expecting(self, expected: Expected | None) -> Layout:
        """The same with pressures and leak along the recuperator for what is expected; None for what the last round found."""
        other = copy(self)
        other.expected = expected
        return other

    def behind(self, approach: float) -> Layout:
        """The same with another approach of the aftercooler [K]."""
        if approach == self.circuit.aftercooler_approach:
            return self
        other = copy(self)
        other.circuit = replace(self.circuit, aftercooler_approach=approach)
        other.__dict__.pop("cooled", None)
        return other

    def with_drops(self, rating: Rating | CutRating) -> Layout:
        """The same with the pressure drops of its tubes, their property tables kept.

        Raises
        ------
        UnreachableError
            Where they leave no pressure to the throttle.
        """
        try:
            circuit = replace(self.circuit, high_side_drop=rating.high_drop, low_side_drop=rating.low_drop)
        except InputError as error:
            raise UnreachableError(f"this recuperator takes too much pressure: {error}") from None
        other = type(self)(self.fluid, circuit)
        other.streams = self.streams
        return other

    def rating(self, solution: Solution) -> Rating | CutRating | None:
        """What the tubes of the recuperator do in a solution; None where they are not known."""
        coil = self.circuit.coil
        return None if coil is None else self.streams.rating(coil, self.asked_of_tubes(solution))

    def asked_of_tubes(self, solution: Solution) -> tuple[Asked, ...]:
        """What each section asks of them, the coldest first, with the states that the circuit has where its streams enter."""
        flow, states = solution.compression.molar_flow, solution.states
        whole = self.streams.entering(self.circuit, self.cooled, self.evaporated, flow)
        inlets = [(states[one.high[0].start], states[one.low[0].start]) for one in solution.sections]
        return asked_of_sections(whole, inlets, [curve.conductance * flow for curve in solution.curves])

    @property
    def leaking(self) -> bool:
        """Whether heat leaks into recuperator or cold end."""
        return self.circuit.insulation is not None and self.circuit.insulation.conductance > 0.0

    def leak(self, last: Solution | None) -> Leak:
        """Into recuperator and cold end, spread over the length that the last round found.

        In the first round the temperatures are even along it and the flow is that of gas at its greatest warmth.
        """
        circuit = self.circuit
        if not self.leaking:
            return NO_LEAK
        if self.expected:
            return replace(self.expected.leak, off=self.expected.leak.total - last.leak.total)
        if last is None:
            suction = self.fluid.tp(circuit.span[1] - circuit.recuperator_approach, circuit.suction_pressure)
            flow = self.compressed(suction).molar_flow
            high = np.linspace(circuit.span[0], circuit.warm_temperature, LEAK_POINTS)
            length, low = np.linspace(0.0, 1.0, LEAK_POINTS), high - circuit.recuperator_approach
        else:
            flow = last.compression.molar_flow
            length = length_shares([(one.heat, one.high_temperature, one.low_temperature) for one in last.curves])
            high, low = (
                np.concatenate([getattr(one, f"{side}_temperature") for one in last.curves]) for side in ("high", "low")
            )
        ambient = circuit.ambient_temperature
        found = spread_leak(circuit.insulation, ambient, flow, circuit.cold_temperature, length, high, low)
        return found if last is None else found.following(last.leak)

    def prepared(self, points: int) -> Layout:
        """What is solved: this circuit, or where a part of it is too weak, one that it can carry."""
        return self

    def blend_streams(self, last: Solution | None) -> tuple[Stream, Stream]:
        """The blend on the high and on the low side, its pressure profile that of the last round's ends, or of those expected."""
        inner = (places.THROTTLE_INLET, places.COMPRESSOR_INLET)
        found = () if last is None else self.expected and self.expected.ends or (last.states[place].temperature for place in inner)
        high, low = self.circuit.ends(*found)
        return Stream(self.fluid, ends=high), Stream(self.fluid, ends=low)

    def pinches_seen(self, last: Solution | None) -> tuple[float, ...]:
        """High-side temperatures [K] where the curves of the last round came closest, if curves are drawn in every round.

        A grid may have missed the pinch that they show. For kinds with one section.
        """
        drawn = last is not None and (self.circuit.of_stated_size or self.leaking)
        return tuple(curve.pinch_temperature for curve in last.curves) if drawn else ()

    def choose(self, points: int, last: Solution | None, turn: int) -> tuple[tuple[Section, ...], Choice]:
        """The sections of the recuperator, the coldest first, and the greatest cooling that they allow.

        Parameters
        ----------
        points : int
            Temperatures in the first sweep of each side.
        last : Solution or None
            Of the round before.
        turn : int
            Rounds before this one.

        Raises
        ------
        UnreachableError
            Where there is no cooling.
        """
        raise NotImplementedError

    def grid_cooling(self, points: int) -> float:
        """Cooling [J/mol] on a fixed grid of temperatures, to compare property models by; may be negative.

        All that was free must be stated. Kinks between grid points are missed, and pressure profiles are those of the
        widest sections, so it is a little too large.
        """
        raise NotImplementedError

    def states(self, sections: tuple[Section, ...], choice: Choice) -> dict[str, State]:
        """The states that a choice leads to, in flow order, without the compressor's outlet."""
        raise NotImplementedError

    def legs(self, solution: Solution) -> tuple[Leg, ...]:
        """All legs in flow order of the high side."""
        raise NotImplementedError

    @property
    def rounds_matter(self) -> bool:
        """Whether what a round finds changes the next."""
        circuit = self.circuit
        return bool(circuit.high_side_drop or circuit.low_side_drop or circuit.of_stated_size or circuit.coil or self.leaking)

    def settled(self, solution: Solution, last: Solution | None) -> bool:
        """Whether a further round would change nothing."""
        if not self.rounds_matter:
            return True
        moved = 0.0 if last is None else abs(solution.cooling - last.cooling)
        return last is not None and moved <= SAME * solution.cooling and abs(solution.leak.off) <= SAME_LEAK * solution.cooling

    def all_states(self, solution: Solution) -> dict[str, State]:
        """Those that legs begin and end with."""
        return solution.points

    def heats(self, solution: Solution) -> dict[str, tuple[tuple[float, float], ...]]:
        """Heat into the parts that exchange some, each with the temperature it comes at [J/mol, K]."""
        states, ambient = solution.points, self.circuit.ambient_temperature
        rejected = enthalpy(states[places.COMPRESSOR_OUTLET]) - enthalpy(states[places.AFTERCOOLER_OUTLET])
        return {
            COMPRESSOR: ((-solution.compression.shell_heat, ambient),),
            AFTERCOOLER: ((-rejected, ambient),),
            EVAPORATOR: ((solution.cooling, self.circuit.cold_temperature), (solution.leak.at_cold_end, ambient)),
        } | {section.part: ((section.leaked(states), ambient),) for section in solution.sections}

    def works(self, solution: Solution) -> dict[str, float]:
        """Electrical work into the parts that take some [J/mol]."""
        return {COMPRESSOR: solution.compression.electrical_work}

    def capacity(self, solution: Solution) -> float:
        """What the result calls its cooling [J/mol of blend]."""
        return solution.cooling

    def delivered(self, solution: Solution) -> float:
        """Exergy of the cooling [J/mol]."""
        return solution.cooling * (self.circuit.ambient_temperature / self.circuit.cold_temperature - 1.0)

    def components(self, solution: Solution) -> tuple[Component, ...]:
        """What is balanced, in flow order: every part with the legs through it, its heats and its work."""
        states, heats, works = self.all_states(solution), self.heats(solution), self.works(solution)
        legs = self.legs(solution)
        return tuple(
            Component(
                part,
                tuple((leg.stream.flow, states[leg.start]) for leg in legs if leg.part == part and leg.start),
                tuple((leg.stream.flow, states[leg.end]) for leg in legs if leg.part == part and leg.end),
                heats.get(part, ()),
                works.get(part, 0.0),
            )
            for part in dict.fromkeys(leg.part for leg in legs)
        )

    def balance(self, solution: Solution) -> Account:
        """Energy and exergy of the whole."""
        ambient, scale = self.circuit.ambient_temperature, solution.compression.work
        return account(self.components(solution), ambient, self.delivered(solution), scale)

    def difference(self, solution: Solution, points: int) -> DifferenceCurve:
        """The isothermal enthalpy difference over the span."""
        circuit = self.circuit
        span = (circuit.cold_temperature, circuit.warm_temperature)
        return difference_curve(self.fluid, circuit.suction_pressure, circuit.discharge_pressure, span, points)

    def other_work(self, solution: Solution) -> float:
        """Electrical work besides the compressor's [J/mol of blend]."""
        return 0.0

    def more(self, solution: Solution, curves: tuple[PinchCurve, ...]) -> dict:
        """Fields of the result that only this kind has."""
        return {}

    def notes(self, solution: Solution, curves: tuple[PinchCurve, ...]) -> tuple[str, ...]:
        """Warnings that only this kind has."""
        return ()

    def shaft_legs(self) -> tuple[Leg, ...]:
        """Compressor and aftercooler."""
        return (
            Leg(COMPRESSOR, places.COMPRESSOR_INLET, places.COMPRESSOR_OUTLET, self.blend),
            Leg(AFTERCOOLER, places.COMPRESSOR_OUTLET, places.AFTERCOOLER_OUTLET, self.blend),
        )

    def cold_legs(self, stream: Stream) -> tuple[Leg, ...]:
        """Throttle and evaporator."""
        return (
            Leg(THROTTLE, places.THROTTLE_INLET, places.THROTTLE_OUTLET, stream),
            Leg(EVAPORATOR, places.THROTTLE_OUTLET, places.EVAPORATOR_OUTLET, stream),
        )


def refuse_no_cooling(circuit: ThrottleCircuit, least: LeastDifference, where: str = "", mend: str = "a smaller approach") -> None:
    """Raise where the pinch leaves no cooling; where names the section, mend is what may help besides the usual."""
    if least.minimum > 0.0:
        return
    if circuit.insulation is not None and circuit.insulation.conductance > 0.0:
        mend = f"less heat leaking in, {mend}"
    raise UnreachableError(
        f"no cooling at {circuit.cold_temperature:.5g} K: at the pinch{where}, where the high side has "
        f"{least.temperature:.5g} K, the blend falls short by {-least.minimum:.4g} J/mol; try a warmer cold end, "
        f"{mend}, a wider pressure ratio, or more of a gas that boils near the pinch temperature"
    )
