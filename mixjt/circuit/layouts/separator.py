"""The throttle circuit with a phase separator behind the aftercooler.

What has condensed in the aftercooler, or in a partial condenser at a stated temperature, is drawn off. The
recuperator has a warm and a cold section, which meet where the high side has the intermediate temperature T_m:

    vapour (V moles of y)   separator -> warm section -> cold section -> throttle -> evaporator -> cold section
    liquid (L moles of x)   separator -> warm section -> liquid throttle
    both                    junction -> warm section, low side -> compressor

per mole of blend z = V y + L x. In the warm section vapour and liquid run side by side at one temperature.
With H(T) = V h_y + L h_x of the high-pressure streams and h the low-pressure enthalpies, energy balances from
the cold end to any section, with q the cooling per mole of blend, give

    cold section   q = V (h_y,low - h_y,high)   <=  min of V [h_y,low(T - a) - h_y,high(T)] over [T_cold + a, T_m]
    warm section   q = h_z,low - H              <=  min of h_z,low(T - a) - H(T)            over [T_m, T_sep]

The first bound falls with T_m and the second rises: the greatest cooling is where they cross. Where a whole
stretch of T_m gives it, the middle of the stretch is taken, so that neither section pinches at the junction.
Without liquid this is the plain circuit. Energy balances alone; no outside source is needed.

Assumptions besides those of `mixjt.circuit.solve`: the separator divides completely and without pressure
drop; the liquid throttle lets down to the return's pressure; the junction is adiabatic. High-side pressure is
linear in temperature through both sections; low-side pressure is linear in each, and at the junction lies on
the straight line between the ends at the mean temperature of what enters from the cold and what leaves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.curves import difference_curve
from mixjt.circuit.layout import Choice, Layout, Solution
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.pinch import LeastDifference
from mixjt.circuit.result import CircuitResult, DifferenceCurve, PinchCurve
from mixjt.circuit.section import Leg, Section, section
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.keys import key
from mixjt.parts import places
from mixjt.parts.recuperator.side import Ends, Stream

FREE_ROUNDS = 2  # after which the intermediate temperature stays while the pressure profile settles
SHORTEST = 0.5  # K, of a section while the intermediate temperature is looked for
LITTLE_LIQUID = 1e-9  # mol/mol; less counts as none
CLOSER, CLOSER_POINTS = 2, 33  # looks at where two sections cross, each at so many temperatures between two of the last
SAME_COOLING = 1e-6  # relative
SCANNED = 96  # intermediate temperatures looked at first
COLD, WARM = "cold recuperator", "warm recuperator"
SEPARATING, JUNCTION, LIQUID_THROTTLE = "separator", "junction", "liquid throttle"


@dataclass(frozen=True)
class SeparatorCircuit(ThrottleCircuit):
    """A throttle circuit with a separator at the aftercooler outlet; see `ThrottleCircuit`.

    Parameters
    ----------
    intermediate_temperature : float, optional
        High-side temperature where the sections meet [K]; found for the greatest cooling where it is None.

    Raises
    ------
    InputError
        Also where it does not lie between the cold end and the separator.
    """

    intermediate_temperature: float | None = key(
        "temperature", "of the high side where the liquid joins the return", at="separator.intermediate_temperature",
        default=None, within="[60, 400]", otherwise="the best",
    )

    three_streams = "with a separator three run side by side in the warm section: vapour, liquid and the return of both"

    def __post_init__(self):
        super().__post_init__()
        between, (coldest, warmest) = self.intermediate_temperature, self.span
        if between is not None and not coldest < between < warmest:
            raise InputError(
                f"an intermediate temperature of {between:.5g} K makes no sense: it must be above the cold end and its "
                f"approach ({coldest:.5g} K) and below the separator ({warmest:.5g} K)"
            )

    def as_solved(self, result: SeparatorResult) -> SeparatorCircuit:
        """Also with the intermediate temperature found."""
        return replace(super().as_solved(result), intermediate_temperature=result.intermediate_temperature)


@dataclass(frozen=True)
class Split:
    """What a separator makes of a blend: state as it enters, moles and mole fractions of vapour and liquid.

    Flows are per mole of blend; x is None where there is no liquid.
    """

    state: State
    vapour_flow: float
    y: np.ndarray
    liquid_flow: float
    x: np.ndarray | None


@dataclass(frozen=True)
class SeparatorResult(CircuitResult):
    """A circuit with a phase separator solved for its greatest cooling.

    All molar quantities are per mole of blend that the compressor moves. vapour_fraction is what leaves the
    separator as vapour, of vapour_composition (c,), and reaches the cold end; the rest, of liquid_composition,
    joins the return at intermediate_temperature [K] of the high side. pinch holds both sections one after
    the other; sections holds the cold one and the warm one. difference is that of the vapour, per mole of
    blend, from the cold end to the intermediate temperature. Dew and bubble points are the blend's.
    """

    intermediate_temperature: float = math.nan
    vapour_fraction: float = 1.0
    vapour_composition: np.ndarray | None = None
    liquid_composition: np.ndarray | None = None
    sections: tuple[PinchCurve, ...] = ()


@dataclass(frozen=True)
class SeparatorChoice(Choice):
    """Cooling, and the high-side temperature where the sections meet [K]."""

    between: float


class Separator(Layout):
    """The circuit with a separator with a blend in it."""

    kind = SeparatorResult

    def __init__(self, fluid: Fluid, circuit: SeparatorCircuit):
        super().__init__(fluid, circuit)
        self.split = separated(self.cooled, circuit)
        self.vapour = Stream(fluid.of(self.split.y), self.split.vapour_flow)
        self.liquid = Stream(fluid if self.split.x is None else fluid.of(self.split.x), self.split.liquid_flow)

    def behind(self, approach: float) -> Separator:
        """The same with another approach of the aftercooler, and so other streams."""
        return Separator(self.fluid, replace(self.circuit, aftercooler_approach=approach))

    def sections(self, last: Solution | None) -> tuple[Section, Section]:
        """The cold and the warm one, each over the whole span, with the pressure profile of the last round's ends."""
        circuit, leak = self.circuit, self.leak(last)
        throttle, before, after, suction = self._temperatures(last)
        return_side = Ends(circuit.cold_temperature, suction, circuit.evaporator_pressure, circuit.suction_pressure)
        junction = float(return_side.pressure(0.5 * (before + after)))
        high = Ends(throttle, circuit.warm_temperature, circuit.throttle_pressure, circuit.aftercooler_pressure)
        cold_low = Ends(circuit.cold_temperature, before, circuit.evaporator_pressure, junction)
        warm_low = Ends(after, suction, junction, circuit.suction_pressure)
        vapour, liquid = replace(self.vapour, ends=high), replace(self.liquid, ends=high)
        cold = section(
            COLD,
            [(places.VAPOUR_BETWEEN, places.THROTTLE_INLET, vapour)],
            [(places.EVAPORATOR_OUTLET, places.JUNCTION_INLET, replace(self.vapour, ends=cold_low))],
            circuit.span,
            leak,
        )
        warm = section(
            WARM,
            [
                (places.SEPARATED_VAPOUR, places.VAPOUR_BETWEEN, vapour),
                (places.SEPARATED_LIQUID, places.LIQUID_THROTTLE_INLET, liquid),
            ],
            [(places.JUNCTION_OUTLET, places.COMPRESSOR_INLET, replace(self.blend, ends=warm_low))],
            circuit.span,
            leak,
        )
        return cold, warm

    def _temperatures(self, last: Solution | None) -> tuple[float, float, float, float]:
        """Of the throttle inlet, of the return before and after the junction, of the suction [K]."""
        if last is not None:
            ends = (places.THROTTLE_INLET, places.JUNCTION_INLET, places.JUNCTION_OUTLET, places.COMPRESSOR_INLET)
            return tuple(last.states[place].temperature for place in ends)
        coldest, warmest = self.circuit.span
        approach = self.circuit.recuperator_approach
        between = (self.circuit.intermediate_temperature or 0.5 * (coldest + warmest)) - approach
        return coldest, between, between, warmest - approach

    def grid_cooling(self, points: int) -> float:
        """The lesser of both sections' at the intermediate temperature stated, or where that is greatest."""
        cold, warm = self.sections(None)
        grid, between = np.linspace(*self.circuit.span, points), self.circuit.intermediate_temperature
        if between is not None:
            grid = np.union1d(grid, [between])
        cooling = np.minimum(*_allowed(cold, warm, self.circuit.recuperator_approach, grid))
        return float(cooling.max() if between is None else cooling[np.searchsorted(grid, between)])

    def choose(self, points: int, last: Solution | None, turn: int) -> tuple[tuple[Section, ...], SeparatorChoice]:
        """The intermediate temperature, where none is stated, and both pinches."""
        circuit, (cold, warm) = self.circuit, self.sections(last)
        (coldest, warmest), approach = circuit.span, circuit.recuperator_approach

        def cold_least(between: float) -> LeastDifference:
            return cold.least(approach, points, (coldest, between))

        def warm_least(between: float) -> LeastDifference:
            return warm.least(approach, points, (between, warmest))

        between = circuit.intermediate_temperature
        if between is None and turn > FREE_ROUNDS:
            between = last.choice.between  # else it may step to and fro between two pressure profiles
        if between is None:
            grid = np.linspace(coldest, warmest, SCANNED)
            falling, rising = _allowed(cold, warm, approach, grid)
            between = _best_between(circuit, (cold, warm), cold_least, warm_least, grid, falling, rising)
        found = cold_least(between), warm_least(between)
        cooling = min(one.minimum for one in found)
        if not cooling > 0.0:
            raise UnreachableError(_no_cooling(circuit, *found))
        return (cold, warm), SeparatorChoice(cooling, tuple(one.temperature for one in found), between)

    def states(self, sections: tuple[Section, ...], choice: SeparatorChoice) -> dict[str, State]:
        """By the energy balances from the cold end, of vapour, liquid and both."""
        circuit, (cold, warm), between = self.circuit, sections, choice.between
        vapour, flow, leak = self.vapour.fluid, self.vapour.flow, cold.leak
        high, junction = cold.high_side.ends, warm.low_side.ends.cold_pressure
        evaporated = vapour.tp(circuit.cold_temperature, circuit.evaporator_pressure)
        throttle = vapour.hp(evaporated.enthalpy - (choice.cooling + leak.at_cold_end) / flow, circuit.throttle_pressure)
        vapour_between = vapour.tp(between, float(high.pressure(between)))
        gained = choice.cooling + float(leak.before(between))
        before = vapour.hp(vapour_between.enthalpy + gained / flow, junction)
        found = {
            places.COMPRESSOR_INLET: None,
            places.AFTERCOOLER_OUTLET: self.cooled,
            places.SEPARATED_VAPOUR: vapour.tp(circuit.warm_temperature, circuit.aftercooler_pressure),
            places.VAPOUR_BETWEEN: vapour_between,
            places.THROTTLE_INLET: throttle,
            places.THROTTLE_OUTLET: vapour.hp(throttle.enthalpy, circuit.evaporator_pressure),
            places.EVAPORATOR_OUTLET: evaporated,
            places.JUNCTION_INLET: before,
        }
        entering, into_warm = flow * found[places.SEPARATED_VAPOUR].enthalpy, flow * before.enthalpy
        if self.liquid.flow > 0.0:
            drawn = self.liquid.fluid.tp(circuit.warm_temperature, circuit.aftercooler_pressure)
            subcooled = self.liquid.fluid.tp(between, float(high.pressure(between)))
            found[places.SEPARATED_LIQUID] = drawn
            found[places.LIQUID_THROTTLE_INLET] = subcooled
            found[places.LIQUID_THROTTLE_OUTLET] = self.liquid.fluid.hp(subcooled.enthalpy, junction)
            entering += self.liquid.flow * drawn.enthalpy
            into_warm += self.liquid.flow * subcooled.enthalpy
        found[places.JUNCTION_OUTLET] = self.fluid.hp(into_warm, junction) if self.liquid.flow > 0.0 else before
        found[places.COMPRESSOR_INLET] = self.fluid.hp(entering + choice.cooling + leak.total, circuit.suction_pressure)
        return found

    def legs(self, solution: Solution) -> tuple[Leg, ...]:
        """Vapour to the cold end, liquid to the junction, both back to the compressor."""
        cold, warm = solution.sections
        liquid = self.liquid.flow > 0.0
        parting = [Leg(SEPARATING, None, places.SEPARATED_VAPOUR, self.vapour)]
        meeting = [Leg(JUNCTION, places.JUNCTION_INLET, None, self.vapour)]
        throttled = []
        if liquid:
            parting.append(Leg(SEPARATING, None, places.SEPARATED_LIQUID, self.liquid))
            throttled.append(Leg(LIQUID_THROTTLE, places.LIQUID_THROTTLE_INLET, places.LIQUID_THROTTLE_OUTLET, self.liquid))
            meeting.append(Leg(JUNCTION, places.LIQUID_THROTTLE_OUTLET, None, self.liquid))
        return (
            *self.shaft_legs(),
            Leg(SEPARATING, places.AFTERCOOLER_OUTLET, None, self.blend),
            *parting,
            *warm.high,
            *cold.high,
            *self.cold_legs(self.vapour),
            *cold.low,
            *throttled,
            *meeting,
            Leg(JUNCTION, None, places.JUNCTION_OUTLET, self.blend),
            *warm.low,
        )

    def difference(self, solution: Solution, points: int) -> DifferenceCurve:
        """Of the vapour, per mole of blend, from the cold end to the intermediate temperature."""
        circuit, flow = self.circuit, self.vapour.flow
        span = (circuit.cold_temperature, solution.choice.between)
        curve = difference_curve(self.vapour.fluid, circuit.suction_pressure, circuit.discharge_pressure, span, points)
        return replace(curve, difference=flow * curve.difference, minimum=flow * curve.minimum)

    def more(self, solution: Solution, curves: tuple[PinchCurve, ...]) -> dict:
        """What the separator makes of the blend."""
        return {
            "intermediate_temperature": solution.choice.between,
            "vapour_fraction": self.split.vapour_flow,
            "vapour_composition": self.split.y,
            "liquid_composition": self.split.x,
            "sections": curves,
        }

    def notes(self, solution: Solution, curves: tuple[PinchCurve, ...]) -> tuple[str, ...]:
        """Where the separator has nothing to part."""
        return () if self.split.x is not None else ("nothing condenses before the separator: the circuit is a plain one",)


