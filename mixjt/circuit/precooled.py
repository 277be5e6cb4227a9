"""The throttle circuit whose high side a vapour-compression stage precools.

The recuperator has two sections. In flow order of the high side:

    aftercooler -> warm section -> precooler -> cold section -> throttle -> evaporator

and the low side runs back through the cold and then the warm section, so that the cold it still has at the
precooler is not lost to the compressor. With D(T) = h_low(T - a) - h_high(T) (see `mixjt.circuit.pinch`), q
the cooling and q_pre the precooler's heat, energy balances from the cold end give

    cold section   q         = h_low - h_high   <=  min of D over [T_cold + a, T_pre]
    warm section   q - q_pre = h_low - h_high   <=  min of D over [T_in, T_warm]

where the high side enters the precooler at T_in and leaves it at T_pre. Taking q at its greatest and q_pre
at its least,

    q = min over [T_cold + a, T_pre] of D,     q_pre = max(0, q - min over [T_pre, T_warm] of D).

The last minimum may be taken from T_pre instead of T_in: where it lies, at T*, h_low(T* - a) is
h_high(T_pre) + q - q_pre + (h_high(T*) - h_high(T_pre)), and as the low side leaves the cold section at most
at T_pre - a, T_in <= T*.

A circuit may do without the warm section: then the precooler takes up all of h_high(T_warm) - h_high(T_pre)
and the compressor draws the gas in cold, as it leaves the cold section. That costs precooling power, but cold
gas is denser and leaves the compressor less hot.

With a limit to the precooler's heat the greatest cooling is found at a higher T_pre, where D over the cold
section still exceeds q: for any q, the highest T_pre allowed needs the least heat.

Assumptions besides those of `mixjt.circuit.throttle`: the pressure drop of the high side is spread over
sections and precooler alike, linear in temperature. Energy balances alone; no outside source is needed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from mixjt.circuit import result as records
from mixjt.circuit.accounting import Account, Component, account, passing
from mixjt.circuit.balance import cold_parts, compressor_parts, delivered
from mixjt.circuit.curves import difference_curve, pinch_curve
from mixjt.circuit.freezing import circuit_freezing
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.outcome import checked_blend, circuit_outcome
from mixjt.circuit.pinch import least_difference
from mixjt.circuit.precooled_result import PrecooledPoint, PrecooledResult
from mixjt.circuit.result import PinchCurve
from mixjt.circuit.sections import NO_LENGTH, joined, solved_sections, state_on_side
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.states import PropertyModel, State
from mixjt.keys import TEXT, key
from mixjt.parts.compressor.compression import compress
from mixjt.parts.precooler import Precooler, precooler_warnings, precooling_stage
from mixjt.parts.recuperator.side import Side
from mixjt.roots import root_between

DROP_ROUNDS = 30
SAME = 1e-6  # of the cooling, between two rounds
CAPACITY_TOLERANCE = 1e-3  # K, of the precooling temperature at which a limited stage is used up
NO_DUTY = 1e-9  # of the cooling


@dataclass(frozen=True)
class PrecooledCircuit(ThrottleCircuit):
    """A throttle circuit with a precooler; see `ThrottleCircuit`.

    Parameters
    ----------
    precooler : Precooler
    warm_section : bool
        Whether a warm recuperator section regains the cold that the low side has at the precooler.

    Raises
    ------
    InputError
        Also where the precooling temperature is not between the cold end and the aftercooler outlet.
    """

    precooler: Precooler | None = None
    warm_section: bool = key(
        TEXT,
        "warm: a warm recuperator section regains the cold of the return; cold: the compressor draws it in cold",
        at="precooler.suction", default=True, choices={"warm": True, "cold": False},
        otherwise='"warm"; mixjt compare tries both',
    )

    def __post_init__(self):
        super().__post_init__()
        if self.precooler is None:
            raise InputError("a precooled circuit needs a precooler")
        coldest, warmest = super().span
        if not coldest < self.precooler.temperature <= warmest + NO_LENGTH:
            raise InputError(
                f"precooling to {self.precooler.temperature:.5g} K makes no sense: it must be above the cold end and "
                f"its approach ({coldest:.5g} K) and at most the aftercooler outlet ({warmest:.5g} K)"
            )

    @property
    def span(self) -> tuple[float, float]:
        """High-side temperatures of the cold section [K]: its pinch sets the cooling."""
        return super().span[0], min(self.precooler.temperature, self.warm_temperature)

    def at(self, temperature: float) -> PrecooledCircuit:
        """The same circuit, precooled to another temperature [K]."""
        return replace(self, precooler=replace(self.precooler, temperature=temperature))


def solve_precooled_circuit(
    model: PropertyModel, z, circuit: PrecooledCircuit, points: int = 64
) -> PrecooledResult:
    """Solve a precooled throttle circuit for its greatest cooling.

    Where the precooler is limited and too weak for its temperature, it cools to the temperature at which
    it is just used up; the result's precooler_temperature says which.

    Parameters
    ----------
    model : PropertyModel
    z : array (c,)
    circuit : PrecooledCircuit
    points : int
        Temperatures in the first sweep of each side and in the curves; at least 8.

    Raises
    ------
    InputError, UnreachableError, ConvergenceError
        As `mixjt.circuit.throttle.solve_throttle_circuit`; UnreachableError also for a precooler that
        cannot work at its temperatures.
    """
    z = checked_blend(model, z)
    if points < 8:
        raise InputError(f"a circuit needs at least 8 grid points, got {points}")
    circuit = circuit.at(usable_temperature(model, z, circuit, points))

    def solve(grid: int) -> tuple[PrecooledPoint, tuple[PinchCurve, ...]]:
        point = precooled_point(model, z, circuit, grid)
        return point, _sections(model, z, point, grid)

    point, sections = solved_sections(solve, circuit.recuperator_approach, points)
    return _result(model, z, circuit, points, point, sections)


def precooled_point(model: PropertyModel, z, circuit: PrecooledCircuit, points: int = 64) -> PrecooledPoint:
    """Cooling, flow and powers at the circuit's precooling temperature, whatever the limit of the precooler."""
    z = checked_blend(model, z)
    point = _greatest(model, z, circuit, points)
    if not point.precooler_heat > NO_DUTY * point.cooling:
        return point
    stage = precooling_stage(circuit.precooler, point.temperature, circuit.ambient_temperature)
    return replace(point, stage=stage)


