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

Assumptions besides those of `mixjt.circuit.throttle`: the separator divides completely and without pressure
drop; the liquid throttle lets down to the return's pressure; the junction is adiabatic. High-side pressure is
linear in temperature through both sections; low-side pressure is linear in each, and at the junction lies on
the straight line between the ends at the mean temperature of what enters from the cold and what leaves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mixjt.circuit import result as records
from mixjt.circuit.curves import pinch_curve
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.outcome import checked_blend
from mixjt.circuit.pinch import LeastDifference, enthalpy_difference, least_difference
from mixjt.circuit.result import PinchCurve
from mixjt.circuit.sections import solved_sections
from mixjt.circuit.separator_result import SeparatorResult, Split, separator_outcome
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.states import PropertyModel, State
from mixjt.keys import key
from mixjt.parts.compressor.compression import compress
from mixjt.parts.recuperator.side import Side
from mixjt.parts.recuperator.streams import SideBySide, side_by_side

DROP_ROUNDS = 30
FREE_ROUNDS = 2  # after which the intermediate temperature stays while the pressure profile settles
SHORTEST = 0.5  # K, of a section while the intermediate temperature is looked for
LITTLE_LIQUID = 1e-9  # mol/mol; less counts as none
CROSSING_TOLERANCE = 1e-3  # K
SAME_COOLING = 1e-6  # relative
SCANNED = 96  # intermediate temperatures looked at first
BETWEEN, MOST_LOOKS = 12, 6  # more of them between the two that enclose the best, and how often
MOST_ROUNDS, LOWERED = 3, 2e-5  # of looking for it again, where a pinch between points lowers the cooling by more than that share


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

    def __post_init__(self):
        super().__post_init__()
        between, (coldest, warmest) = self.intermediate_temperature, self.span
        if between is not None and not coldest < between < warmest:
            raise InputError(
                f"an intermediate temperature of {between:.5g} K makes no sense: it must be above the cold end and its "
                f"approach ({coldest:.5g} K) and below the separator ({warmest:.5g} K)"
            )


@dataclass(frozen=True)
class _Pressures:
    """Ends of the sides: where the high side is at its coldest, and the low side at junction and suction."""

    throttle: float  # K
    suction: float  # K
    before: float  # K, return that reaches the junction
    after: float  # K, return that leaves it
    junction: float  # Pa


@dataclass(frozen=True)
class _Sides:
    """High and low side of both sections; plain_high is the pressure profile of the high side."""

    plain_high: Side
    cold_high: SideBySide
    cold_low: SideBySide
    warm_high: SideBySide
    warm_low: SideBySide


@dataclass(frozen=True)
class _Solution:
    split: Split
    sides: _Sides
    cooling: float
    between: float  # K
    cold_pinch: float
    warm_pinch: float
    places: dict[str, State]


def solve_separator_circuit(
    model: PropertyModel, z, circuit: SeparatorCircuit, points: int = 64
) -> SeparatorResult:
    """Solve a circuit with a phase separator for its greatest cooling at the stated recuperator approach.

    Parameters
    ----------
    model : PropertyModel
    z : array (c,)
        Mole fractions of the blend that the compressor moves.
    circuit : SeparatorCircuit
    points : int
        Temperatures in the first sweep of each side and in the curves; at least 8.

    Raises
    ------
    InputError
        For mole fractions that are not a blend.
    UnreachableError
        Where nothing stays vapour in the separator, the blend does not cool, or the compressor moves no gas.
    ConvergenceError
        Where a state cannot be found, or a finished section undercuts its approach.
    """
    z = checked_blend(model, z)
    if points < 8:
        raise InputError(f"a circuit needs at least 8 grid points, got {points}")

    def solve(grid: int) -> tuple[_Solution, tuple[PinchCurve, ...]]:
        solution = _greatest(model, z, circuit, grid)
        return solution, _sections(model, solution, grid)

    solution, sections = solved_sections(solve, circuit.recuperator_approach, points)
    suction = solution.places[records.COMPRESSOR_INLET]
    compression = compress(model, z, suction, circuit.discharge_pressure, circuit.compressor)
    places = {**solution.places, records.COMPRESSOR_OUTLET: compression.discharge}
    return separator_outcome(
        model, z, circuit, solution.cooling, solution.between, compression, places, solution.split, sections, points
    )