def separated(state: State, circuit: SeparatorCircuit) -> Split:
    """What the separator makes of the blend that reaches it in a state.

    Raises
    ------
    UnreachableError
        Where it all condenses.
    """
    vapour = [phase for phase in state.phases if phase.kind != "liquid"]
    liquid = sum(phase.fraction for phase in state.liquids)
    if not vapour:
        raise UnreachableError(
            f"all of the blend is liquid in the separator at {circuit.warm_temperature:.5g} K and "
            f"{circuit.aftercooler_pressure / 1e5:.4g} bar: no vapour is left to reach the cold end; use a warmer "
            "separator, a lower discharge pressure or more of the light gases"
        )
    if liquid < LITTLE_LIQUID:
        return Split(state, 1.0, state.composition, 0.0, None)
    y = vapour[0].composition / vapour[0].composition.sum()
    x = sum(phase.fraction * phase.composition for phase in state.liquids)
    return Split(state, 1.0 - liquid, y, liquid, x / x.sum())


def _allowed(cold: Section, warm: Section, approach: float, grid: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What the cold and the warm section allow on a grid of intermediate temperatures [J/mol]; the first falls, the second rises."""
    falling = np.minimum.accumulate(cold.difference(approach, grid))
    rising = warm.difference(approach, grid)
    return falling, np.minimum.accumulate(rising[::-1])[::-1]


def _best_between(circuit: SeparatorCircuit, sections, cold, warm, grid, falling, rising) -> float:
    """The intermediate temperature of the greatest cooling; see the head of the module.

    falling and rising are what the cold and the warm section allow on a grid of intermediate temperatures.
    """
    coldest, warmest = circuit.span[0] + SHORTEST, circuit.span[1] - SHORTEST
    if not coldest < warmest:
        raise UnreachableError(
            f"{circuit.span[0]:.5g} K to {circuit.span[1]:.5g} K leaves no room for two recuperator sections"
        )
    after = int(np.argmax(np.append(rising - falling, np.inf) >= 0.0))
    low, high = (float(np.clip(grid[min(max(k, 0), grid.size - 1)], coldest, warmest)) for k in (after - 1, after))
    lowest = low
    if low < high:
        lowest = _crossing(sections, circuit.recuperator_approach, (low, high), (cold(low).minimum, warm(high).minimum))
    best = min(cold(lowest).minimum, warm(lowest).minimum)
    kept = grid[(falling >= best - SAME_COOLING * abs(best)) & (grid > lowest) & (grid < warmest)]
    return 0.5 * (lowest + float(kept.max(initial=lowest)))


def _crossing(sections, approach: float, span: tuple[float, float], bounds: tuple[float, float]) -> float:
    """Where the warm section allows as much as the cold one within a span [K]; an end where it always or never does.

    bounds [J/mol] are what the cold section allows up to the span and the warm one beyond it.
    """
    (low, high), (cold, warm) = span, bounds
    for _ in range(CLOSER):
        grid = np.linspace(low, high, CLOSER_POINTS)
        falling, rising = _allowed(*sections, approach, grid)
        falling, rising = np.minimum(falling, cold), np.minimum(rising, warm)
        ahead = rising - falling
        if not (ahead[0] < 0.0 < ahead[-1] and np.all(np.isfinite(ahead))):  # a state that is lost shows at the pinches
            return float(grid[-1] if ahead[-1] <= 0.0 else grid[0])
        after = int(np.argmax(ahead >= 0.0))
        low, high, cold, warm = grid[after - 1], grid[after], falling[after - 1], rising[after]
    return float(low + (high - low) * ahead[after - 1] / (ahead[after - 1] - ahead[after]))


def _no_cooling(circuit: SeparatorCircuit, cold: LeastDifference, warm: LeastDifference) -> str:
    name, least = ("cold", cold) if cold.minimum <= warm.minimum else ("warm", warm)
    return (
        f"no cooling at {circuit.cold_temperature:.5g} K: at the pinch of the {name} section, where the high side has "
        f"{least.temperature:.5g} K, the circuit falls short by {-least.minimum:.4g} J/mol; try a warmer cold end, a "
        "wider pressure ratio, or more of a gas that boils near the pinch temperature"
    )