def usable_temperature(model: PropertyModel, z, circuit: PrecooledCircuit, points: int = 64) -> float:
    """The lowest temperature, from the precooler's own one up, that the precooler's limit allows [K]."""
    wanted, warmest = circuit.precooler.temperature, circuit.warm_temperature
    if not circuit.precooler.limited:
        return wanted

    def excess(temperature: float) -> float:
        duty = _greatest(model, z, circuit.at(temperature), points).precooler_duty
        if not duty > 0.0:
            return -1.0
        return duty - circuit.precooler.capacity_at(temperature, circuit.ambient_temperature)

    if excess(wanted) <= 0.0:
        return wanted
    if not warmest - wanted > CAPACITY_TOLERANCE:
        return warmest
    return min(root_between(excess, wanted, warmest, CAPACITY_TOLERANCE) + CAPACITY_TOLERANCE, warmest)


def _greatest(model, z, circuit: PrecooledCircuit, points: int) -> PrecooledPoint:
    """Find both pinches; with pressure drops, repeat until their profile fits the ends it leads to."""
    cooled = model.state_tp(z, circuit.warm_temperature, circuit.aftercooler_pressure)
    evaporated = model.state_tp(z, circuit.cold_temperature, circuit.evaporator_pressure)
    high, low = circuit.sides()
    before = math.inf
    for _ in range(DROP_ROUNDS):
        cooling, heat, cold_pinch, warm_pinch = _heats(model, z, circuit, high, low, points)
        throttle = model.state_hp(z, evaporated.enthalpy - cooling, circuit.throttle_pressure)
        suction = model.state_hp(z, cooled.enthalpy + cooling - heat, circuit.suction_pressure)
        even = high.cold_pressure == high.warm_pressure and low.cold_pressure == low.warm_pressure
        settled = even or abs(cooling - before) <= SAME * cooling
        before = cooling
        if even or not settled:
            high, low = circuit.sides(throttle.temperature, suction.temperature)
        if settled:
            break
    else:
        raise ConvergenceError("the pressure profile of the recuperator", "try slightly different pressures or pressure drops")
    places = _places(model, z, circuit, high, low, (cooled, throttle, evaporated, suction), (cooling, heat))
    compression = compress(model, z, suction, circuit.discharge_pressure, circuit.compressor)
    places[records.COMPRESSOR_OUTLET] = compression.discharge
    temperature = places[records.PRECOOLER_OUTLET].temperature
    return PrecooledPoint(
        temperature, cooling, heat, high, low, cold_pinch, warm_pinch, places, compression, None
    )


