"""Cascade: vapour-compression stages one above the other, coupled by cascade condensers.

From the coldest stage up: a stage takes up its load and its heat leak, which gives its flow, power and the
heat of its condenser; that heat is the load of the next stage, which evaporates the approach below the
temperature at which the stage condenses. What shells and desuperheaters lose goes to the air. The warmest
stage condenses condenser_approach above ambient, or where a condenser of stated size gives off what it rejects.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from mixjt.cascade.cascade_records import HOT_GAS, NOTHING, Cascade, CascadeResult
from mixjt.cascade.cascade_warnings import cascade_warnings
from mixjt.cascade.condenser import couple
from mixjt.cascade.stage_balance import cascade_condenser, condenser, evaporator, inner_components
from mixjt.cascade.stage_standstill import StageStandstill, stage_standstill
from mixjt.circuit.accounting import account
from mixjt.errors import InputError
from mixjt.parts.air_coil import CLOSEST
from mixjt.parts.air_condenser import LEAST_LIFT, sized_cycle
from mixjt.parts.stage_fluid import StageFluid
from mixjt.parts.vapour_stage import StageCycle, StageResult, VapourStage, remembered_cycle, solve_stage


def cascade_stage(cascade: Cascade, number: int, count: int, evaporating: float, condensing: float) -> VapourStage:
    """The stage of a cascade at given temperatures [K]; number counts from 0 at the cold end."""
    warmest = number == count - 1
    desuperheats = cascade.desuperheater_approach is not None and not warmest
    return VapourStage(
        evaporating_temperature=evaporating,
        condensing_temperature=condensing,
        compressor=cascade.compressor,
        superheat=cascade.superheat,
        subcooling=cascade.subcooling,
        exchanger_effectiveness=cascade.of_stage("exchanger_effectiveness", number),
        suction_drop=cascade.of_stage("suction_drops", number),
        discharge_drop=cascade.of_stage("discharge_drops", number),
        heat_leak=cascade.of_stage("heat_leaks", number),
        desuperheater_outlet=cascade.ambient_temperature + cascade.desuperheater_approach if desuperheats else None,
        suction_temperature=None if cascade.suction_warming == NOTHING else cascade.suction_temperature,
        hot_gas_approach=cascade.approach if cascade.suction_warming == HOT_GAS else None,
        suction_loss=cascade.suction_loss,
        discharge_loss=cascade.discharge_loss,
        ambient_temperature=cascade.ambient_temperature,
    )


def stage_temperatures(cascade: Cascade, intermediates: Sequence[float]) -> list[tuple[float, float]]:
    """Evaporating and condensing temperature of every stage [K].

    Parameters
    ----------
    cascade : Cascade
    intermediates : sequence of float
        Evaporating temperatures of all stages but the coldest [K], ascending.

    Raises
    ------
    InputError
        Where they do not ascend between the coldest evaporating and the warmest condensing temperature.
    """
    evaporating = [cascade.evaporating_temperature, *intermediates]
    condensing = [*(temperature + cascade.approach for temperature in intermediates), cascade.condensing_temperature]
    for number, (cold, warm) in enumerate(zip(evaporating, condensing), start=1):
        if not (math.isfinite(cold) and math.isfinite(warm) and cold < warm):
            raise InputError(
                f"stage {number} would evaporate at {cold:.5g} K and condense at {warm:.5g} K; intermediate "
                "temperatures ascend from the cold end to ambient"
            )
    return list(zip(evaporating, condensing))


def solve_cascade(
    cascade: Cascade,
    fluids: Sequence[StageFluid],
    intermediates: Sequence[float],
) -> CascadeResult:
    """A cascade with given fluids and temperatures.

    Parameters
    ----------
    cascade : Cascade
    fluids : sequence of StageFluid
        1 to 4, coldest stage first.
    intermediates : sequence of float
        Evaporating temperatures of all stages but the coldest [K], ascending.

    Returns
    -------
    CascadeResult
        Limits that are not kept are named in its warnings. Where the cascade states the size of its condenser, that of
        the result has the approach which follows.

    Raises
    ------
    InputError
        For a wrong number of fluids, temperatures or values for single stages.
    UnreachableError
        Where a fluid does not condense or freezes, the streams of a cascade condenser cross, or the condenser
        is too small.
    ConvergenceError
    """
    count = len(fluids)
    cascade.check_counts(count)
    if len(intermediates) != count - 1:
        raise InputError(
            f"{count} stages need {count - 1} intermediate temperatures, one between each two; got {len(intermediates)}"
        )
    stages = _stages(cascade, cascade_cycles(cascade, fluids, intermediates))
    if cascade.condenser is not None:
        condensing = stages[-1].cycle.stage.condensing_temperature
        cascade = replace(cascade, condenser_approach=condensing - cascade.ambient_temperature)
    condensers = tuple(couple(colder, warmer) for colder, warmer in pairwise(stages))
    standstills = tuple(_at_rest(cascade, number, stage) for number, stage in enumerate(stages))
    power = sum(stage.compressor_power for stage in stages)
    cop = cascade.load / power
    exergy, energy_residual, exergy_residual = _balance(cascade, stages, power)
    return CascadeResult(
        cascade=cascade,
        stages=stages,
        condensers=condensers,
        total_power=power,
        cop=cop,
        carnot_fraction=cop * (cascade.ambient_temperature / cascade.cold_temperature - 1.0),
        exergy=exergy,
        energy_residual=energy_residual,
        exergy_residual=exergy_residual,
        standstills=standstills,
        warnings=cascade_warnings(cascade, stages, condensers, standstills),
    )


def cascade_cycles(cascade: Cascade, fluids: Sequence[StageFluid], intermediates: Sequence[float]) -> list[StageCycle]:
    """The states of every stage, those solved before remembered.

    Raises
    ------
    InputError, UnreachableError, ConvergenceError
    """
    cycles, load, count = [], cascade.load, len(fluids)
    for number, (fluid, (cold, warm)) in enumerate(zip(fluids, stage_temperatures(cascade, intermediates), strict=True)):
        heat = load + cascade.of_stage("heat_leaks", number)
        if cascade.condenser is not None and number == count - 1:
            cycle = _warmest_cycle(cascade, fluid, count, cold, heat)
        else:
            cycle = remembered_cycle(fluid, cascade_stage(cascade, number, count, cold, warm))
        cycles.append(cycle)
        load = heat * cycle.rejected_per_heat
    return cycles


def _warmest_cycle(cascade: Cascade, fluid: StageFluid, count: int, evaporating: float, heat: float) -> StageCycle:
    """The warmest of so many stages, which takes up a heat [W], with the condenser of stated size."""
    ambient = cascade.ambient_temperature

    def cycle_at(condensing: float) -> StageCycle:
        return remembered_cycle(fluid, cascade_stage(cascade, count - 1, count, evaporating, condensing))

    coldest = max(ambient + cascade.subcooling + CLOSEST, evaporating + LEAST_LIFT)
    return sized_cycle(cycle_at, lambda _: heat, cascade.condenser, ambient, coldest)


def _stages(cascade: Cascade, cycles: Sequence[StageCycle]) -> tuple[StageResult, ...]:
    stages, load = [], cascade.load
    for cycle in cycles:
        stages.append(solve_stage(cycle.fluid, cycle.stage, load, cycle))
        load = stages[-1].condenser_heat
    return tuple(stages)


def _at_rest(cascade: Cascade, number: int, stage: StageResult) -> StageStandstill | None:
    inventory = cascade.inventory(number)
    if inventory is None:
        return None
    ambient = cascade.ambient_temperature
    hottest = ambient if cascade.hottest_temperature is None else max(ambient, cascade.hottest_temperature)
    return stage_standstill(stage, inventory, ambient, hottest, cascade.largest_standstill_pressure)


def _balance(cascade: Cascade, stages, power: float):
    """Exergy by stage and component, and both residuals."""
    ambient, cold = cascade.ambient_temperature, cascade.cold_temperature
    parts = [(0, evaporator(stages[0], ambient, cold))]
    for number, stage in enumerate(stages):
        parts += [(number, part) for part in inner_components(stage, ambient)]
        if number + 1 < len(stages):
            parts.append((None, cascade_condenser(stage, stages[number + 1], ambient)))
    parts.append((len(stages) - 1, condenser(stages[-1], ambient)))
    delivered = cascade.load * (ambient / cold - 1.0)
    found = account([part for _, part in parts], ambient, delivered, power)
    numbers = [*(number for number, _ in parts), None]
    items = tuple((number, item.component, item.exergy) for number, item in zip(numbers, found.exergy, strict=True))
    return items, found.energy_residual, found.exergy_residual
