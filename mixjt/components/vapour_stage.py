"""One vapour-compression stage: evaporator, suction line, compressor, condenser, throttle.

In flow order, with what changes the state between two places:

    evaporator outlet       superheated above the evaporating (dew) temperature
      suction-line exchanger, low side: takes up q from the liquid
    exchanger gas outlet
      suction line: pressure drop, then warming by the surroundings to a stated temperature, if it is colder
    compressor inlet
      compressor: `mixjt.components.compressor.compress`
    compressor outlet
      discharge line: pressure drop at constant enthalpy
    desuperheater inlet
      desuperheater: cooled by ambient air, no further than its stated outlet temperature or the dew point
    condenser inlet
      condenser
    condenser outlet        subcooled below the condensing (bubble) temperature
      suction-line exchanger, high side: gives off q
    throttle inlet
      throttle: constant enthalpy
    throttle outlet = evaporator inlet

Suction-line exchanger: q = effectiveness x the smaller of what the gas could take up to the liquid's inlet
temperature and what the liquid could give off down to the gas's (definition of effectiveness: Kays & London,
Compact Heat Exchangers, from memory). Evaporator: load + heat leak = n (h_out - h_in), which gives the
molar flow n. Evaporator and condenser have no pressure drop of their own; put theirs into the lines.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from numbers import Real

from mixjt.components.compressor import CompressionResult, Compressor, compress
from mixjt.components.stage_fluid import StageFluid
from mixjt.errors import InputError, UnreachableError
from mixjt.properties.records import State

LEAST_ABOVE_DEW = 1e-3  # K; gas this close to its dew point counts as saturated

EVAPORATOR_OUTLET = "evaporator_outlet"
EXCHANGER_GAS_OUTLET = "exchanger_gas_outlet"
COMPRESSOR_INLET = "compressor_inlet"
COMPRESSOR_OUTLET = "compressor_outlet"
DESUPERHEATER_INLET = "desuperheater_inlet"
CONDENSER_INLET = "condenser_inlet"
CONDENSER_OUTLET = "condenser_outlet"
THROTTLE_INLET = "throttle_inlet"
THROTTLE_OUTLET = "throttle_outlet"


@dataclass(frozen=True)
class VapourStage:
    """What is fixed about a stage apart from its fluid and its load.

    Parameters
    ----------
    evaporating_temperature, condensing_temperature : float
        Dew point at the evaporator's, bubble point at the condenser's pressure [K].
    compressor : Compressor
        Its displacement and speed do not matter here: the stage says what displacement it needs.
    superheat, subcooling : float
        At the evaporator and the condenser outlet [K].
    exchanger_effectiveness : float
        Of the suction-line exchanger, 0 (none) to 1.
    suction_drop, discharge_drop : float
        Pressure drops of the two lines [Pa].
    heat_leak : float
        Taken up from the surroundings by the cold parts, in the evaporator [W].
    desuperheater_outlet : float, optional
        Temperature to which ambient air cools the hot gas before the condenser [K]; None without one.
    suction_temperature : float, optional
        To which the surroundings warm a colder gas on its way to the compressor [K]; None for no warming.

    Raises
    ------
    InputError
        For values that no stage can have, NaN included.
    """

    evaporating_temperature: float
    condensing_temperature: float
    compressor: Compressor
    superheat: float = 5.0
    subcooling: float = 0.0
    exchanger_effectiveness: float = 0.0
    suction_drop: float = 0.0
    discharge_drop: float = 0.0
    heat_leak: float = 0.0
    desuperheater_outlet: float | None = None
    suction_temperature: float | None = None

    def __post_init__(self):
        cold, warm = self.evaporating_temperature, self.condensing_temperature
        for name in ("superheat", "subcooling", "exchanger_effectiveness", "suction_drop", "discharge_drop",
                     "heat_leak"):  # fmt: skip
            _require(name, getattr(self, name), "at least 0", lambda value: value >= 0.0)
        _require("exchanger_effectiveness", self.exchanger_effectiveness, "at most 1", lambda value: value <= 1.0)
        for name in ("evaporating_temperature", "condensing_temperature"):
            _require(name, getattr(self, name), "above 0", lambda value: value > 0.0)
        for name in ("desuperheater_outlet", "suction_temperature"):
            if getattr(self, name) is not None:
                _require(name, getattr(self, name), "above 0", lambda value: value > 0.0)
        if not warm > cold:
            raise InputError(f"condensing temperature {warm:.5g} K must be above the evaporating {cold:.5g} K")


@dataclass(frozen=True)
class StageCycle:
    """The states of a stage per mole of fluid, without load or flow; heats and works in J/mol."""

    fluid: StageFluid
    stage: VapourStage
    evaporator_outlet: State
    exchanger_gas_outlet: State
    compression: CompressionResult  # of a compressor that sweeps 1 m3/s
    desuperheater_inlet: State
    condenser_inlet: State
    condenser_outlet: State
    exchanger_heat: float

    @property
    def throttle_enthalpy(self) -> float:
        """[J/mol]"""
        return self.condenser_outlet.enthalpy - self.exchanger_heat

    @property
    def evaporator_heat(self) -> float:
        """Taken up per mole, load and heat leak together [J/mol]."""
        return self.evaporator_outlet.enthalpy - self.throttle_enthalpy

    @property
    def condenser_heat(self) -> float:
        """Given off in the condenser [J/mol]."""
        return self.condenser_inlet.enthalpy - self.condenser_outlet.enthalpy

    @property
    def suction_heat(self) -> float:
        """Taken up from the surroundings on the way to the compressor [J/mol]."""
        return self.compression.suction.enthalpy - self.exchanger_gas_outlet.enthalpy

    @property
    def power_per_heat(self) -> float:
        """Electrical power over evaporator heat [W/W]."""
        return self.compression.electrical_work / self.evaporator_heat

    @property
    def rejected_per_heat(self) -> float:
        """Condenser heat over evaporator heat [W/W]; without what shell and desuperheater lose."""
        return self.condenser_heat / self.evaporator_heat

    @property
    def swept_per_heat(self) -> float:
        """Swept flow needed over evaporator heat [m3/J]."""
        return 1.0 / (self.compression.molar_flow * self.evaporator_heat)

    @property
    def suction_pressure(self) -> float:
        """At the compressor inlet [Pa]."""
        return self.compression.suction.pressure

    @property
    def discharge_pressure(self) -> float:
        """At the compressor outlet [Pa]."""
        return self.compression.discharge.pressure

    @property
    def pressure_ratio(self) -> float:
        """Of the compressor."""
        return self.discharge_pressure / self.suction_pressure

    @property
    def discharge_temperature(self) -> float:
        """Of the discharge line [K]."""
        return self.compression.discharge_temperature

    @property
    def valve_temperature(self) -> float:
        """Of the gas at the compressor's discharge valve [K]."""
        return self.compression.valve_temperature


