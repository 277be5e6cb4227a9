"""Curves that explain a cascade: power against its intermediate temperatures, and the domes of its fluids."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.cascade.cascade_limits import stage_excesses
from mixjt.cascade.cascade_reach import SMALL_LIFT
from mixjt.cascade.cascade_records import CascadeResult
from mixjt.cascade.stages import cascade_cycles
from mixjt.errors import MixjtError
from mixjt.parts.stage_fluid import StageFluid

POINTS = 61
WITHIN = 1e-6  # relative excess of a limit that counts as keeping it
NEAREST_CRITICAL = 0.2  # K
BELOW = 10.0  # K, by which a dome reaches below the evaporating temperature


@dataclass(frozen=True)
class PowerCurve:
    """Power of a cascade when one intermediate temperature moves and the others stay; arrays (m,).

    warmer counts, from 0 at the cold end, the stage that evaporates at the temperature. temperatures [K],
    powers [W], NaN where a stage does not work; within says where every limit is kept.
    """

    warmer: int
    temperatures: np.ndarray
    powers: np.ndarray
    within: np.ndarray


def power_curves(result: CascadeResult, points: int = POINTS) -> tuple[PowerCurve, ...]:
    """One curve for each intermediate temperature of a solved cascade; none for a single stage."""
    ladder = [
        result.cascade.evaporating_temperature,
        *result.intermediate_temperatures,
        result.cascade.condensing_temperature,
    ]
    curves = []
    for place in range(1, len(ladder) - 1):
        span = np.linspace(ladder[place - 1] + SMALL_LIFT, ladder[place + 1] - SMALL_LIFT, points)
        temperatures = np.union1d(span, ladder[place])
        found = [_power(result, place - 1, temperature) for temperature in temperatures]
        powers, within = (np.array(column) for column in zip(*found, strict=True))
        curves.append(PowerCurve(place, temperatures, powers, within))
    return tuple(curves)


def _power(result: CascadeResult, place: int, temperature: float) -> tuple[float, bool]:
    cascade, between = result.cascade, list(result.intermediate_temperatures)
    between[place] = float(temperature)
    try:
        cycles = cascade_cycles(cascade, [stage.fluid for stage in result.stages], between)
    except MixjtError:
        return np.nan, False
    load, power, within = cascade.load, 0.0, True
    for number, cycle in enumerate(cycles):
        heat = load + cascade.of_stage("heat_leaks", number)
        excesses = stage_excesses(cycle, cascade.limits, number, heat)
        within = within and all(one.relative <= WITHIN for one in excesses)
        power += heat * cycle.power_per_heat
        load = heat * cycle.rejected_per_heat
    return power, within


@dataclass(frozen=True)
class Dome:
    """Saturation of a fluid over pressure [Pa]: enthalpies of liquid and vapour [J/mol]; arrays of shape (m,)."""

    liquid_pressures: np.ndarray
    liquid_enthalpies: np.ndarray
    vapour_pressures: np.ndarray
    vapour_enthalpies: np.ndarray


def dome(fluid: StageFluid, coldest: float, warmest: float, points: int = POINTS) -> Dome:
    """Between two temperatures [K]; of a pure fluid on to its critical point."""
    if fluid.facts:
        warmest = fluid.facts.critical_temperature - NEAREST_CRITICAL
    temperatures = np.linspace(coldest, warmest, points)
    liquid = [fluid.bubble_state(float(one)) for one in temperatures]
    vapour = [fluid.dew_state(float(one)) for one in temperatures]
    return Dome(
        np.array([state.pressure for state in liquid]),
        np.array([state.enthalpy for state in liquid]),
        np.array([state.pressure for state in vapour]),
        np.array([state.enthalpy for state in vapour]),
    )


def stage_domes(result: CascadeResult) -> tuple[Dome, ...]:
    """Of the fluids of all stages, from a little below where each evaporates."""
    return tuple(
        dome(
            stage.fluid,
            _lowest(stage.fluid, stage.cycle.stage.evaporating_temperature - BELOW),
            stage.cycle.stage.condensing_temperature,
        )
        for stage in result.stages
    )


def _lowest(fluid: StageFluid, temperature: float) -> float:
    return max(temperature, fluid.facts.triple_temperature + 0.1) if fluid.facts else temperature
