"""Precooler: a vapour-compression stage whose evaporator cools a gliding stream down to a given temperature.

The stage evaporates one approach below the temperature it cools to, and condenses one approach above
ambient, or where a condenser of stated size gives off what it rejects. With a stated approach its power is proportional to
the heat it takes up; what it draws per watt follows from `mixjt.parts.vapour_stage`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from mixjt.bounds import require_fields
from mixjt.constants import ATMOSPHERE
from mixjt.errors import UnreachableError
from mixjt.fluid.pure import fluid_names
from mixjt.keys import FLUID, key
from mixjt.parts.air_coil import CLOSEST, AirCoil
from mixjt.parts.air_condenser import LEAST_LIFT, sized_cycle
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.compressor.limits import limit_warnings
from mixjt.parts.stage_fluid import pure_fluid
from mixjt.parts.vapour_stage import StageCycle, VapourStage, remembered_cycle

REMEMBERED = 1024  # stages
# Only its efficiencies, limits and clearance count, unless the precooler is limited by its displacement.
ANY_SIZE = Compressor("reciprocating", displacement=1.0, speed=1.0)


@dataclass(frozen=True)
class Precooler:
    """What is fixed about a precooling stage; defaults are those of small machines (common practice, no source).

    Parameters
    ----------
    temperature : float
        To which it cools the stream [K].
    fluid : str
        See `mixjt.fluid.pure.fluid_names`.
    approach : float
        Of the stream's outlet above the evaporating temperature [K].
    condenser_approach : float
        Of the condensing temperature above ambient [K].
    condenser : AirCoil, optional
        Its size; then the approach is a result, and that stated holds only where the heat of the stage is not known yet.
    superheat : float
        At the evaporator outlet [K].
    compressor : Compressor
    capacity : float, optional
        Heat that the stage takes up at most, at any temperature [W]; None for no limit.
    limited_by_compressor : bool
        Whether the compressor's displacement sets the limit, which then follows the temperature.

    Raises
    ------
    InputError
        For values that no precooler can have.
    """

    temperature: float = key(
        "temperature", "to which the stage cools the high side", within="[80, 350]",
        otherwise="the best within temperature_range",
    )
    fluid: str = key(FLUID, "the pure fluid of the stage", default="propane", choices=fluid_names())
    approach: float = key(
        "temperature_difference", "high side's outlet above the evaporating temperature", default=5.0, within="[0, 60]"
    )
    condenser_approach: float = key(
        "temperature_difference", "condensing temperature above ambient", default=10.0, within="(0, 60]"
    )
    superheat: float = key("temperature_difference", "at the evaporator outlet", default=5.0, within="[0, 40]")
    compressor: Compressor = ANY_SIZE
    condenser: AirCoil | None = None
    capacity: float | None = key(
        "power", "the heat that the stage takes up at most", default=None, within="(0, 1e5]", otherwise="no limit"
    )
    limited_by_compressor: bool = False

    def __post_init__(self):
        require_fields(self, "precooler", ("temperature",), above=0.0)
        require_fields(self, "precooler", ("capacity",), optional=True, above=0.0)
        require_fields(self, "precooler", ("approach", "condenser_approach", "superheat"), least=0.0)

    @property
    def limited(self) -> bool:
        """Whether there is a limit to the heat that the stage takes up."""
        return self.capacity is not None or self.limited_by_compressor

    def capacity_at(self, temperature: float, ambient: float) -> float:
        """Heat that the stage takes up at most when it cools to a temperature [K]; infinite without a limit [W]."""
        if not self.limited_by_compressor:
            return self._limit()
        if self.condenser is None:
            return self._limit(precooling_stage(self, temperature, ambient))
        return self._limit(_sized_stage(self, temperature, ambient, self._moved))

    def excess(self, heat: float, temperature: float, ambient: float) -> float:
        """By how much a heat is more than the stage takes up at most [W], when it cools to a temperature [K].

        All of it where the condenser is too small for it.
        """
        cycle = None
        if self.limited_by_compressor:
            try:
                cycle = precooling_stage(self, temperature, ambient, heat)
            except UnreachableError:
                return heat
        return heat - self._limit(cycle)

    def _limit(self, cycle: StageCycle | None = None) -> float:
        limit = math.inf if self.capacity is None else self.capacity
        return limit if cycle is None else min(limit, self._moved(cycle))

    def _moved(self, cycle: StageCycle) -> float:
        """Heat taken up where the displacement is used up [W]."""
        return self.compressor.swept_flow / cycle.swept_per_heat


@lru_cache(REMEMBERED)
def precooling_stage(precooler: Precooler, temperature: float, ambient: float, heat: float | None = None) -> StageCycle:
    """The stage that cools to a temperature [K], whatever the precooler's own one, in a room at ambient [K].

    heat [W] is what it takes up, which a condenser of stated size has to give off; without it the stated approach holds.

    Raises
    ------
    UnknownGasError
    UnreachableError
        Where the fluid cannot evaporate or condense at the temperatures that follow, or the condenser is too small.
    """
    if precooler.condenser is None or heat is None:
        return condensing_stage(precooler, temperature, ambient, ambient + precooler.condenser_approach)
    return _sized_stage(precooler, temperature, ambient, lambda cycle: heat)


def condensing_stage(precooler: Precooler, temperature: float, ambient: float, condensing: float) -> StageCycle:
    """The same at a condensing temperature [K]."""
    stage = VapourStage(
        evaporating_temperature=temperature - precooler.approach,
        condensing_temperature=condensing,
        compressor=precooler.compressor,
        superheat=precooler.superheat,
        ambient_temperature=ambient,
    )
    return remembered_cycle(pure_fluid(precooler.fluid), stage)


def coldest_condensing(precooler: Precooler, temperature: float, ambient: float) -> float:
    """Condensing temperature with an endless condenser [K]."""
    return max(ambient + CLOSEST, temperature - precooler.approach + LEAST_LIFT)


def _sized_stage(
    precooler: Precooler, temperature: float, ambient: float, heat_of: Callable[[StageCycle], float]
) -> StageCycle:
    def cycle_at(condensing: float) -> StageCycle:
        return condensing_stage(precooler, temperature, ambient, condensing)

    coldest = coldest_condensing(precooler, temperature, ambient)
    return sized_cycle(cycle_at, heat_of, precooler.condenser, ambient, coldest)


def precooler_warnings(cycle: StageCycle, compressor: Compressor) -> tuple[str, ...]:
    """What is doubtful about a precooling stage, in sentences."""
    found = []
    name = f"the precooler's {cycle.fluid.name}"
    if cycle.suction_pressure < ATMOSPHERE:
        found.append(
            f"{name} evaporates at {cycle.suction_pressure / 1e5:.3g} bar absolute, below atmospheric pressure: "
            "a leak draws air in. Precool less deep, or choose a fluid that boils colder"
        )
    found += [f"{name}: {text}" for text in limit_warnings(cycle, compressor)]
    return tuple(found)
