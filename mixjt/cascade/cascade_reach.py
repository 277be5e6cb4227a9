"""How cold a fluid or a chain of fluids can evaporate within the limits of a cascade, and what stops it.

All limits tighten as a stage's lift grows, so the lowest evaporating temperature of a stage falls with its
condensing temperature. Starting at the warmest stage and letting each stage go as cold as it may therefore
gives the lowest temperature of the chain. Displacements are not judged here: they depend on the load.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mixjt.cascade.cascade_limits import stage_excesses, worst_excess
from mixjt.cascade.cascade_records import Cascade
from mixjt.cascade.stages import cascade_stage
from mixjt.errors import MixjtError
from mixjt.parts.stage_fluid import StageFluid
from mixjt.parts.vapour_stage import remembered_cycle
from mixjt.units import kelvin_text

SMALL_LIFT = 2.0  # K; no stage is built for less
COLDEST = 20.0  # K, below which no fluid is looked for
HALVINGS = 14  # to 0.02 K of a span of 300 K


@dataclass(frozen=True)
class CascadeReach:
    """temperature: lowest evaporating temperature [K], None where there is none; reason: what stops it."""

    temperature: float | None
    reason: str


def stage_obstacle(
    cascade: Cascade, fluid: StageFluid, number: int, count: int, evaporating: float, condensing: float
) -> str | None:
    """Why a stage cannot work between two temperatures [K]; None where it can."""
    try:
        cycle = remembered_cycle(fluid, cascade_stage(cascade, number, count, evaporating, condensing))
    except MixjtError as error:
        return str(error)
    worst = worst_excess(stage_excesses(cycle, cascade.limits, number))
    return None if worst is None else worst.text


def stage_reach(cascade: Cascade, fluid: StageFluid, number: int, count: int, condensing: float) -> CascadeReach:
    """Lowest evaporating temperature of a stage that condenses at a temperature [K], or warmer where it must.

    The warmest stage condenses at exactly that temperature.
    """

    def hindrance(evaporating: float) -> str | None:
        return stage_obstacle(cascade, fluid, number, count, evaporating, max(condensing, evaporating + SMALL_LIFT))

    warm = condensing - SMALL_LIFT
    reason = hindrance(warm)
    if reason is None:
        return _bisected(hindrance, COLDEST, warm)
    if number == count - 1:
        return CascadeReach(None, reason)
    warmest = cascade.condensing_temperature - SMALL_LIFT
    if fluid.facts:
        warmest = min(warmest, fluid.facts.critical_temperature - 2.0 * SMALL_LIFT)
    if warmest <= warm or hindrance(warmest) is not None:
        return CascadeReach(None, reason)
    return _bisected(hindrance, warm, warmest)


def chain_reach(cascade: Cascade, fluids: Sequence[StageFluid]) -> CascadeReach:
    """Lowest temperature of the load [K] that a chain of fluids, coldest first, reaches within the limits."""
    condensing, found = cascade.condensing_temperature, CascadeReach(None, "")
    for number in reversed(range(len(fluids))):
        found = stage_reach(cascade, fluids[number], number, len(fluids), condensing)
        if found.temperature is None:
            return found
        condensing = found.temperature + cascade.approach
    return CascadeReach(found.temperature + cascade.evaporator_approach, found.reason)


def why_not(cascade: Cascade, fluids: Sequence[StageFluid]) -> str:
    """Why a chain of fluids does not carry the load within the limits."""
    found = chain_reach(cascade, fluids)
    names = " + ".join(fluid.name for fluid in fluids)
    if found.temperature is None:
        return found.reason
    if found.temperature > cascade.cold_temperature:
        return f"{names} reach {kelvin_text(found.temperature)} at the lowest within the limits: {found.reason}"
    return _stage_by_stage(cascade, fluids) or "no intermediate temperatures found that keep every limit"


def _stage_by_stage(cascade: Cascade, fluids: Sequence[StageFluid]) -> str | None:
    """What hinders the coldest stage when the stages above it go as cold as they may."""
    count = len(fluids)
    if count == 1:
        return stage_obstacle(cascade, fluids[0], 0, 1, cascade.evaporating_temperature, cascade.condensing_temperature)
    above = chain_reach(cascade, fluids[1:])
    condensing = max(
        (above.temperature or 0.0) - cascade.evaporator_approach + cascade.approach,
        cascade.evaporating_temperature + SMALL_LIFT,
    )
    return stage_obstacle(cascade, fluids[0], 0, count, cascade.evaporating_temperature, condensing)


def _bisected(hindrance, low: float, high: float) -> CascadeReach:
    """The lowest temperature without hindrance between one that has it and one that has not."""
    reason = hindrance(low) or ""
    if not reason:
        return CascadeReach(low, "")
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        found = hindrance(middle)
        if found is None:
            high = middle
        else:
            low, reason = middle, found
    return CascadeReach(high, reason)
