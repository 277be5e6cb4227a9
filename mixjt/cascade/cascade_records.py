"""What a cascade is asked to do, and what a solved one consists of. SI units, flows and powers absolute."""

from __future__ import annotations

from dataclasses import dataclass, field

from mixjt.bounds import finite_or_none, require_fields
from mixjt.cascade.stage_standstill import StageInventory, StageStandstill
from mixjt.constants import ATMOSPHERE, ZERO_CELSIUS
from mixjt.errors import InputError
from mixjt.fluid.standstill import HOTTEST_DAY
from mixjt.keys import TEXT, key
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.air_condenser import condenser_conductance
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.vapour_stage import StageResult

MOST_STAGES = 4
HOT_GAS, SURROUNDINGS, NOTHING = "hot gas", "surroundings", "nothing"
WARMINGS = (HOT_GAS, SURROUNDINGS, NOTHING)


@dataclass(frozen=True)
class CascadeLimits:
    """What no stage may exceed; None where there is no such limit.

    pressure_ratio, discharge_temperature and valve_temperature [K] and discharge_pressure [Pa] are greatest values,
    suction_pressure [Pa] is the least. displacements [m3 per revolution]: one for every stage, or one a stage
    from the coldest.
    """

    pressure_ratio: float | None = key(
        "number", "a stricter or wider limit than the compressor's own", at="largest_pressure_ratio", default=None,
        within="(1, 100]", otherwise="the compressor's",
    )
    discharge_temperature: float | None = key(
        "temperature", "a stricter or wider limit than the compressor's own", at="largest_discharge_temperature",
        default=None, within="[300, 450]", otherwise="the compressor's",
    )
    valve_temperature: float | None = None
    discharge_pressure: float | None = key(
        "pressure", "the rating of the high-pressure sides", at="largest_discharge_pressure", default=None,
        within="[1e5, 2e7]", otherwise="no limit",
    )
    suction_pressure: float | None = ATMOSPHERE
    displacements: tuple[float, ...] | None = key(
        "volume", "of the compressors that can be had, per revolution at the speed of [compressor]",
        at="largest_displacement", default=None, within="(0, 1e-2]", many=True, otherwise="no limit",
    )

    def displacement(self, number: int) -> float | None:
        """Of the stage of that number, counted from 0 at the cold end."""
        return None if self.displacements is None else _of_stage(self.displacements, number)


