"""What a recuperator of known conductance does between two pressures: the cooling that it leaves, and its profile.

Between the cold end and a section where the high side has the temperature T the energy balance reads

    h_low(T_low) = h_high(T) + q + L(T)

with q the heat that the evaporator takes up and L what the low side, the evaporator included, takes up besides: the leak
and, while the machine cools down, the heat of the recuperator's own metal. q rises until the sum over segments of heat
over log-mean difference is UA over flow. It lies between that without any exchange, h_low(T_cold) - h_high(T_warm) - L,
and that of the pinch (`mixjt.circuit.pinch`).

The metal's heat. The recuperator's copper exchanges with each stream about twice as well as these with each other
through it, so that it follows them within C/(4 UA), half a minute, against hours of a cool-down: its mean temperature is
that of the profile and a little above,

    T_copper = mean over the length of (T_high + T_low)/2 + (heat from the copper)/(4 UA),

and through half the wall goes the heat of the high side, through the other half also the copper's: what counts for UA is
the mean of both. What the copper gives off enters the low side along the way, distributed as the drop below the
aftercooler's outlet was before, since that is how far each place cools if the profile keeps its shape. So while the cold end gives
off the heat E the copper gives off C (T_before - T_copper), and both flow at this ratio:

    heat of the copper / heat of all metal = share = C (T_before - T_copper) / (E + C (T_before - T_copper)).

The profile is warmer the more heat the copper gives off, so one share fits. Balances alone; cells of a counterflow
exchanger as in Incropera & DeWitt, Fundamentals of Heat and Mass Transfer (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.errors import ConvergenceError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.roots import root_between
from mixjt.fluid.states import State
from mixjt.parts.compressor.compression import CompressionResult
from mixjt.parts.hold_up import Passing
from mixjt.parts.insulation import NO_LEAK, Insulation, Leak, spread_leak
from mixjt.parts.recuperator.side import Ends, conductance_per_flow, length_shares

GRID = 56  # temperatures along each side, and
BENT, DIVIDED = 8, 4  # intervals that bend most, which are divided
ROUNDS, TABLED = 30, 4  # after so many rounds sides are not tabulated anew
SAME = 0.05  # J/mol, of the cooling between two rounds
SAME_PLACE = 0.5  # K, by which an end may move before pressures along a side are taken anew
NO_SPAN = 1e-3  # K, below which there is no recuperator
MOST_SHARE = 0.999


@dataclass(frozen=True, eq=False)
class SideTable:
    """One side: temperatures (m,) [K], ascending, enthalpies [J/mol] and what passes there."""

    temperatures: np.ndarray
    enthalpies: np.ndarray
    passing: Passing

    def enthalpy(self, temperatures) -> np.ndarray:
        """[J/mol]"""
        return np.interp(temperatures, self.temperatures, self.enthalpies)

    def temperature(self, enthalpies) -> np.ndarray:
        """[K]"""
        return np.interp(enthalpies, self.enthalpies, self.temperatures)


@dataclass(frozen=True, eq=False)
class Profile:
    """Heat through the wall from the cold end on [J/mol], and temperatures of both sides [K], each (m,)."""

    heat: np.ndarray
    high: np.ndarray
    low: np.ndarray

    @property
    def conductance(self) -> float:
        """UA over flow [J/(mol K)], infinite where the streams touch."""
        return conductance_per_flow(self.heat, self.high, self.low)

    @cached_property
    def length(self) -> np.ndarray:
        """Share of the length before each point (m,)."""
        if not self.heat[-1] > 0.0:
            return np.linspace(0.0, 1.0, self.heat.size)
        return length_shares([(self.heat, self.high, self.low)])

    @cached_property
    def mean_temperature(self) -> float:
        """Of both sides over the length [K]."""
        return float(np.trapezoid(0.5 * (self.high + self.low), self.length))


@dataclass(frozen=True, eq=False)
class CooledMetal:
    """What a machine cools on a step down: load [W] and end_heat [J], above 0, at the cold end, and the recuperator's metal.

    capacity [J/K] and temperature [K] are those of the recuperator's metal before the step, profile the recuperator's.
    """

    load: float
    end_heat: float
    capacity: float
    temperature: float
    profile: Profile

    def entered(self, temperatures) -> np.ndarray:
        """What share of the metal's heat enters the low side between the cold end and temperatures (m,) of the high side."""
        cold, warm = self.profile.low[0], self.profile.high[-1]
        places = (self.profile.high - cold) / (warm - cold)
        drop = spread_leak(Insulation(1.0, 0.0), warm, 1.0, cold, self.profile.length, places, self.profile.low)
        at = (temperatures - temperatures[0]) / (temperatures[-1] - temperatures[0])
        return drop.before(at) / drop.total if drop.total > 0.0 else at

    def misfit(self, share: float, mean: float) -> float:
        """Of a share that leads to a mean temperature [K]; rises with the share."""
        heat = self.capacity * max(self.temperature - mean, 0.0)
        return share * (self.end_heat + heat) - heat

    def after(self, share: float) -> float:
        """Temperature [K] of the recuperator's metal after a step with a share."""
        return self.temperature - self.end_heat * share / (1.0 - share) / self.capacity if share else self.temperature


