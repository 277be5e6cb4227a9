"""What a comparison found. SI units; powers and displacements are those that carry the load."""

from __future__ import annotations

from dataclasses import dataclass, field

from mixjt.cascade.cascade_records import CascadeResult
from mixjt.cascade.warming import Warming
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.studies.band import Band
from mixjt.studies.compare.roads import BLENDS, road_label


@dataclass(frozen=True)
class Carried:
    """The load carried at one temperature on one road.

    power [W] and cop at the load; own_capacity is the cooling power [W] where every stage has one compressor of the
    case. bottles are fractions by bottle of a blend, empty for a cascade. fluids is what must be the same for two
    points to lie on one line: the bottles or the stages' fluids, and how a blend is precooled. circuit is that of a
    blend, as asked for.
    """

    temperature: float
    power: float
    cop: float
    own_capacity: float
    contents: str
    result: CircuitResult | CascadeResult = field(repr=False)
    bottles: dict[str, float] = field(default_factory=dict)
    fluids: tuple[str, ...] = ()
    circuit: ThrottleCircuit | None = field(default=None, repr=False)


@dataclass(frozen=True)
class RoadFigures:
    """A road at the cold end of the case; a quantity that does not exist or is not known is None.

    swept_flow [m3/s] and displacement [m3 per revolution] are sums over all compressors; own_capacity and own_power
    [W] are those of the case's own compressor in every stage. Pressures in Pa absolute, temperatures in K,
    conductances in W/K, masses in kg; flammable_fraction is by mass. The standing pressures are those at ambient
    and on the hottest day, standing_limit the rating stated for them; buffer [m3] is the volume that must be added to keep
    the rating, of all stages together, None where none helps: a precooler's own fluid stands above it. flammable_mass
    is without a precooler's charge.
    """

    power: float
    cop: float
    carnot_fraction: float
    compressors: int
    swept_flow: float
    displacement: float
    own_capacity: float
    own_power: float
    running_pressure: float
    standing_pressure: float | None
    hot_standing_pressure: float | None
    buffer: float | None
    standing_limit: float | None
    discharge_temperatures: tuple[float, ...]
    flammable_mass: float | None
    flammable_fraction: float | None
    bottles: int
    recuperator_conductance: float | None
    condenser_conductance: float | None
    contents: str
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class Road:
    """One road: its figures or what stands in the way, and its load line, coldest first.

    lowest_temperature [K] is the coldest at which the load was carried, blend or fluids chosen anew for it; None
    where that was not looked for. band is that of a blend's cooling figure. equal_power [W] is that of a blend's road with
    a recuperator as large as that of the others, None where it does not carry the load with it. looked_for is False where an interruption left the road unknown. warmings says
    what a cascade costs by what warms its suction gas.
    """

    name: str
    carried: Carried | None
    figures: RoadFigures | None
    obstacle: str
    line: tuple[Carried, ...]
    lowest_temperature: float | None
    leaves_out: tuple[str, ...]
    band: Band | None = None
    looked_for: bool = True
    warmings: tuple[Warming, ...] = ()
    equal_power: float | None = None

    @property
    def label(self) -> str:
        """For people."""
        return road_label(self.name)

    @property
    def is_blend(self) -> bool:
        """Whether it is a throttle circuit."""
        return self.name in BLENDS


@dataclass(frozen=True)
class Crossing:
    """Where two lines take the same power, coldest first, and all of it in a sentence.

    temperatures [K] are interpolated; between holds for each the two temperatures of the line it lies between, and
    joined tells whether both lines keep to the same fluids there: only then is the interpolation worth its digits.
    """

    temperatures: tuple[float, ...]
    sentence: str
    between: tuple[tuple[float, float], ...] = ()
    joined: tuple[bool, ...] = ()


@dataclass(frozen=True)
class Comparison:
    """Roads in the order asked for, where blends and cascades take the same power, and advice.

    suction_temperature [K] is that to which a cascade's gas is warmed. crossing is that of the blend of least power with
    the cascade of least power, road_crossings those of each blend road [K]. lost holds road, temperature [K] and reason
    of every point of the load line that was tried in vain. equal_conductance [W/K] is that of the recuperators that the
    equal powers of the roads belong to.
    """

    load: float
    cold_temperature: float
    ambient_temperature: float
    roads: tuple[Road, ...]
    crossing: Crossing
    advice: str
    messages: tuple[str, ...]
    seconds: float = field(compare=False)
    suction_temperature: float | None = None
    interrupted: bool = False
    road_crossings: dict[str, tuple[float, ...]] = field(default_factory=dict)
    lost: tuple[tuple[str, float, str], ...] = ()
    equal_conductance: float | None = None
