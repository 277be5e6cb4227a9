"""What is doubtful or dangerous about a solved cascade, in sentences for its builder."""

from __future__ import annotations

from mixjt.cascade.cascade_limits import stage_excesses
from mixjt.cascade.cascade_records import Cascade, CascadeCondenser
from mixjt.cascade.stage_standstill import StageStandstill
from mixjt.parts.vapour_stage import StageResult
from mixjt.units import apart, bar_text, kelvin_text

NEAR_CRITICAL = 0.97  # of the critical temperature; above it little latent heat is left (common practice, no source)
TIGHT_APPROACH = 0.3  # of the stated approach
KEPT = 1e-6  # relative; an optimum sits on its limit
SUCTION = "suction pressure"


def cascade_warnings(
    cascade: Cascade,
    stages: tuple[StageResult, ...],
    condensers: tuple[CascadeCondenser, ...],
    standstills: tuple[StageStandstill | None, ...],
) -> tuple[str, ...]:
    """All warnings about a cascade, stage by stage from the coldest."""
    found = []
    for number, stage in enumerate(stages):
        own = [*_suction(cascade, stage), *_limits(cascade, number, stage), *_critical(stage), *_cold_compressor(cascade, stage)]
        own += _at_rest(cascade, stage, standstills[number])
        found += [f"stage {number + 1}: {text}" for text in own]
    for number, one in enumerate(condensers, start=1):
        if one.smallest_approach < TIGHT_APPROACH * cascade.approach:
            found.append(
                f"the condenser between stages {number} and {number + 1} pinches to {one.smallest_approach:.2g} K: "
                "it becomes large; use less superheat or subcooling"
            )
    return tuple(found)


def _suction(cascade: Cascade, stage: StageResult) -> list[str]:
    pressure = stage.cycle.suction_pressure
    if pressure >= cascade.atmosphere * (1.0 - KEPT):
        return []
    text = (
        f"{stage.fluid.name}'s suction of {bar_text(pressure)} absolute is below atmospheric pressure: a leak draws air "
        "and moisture in" + (", which with a flammable fluid is dangerous" if stage.fluid.flammable else "")
    )
    return [text]


def _limits(cascade: Cascade, number: int, stage: StageResult) -> list[str]:
    return [
        excess.text
        for excess in stage_excesses(stage.cycle, cascade.limits, number, stage.evaporator_heat)
        if excess.relative > KEPT and not (excess.quantity == SUCTION and _suction(cascade, stage))
    ]


def _critical(stage: StageResult) -> list[str]:
    facts, condensing = stage.fluid.facts, stage.cycle.stage.condensing_temperature
    if facts is None or condensing < NEAR_CRITICAL * facts.critical_temperature:
        return []
    text = (
        f"{stage.fluid.name} condenses at {kelvin_text(condensing)}, close to its critical temperature of "
        f"{kelvin_text(facts.critical_temperature)}: pressure and capacity change steeply with the weather"
    )
    return [text]


def _cold_compressor(cascade: Cascade, stage: StageResult) -> list[str]:
    hot = stage.cycle.discharge_temperature
    if hot >= cascade.ambient_temperature:
        return []
    text = (
        f"{stage.fluid.name} leaves its compressor at {kelvin_text(hot)}, colder than the air around it: such a machine "
        "takes heat up instead of losing it, and its oil stiffens. State a warmer suction_temperature"
    )
    return [text]


def _at_rest(cascade: Cascade, stage: StageResult, at_rest: StageStandstill | None) -> list[str]:
    facts = stage.fluid.facts
    hottest = max(cascade.ambient_temperature, cascade.hottest_temperature or 0.0)
    if at_rest is None:
        if facts is None or facts.critical_temperature > hottest:
            return []
        text = (
            f"{stage.fluid.name} is above its critical temperature when it stands warm: its pressure then depends on "
            "charge and volume alone; state system_volume with charge or liquid_volume to see it"
        )
        return [text]
    if at_rest.limit is None or at_rest.hottest_pressure <= at_rest.limit:
        return []
    stands, most = apart(at_rest.hottest_pressure, at_rest.limit, "pressure", 3)
    text = f"{stage.fluid.name} stands at {stands} on the hottest day, above the {most} allowed: "
    if at_rest.vessel is None:
        return [text + "no expansion vessel on the low side can help, its gas alone would exceed the limit"]
    return [text + f"an expansion vessel of {1e3 * at_rest.vessel:.3g} L on the low side keeps it below"]
