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

Assumptions besides those of `mixjt.circuit.solve`: the pressure drop of the high side is spread over
sections and precooler alike, linear in temperature. Energy balances alone; no outside source is needed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from mixjt.bounds import finite_or_none
from mixjt.circuit.layout import Choice, Layout, Solution, refuse_no_cooling
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult, PinchCurve
from mixjt.circuit.rounds import settled_solution
from mixjt.circuit.section import NO_LENGTH, Leg, Section, section
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid, checked_fluid
from mixjt.fluid.roots import root_between
from mixjt.fluid.states import State
from mixjt.keys import TEXT, key
from mixjt.parts import places
from mixjt.parts.air_condenser import condenser_conductance
from mixjt.parts.precooler import Precooler, precooler_warnings, precooling_stage
from mixjt.parts.vapour_stage import StageCycle

CAPACITY_TOLERANCE = 1e-3  # K, of the precooling temperature at which a limited stage is used up
NO_DUTY = 1e-9  # of the cooling
COLD, WARM = "cold recuperator", "warm recuperator"
PRECOOLER, STAGE = "precooler", "precooling stage"


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

    def as_solved(self, result: PrecooledResult) -> PrecooledCircuit:
        """Also precooled to where it could be."""
        return super().as_solved(result).at(result.precooler_temperature)

    def at(self, temperature: float) -> PrecooledCircuit:
        """The same circuit, precooled to another temperature [K]."""
        return replace(self, precooler=replace(self.precooler, temperature=temperature))


@dataclass(frozen=True)
class PrecooledResult(CircuitResult):
    """A precooled circuit solved for its greatest cooling.

    cop, carnot_fraction and exergy count the precooler's power too; compressor_power is the blend
    compressor's alone. pinch holds both sections one after the other, its conductance their sum; sections
    holds the cold one and, where there is one, the warm one. precooler_heat is in J/mol of blend. stage is
    None where the precooler has nothing to do.
    """

    precooler_temperature: float = math.nan
    precooler_heat: float = 0.0
    precooler_power: float = 0.0  # W, electrical
    precooler_fluid: str = ""
    stage: StageCycle | None = None
    sections: tuple[PinchCurve, ...] = ()

    @property
    def precooler_duty(self) -> float:
        """Heat that the precooler takes up [W]."""
        return self.precooler_heat * self.molar_flow

    @property
    def total_power(self) -> float:
        """Electrical power of both compressors [W]."""
        return self.compressor_power + self.precooler_power

    @property
    def condenser_approach(self) -> float | None:
        """Of the stage's condensing temperature above ambient [K]."""
        return self.stage and self.stage.stage.condensing_temperature - self.ambient_temperature

    @property
    def condenser_conductance(self) -> float | None:
        """Of the stage's condenser to air at ambient temperature [W/K]; None where nothing does."""
        if self.stage is None:
            return None
        return finite_or_none(condenser_conductance(self.stage, self.precooler_duty, self.ambient_temperature))


@dataclass(frozen=True)
class PrecooledChoice(Choice):
    """Cooling, and the heat that the precooler takes up [J/mol of blend]."""

    heat: float


@dataclass(frozen=True, eq=False)
class PrecooledPoint:
    """A precooled circuit at its greatest cooling, before curves and balances; stage is None where it has no duty."""

    solution: Solution
    stage: StageCycle | None

    @property
    def temperature(self) -> float:
        """Of the precooler's outlet [K]."""
        return self.solution.states[places.PRECOOLER_OUTLET].temperature

    @property
    def precooler_heat(self) -> float:
        """[J/mol of blend]"""
        return self.solution.choice.heat

    @property
    def precooler_duty(self) -> float:
        """[W]"""
        return self.precooler_heat * self.solution.compression.molar_flow

    @property
    def stage_work(self) -> float:
        """Electrical work of the precooler per mole of blend [J/mol]."""
        return 0.0 if self.stage is None else self.precooler_heat * self.stage.power_per_heat

    @property
    def precooler_power(self) -> float:
        """Electrical [W]."""
        return self.stage_work * self.solution.compression.molar_flow

    @property
    def total_power(self) -> float:
        """Electrical power of both compressors [W]."""
        return self.solution.compression.electrical_power + self.precooler_power

    @property
    def cop(self) -> float:
        """Cooling power over the electrical power of both compressors."""
        return self.solution.cooling_power / self.total_power