@dataclass(frozen=True, eq=False)
class HeldRecuperator:
    """A recuperator at work: what leaves it and what it leaves to the evaporator.

    cooling is the heat that the evaporator takes up, from_metal that of the recuperator's metal [J/mol], whose
    temperature is then metal_temperature [K]; taken_up holds it and the leak.
    """

    cooling: float
    from_metal: float
    metal_temperature: float
    taken_up: Leak
    profile: Profile
    high: SideTable
    low: SideTable
    throttle_inlet: State
    compressor_inlet: State
    compression: CompressionResult

    @property
    def flow(self) -> float:
        """[mol/s]"""
        return self.compression.molar_flow

    @property
    def sides(self) -> tuple[tuple[Passing, np.ndarray], ...]:
        """What passes the high and the low side, with the share of the length before each place."""
        along = self.profile
        return tuple(
            (side.passing, np.interp(side.temperatures, found, along.length))
            for side, found in ((self.high, along.high), (self.low, along.low))
        )


@dataclass(frozen=True)
class Pressures:
    """At the ends of both sides [Pa]: throttle inlet, aftercooler outlet, evaporator, suction."""

    throttle: float
    cooled: float
    evaporator: float
    suction: float


def hold_recuperator(
    fluid: Fluid,
    circuit: ThrottleCircuit,
    pressures: Pressures,
    cold: float,
    conductance: float,
    compressed: Callable[[State], CompressionResult],
    metal: CooledMetal | None = None,
    near: HeldRecuperator | None = None,
) -> HeldRecuperator:
    """The greatest cooling of a recuperator of a conductance [W/K], infinity allowed.

    Flow, leak and pressures along the sides follow from the profile, and the profile from them, in rounds.

    Parameters
    ----------
    circuit : ThrottleCircuit
        Its temperatures at the warm end and its insulation count.
    cold : float
        Evaporator outlet [K].
    compressed : callable
        From the suction's state to what the compressor does with it.
    metal : CooledMetal, optional
        That gives off heat; none in a steady state.
    near : HeldRecuperator, optional
        To start from.

    Raises
    ------
    UnreachableError
        From `compressed`.
    ConvergenceError
    """
    warm, last = circuit.warm_temperature, near
    flow = near.flow if near else compressed(fluid.tp(warm, pressures.suction)).molar_flow
    ends = tables = None
    for turn in range(ROUNDS):
        wanted = _ends(pressures, cold, warm, last)
        if tables is None or (turn < TABLED and _apart(wanted, ends) > SAME_PLACE):
            ends, tables = wanted, [_table(fluid, one, cold, warm) for one in wanted]
        high, low = tables
        sides = _Sides(high, low, _leak(circuit, cold, flow, last), conductance / flow, flow, metal)
        share = sides.fitting_share()
        drawn = sides.drawn(share)
        cooling, from_metal = sides.load + (1.0 - share) * drawn, share * drawn
        taken_up = sides.taken_up(drawn, share)
        inlet = fluid.hp(low.enthalpies[0] - cooling - taken_up.at_cold_end, pressures.throttle)
        suction = fluid.hp(high.enthalpies[-1] + cooling + taken_up.total, pressures.suction)
        profile = sides.profile(drawn, share)
        temperature = metal.after(share) if share else profile.mean_temperature
        found = HeldRecuperator(
            cooling, from_metal, temperature, taken_up, profile, high, low, inlet, suction, compressed(suction)
        )
        moved = math.inf if last is None else abs(cooling - last.cooling)
        if moved < SAME and abs(found.flow / flow - 1.0) < 1e-4:
            return found
        last, flow = found, found.flow
    raise ConvergenceError("the recuperator of a settled machine", "try a slightly different cold end", temperature=cold)