@dataclass(frozen=True)
class StageResult:
    """A stage with its flow. Powers and heats in W, flows in mol/s and kg/s.

    load is what is cooled; evaporator_heat = load + heat leak. swept_flow [m3/s] and displacement [m3 per
    revolution at the compressor's stated speed] are what the compressor must have.
    """

    cycle: StageCycle
    points: dict[str, State]  # by place, in flow order from the evaporator outlet
    load: float
    evaporator_heat: float
    molar_flow: float
    mass_flow: float
    compressor_power: float  # electrical
    shell_heat: float
    suction_heat: float
    desuperheater_heat: float
    condenser_heat: float
    swept_flow: float
    displacement: float
    volumetric_efficiency: float

    @property
    def fluid(self) -> StageFluid:
        """What circulates."""
        return self.cycle.fluid

    @cached_property
    def cop(self) -> float:
        """Load over electrical power."""
        return self.load / self.compressor_power


def stage_cycle(fluid: StageFluid, stage: VapourStage) -> StageCycle:
    """The states of a stage.

    Parameters
    ----------
    fluid : StageFluid
    stage : VapourStage

    Raises
    ------
    UnreachableError
        Where the fluid is above its critical temperature in the condenser or below its triple point in
        the evaporator, the suction drop exceeds the evaporator's pressure, or the stage does not cool.
    ConvergenceError
    """
    _check_range(fluid, stage)
    evaporated = fluid.superheated(stage.evaporating_temperature, stage.superheat)
    condensed = fluid.subcooled(stage.condensing_temperature, stage.subcooling)
    heat = _exchanger_heat(fluid, stage, evaporated, condensed)
    warmed = fluid.state_hp(evaporated.enthalpy + heat, evaporated.pressure) if heat > 0.0 else evaporated
    suction_pressure = evaporated.pressure - stage.suction_drop
    if not suction_pressure > 0.0:
        raise UnreachableError(
            f"{fluid.name} evaporates at {stage.evaporating_temperature:.5g} K under {_bar(evaporated.pressure)}, "
            f"which the suction-line drop of {_bar(stage.suction_drop)} uses up"
        )
    suction = fluid.state_hp(warmed.enthalpy, suction_pressure) if stage.suction_drop > 0.0 else warmed
    if stage.suction_temperature is not None and suction.temperature < stage.suction_temperature:
        suction = fluid.state_tp(stage.suction_temperature, suction_pressure)
    unit = replace(stage.compressor, displacement=1.0, speed=1.0)
    compression = compress(fluid.model, fluid.z, suction, condensed.pressure + stage.discharge_drop, unit)
    hot = compression.discharge
    arrived = fluid.state_hp(hot.enthalpy, condensed.pressure) if stage.discharge_drop > 0.0 else hot
    cycle = StageCycle(
        fluid=fluid,
        stage=stage,
        evaporator_outlet=evaporated,
        exchanger_gas_outlet=warmed,
        compression=compression,
        desuperheater_inlet=arrived,
        condenser_inlet=_desuperheated(fluid, stage, arrived),
        condenser_outlet=condensed,
        exchanger_heat=heat,
    )
    if not (cycle.evaporator_heat > 0.0 and cycle.condenser_heat > 0.0):
        raise UnreachableError(
            f"{fluid.name} does not cool between {stage.evaporating_temperature:.5g} K and "
            f"{stage.condensing_temperature:.5g} K: the liquid flashes away in the throttle"
        )
    return cycle