class Precooled(Layout):
    """The precooled circuit with a blend in it."""

    kind = PrecooledResult

    def prepared(self, points: int) -> Precooled:
        """At the temperature to which the precooler can cool."""
        return Precooled(self.fluid, self.circuit.at(usable_temperature(self.fluid, self.circuit, points)))

    @property
    def between(self) -> float:
        """High-side temperature where the cold section begins [K]."""
        return self.circuit.span[1]

    def choose(self, points: int, last: Solution | None, turn: int) -> tuple[tuple[Section, ...], PrecooledChoice]:
        """Cold and warm section, the greatest cooling and the least heat."""
        circuit, warmest, approach = self.circuit, self.circuit.warm_temperature, self.circuit.recuperator_approach
        cold, warm = self._sections(last)
        alone = replace(cold, low=tuple(replace(leg, end=places.COMPRESSOR_INLET) for leg in cold.low))
        least = cold.least(approach, points)
        refuse_no_cooling(circuit, least, " of the cold section", "deeper precooling")
        cooling = least.minimum
        if not warmest - self.between > NO_LENGTH:
            return (alone,), PrecooledChoice(cooling, (least.temperature,), 0.0)
        if not circuit.warm_section:
            leaving, entering = cold.high_side.enthalpy([self.between, warmest])
            return (alone,), PrecooledChoice(cooling, (least.temperature,), float(entering - leaving))
        above = warm.least(approach, points)
        heat = max(cooling - above.minimum, 0.0)
        pinches = (least.temperature, above.temperature)
        if heat > 0.0 and not warmest - self._inlet(cold, heat).temperature > NO_LENGTH:
            return (alone,), PrecooledChoice(cooling, pinches[:1], heat)
        return (cold, warm), PrecooledChoice(cooling, pinches, heat)

    def grid_cooling(self, points: int) -> float:
        """The least difference of the cold section."""
        cold, _ = self._sections(None)
        return float(cold.difference(self.circuit.recuperator_approach, np.linspace(*cold.span, points)).min())

    def _sections(self, last: Solution | None) -> tuple[Section, Section]:
        (high, low), leak = self.blend_streams(last), self.leak(last)
        cold = section(
            COLD,
            [(places.PRECOOLER_OUTLET, places.THROTTLE_INLET, high)],
            [(places.EVAPORATOR_OUTLET, places.LOW_SIDE_BETWEEN, low)],
            self.circuit.span,
            leak,
        )
        warm = section(
            WARM,
            [(places.AFTERCOOLER_OUTLET, places.PRECOOLER_INLET, high)],
            [(places.LOW_SIDE_BETWEEN, places.COMPRESSOR_INLET, low)],
            (self.between, self.circuit.warm_temperature),
            leak,
        )
        return cold, warm

    def _outlet(self, cold: Section) -> State:
        """Of the precooler."""
        if not self.circuit.warm_temperature - self.between > NO_LENGTH:
            return self.cooled
        return self.fluid.tp(self.between, float(cold.high_side.ends.pressure(self.between)))

    def _inlet(self, cold: Section, heat: float) -> State:
        """Of the precooler, which takes up a heat [J/mol]."""
        outlet = self._outlet(cold)
        if not self.circuit.warm_section:
            return self.cooled
        if not heat > 0.0:
            return outlet
        return cold.high_side.state(outlet.enthalpy + heat, self.between, self.circuit.warm_temperature)

    def states(self, sections: tuple[Section, ...], choice: PrecooledChoice) -> dict[str, State]:
        """By the energy balances from both ends."""
        circuit, fluid, cold = self.circuit, self.fluid, sections[0]
        leak = cold.leak
        throttle = fluid.hp(self.evaporated.enthalpy - choice.cooling - leak.at_cold_end, circuit.throttle_pressure)
        suction = fluid.hp(self.cooled.enthalpy + choice.cooling + leak.total - choice.heat, circuit.suction_pressure)
        outlet = self._outlet(cold)
        inlet, returning = self.cooled, suction
        if len(sections) > 1:
            inlet = self._inlet(cold, choice.heat)
            warmest = self.between - circuit.recuperator_approach
            gained = choice.cooling + float(leak.before(self.between))
            returning = cold.low_side.state(outlet.enthalpy + gained, circuit.cold_temperature, warmest)
        return {
            places.COMPRESSOR_INLET: suction,
            places.AFTERCOOLER_OUTLET: self.cooled,
            places.PRECOOLER_INLET: inlet,
            places.PRECOOLER_OUTLET: outlet,
            places.THROTTLE_INLET: throttle,
            places.THROTTLE_OUTLET: fluid.hp(throttle.enthalpy, circuit.evaporator_pressure),
            places.EVAPORATOR_OUTLET: self.evaporated,
            places.LOW_SIDE_BETWEEN: returning,
        }

    def legs(self, solution: Solution) -> tuple[Leg, ...]:
        """Through warm section, precooler and cold section, and back."""
        cold, *warm = solution.sections
        entry = places.PRECOOLER_INLET if warm else places.AFTERCOOLER_OUTLET
        stage = () if self.point(solution).stage is None else (Leg(STAGE, None, None, self.blend),)
        return (
            *self.shaft_legs(),
            *(leg for one in warm for leg in one.high),
            Leg(PRECOOLER, entry, places.PRECOOLER_OUTLET, self.blend),
            *stage,
            *cold.high,
            *self.cold_legs(self.blend),
            *cold.low,
            *(leg for one in warm for leg in one.low),
        )

    def point(self, solution: Solution) -> PrecooledPoint:
        """The solution with the stage that takes up its heat."""
        circuit, idle = self.circuit, PrecooledPoint(solution, None)
        if not idle.precooler_heat > NO_DUTY * solution.cooling:
            return idle
        stage = precooling_stage(circuit.precooler, idle.temperature, circuit.ambient_temperature, idle.precooler_duty)
        return PrecooledPoint(solution, stage)

    def heats(self, solution: Solution) -> dict[str, tuple[tuple[float, float], ...]]:
        """The precooler's too: at the stage's evaporating temperature, and rejected to the room."""
        found, point = super().heats(solution), self.point(solution)
        if point.stage is None:
            return found
        at = point.temperature - self.circuit.precooler.approach
        rejected = (-point.precooler_heat - point.stage_work, self.circuit.ambient_temperature)
        taken = (point.precooler_heat, at)
        return found | {PRECOOLER: ((-point.precooler_heat, at),), STAGE: (taken, rejected)}

    def works(self, solution: Solution) -> dict[str, float]:
        """The stage's too."""
        return super().works(solution) | {STAGE: self.other_work(solution)}

    def other_work(self, solution: Solution) -> float:
        """The precooler's."""
        return self.point(solution).stage_work

    def more(self, solution: Solution, curves: tuple[PinchCurve, ...]) -> dict:
        """What the precooler does."""
        point = self.point(solution)
        return {
            "precooler_temperature": point.temperature,
            "precooler_heat": point.precooler_heat,
            "precooler_power": point.precooler_power,
            "precooler_fluid": self.circuit.precooler.fluid,
            "stage": point.stage,
            "sections": curves,
        }

    def notes(self, solution: Solution, curves: tuple[PinchCurve, ...]) -> tuple[str, ...]:
        """What is doubtful about the stage, or that it has nothing to do."""
        point = self.point(solution)
        if point.stage is not None:
            return precooler_warnings(point.stage, self.circuit.precooler.compressor)
        text = (
            f"the precooler has nothing to do at {point.temperature:.1f} K: the blend's pinch lies colder, and "
            "precooling does not help this blend there"
        )
        return (text,)