def _ends(pressures: Pressures, cold: float, warm: float, last: HeldRecuperator | None) -> tuple[Ends, Ends]:
    inner = (cold, warm) if last is None else (last.throttle_inlet.temperature, last.compressor_inlet.temperature)
    return (
        Ends(min(max(inner[0], cold), warm), warm, pressures.throttle, pressures.cooled),
        Ends(cold, min(max(inner[1], cold), warm), pressures.evaporator, pressures.suction),
    )


def _apart(one: tuple[Ends, Ends], other: tuple[Ends, Ends]) -> float:
    return max(
        abs(one[0].cold_temperature - other[0].cold_temperature), abs(one[1].warm_temperature - other[1].warm_temperature)
    )


def _table(fluid: Fluid, ends: Ends, cold: float, warm: float) -> SideTable:
    """A side between two temperatures, closer where its enthalpy bends."""
    if warm - cold < NO_SPAN:
        state = fluid.tp(warm, ends.warm_pressure)
        return SideTable(np.array([warm]), np.array([state.enthalpy]), Passing.of(fluid, [state]))
    even = np.linspace(cold, warm, GRID)
    first = fluid.sweep(even, ends.pressure(even))
    bend = np.abs(np.diff(np.diff(first.enthalpy), prepend=0.0, append=0.0))
    bend[[0, -1]] = 0.0
    worst = np.argsort(bend[:-1] + bend[1:])[-BENT:]
    share = np.arange(1, DIVIDED) / DIVIDED
    more = np.sort((even[worst, None] + (even[1] - even[0]) * share).ravel())
    second = fluid.sweep(more, ends.pressure(more))
    temperatures = np.concatenate([even, more])
    order = np.argsort(temperatures)
    names = "enthalpy", "molar_volume", "liquid_volume", "liquid_amounts"
    enthalpies, *passing = (np.concatenate([getattr(first, name), getattr(second, name)])[order] for name in names)
    return SideTable(temperatures[order], np.maximum.accumulate(enthalpies), Passing(fluid, *passing))


def _leak(circuit: ThrottleCircuit, cold: float, flow: float, last: HeldRecuperator | None) -> Leak:
    """Through the circuit's insulation, spread over the last round's profile."""
    if circuit.insulation is None:
        return NO_LEAK
    if last is None:
        high = np.linspace(cold, circuit.warm_temperature, GRID)
        length, low = np.linspace(0.0, 1.0, GRID), high
    else:
        length, high, low = last.profile.length, last.profile.high, last.profile.low
    return spread_leak(circuit.insulation, circuit.ambient_temperature, flow, cold, length, high, low)


