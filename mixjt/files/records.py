"""What is known of a solved circuit, as a flat record for JSON and as tables for CSV."""

from __future__ import annotations

import math

from mixjt.case.case import Case
from mixjt.case.contradictions import contradictions
from mixjt.cycles.records import THROTTLE_OUTLET, CircuitResult, DifferenceCurve, PinchCurve
from mixjt.files.output import Table
from mixjt.studies.band import Band
from mixjt.studies.standstill import AtRest

STATE_COLUMNS = (
    "place",
    "temperature_K",
    "pressure_Pa",
    "enthalpy_J_per_mol",
    "entropy_J_per_mol_K",
    "molar_volume_m3_per_mol",
    "vapour_fraction",
    "phases",
)


def circuit_record(result: CircuitResult) -> dict:
    """A circuit's figures, each key ending in its unit; None where there is no such quantity."""
    return {
        "model": result.model,
        "blend": {gas: x for gas, x in zip(result.gases, result.composition, strict=True) if x > 0.0},
        "cooling_power_W": result.cooling_power,
        "cooling_capacity_J_per_mol": result.cooling_capacity,
        "min_enthalpy_difference_J_per_mol": result.difference.minimum,
        "min_enthalpy_difference_temperature_K": result.difference.minimum_temperature,
        "cop": result.cop,
        "carnot_fraction": result.carnot_fraction,
        "ambient_temperature_K": result.ambient_temperature,
        "warm_temperature_K": result.warm_temperature,
        "cold_temperature_K": result.cold_temperature,
        "throttle_outlet_K": result.points[THROTTLE_OUTLET].temperature,
        "suction_pressure_Pa": result.suction_pressure,
        "discharge_pressure_Pa": result.discharge_pressure,
        "discharge_temperature_K": result.discharge_temperature,
        "valve_temperature_K": result.valve_temperature,
        "suction_superheat_K": result.suction_superheat,
        "pinch_temperature_K": result.pinch.pinch_temperature,
        "smallest_approach_K": result.pinch.smallest_approach,
        "recuperator_conductance_W_per_K": result.pinch.conductance * result.molar_flow,
        "cooling_per_conductance_K": _cooling_per_conductance(result),
        "dew_point_low_K": result.dew_point_low,
        "bubble_point_low_K": result.bubble_point_low,
        "dew_point_high_K": result.dew_point_high,
        "bubble_point_high_K": result.bubble_point_high,
        "freezing_gas": result.freezing_gas,
        "freezing_margin_K": result.freezing_margin,
        "freezing_place": result.freezing_place,
        "own_freezing_margin_K": result.own_freezing_margin,
        "molar_flow_mol_per_s": result.molar_flow,
        "mass_flow_g_per_s": result.mass_flow * 1e3,
        "volumetric_efficiency": result.volumetric_efficiency,
        "compressor_power_W": result.compressor_power,
        "compressor_work_J_per_mol": result.compressor_work,
        "supply_current_A": result.supply_current,
        "aftercooler_heat_W": result.aftercooler_heat * result.molar_flow,
        "shell_heat_W": result.shell_heat * result.molar_flow,
        "energy_residual": result.energy_residual,
        "exergy_residual": result.exergy_residual,
        "warnings": list(result.warnings),
    }


def case_record(case: Case, result: CircuitResult) -> dict:
    """A circuit's figures with the case's title and load, its state points and its exergy balance."""
    record = {"title": case.title, "case": case.file} | circuit_record(result)
    record["load_W"] = case.load
    record["warnings"] += _load_warnings(result, case.load) + contradictions(case)
    record["state_points"] = state_point_table(result).records()
    record["exergy"] = exergy_table(result).records()
    return record


def at_rest_record(rest: AtRest) -> dict:
    """The pressures of a circuit's charge at rest, the rating against them, and the buffer that would keep it."""
    found = rest.found
    return {
        "standing_pressure_Pa": None if found is None else found.ambient_pressure,
        "hot_standing_pressure_Pa": None if found is None else found.hottest_pressure,
        "largest_standing_pressure_Pa": rest.limit,
        "buffer_volume_m3": None if found is None else found.buffer,
    }


def band_record(band: Band | None) -> dict:
    """How well the cooling is known, and by which pair it is known least."""
    return {
        "cooling_band_fraction": band and band.fraction,
        "cooling_band_pair": band and band.pair,
        "cooling_band_basis": band and band.basis,
    }


def _cooling_per_conductance(result: CircuitResult) -> float | None:
    """None where the streams touch, so that the recuperator would have to be infinitely large."""
    conductance = result.pinch.conductance
    return result.cooling_capacity / conductance if math.isfinite(conductance) else None


def _load_warnings(result: CircuitResult, load: float | None) -> list[str]:
    if load is None or result.cooling_power >= load:
        return []
    power = f"{result.cooling_power:.3g} W"
    return [
        f"the cooling power of {power} falls short of the load of {load:.3g} W: the cold end stays warmer"
    ]


def state_point_table(result: CircuitResult) -> Table:
    """The state points in flow order, one row each."""
    return Table(STATE_COLUMNS, tuple(_state_rows(result)))


def exergy_table(result: CircuitResult) -> Table:
    """Exergy destroyed in, or carried out by, each component."""
    rows = tuple((item.component, item.exergy, item.exergy * result.molar_flow) for item in result.exergy)
    return Table(("component", "exergy_J_per_mol", "exergy_W"), rows)


def pinch_table(pinch: PinchCurve) -> Table:
    """Both streams of the recuperator from the cold end to the warm end."""
    columns = ("heat_J_per_mol", "high_side_temperature_K", "low_side_temperature_K", "approach_K")
    approach = pinch.high_temperature - pinch.low_temperature
    rows = zip(pinch.heat, pinch.high_temperature, pinch.low_temperature, approach, strict=True)
    return Table(columns, tuple(rows))


def difference_table(curve: DifferenceCurve) -> Table:
    """Isothermal enthalpy difference over the span."""
    columns = ("temperature_K", "enthalpy_difference_J_per_mol")
    return Table(columns, tuple(zip(curve.temperatures, curve.difference, strict=True)))


def _state_rows(result: CircuitResult):
    for place, state in result.points.items():
        yield (
            place,
            state.temperature,
            state.pressure,
            state.enthalpy,
            state.entropy,
            state.molar_volume,
            state.vapour_fraction,
            state.phase_text,
        )