@dataclass(frozen=True)
class Cascade:
    """What is fixed about a cascade apart from its fluids and intermediate temperatures.

    Defaults are ordinary values of small machines (common practice, no source).

    Parameters
    ----------
    ambient_temperature, cold_temperature : float
        Of the air and of the load [K]. The coldest stage evaporates evaporator_approach below the load, the
        warmest condenses condenser_approach above ambient.
    condenser : AirCoil, optional
        The size of the warmest stage's condenser; then condenser_approach is a result. What solves a cascade finds it;
        all else takes it as it stands.
    load : float
        Heat taken up at the cold temperature [W].
    compressor : Compressor
        Kind, efficiencies, clearance and speed of every stage; its displacement is not used.
    approach : float
        Of each cascade condenser: condensing temperature of the colder stage less evaporating temperature
        of the warmer one [K].
    superheat, subcooling : float
        At every evaporator and condenser outlet [K].
    exchanger_effectiveness, suction_drops, discharge_drops, heat_leaks : tuples of float
        One value for every stage, or one a stage from the coldest; drops in Pa, leaks in W.
    desuperheater_approach : float, optional
        Hot gas above ambient after the desuperheater of every stage but the warmest [K]; None without.
    suction_loss, discharge_loss : float
        Further drops of every stage's lines, as shares of the pressure they begin and end at.
    suction_temperature : float, optional
        To which a colder gas is warmed before it enters a compressor [K]; None for no warming.
    suction_warming : str
        What warms it: the stage's own hot gas with the approach of a cascade condenser, the surroundings, or
        nothing: compressors that take the gas as cold as it comes.
    limits : CascadeLimits
    hottest_temperature : float, optional
        Of the air on the hottest day, for the standstill [K].
    inventories : tuple of StageInventory
        One for every stage, one a stage, or none.
    largest_standstill_pressure : float, optional
        [Pa]
    atmosphere : float
        Local atmospheric pressure [Pa]: a suction below it is warned of, whatever the limits.

    Raises
    ------
    InputError
    """

    ambient_temperature: float
    cold_temperature: float
    load: float
    compressor: Compressor
    approach: float = key(
        "temperature_difference", "condensing less evaporating temperature in each cascade condenser", default=5.0,
        within="(0, 40]",
    )
    condenser_approach: float = key(
        "temperature_difference", "the warmest condensing temperature above ambient", default=10.0, within="[0, 40]"
    )
    condenser: AirCoil | None = None
    evaporator_approach: float = key(
        "temperature_difference", "the load's temperature less the evaporating one", default=5.0, within="[0, 40]"
    )
    superheat: float = key("temperature_difference", "at every evaporator outlet", default=5.0, within="[0, 40]")
    subcooling: float = key("temperature_difference", "at every condenser outlet", default=2.0, within="[0, 30]")
    exchanger_effectiveness: tuple[float, ...] = key(
        "fraction", "of the suction-line exchangers, liquid to suction gas; 0 is none", default=(0.5,),
        within="[0, 1]", many=True,
    )
    suction_drops: tuple[float, ...] = key(
        "pressure_difference", "loss in the suction lines", at="suction_drop", default=(0.0,), within="[0, 1e6]",
        many=True, otherwise="the share of the pressure that [recuperator] states for its low side",
    )
    discharge_drops: tuple[float, ...] = key(
        "pressure_difference", "loss in the discharge lines", at="discharge_drop", default=(0.0,), within="[0, 1e6]",
        many=True, otherwise="the share of the pressure that [aftercooler] and [recuperator] state for the high side",
    )
    heat_leaks: tuple[float, ...] = key(
        "power", "heat that the cold parts of a stage take up besides its load", at="heat_leak", default=(0.0,),
        within="[0, 1e5]", many=True,
    )
    desuperheater_approach: float | None = key(
        "temperature_difference", "hot gas above ambient after it", default=10.0, within="[0, 60]"
    )
    suction_temperature: float | None = key(
        "temperature", "to which a colder gas is warmed before the compressor: cold oil stiffens",
        default=ZERO_CELSIUS - 40.0, within="[50, 350]",
    )
    suction_warming: str = key(
        TEXT, "what warms it: the hot gas of its own stage, the surroundings, or nothing (compressors made for the cold)",
        default=HOT_GAS, choices=WARMINGS,
    )
    suction_loss: float = 0.0
    discharge_loss: float = 0.0
    limits: CascadeLimits = CascadeLimits()
    hottest_temperature: float | None = key(
        "temperature", "of the hottest day the machine may stand through", default=HOTTEST_DAY, within="[250, 370]"
    )
    inventories: tuple[StageInventory, ...] = ()
    largest_standstill_pressure: float | None = key(
        "pressure", "what every stage stands at rest", default=None, within="[1e5, 4e7]",
        otherwise="no expansion vessel",
    )
    atmosphere: float = ATMOSPHERE

    def __post_init__(self):
        require_fields(self, "cascade", ("ambient_temperature", "cold_temperature", "load"), above=0.0)
        differences = ("approach", "condenser_approach", "evaporator_approach", "superheat", "subcooling")
        require_fields(self, "cascade", differences, least=0.0)
        if self.suction_warming not in WARMINGS:
            raise InputError(f"suction gas is warmed by {', '.join(WARMINGS)}, not by {self.suction_warming!r}")
        if not self.cold_temperature < self.ambient_temperature:
            raise InputError(
                f"cold temperature {self.cold_temperature:.5g} K must be below the ambient "
                f"{self.ambient_temperature:.5g} K"
            )
        if self.suction_temperature is not None and not 0.0 < self.suction_temperature <= self.ambient_temperature:
            raise InputError(
                f"a suction temperature of {self.suction_temperature:.5g} K, to which the gas is warmed, "
                f"must not be above the ambient of {self.ambient_temperature:.5g} K"
            )
        if self.superheat > min(self.approach, self.evaporator_approach):
            raise InputError(
                f"a superheat of {self.superheat:g} K must not be above the approaches of evaporator "
                f"({self.evaporator_approach:g} K) and cascade condenser ({self.approach:g} K): the gas would "
                "leave warmer than what it cools"
            )
        if not (self.subcooling < self.approach and (self.condenser or self.subcooling <= self.condenser_approach)):
            raise InputError(
                f"a subcooling of {self.subcooling:g} K must be below the approaches of the cascade condenser "
                f"({self.approach:g} K) and the condenser ({self.condenser_approach:g} K)"
            )

    @property
    def evaporating_temperature(self) -> float:
        """Of the coldest stage [K]."""
        return self.cold_temperature - self.evaporator_approach

    @property
    def condensing_temperature(self) -> float:
        """Of the warmest stage [K]."""
        return self.ambient_temperature + self.condenser_approach

    def check_counts(self, stages: int) -> None:
        """Refuse a number of stages that does not fit the values given for single stages.

        Raises
        ------
        InputError
        """
        if not 1 <= stages <= MOST_STAGES:
            raise InputError(f"a cascade has 1 to {MOST_STAGES} stages, got {stages}")
        given = {name: getattr(self, name) for name in (
            "exchanger_effectiveness", "suction_drops", "discharge_drops", "heat_leaks", "inventories",
        )} | {"displacements": self.limits.displacements or ()}  # fmt: skip
        for name, values in given.items():
            if len(values) not in (0, 1, stages):
                raise InputError(
                    f"{name.replace('_', ' ')}: {len(values)} values for {stages} stage{'s' if stages > 1 else ''}; "
                    "give one for all, or one a stage from the coldest"
                )

    def inventory(self, number: int) -> StageInventory | None:
        """Of the stage of that number, counted from 0 at the cold end; None where none is stated."""
        return _of_stage(self.inventories, number) if self.inventories else None

    def of_stage(self, name: str, number: int) -> float:
        """Value of a tuple of this record for the stage of that number."""
        return _of_stage(getattr(self, name), number)