def separated(model: PropertyModel, z, circuit: SeparatorCircuit) -> Split:
    """What the separator makes of the blend that reaches it.

    Raises
    ------
    UnreachableError
        Where it all condenses.
    """
    state = model.state_tp(z, circuit.warm_temperature, circuit.aftercooler_pressure)
    vapour = [phase for phase in state.phases if phase.kind != "liquid"]
    liquid = sum(phase.fraction for phase in state.liquids)
    if not vapour:
        raise UnreachableError(
            f"all of the blend is liquid in the separator at {circuit.warm_temperature:.5g} K and "
            f"{circuit.aftercooler_pressure / 1e5:.4g} bar: no vapour is left to reach the cold end; use a warmer "
            "separator, a lower discharge pressure or more of the light gases"
        )
    if liquid < LITTLE_LIQUID:
        return Split(state, 1.0, np.asarray(z, dtype=float), 0.0, None)
    y = vapour[0].composition / vapour[0].composition.sum()
    x = sum(phase.fraction * phase.composition for phase in state.liquids)
    return Split(state, 1.0 - liquid, y, liquid, x / x.sum())


def separator_cooling(model: PropertyModel, z, circuit: SeparatorCircuit, points: int) -> float:
    """Cooling [J/mol] on a fixed grid, for searches and for comparing property models; may be negative.

    Kinks between grid points are missed and pressure profiles are those of the widest sections; see
    `greatest_cooling` of `mixjt.circuit.capacity` for the same on a plain circuit.
    """
    split = separated(model, z, circuit)
    sides = _sides(circuit, split, z, _first_pressures(circuit))
    grid, between = np.linspace(*circuit.span, points), circuit.intermediate_temperature
    if between is not None:
        grid = np.union1d(grid, [between])
    approach = circuit.recuperator_approach
    cold = enthalpy_difference(model, None, sides.cold_high, sides.cold_low, approach, grid)
    warm = enthalpy_difference(model, None, sides.warm_high, sides.warm_low, approach, grid)
    cooling = np.minimum(np.minimum.accumulate(cold), np.minimum.accumulate(warm[::-1])[::-1])
    return float(cooling.max() if between is None else cooling[np.searchsorted(grid, between)])


def _greatest(model, z, circuit: SeparatorCircuit, points: int) -> _Solution:
    """Find the intermediate temperature and both pinches; with pressure drops, repeat until they settle."""
    split = separated(model, z, circuit)
    ends = _first_pressures(circuit)
    before, held = math.inf, circuit.intermediate_temperature
    for turn in range(DROP_ROUNDS):
        sides = _sides(circuit, split, z, ends)
        between, cold, warm = _pinches(model, circuit, sides, held, points)
        if turn >= FREE_ROUNDS:
            held = between  # else it may step to and fro between two pressure profiles
        cooling = min(cold.minimum, warm.minimum)
        if not cooling > 0.0:
            raise UnreachableError(_no_cooling(circuit, cold, warm))
        places = _places(model, z, circuit, split, sides, cooling, between, ends.junction)
        found = _pressures(circuit, places)
        settled = abs(cooling - before) <= SAME_COOLING * cooling or not (circuit.high_side_drop or circuit.low_side_drop)
        if settled:
            return _Solution(split, sides, cooling, between, cold.temperature, warm.temperature, places)
        before, ends = cooling, found
    raise ConvergenceError("the pressure profile of the recuperator", "try slightly different pressures or pressure drops")


def _first_pressures(circuit: SeparatorCircuit) -> _Pressures:
    coldest, warmest = circuit.span
    low_warm = warmest - circuit.recuperator_approach
    middle = circuit.intermediate_temperature or 0.5 * (coldest + warmest)
    between = middle - circuit.recuperator_approach
    return _Pressures(coldest, low_warm, between, between, _junction_pressure(circuit, low_warm, between))


def _pressures(circuit: SeparatorCircuit, places: dict[str, State]) -> _Pressures:
    """The ends that a solution leads to."""
    suction = places[records.COMPRESSOR_INLET].temperature
    before, after = (places[at].temperature for at in (records.JUNCTION_INLET, records.JUNCTION_OUTLET))
    junction = _junction_pressure(circuit, suction, 0.5 * (before + after))
    return _Pressures(places[records.THROTTLE_INLET].temperature, suction, before, after, junction)


def _junction_pressure(circuit: SeparatorCircuit, suction: float, at: float) -> float:
    low = Side(circuit.cold_temperature, suction, circuit.evaporator_pressure, circuit.suction_pressure)
    return float(low.pressure(at))