def _heats(model, z, circuit: PrecooledCircuit, high, low, points) -> tuple[float, float, float, float]:
    """Cooling and precooler heat [J/mol], high-side temperatures of the cold and the warm pinch [K]."""
    approach = circuit.recuperator_approach
    least = least_difference(model, z, high, low, approach, circuit.span, points)
    if not least.minimum > 0.0:
        raise UnreachableError(
            f"no cooling at {circuit.cold_temperature:.5g} K: at the pinch of the cold section, where the high side "
            f"has {least.temperature:.5g} K, the blend falls short by {-least.minimum:.4g} J/mol; try a warmer cold "
            "end, deeper precooling, a wider pressure ratio, or more of a gas that boils near the pinch temperature"
        )
    between, warmest = circuit.span[1], circuit.warm_temperature
    if not warmest - between > NO_LENGTH:
        return least.minimum, 0.0, least.temperature, warmest
    if not circuit.warm_section:
        leaving, entering = high.enthalpy(model, z, [between, warmest])
        return least.minimum, float(entering - leaving), least.temperature, warmest
    warm = least_difference(model, z, high, low, approach, (between, warmest), points)
    return least.minimum, max(least.minimum - warm.minimum, 0.0), least.temperature, warm.temperature


def _places(model, z, circuit: PrecooledCircuit, high: Side, low: Side, states, heats) -> dict[str, State]:
    """All states in flow order; the compressor outlet is filled in later."""
    cooled, throttle, evaporated, suction = states
    cooling, heat = heats
    between = circuit.span[1]
    if circuit.warm_temperature - between > NO_LENGTH:
        outlet = model.state_tp(z, between, float(high.pressure(between)))
    else:
        outlet = cooled
    inlet = outlet
    if not circuit.warm_section:
        inlet = cooled
    elif heat > 0.0:
        inlet = state_on_side(model, z, high, outlet.enthalpy + heat, between, circuit.warm_temperature)
    if outlet is cooled or inlet is cooled:
        returning = suction
    else:
        warmest = between - circuit.recuperator_approach
        returning = state_on_side(
            model, z, low, outlet.enthalpy + cooling, circuit.cold_temperature, warmest
        )
    return {
        records.COMPRESSOR_INLET: suction,
        records.COMPRESSOR_OUTLET: suction,
        records.AFTERCOOLER_OUTLET: cooled,
        records.PRECOOLER_INLET: inlet,
        records.PRECOOLER_OUTLET: outlet,
        records.THROTTLE_INLET: throttle,
        records.THROTTLE_OUTLET: model.state_hp(z, throttle.enthalpy, circuit.evaporator_pressure),
        records.EVAPORATOR_OUTLET: evaporated,
        records.LOW_SIDE_BETWEEN: returning,
    }