def solve_stage(fluid: StageFluid, stage: VapourStage, load: float, cycle: StageCycle | None = None) -> StageResult:
    """A stage with the flow that carries a load.

    Parameters
    ----------
    fluid : StageFluid
    stage : VapourStage
    load : float
        Heat to be taken up, without the stage's own heat leak [W].
    cycle : StageCycle, optional
        Of the same fluid and stage, where it is known already.

    Raises
    ------
    InputError
        For a load that is not above 0.
    UnreachableError, ConvergenceError
        See `stage_cycle`.
    """
    _require("load", load, "above 0", lambda value: value > 0.0)
    cycle = cycle or stage_cycle(fluid, stage)
    heat = load + stage.heat_leak
    flow = heat / cycle.evaporator_heat
    compression = cycle.compression
    swept = heat * cycle.swept_per_heat
    return StageResult(
        cycle=cycle,
        points=_points(cycle),
        load=load,
        evaporator_heat=heat,
        molar_flow=flow,
        mass_flow=flow * fluid.molar_mass,
        compressor_power=flow * compression.electrical_work,
        shell_heat=flow * compression.shell_heat,
        suction_heat=flow * cycle.suction_heat,
        desuperheater_heat=flow * (cycle.desuperheater_inlet.enthalpy - cycle.condenser_inlet.enthalpy),
        condenser_heat=flow * cycle.condenser_heat,
        swept_flow=swept,
        displacement=swept / stage.compressor.speed,
        volumetric_efficiency=compression.volumetric_efficiency,
    )


def _points(cycle: StageCycle) -> dict[str, State]:
    fluid, liquid = cycle.fluid, cycle.condenser_outlet
    before = liquid
    if cycle.exchanger_heat > 0.0:
        before = fluid.state_hp(cycle.throttle_enthalpy, liquid.pressure)
    return {
        EVAPORATOR_OUTLET: cycle.evaporator_outlet,
        EXCHANGER_GAS_OUTLET: cycle.exchanger_gas_outlet,
        COMPRESSOR_INLET: cycle.compression.suction,
        COMPRESSOR_OUTLET: cycle.compression.discharge,
        DESUPERHEATER_INLET: cycle.desuperheater_inlet,
        CONDENSER_INLET: cycle.condenser_inlet,
        CONDENSER_OUTLET: liquid,
        THROTTLE_INLET: before,
        THROTTLE_OUTLET: fluid.state_hp(before.enthalpy, cycle.evaporator_outlet.pressure),
    }


def _check_range(fluid: StageFluid, stage: VapourStage) -> None:
    """Say where a pure fluid is asked for more than its two-phase range."""
    facts = fluid.facts
    if facts is None:
        return
    if stage.condensing_temperature >= facts.critical_temperature:
        raise UnreachableError(
            f"{fluid.name} is above its critical temperature of {facts.critical_temperature:.5g} K in a condenser "
            f"at {stage.condensing_temperature:.5g} K and does not condense"
        )
    if stage.evaporating_temperature >= facts.triple_temperature:
        return
    place = f"in an evaporator at {stage.evaporating_temperature:.5g} K"
    freezing = fluid.freezing_temperature
    if freezing is not None and stage.evaporating_temperature < freezing:
        raise UnreachableError(f"{fluid.name} is below its triple point of {freezing:.5g} K {place} and freezes")
    raise UnreachableError(
        f"{fluid.name} is below {facts.triple_temperature:.5g} K {place}, where its reference equation ends"
    )


def _exchanger_heat(fluid: StageFluid, stage: VapourStage, gas: State, liquid: State) -> float:
    """Heat from liquid to gas per mole [J/mol]; none where the liquid is not the warmer one."""
    if stage.exchanger_effectiveness == 0.0 or liquid.temperature <= gas.temperature:
        return 0.0
    hottest_gas = fluid.state_tp(liquid.temperature, gas.pressure).enthalpy
    coldest_liquid = fluid.state_tp(gas.temperature, liquid.pressure).enthalpy
    return stage.exchanger_effectiveness * min(hottest_gas - gas.enthalpy, liquid.enthalpy - coldest_liquid)


def _desuperheated(fluid: StageFluid, stage: VapourStage, hot: State) -> State:
    """Hot gas after the desuperheater: never heated by it, never condensed in it."""
    target = stage.desuperheater_outlet
    if target is None:
        return hot
    dew = fluid.dew_temperature(hot.pressure)
    if math.isfinite(dew):
        target = max(target, dew + LEAST_ABOVE_DEW)
    return fluid.state_tp(target, hot.pressure) if target < hot.temperature else hot


def _require(name: str, value, need: str, holds):
    if not (isinstance(value, Real) and math.isfinite(value) and holds(value)):
        raise InputError(f"stage {name.replace('_', ' ')} must be a number {need}, got {value}")


def _bar(pressure: float) -> str:
    return f"{pressure / 1e5:.3g} bar"