def _sides(circuit: SeparatorCircuit, split: Split, z, ends: _Pressures) -> _Sides:
    high = Side(ends.throttle, circuit.warm_temperature, circuit.throttle_pressure, circuit.aftercooler_pressure)
    cold_low = Side(circuit.cold_temperature, ends.before, circuit.evaporator_pressure, ends.junction)
    warm_low = Side(ends.after, ends.suction, ends.junction, circuit.suction_pressure)
    vapour = (split.vapour_flow, split.y)
    liquid = (split.liquid_flow, split.y if split.x is None else split.x)
    return _Sides(
        plain_high=high,
        cold_high=side_by_side(high, vapour),
        cold_low=side_by_side(cold_low, vapour),
        warm_high=side_by_side(high, vapour, liquid),
        warm_low=side_by_side(warm_low, (1.0, z)),
    )


def _pinches(model, circuit: SeparatorCircuit, sides: _Sides, between: float | None, points: int):
    """Intermediate temperature [K], looked for where none is given, and least difference of the cold and of the warm section."""
    (coldest, warmest), approach = circuit.span, circuit.recuperator_approach

    def pinched(between: float) -> tuple[LeastDifference, LeastDifference]:
        cold = least_difference(model, None, sides.cold_high, sides.cold_low, approach, (coldest, between), points)
        return cold, least_difference(model, None, sides.warm_high, sides.warm_low, approach, (between, warmest), points)

    if between is not None:
        return between, *pinched(between)
    curves = _Curves(model, circuit, sides, np.linspace(coldest, warmest, SCANNED))
    for _ in range(MOST_ROUNDS):
        between, promised = curves.best()
        cold, warm = pinched(between)
        if min(cold.minimum, warm.minimum) >= promised - LOWERED * abs(promised):
            break
        curves.add(np.array([cold.temperature, warm.temperature]))  # a pinch between two points lowers its curve
    return between, cold, warm


class _Curves:
    """Differences of the cold and of the warm section at the same high-side temperatures, ascending.

    The cold section allows the least of its differences below the intermediate temperature, the warm one the least of its above.
    """

    def __init__(self, model, circuit: SeparatorCircuit, sides: _Sides, temperatures: np.ndarray):
        self.model, self.circuit, self.sides, self.temperatures = model, circuit, sides, temperatures
        self.differences = self._at(temperatures)

    def best(self) -> tuple[float, float]:
        """The intermediate temperature of the greatest cooling, and that cooling; see the head of the module."""
        coldest, warmest = self.circuit.span[0] + SHORTEST, self.circuit.span[1] - SHORTEST
        if not coldest < warmest:
            raise UnreachableError(
                f"{self.circuit.span[0]:.5g} K to {self.circuit.span[1]:.5g} K leaves no room for two recuperator sections"
            )
        for _ in range(MOST_LOOKS):
            cold, warm = self.differences
            falling, rising = np.minimum.accumulate(cold), np.minimum.accumulate(warm[::-1])[::-1]
            after = int(np.argmax(np.append(rising - falling, np.inf) >= 0.0))
            ends = self.temperatures[np.clip([after - 1, after], 0, self.temperatures.size - 1)]
            if ends[1] - ends[0] <= CROSSING_TOLERANCE:
                break
            self.add(np.linspace(*ends, BETWEEN + 2)[1:-1])
        lowest, best = float(np.clip(ends[1], coldest, warmest)), np.minimum(falling, rising).max()
        kept = (falling >= best - SAME_COOLING * abs(best)) & (self.temperatures > lowest) & (self.temperatures < warmest)
        return 0.5 * (lowest + float(self.temperatures[kept].max(initial=lowest))), float(best)

    def add(self, temperatures: np.ndarray) -> None:
        """Look there too."""
        together = np.concatenate([self.temperatures, temperatures])
        self.temperatures, kept = np.unique(together, return_index=True)
        self.differences = np.hstack([self.differences, self._at(temperatures)])[:, kept]

    def _at(self, temperatures: np.ndarray) -> np.ndarray:
        pairs = (self.sides.cold_high, self.sides.cold_low), (self.sides.warm_high, self.sides.warm_low)
        approach = self.circuit.recuperator_approach
        return np.array([enthalpy_difference(self.model, None, *pair, approach, temperatures) for pair in pairs])


