"""By how much a stage of a cascade exceeds its limits, as numbers for a solver and as words for a reader."""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.cascade.cascade_records import CascadeLimits
from mixjt.constants import ZERO_CELSIUS
from mixjt.parts.vapour_stage import StageCycle
from mixjt.units import apart

DIGITS = {"temperature": 5}  # shown at least, where they are not 4
TEMPERATURE_SCALE = 100.0  # K; a discharge hotter by this much counts like a ratio twice its limit


@dataclass(frozen=True)
class Excess:
    """One limit of one stage: by how much it is exceeded, relative to it (negative: kept), and in words.

    sentence has places for what the stage has and for the limit, quantities of a kind.
    """

    quantity: str
    relative: float
    sentence: str
    has: float
    limit: float
    kind: str

    @property
    def text(self) -> str:
        """In words."""
        has, limit = apart(self.has, self.limit, self.kind, DIGITS.get(self.kind, 4))
        return self.sentence.format(has=has, limit=limit)


def stage_excesses(
    cycle: StageCycle, limits: CascadeLimits, number: int, heat: float | None = None
) -> tuple[Excess, ...]:
    """How a stage stands to every limit there is.

    Parameters
    ----------
    cycle : StageCycle
    limits : CascadeLimits
    number : int
        Of the stage, from 0 at the cold end.
    heat : float, optional
        Evaporator heat [W]; without it the displacement is not judged.
    """
    name = cycle.fluid.name
    found = []
    if limits.suction_pressure is not None:
        has, least = cycle.suction_pressure, limits.suction_pressure
        words = f"{name}'s suction of {{has}} is below the least of {{limit}} absolute"
        found.append(Excess("suction pressure", 1.0 - has / least, words, has, least, "pressure"))
    if limits.pressure_ratio is not None:
        has, most = cycle.pressure_ratio, limits.pressure_ratio
        words = f"{name}'s pressure ratio of {{has}} is beyond {{limit}}"
        found.append(Excess("pressure ratio", has / most - 1.0, words, has, most, "number"))
    if limits.discharge_temperature is not None:
        found.append(_hot(name, "discharge", cycle.discharge_temperature, limits.discharge_temperature))
    if limits.valve_temperature is not None:
        found.append(_hot(name, "gas at the discharge valve", cycle.valve_temperature, limits.valve_temperature))
    if limits.discharge_pressure is not None:
        has, most = cycle.discharge_pressure, limits.discharge_pressure
        words = f"{name}'s discharge pressure of {{has}} is above {{limit}}"
        found.append(Excess("discharge pressure", has / most - 1.0, words, has, most, "pressure"))
    if heat is not None and limits.displacements is not None:
        has, most = heat * cycle.swept_per_heat / cycle.stage.compressor.speed, limits.displacement(number)
        words = f"{name} needs {{has}} per revolution, more than {{limit}}"
        found.append(Excess("displacement", has / most - 1.0, words, has, most, "volume"))
    return tuple(found)


def _hot(name: str, place: str, has: float, most: float) -> Excess:
    words = f"{name}'s {place} of {{has}} ({has - ZERO_CELSIUS:.0f} degC) is hotter than {{limit}}"
    return Excess(f"{place} temperature", (has - most) / TEMPERATURE_SCALE, words, has, most, "temperature")


def worst_excess(excesses: tuple[Excess, ...]) -> Excess | None:
    """The limit exceeded most, or None where all are kept."""
    broken = [excess for excess in excesses if excess.relative > 0.0]
    return max(broken, key=lambda excess: excess.relative, default=None)
