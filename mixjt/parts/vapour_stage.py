"""One vapour-compression stage: evaporator, suction line, compressor, condenser, throttle.

In flow order, with what changes the state between two places:

    evaporator outlet       superheated above the evaporating (dew) temperature
      suction-line exchanger, low side: takes up q from the liquid
    exchanger gas outlet
      hot-gas exchanger, low side: warmed by the stage's own hot gas to a stated temperature, if it is colder
    hot-gas exchanger gas outlet
      suction line: pressure drop, and warming by the surroundings where the temperature is not reached yet
    compressor inlet
      compressor: `mixjt.parts.compressor.compression.compress`
    compressor outlet
      discharge line: pressure drop at constant enthalpy
    desuperheater inlet
      desuperheater: cooled by ambient air, no further than its stated outlet temperature or the dew point
    desuperheater outlet
      hot-gas exchanger, high side: cools the hot gas, no further than the dew point or the approach allows
    condenser inlet
      condenser
    condenser outlet        subcooled below the condensing (bubble) temperature
      suction-line exchanger, high side: gives off q
    throttle inlet
      throttle: constant enthalpy
    throttle outlet = evaporator inlet

Suction-line exchanger: q = effectiveness x the smaller of what the gas could take up to the liquid's inlet
temperature and what the liquid could give off down to the gas's (definition of effectiveness: Kays & London,
Compact Heat Exchangers, from memory). Hot-gas exchanger: with about as much heat capacity on either side it can do
what its cold end allows, so that its smallest difference is asked for there. Evaporator:
load + heat leak = n (h_out - h_in), which gives the
molar flow n. Evaporator and condenser have no pressure drop of their own; put theirs into the lines.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

from mixjt.bounds import require, require_fields
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.states import State
from mixjt.parts import places
from mixjt.parts.compressor.compression import CompressionResult, Compressor, compress
from mixjt.parts.stage_exchangers import cooled_by_suction, cooled_gas, liquid_to_gas, warmed_gas
from mixjt.parts.stage_fluid import StageFluid
from mixjt.units import bar_text

REMEMBERED = 50000  # cycles


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
    suction_loss, discharge_loss : float
        Further drops, as shares of the evaporator's and the condenser's pressure.
    ambient_temperature : float
        Of the room around the compressor's shell [K].
    heat_leak : float
        Taken up from the surroundings by the cold parts, in the evaporator [W].
    desuperheater_outlet : float, optional
        Temperature to which ambient air cools the hot gas before the condenser [K]; None without one.
    suction_temperature : float, optional
        To which a colder gas is warmed on its way to the compressor [K]; None for no warming.
    hot_gas_approach : float, optional
        Smallest difference in an exchanger in which the hot gas does so [K]; None where the surroundings do.

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
    hot_gas_approach: float | None = None
    suction_loss: float = 0.0
    discharge_loss: float = 0.0
    ambient_temperature: float = 298.15

    def __post_init__(self):
        cold, warm = self.evaporating_temperature, self.condensing_temperature
        zero_allowed = ("superheat", "subcooling", "suction_drop", "discharge_drop", "discharge_loss", "heat_leak")
        require_fields(self, "stage", zero_allowed, least=0.0)
        require_fields(self, "stage", ("exchanger_effectiveness", "suction_loss"), least=0.0, most=1.0)
        require_fields(self, "stage", ("hot_gas_approach",), optional=True, least=0.0)
        require_fields(
            self, "stage", ("evaporating_temperature", "condensing_temperature", "ambient_temperature"), above=0.0
        )
        require_fields(self, "stage", ("desuperheater_outlet", "suction_temperature"), optional=True, above=0.0)
        if not warm > cold:
            raise InputError(f"condensing temperature {warm:.5g} K must be above the evaporating {cold:.5g} K")


@dataclass(frozen=True)
class StageCycle:
    """The states of a stage per mole of fluid, without load or flow; heats and works in J/mol."""

    fluid: StageFluid
    stage: VapourStage
    evaporator_outlet: State
    compression: CompressionResult  # of a compressor that sweeps 1 m3/s
    desuperheater_outlet: State
    condenser_inlet: State
    condenser_outlet: State
    exchanger_heat: float

    @cached_property
    def exchanger_gas_outlet(self) -> State:
        """Of the suction gas."""
        return warmed_gas(self.fluid, self.evaporator_outlet, self.exchanger_heat)

    @cached_property
    def desuperheater_inlet(self) -> State:
        """What is left of the discharge state by the line."""
        return self.fluid.hp(self.compression.discharge_enthalpy, self.condenser_outlet.pressure)

    @property
    def hot_gas_heat(self) -> float:
        """From the hot gas to the suction gas [J/mol]."""
        return self.desuperheater_outlet.enthalpy - self.condenser_inlet.enthalpy

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
        return self.compression.suction.enthalpy - self.exchanger_gas_outlet.enthalpy - self.hot_gas_heat

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
    hot_gas_heat: float
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
    heat = liquid_to_gas(fluid, stage.exchanger_effectiveness, evaporated, condensed)
    drop = stage.suction_drop + stage.suction_loss * evaporated.pressure
    suction_pressure = evaporated.pressure - drop
    if not suction_pressure > 0.0:
        raise UnreachableError(
            f"{fluid.name} evaporates at {stage.evaporating_temperature:.5g} K under {bar_text(evaporated.pressure)}, "
            f"which the suction-line drop of {bar_text(drop)} uses up"
        )
    suction = _at_least(fluid, evaporated, heat, suction_pressure, stage.suction_temperature)
    drop = stage.discharge_drop + stage.discharge_loss * condensed.pressure
    compression = compress(fluid, suction, condensed.pressure + drop, _unit(stage.compressor), stage.ambient_temperature)
    desuperheated = cooled_gas(fluid, compression.discharge_enthalpy, condensed.pressure, stage.desuperheater_outlet)
    cycle = StageCycle(
        fluid=fluid,
        stage=stage,
        evaporator_outlet=evaporated,
        compression=compression,
        desuperheater_outlet=desuperheated,
        condenser_inlet=cooled_by_suction(fluid, stage.hot_gas_approach, desuperheated, (evaporated, heat), suction),
        condenser_outlet=condensed,
        exchanger_heat=heat,
    )
    if not (cycle.evaporator_heat > 0.0 and cycle.condenser_heat > 0.0):
        raise UnreachableError(
            f"{fluid.name} does not cool between {stage.evaporating_temperature:.5g} K and "
            f"{stage.condensing_temperature:.5g} K: the liquid flashes away in the throttle"
        )
    return cycle


def _at_least(fluid: StageFluid, gas: State, heat: float, pressure: float, temperature: float | None) -> State:
    """Gas that has taken up heat [J/mol] and come to a pressure [Pa], warmed where it is colder than a temperature [K].

    Where that is above what leaves the evaporator, enthalpies tell: the gas's own temperature takes long to find.
    """
    if temperature is not None and temperature > gas.temperature:
        warm = fluid.tp(temperature, pressure)
        if warm.enthalpy > gas.enthalpy + heat:
            return warm
    warmed = warmed_gas(fluid, gas, heat)
    arrived = warmed if pressure == warmed.pressure else fluid.hp(warmed.enthalpy, pressure)
    if temperature is not None and arrived.temperature < temperature:  # the drop has cooled it
        return fluid.tp(temperature, pressure)
    return arrived


@lru_cache(REMEMBERED)
def remembered_cycle(fluid: StageFluid, stage: VapourStage) -> StageCycle:
    """The states of a stage, calculated once.

    Raises
    ------
    UnreachableError, ConvergenceError
    """
    return stage_cycle(fluid, stage)


@lru_cache
def _unit(compressor: Compressor) -> Compressor:
    """One that sweeps 1 m3/s."""
    return compressor.of_size(1.0, 1.0)


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
    require("stage load", load, above=0.0)
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
        hot_gas_heat=flow * cycle.hot_gas_heat,
        desuperheater_heat=flow * (cycle.desuperheater_inlet.enthalpy - cycle.desuperheater_outlet.enthalpy),
        condenser_heat=flow * cycle.condenser_heat,
        swept_flow=swept,
        displacement=swept / stage.compressor.speed,
        volumetric_efficiency=compression.volumetric_efficiency,
    )


def _points(cycle: StageCycle) -> dict[str, State]:
    fluid, liquid, gas = cycle.fluid, cycle.condenser_outlet, cycle.exchanger_gas_outlet
    before = liquid
    if cycle.hot_gas_heat > 0.0:
        gas = fluid.hp(gas.enthalpy + cycle.hot_gas_heat, gas.pressure)
    if cycle.exchanger_heat > 0.0:
        before = fluid.hp(cycle.throttle_enthalpy, liquid.pressure)
    return {
        places.EVAPORATOR_OUTLET: cycle.evaporator_outlet,
        places.EXCHANGER_GAS_OUTLET: cycle.exchanger_gas_outlet,
        places.HOT_GAS_EXCHANGER_OUTLET: gas,
        places.COMPRESSOR_INLET: cycle.compression.suction,
        places.COMPRESSOR_OUTLET: cycle.compression.discharge,
        places.DESUPERHEATER_INLET: cycle.desuperheater_inlet,
        places.DESUPERHEATER_OUTLET: cycle.desuperheater_outlet,
        places.CONDENSER_INLET: cycle.condenser_inlet,
        places.CONDENSER_OUTLET: liquid,
        places.THROTTLE_INLET: before,
        places.THROTTLE_OUTLET: fluid.hp(before.enthalpy, cycle.evaporator_outlet.pressure),
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