def _places(model, z, circuit, split: Split, sides: _Sides, cooling, between: float, junction: float):
    """All states in flow order but the compressor outlet, which is filled in later."""
    warm = circuit.warm_temperature
    vapour_flow, liquid_flow = split.vapour_flow, split.liquid_flow
    evaporated = model.state_tp(split.y, circuit.cold_temperature, circuit.evaporator_pressure)
    throttle = model.state_hp(split.y, evaporated.enthalpy - cooling / vapour_flow, circuit.throttle_pressure)
    at_junction = float(sides.plain_high.pressure(between))
    vapour_between = model.state_tp(split.y, between, at_junction)
    returned = vapour_between.enthalpy + cooling / vapour_flow
    before = model.state_hp(split.y, returned, junction)
    into_warm = vapour_flow * returned
    places = {
        records.COMPRESSOR_INLET: None,
        records.COMPRESSOR_OUTLET: None,
        records.AFTERCOOLER_OUTLET: split.state,
        records.SEPARATED_VAPOUR: model.state_tp(split.y, warm, circuit.aftercooler_pressure),
        records.VAPOUR_BETWEEN: vapour_between,
        records.THROTTLE_INLET: throttle,
        records.THROTTLE_OUTLET: model.state_hp(split.y, throttle.enthalpy, circuit.evaporator_pressure),
        records.EVAPORATOR_OUTLET: evaporated,
        records.JUNCTION_INLET: before,
    }
    entering = vapour_flow * places[records.SEPARATED_VAPOUR].enthalpy
    if liquid_flow > 0.0:
        drawn = model.state_tp(split.x, warm, circuit.aftercooler_pressure)
        subcooled = model.state_tp(split.x, between, at_junction)
        places[records.SEPARATED_LIQUID] = drawn
        places[records.LIQUID_THROTTLE_INLET] = subcooled
        places[records.LIQUID_THROTTLE_OUTLET] = model.state_hp(split.x, subcooled.enthalpy, junction)
        entering += liquid_flow * drawn.enthalpy
        into_warm += liquid_flow * subcooled.enthalpy
    places[records.JUNCTION_OUTLET] = model.state_hp(z, into_warm, junction) if liquid_flow > 0.0 else before
    places[records.COMPRESSOR_INLET] = model.state_hp(z, entering + cooling, circuit.suction_pressure)
    return places


@dataclass(frozen=True)
class _End:
    """Temperature and enthalpy of all streams at the end of a section."""

    temperature: float
    enthalpy: float


def _sections(model, solution: _Solution, points: int) -> tuple[PinchCurve, ...]:
    """The cold section, then the warm one."""
    places, split, sides = solution.places, solution.split, solution.sides

    def end(*streams: tuple[float, str]) -> _End:
        there = [(flow, places[at]) for flow, at in streams if flow > 0.0]
        return _End(there[0][1].temperature, sum(flow * state.enthalpy for flow, state in there))

    vapour, liquid = split.vapour_flow, split.liquid_flow
    cold = pinch_curve(
        model, None, sides.cold_high, sides.cold_low,
        (end((vapour, records.THROTTLE_INLET)), end((vapour, records.VAPOUR_BETWEEN))),
        (end((vapour, records.EVAPORATOR_OUTLET)), end((vapour, records.JUNCTION_INLET))),
        solution.cold_pinch, points,
    )  # fmt: skip
    warm = pinch_curve(
        model, None, sides.warm_high, sides.warm_low,
        (end((vapour, records.VAPOUR_BETWEEN), (liquid, records.LIQUID_THROTTLE_INLET)),
         end((vapour, records.SEPARATED_VAPOUR), (liquid, records.SEPARATED_LIQUID))),
        (end((1.0, records.JUNCTION_OUTLET)), end((1.0, records.COMPRESSOR_INLET))),
        solution.warm_pinch, points,
    )  # fmt: skip
    return cold, warm


def _no_cooling(circuit: SeparatorCircuit, cold: LeastDifference, warm: LeastDifference) -> str:
    name, least = ("cold", cold) if cold.minimum <= warm.minimum else ("warm", warm)
    return (
        f"no cooling at {circuit.cold_temperature:.5g} K: at the pinch of the {name} section, where the high side has "
        f"{least.temperature:.5g} K, the circuit falls short by {-least.minimum:.4g} J/mol; try a warmer cold end, a "
        "wider pressure ratio, or more of a gas that boils near the pinch temperature"
    )
