"""Precooler: a vapour-compression stage whose evaporator cools a gliding stream down to a given temperature.

The stage evaporates one approach below the temperature it cools to, and condenses one approach above
ambient. Its power is proportional to the heat it takes up; what it draws per watt follows from
`mixjt.parts.vapour_stage`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from mixjt.bounds import require_fields
from mixjt.constants import ATMOSPHERE
from mixjt.fluid.pure import fluid_names
from mixjt.keys import FLUID, key
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.compressor.limits import limit_warnings
from mixjt.parts.stage_fluid import pure_fluid
from mixjt.parts.vapour_stage import StageCycle, VapourStage, stage_cycle

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
        limit = math.inf if self.capacity is None else self.capacity
        if self.limited_by_compressor:
            swept = precooling_stage(self, temperature, ambient).swept_per_heat
            limit = min(limit, self.compressor.swept_flow / swept)
        return limit


@lru_cache(REMEMBERED)
def precooling_stage(precooler: Precooler, temperature: float, ambient: float) -> StageCycle:
    """The stage that cools to a temperature [K], whatever the precooler's own one, in a room at ambient [K].

    Raises
    ------
    UnknownGasError
    UnreachableError
        Where the fluid cannot evaporate or condense at the temperatures that follow.
    """
    stage = VapourStage(
        evaporating_temperature=temperature - precooler.approach,
        condensing_temperature=ambient + precooler.condenser_approach,
        compressor=precooler.compressor,
        superheat=precooler.superheat,
        ambient_temperature=ambient,
    )
    return stage_cycle(pure_fluid(precooler.fluid), stage)


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