def _sections(model, z, point: PrecooledPoint, points: int) -> tuple[PinchCurve, ...]:
    """The cold section and, where there is one, the warm one."""
    places = point.places
    outlet, between = places[records.PRECOOLER_OUTLET], places[records.LOW_SIDE_BETWEEN]
    cooled, inlet = places[records.AFTERCOOLER_OUTLET], places[records.PRECOOLER_INLET]
    cold = pinch_curve(
        model, z, point.high, point.low,
        (places[records.THROTTLE_INLET], outlet), (places[records.EVAPORATOR_OUTLET], between),
        point.cold_pinch, points,
    )  # fmt: skip
    if not cooled.temperature - inlet.temperature > NO_LENGTH:
        return (cold,)
    ends = (inlet, cooled), (between, places[records.COMPRESSOR_INLET])
    return cold, pinch_curve(model, z, point.high, point.low, *ends, point.warm_pinch, points)


def _result(model, z, circuit: PrecooledCircuit, points, point: PrecooledPoint, sections) -> PrecooledResult:
    precooler = circuit.precooler
    notes = () if point.stage is None else precooler_warnings(point.stage, precooler.compressor)
    if point.stage is None:
        notes = (_idle(point),)
    span = (circuit.cold_temperature, circuit.warm_temperature)
    return circuit_outcome(
        model,
        z,
        circuit,
        point.cooling,
        point.compression,
        point.places,
        joined(sections),
        difference_curve(model, z, circuit.suction_pressure, circuit.discharge_pressure, span, points),
        _balance(circuit, point),
        circuit_freezing(model, z, point.places),
        kind=PrecooledResult,
        other_work=point.stage_work,
        notes=notes,
        precooler_temperature=point.temperature,
        precooler_heat=point.precooler_heat,
        precooler_power=point.precooler_power,
        precooler_fluid=precooler.fluid,
        stage=point.stage,
        sections=sections,
    )


def _idle(point: PrecooledPoint) -> str:
    return (
        f"the precooler has nothing to do at {point.temperature:.1f} K: the blend's pinch lies colder, and "
        "precooling does not help this blend there"
    )


def _balance(circuit: PrecooledCircuit, point: PrecooledPoint) -> Account:
    ambient, places = circuit.ambient_temperature, point.places
    inlet, outlet = places[records.PRECOOLER_INLET], places[records.PRECOOLER_OUTLET]
    between = places[records.LOW_SIDE_BETWEEN]
    cold_section = ((outlet, places[records.THROTTLE_INLET]), (places[records.EVAPORATOR_OUTLET], between))
    warm_section = ((places[records.AFTERCOOLER_OUTLET], inlet), (between, places[records.COMPRESSOR_INLET]))
    parts = (
        *compressor_parts(places, point.compression, ambient),
        *([passing("warm recuperator", *warm_section)] if between is not warm_section[1][1] else []),
        *_precooler_parts(circuit, point, inlet, outlet),
        passing("cold recuperator", *cold_section),
        *cold_parts(places, point.cooling, circuit.cold_temperature),
    )
    load = delivered(point.cooling, ambient, circuit.cold_temperature)
    return account(parts, ambient, load, point.compression.work)


def _precooler_parts(circuit: PrecooledCircuit, point: PrecooledPoint, inlet, outlet) -> tuple[Component, ...]:
    """The exchanger at the stage's evaporating temperature, and the stage between there and ambient."""
    heat, work = point.precooler_heat, point.stage_work
    if point.stage is None:
        return (passing("precooler", (inlet, outlet)),)
    ambient, at = circuit.ambient_temperature, point.temperature - circuit.precooler.approach
    rejected = ((heat, at), (-heat - work, ambient))
    return (
        passing("precooler", (inlet, outlet), heats=((-heat, at),)),
        Component("precooling stage", heats=rejected, work=work),
    )
