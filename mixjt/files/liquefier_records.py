"""What is known of a liquefier, as a flat record for JSON and as tables for CSV."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.cycles.liquefier_records import (
    DAY,
    FEED_SUPPLY,
    FLASH_VAPOUR,
    KILOWATT_HOUR,
    PRODUCT,
    LiquefierResult,
)
from mixjt.cycles.liquefier_result import ENRICHED
from mixjt.files.output import Table
from mixjt.files.records import STATE_COLUMNS, case_record
from mixjt.studies.liquefier import LiquefierReport, PressureCurve, PressurePoint, specific_energy

LITRES = 1e3  # per m3
NORMAL_VOLUME = 0.022413969545  # m3/mol of ideal gas at 273.15 K and 101325 Pa; CODATA 2018


def liquefier_record(case: Case, report: LiquefierReport) -> dict:
    """A liquefier's figures with those of its circuit, state points, exergy, feed pressures and boil-off."""
    result = report.result
    record = case_record(case, result)
    record["warnings"] = [*result.warnings, *report.warnings]  # the load is part of the balance
    record |= _product(result) | _feed(result) | _energy(result) | _oxygen(report)
    gain = report.recovery_gain
    record["recovery_gain_kg_per_day"] = None if gain is None else gain * DAY
    record["feed_points"] = feed_point_table(result).records()
    curve = report.curve
    record["best_feed_pressure_Pa"] = None if curve is None else curve.best.pressure
    record["best_product_kg_per_day"] = None if curve is None else curve.best.mass_rate * DAY
    record["thriftiest_feed_pressure_Pa"] = None if curve is None else curve.thriftiest.pressure
    record["feed_pressures"] = None if curve is None else pressure_table(curve).records()
    record["boil_off"] = None if report.boil_off is None else boil_off_table(report).records()
    return record


def _product(result: LiquefierResult) -> dict:
    volume = result.volume_rate * LITRES
    return {
        "product_kg_per_day": result.mass_rate * DAY,
        "product_L_per_day": volume * DAY,
        "product_temperature_K": result.feed_points[PRODUCT].temperature,
        "product_pressure_Pa": result.passage.product_pressure,
        "product_density_kg_per_m3": result.product_density,
        "flash_loss_fraction": result.flash_fraction,
        "flash_vapour_kg_per_day": result.vented_mass_rate * DAY,
        "flash_recovered": result.passage.recover_flash,
        "vented_cold_W": result.loss_duty,
    }


def _feed(result: LiquefierResult) -> dict:
    passage = result.passage
    return {
        "feed_pressure_Pa": passage.pressure,
        "feed_temperature_K": passage.temperature,
        "feed_kg_per_day": result.feed_flow * result.feed_gas.molar_mass * DAY,
        "feed_normal_L_per_min": result.feed_flow * NORMAL_VOLUME * LITRES * 60.0,
        "feed_per_blend_mol_per_mol": result.feed_ratio,
        "feed_bubble_point_K": result.feed_bubble_point,
        "feed_dew_point_K": result.feed_dew_point,
        "bubble_point_at_product_pressure_K": result.product_bubble_point,
        "dew_point_at_product_pressure_K": result.product_dew_point,
        "evaporator_duty_W": result.evaporator_duty,
    }


def _energy(result: LiquefierResult) -> dict:
    power, total = result.compressor_power, result.total_power
    return {
        "feed_compressor_power_W": result.feed_power,
        "total_power_W": total,
        "specific_energy_kWh_per_kg": specific_energy(power, result.mass_rate),
        "specific_energy_kWh_per_L": specific_energy(power, result.volume_rate * LITRES),
        "specific_energy_with_feed_compressor_kWh_per_kg": specific_energy(total, result.mass_rate),
        "specific_energy_with_feed_compressor_kWh_per_L": specific_energy(total, result.volume_rate * LITRES),
        "least_work_kWh_per_kg": result.product_least_work / result.product_molar_mass / KILOWATT_HOUR,
    }


def _oxygen(report: LiquefierReport) -> dict:
    result, boiling = report.result, report.boil_off
    return {
        "feed_oxygen_fraction": result.oxygen(FEED_SUPPLY),
        "product_oxygen_fraction": result.oxygen(PRODUCT),
        "flash_vapour_oxygen_fraction": result.oxygen(FLASH_VAPOUR),
        "left_when_enriched_fraction": None if boiling is None else boiling.left_at(ENRICHED),
    }


def feed_point_table(result: LiquefierResult) -> Table:
    """The feed's states in flow order, one row each."""
    rows = []
    for place, state in result.feed_points.items():
        values = (state.temperature, state.pressure, state.enthalpy, state.entropy, state.molar_volume)
        rows.append((place, *values, state.vapour_fraction, state.phase_text, result.oxygen(place)))
    return Table((*STATE_COLUMNS, "oxygen_fraction"), tuple(rows))


def pressure_table(curve: PressureCurve) -> Table:
    """Product and specific energy over feed pressures."""
    columns = (
        "feed_pressure_Pa",
        "product_kg_per_day",
        "specific_energy_kWh_per_kg",
        "specific_energy_with_feed_compressor_kWh_per_kg",
        "problem",
    )
    return Table(columns, tuple(_pressure_row(point) for point in curve.points))


def _pressure_row(point: PressurePoint) -> tuple:
    if not point.mass_rate:
        return (point.pressure, None, None, None, point.problem or None)
    energies = (point.circuit_energy / KILOWATT_HOUR, point.total_energy / KILOWATT_HOUR)
    return (point.pressure, point.mass_rate * DAY, *energies, None)


def boil_off_table(report: LiquefierReport) -> Table:
    """Oxygen in the liquid that boil-off leaves."""
    boiling = report.boil_off
    columns = ("left_fraction", "oxygen_fraction", "temperature_K")
    return Table(columns, tuple(zip(boiling.left, boiling.oxygen, boiling.temperatures, strict=True)))