def precooled_point(
    fluid: Fluid, circuit: PrecooledCircuit, points: int = 64, near: PrecooledPoint | None = None
) -> PrecooledPoint:
    """Cooling, flow and powers at the circuit's precooling temperature, whatever the limit of the precooler.

    near is the same circuit at a temperature nearby, to start from.
    """
    layout = Precooled(checked_fluid(fluid), circuit)
    return layout.point(_settled_near(layout, points, near and near.solution))


def _settled_near(layout: Precooled, points: int, near: Solution | None) -> Solution:
    """A circuit begun, where it has tubes, with their drops, tables and cut in the same circuit at a temperature nearby."""
    if near is not None and layout.circuit.coil is not None:
        layout.streams = near.layout.streams
        layout = layout.with_drops(near.rating)
    return settled_solution(layout, points, near)


def usable_temperature(fluid: Fluid, circuit: PrecooledCircuit, points: int = 64) -> float:
    """The lowest temperature, from the precooler's own one up, that the precooler's limit allows [K]."""
    wanted, warmest = circuit.precooler.temperature, circuit.warm_temperature
    if not circuit.precooler.limited:
        return wanted

    last = None

    def excess(temperature: float) -> float:
        nonlocal last
        last = _settled_near(Precooled(fluid, circuit.at(temperature)), points, last)
        duty = PrecooledPoint(last, None).precooler_duty
        if not duty > 0.0:
            return -1.0
        return circuit.precooler.excess(duty, temperature, circuit.ambient_temperature)

    if excess(wanted) <= 0.0:
        return wanted
    if not warmest - wanted > CAPACITY_TOLERANCE:
        return warmest
    return float(min(root_between(excess, wanted, warmest, CAPACITY_TOLERANCE) + CAPACITY_TOLERANCE, warmest))