@dataclass(frozen=True, eq=False)
class _Sides:
    """Both sides, the leak and the metal that is cooled; conductance is over flow [J/(mol K)].

    What is drawn [J/mol] comes from all metal, a share of it from the recuperator's; in a steady state it is the cooling.
    """

    high: SideTable
    low: SideTable
    leak: Leak
    conductance: float
    flow: float
    metal: CooledMetal | None

    @property
    def load(self) -> float:
        """[J/mol]"""
        return self.metal.load / self.flow if self.metal else 0.0

    @cached_property
    def entered(self) -> np.ndarray:
        """What share of the heat of the recuperator's metal has entered at the high side's temperatures (m,)."""
        return self.metal.entered(self.high.temperatures) if self.metal else np.zeros(self.high.temperatures.size)

    @cached_property
    def exchange(self) -> Callable[[float, float], float]:
        """UA over flow [J/(mol K)] of the profile with a drawn heat and a share, infinite where the streams touch."""
        from mixjt.parts.recuperator.coil_engine import held_conductance

        high, low = self.high, self.low
        leaked = self.leak.before(high.temperatures)
        return held_conductance(
            high.temperatures, high.enthalpies, leaked, self.entered, low.temperatures, low.enthalpies, self.load
        )

    def taken_up(self, drawn: float, share: float) -> Leak:
        """What enters between the cold end and where the high side has its temperatures."""
        at = self.high.temperatures
        return Leak(at, self.leak.before(at) + share * drawn * self.entered)

    def fitting_share(self) -> float:
        """Of the recuperator's metal in what is drawn."""
        if self.metal is None or self.metal.capacity == 0.0 or not self.drawn(0.0) > 0.0:
            return 0.0
        exchanging = [0.0]

        def misfit(share: float) -> float:
            drawn = self.drawn(share)
            if drawn is None:
                return self.metal.misfit(share, self.high.temperatures[-1])
            exchanging.append(share)
            above = 0.25 * share * drawn / self.conductance
            return self.metal.misfit(share, self.profile(drawn, share).mean_temperature + above)

        if misfit(0.0) >= 0.0:
            return 0.0
        found = root_between(misfit, 0.0, MOST_SHARE, 1e-5)
        return max(share for share in exchanging if share <= found)

    def drawn(self, share: float) -> float | None:
        """None where that share leaves nothing to exchange."""
        least = (self.low.enthalpies[0] - self.high.enthalpies[-1] - self.load - self.leak.at_cold_end) / (1.0 - share)
        if self.high.temperatures.size == 1:
            return least
        room = self.low.enthalpy(self.high.temperatures) - self.high.enthalpies - self.load
        room -= self.leak.before(self.high.temperatures)
        most = float(np.min(room / (1.0 - share + share * self.entered)))
        least = max(least, 0.0) if share else least
        if not least < most:
            return None if share else most
        if math.isinf(self.conductance):
            return most

        def excess(drawn: float) -> float:
            found = self.exchange(drawn, share)
            return 0.5 if math.isinf(found) else found / (found + self.conductance) - 0.5

        if excess(most) <= 0.0:  # where tables are coarser than the pinch
            return most
        if excess(least) >= 0.0:
            return None if share else least
        return root_between(excess, least, most, 1e-3)

    def profile(self, drawn: float, share: float) -> Profile:
        """Where so much is drawn."""
        cooling, taken_up = self.load + (1.0 - share) * drawn, self.taken_up(drawn, share)
        inlet = min(self.low.enthalpies[0] - cooling - taken_up.at_cold_end, self.high.enthalpies[-1])
        back = self.low.enthalpies - (self.low.enthalpies[0] - inlet)  # sections at the low side's points but for the leak
        enthalpies = np.concatenate([[inlet], self.high.enthalpies, back])
        enthalpies = np.unique(np.clip(enthalpies, inlet, self.high.enthalpies[-1]))
        high = self.high.temperature(enthalpies)
        half = 0.5 * share * drawn * np.interp(high, self.high.temperatures, self.entered)
        return Profile(
            enthalpies - inlet + half, high, self.low.temperature(enthalpies + cooling + taken_up.before(high))
        )