@dataclass(frozen=True)
class CascadeCondenser:
    """The exchanger in which one stage condenses and the next warmer one evaporates.

    heat [W] goes from the colder stage; conductance is UA [W/K]; profile holds heat [W] from the cold end,
    hot and cold side temperatures [K], shape (3, m).
    """

    heat: float
    conductance: float
    smallest_approach: float
    profile: tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]] = field(repr=False)


@dataclass(frozen=True)
class CascadeResult:
    """A solved cascade; stages and what belongs to them from the coldest to the warmest.

    exergy lists (stage number from 0 or None for what spans two stages, component, W destroyed) and last the
    load's. standstills has None for a stage whose volumes are not known. lowest_temperature [K] is set by
    designs: how cold a load these fluids reach within the limits.
    """

    cascade: Cascade
    stages: tuple[StageResult, ...]
    condensers: tuple[CascadeCondenser, ...]
    total_power: float
    cop: float
    carnot_fraction: float
    exergy: tuple[tuple[int | None, str, float], ...]
    energy_residual: float
    exergy_residual: float
    standstills: tuple[StageStandstill | None, ...]
    warnings: tuple[str, ...]
    lowest_temperature: float | None = None

    @property
    def fluids(self) -> tuple[str, ...]:
        """Names, coldest stage first."""
        return tuple(stage.fluid.name for stage in self.stages)

    @property
    def intermediate_temperatures(self) -> tuple[float, ...]:
        """Evaporating temperatures of all stages but the coldest [K]."""
        return tuple(stage.cycle.stage.evaporating_temperature for stage in self.stages[1:])

    @property
    def displacements(self) -> tuple[float, ...]:
        """Needed, per stage [m3 per revolution]."""
        return tuple(stage.displacement for stage in self.stages)

    @property
    def discharge_temperatures(self) -> tuple[float, ...]:
        """Per stage [K]."""
        return tuple(stage.cycle.discharge_temperature for stage in self.stages)

    @property
    def running_pressures(self) -> tuple[float, ...]:
        """Discharge pressures per stage [Pa]."""
        return tuple(stage.cycle.discharge_pressure for stage in self.stages)

    @property
    def standing_pressures(self) -> tuple[float | None, ...]:
        """Per stage on the hottest day, all of it warm [Pa]; None where the volumes are not known."""
        return tuple(None if one is None else one.hottest_pressure for one in self.standstills)

    @property
    def flammable_mass(self) -> float | None:
        """Of all stages [kg]; None where a flammable stage's charge is not known."""
        masses = [
            None if one is None else one.charge
            for stage, one in zip(self.stages, self.standstills, strict=True)
            if stage.fluid.flammable
        ]
        return None if None in masses else float(sum(masses))

    @property
    def air_conductance(self) -> float | None:
        """K [W/K] of the warmest stage's condenser to ambient air; None where its liquid leaves as cold as the air."""
        warmest, ambient = self.stages[-1], self.cascade.ambient_temperature
        return finite_or_none(condenser_conductance(warmest.cycle, warmest.evaporator_heat, ambient))

    @property
    def condenser_conductance(self) -> float:
        """Sum of UA over the cascade condensers [W/K]; 0 for a single stage."""
        return float(sum(one.conductance for one in self.condensers))


def _of_stage(values: tuple, number: int):
    return values[0] if len(values) == 1 else values[number]
