"""Sensitivity, weighing errors and worst cases as flat records for JSON and as tables for CSV."""

from __future__ import annotations

import math

import numpy as np

from mixjt.cycles.records import THROTTLE_OUTLET, CircuitResult
from mixjt.files.records import circuit_record
from mixjt.report.output import Table
from mixjt.studies.reach import Reach
from mixjt.studies.robust import RobustBlend
from mixjt.studies.robust_search import RobustSearch
from mixjt.studies.sensitivity import Effect, Sensitivity
from mixjt.studies.weighing import PERCENTILES, Weighing

EFFECT_COLUMNS = (
    "input", "change", "change_unit", "cooling_power_W", "cooling_power_change_W", "lowest_temperature_K",
    "lowest_temperature_change_K", "lowest_temperature_freezing_gas", "lowest_temperature_freezing_margin_K",
    "suction_superheat_K", "discharge_temperature_K", "valve_temperature_K", "compressor_power_W", "supply_current_A",
    "cop", "limits_exceeded", "problem",
)  # fmt: skip
STORED_UNITS = {"mol %": "mol_per_mol", "K": "K", "%": "relative"}  # of the column "change"


def sensitivity_record(found: Sensitivity, frost_free: float | None) -> dict:
    """The lowest temperature and all effects, each key ending in its unit; None where there is none."""
    return {
        **_reach_record(found.reach),
        "frost_free_temperature_K": frost_free,
        "effects": effect_table(found).records(),
        "interrupted": found.interrupted,
    }


def effect_table(found: Sensitivity) -> Table:
    """One row a change, the input with the greatest effect on the cooling power first."""
    return Table(EFFECT_COLUMNS, tuple(_effect_row(effect) for effect in found.effects))


def weighing_record(found: Weighing, contributions: np.ndarray, names) -> dict:
    """Percentiles and shares of the draws, and what each bottle's error brings."""
    return {
        "charge_g": 1e3 * found.request.charge,
        "draws": len(found.amounts),
        "draws_solved": found.solved,
        "seed": found.request.seed,
        "load_W": found.load,
        "target_cooling_power_W": found.target_power,
        "target_lowest_temperature_K": found.target_lowest,
        **_percentile_record("cooling_power", "W", found.power_percentiles),
        **_percentile_record("lowest_temperature", "K", found.lowest_percentiles),
        "lowest_temperature_floor_K": found.floor,
        "draws_carrying_nowhere": None if found.floor is None else found.solved - int((~np.isnan(found.lowest_temperature)).sum()),
        "draws_below_floor": int(np.isneginf(found.lowest_temperature).sum()),
        "cooling_power_deviation_W": found.power_deviation,
        "cooling_power_linear_deviation_W": _finite(np.sqrt(np.sum(contributions**2))),
        "carrying_share": found.carrying_share,
        "bottles": mass_table(found, contributions, names).records(),
        "interrupted": found.interrupted,
    }


def mass_table(found: Weighing, contributions: np.ndarray, names) -> Table:
    """One row a bottle: what is weighed in, its error, and the scatter that this error alone brings."""
    columns = ("bottle", "mass_g", "error_g", "cooling_power_deviation_W")
    rows = zip(names, 1e3 * found.masses, 1e3 * np.array(found.request.errors), contributions, strict=True)
    return Table(columns, tuple((name, mass, error, _finite(share)) for name, mass, error, share in rows))


def draw_table(found: Weighing, names) -> Table:
    """One row a draw: fractions of the bottles, cooling power, lowest temperature."""
    columns = (*(f"bottle_fraction_{name.replace(' ', '_')}" for name in names), "cooling_power_W", "lowest_temperature_K")
    rows = zip(found.amounts, found.cooling_power, found.lowest_temperature, strict=True)
    return Table(columns, tuple((*x, _finite(power), _finite(lowest)) for x, power, lowest in rows))


def robust_record(found: RobustBlend, solution: CircuitResult | None, problem: str) -> dict:
    """The start and the blend whose worst case is best, with its solution, or None and the problem with it."""
    return {
        "worst_case_step_mol_per_mol": found.step,
        "start": _worst_record(found.names, found.start, found.start_nominal, found.start_worst, found.start_neighbour),
        "best": _worst_record(found.names, found.amounts, found.nominal, found.worst, found.neighbour),
        "conditions_kept": found.kept,
        "solution": None if solution is None else circuit_record(solution),
        "problem": problem or None,
        "interrupted": found.interrupted,
    }


def robust_search_record(found: RobustSearch) -> dict:
    """Candidates of a search by their worst case, and the blend whose worst case is best."""
    ranked = [
        {"candidate": one.rank, "cooling_power_W": one.nominal, "worst_cooling_power_W": one.worst,
         "worst_neighbour": one.neighbour or "the blend itself"}
        for one in found.ranked
    ]  # fmt: skip
    return {"ranked": ranked} | robust_record(found.blend, found.solution, found.problem)


def _worst_record(names, amounts, nominal: float, worst: float, neighbour: str) -> dict:
    return {
        "bottles": {name: float(x) for name, x in zip(names, amounts, strict=True)},
        "cooling_power_W": nominal,
        "worst_cooling_power_W": worst,
        "worst_neighbour": neighbour or "the blend itself",
    }


def _reach_record(reach: Reach | None) -> dict:
    found = None if reach is None else reach.solution
    return {
        "lowest_temperature_K": None if reach is None else reach.temperature,
        "lowest_temperature_load_W": None if reach is None else reach.load,
        "lowest_temperature_note": None if reach is None else reach.sentence or None,
        "lowest_temperature_throttle_outlet_K": None if found is None else found.points[THROTTLE_OUTLET].temperature,
        "lowest_temperature_freezing_gas": None if found is None else found.freezing_gas,
        "lowest_temperature_freezing_margin_K": None if found is None else found.freezing_margin,
    }


def _effect_row(effect: Effect) -> tuple:
    change, result, reach = effect.change, effect.result, effect.reach
    lowest = None if reach is None else reach.solution
    return (
        change.input,
        change.amount,
        STORED_UNITS[change.unit],
        None if result is None else result.cooling_power,
        effect.power_change,
        None if reach is None else reach.temperature,
        effect.lowest_change,
        None if lowest is None else lowest.freezing_gas,
        None if lowest is None else lowest.freezing_margin,
        *((None,) * 7 if result is None else (
            result.suction_superheat, result.discharge_temperature, result.valve_temperature, result.compressor_power,
            result.supply_current, result.cop, ", ".join(effect.limits_passed) or None,
        )),
        effect.problem or None,
    )  # fmt: skip


def _percentile_record(name: str, unit: str, values: tuple[float, ...] | None) -> dict:
    values = values or (None,) * len(PERCENTILES)
    return {
        f"{name}_percentile_{percent:.0f}_{unit}": None if value is None else _finite(value)
        for percent, value in zip(PERCENTILES, values, strict=True)
    }


def _finite(value) -> float | None:
    return float(value) if math.isfinite(value) else None
