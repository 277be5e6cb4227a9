"""By how much a stage of a cascade exceeds its limits, as numbers for a solver and as words for a reader."""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.cascade.cascade_records import CascadeLimits
from mixjt.constants import ZERO_CELSIUS
from mixjt.parts.vapour_stage import StageCycle
from mixjt.units import apart

TEMPERATURE_SCALE = 100.0  # K; a discharge hotter by this much counts like a ratio twice its limit


@dataclass(frozen=True)
class Excess:
    """One limit of one stage: by how much it is exceeded, relative to it (negative: kept), and in words."""

    quantity: str
    relative: float
    text: str


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
        found.append(_suction(cycle, limits.suction_pressure, name))
    if limits.pressure_ratio is not None:
        ratio, most = apart(cycle.pressure_ratio, limits.pressure_ratio, "number")
        found.append(Excess(
            "pressure ratio",
            cycle.pressure_ratio / limits.pressure_ratio - 1.0,
            f"{name}'s pressure ratio of {ratio} is beyond {most}",
        ))  # fmt: skip
    for place, hot, limit in (
        ("discharge", cycle.discharge_temperature, limits.discharge_temperature),
        ("gas at the discharge valve", cycle.valve_temperature, limits.valve_temperature),
    ):
        if limit is not None:
            has, most = apart(hot, limit, "temperature", 5)
            text = f"{name}'s {place} of {has} ({hot - ZERO_CELSIUS:.0f} degC) is hotter than {most}"
            found.append(Excess(f"{place} temperature", (hot - limit) / TEMPERATURE_SCALE, text))
    if limits.discharge_pressure is not None:
        has, most = apart(cycle.discharge_pressure, limits.discharge_pressure, "pressure")
        found.append(Excess(
            "discharge pressure",
            cycle.discharge_pressure / limits.discharge_pressure - 1.0,
            f"{name}'s discharge pressure of {has} is above {most}",
        ))  # fmt: skip
    if heat is not None and limits.displacements is not None:
        found.append(_displacement(cycle, limits.displacement(number), heat, name))
    return tuple(found)


def worst_excess(excesses: tuple[Excess, ...]) -> Excess | None:
    """The limit exceeded most, or None where all are kept."""
    broken = [excess for excess in excesses if excess.relative > 0.0]
    return max(broken, key=lambda excess: excess.relative, default=None)


def _suction(cycle: StageCycle, least: float, name: str) -> Excess:
    has, need = apart(cycle.suction_pressure, least, "pressure")
    text = f"{name}'s suction of {has} is below the least of {need} absolute"
    return Excess("suction pressure", 1.0 - cycle.suction_pressure / least, text)


def _displacement(cycle: StageCycle, greatest: float, heat: float, name: str) -> Excess:
    needed = heat * cycle.swept_per_heat / cycle.stage.compressor.speed
    needs, most = apart(needed, greatest, "volume")
    text = f"{name} needs {needs} per revolution, more than {most}"
    return Excess("displacement", needed / greatest - 1.0, text)
