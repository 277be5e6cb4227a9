"""What is special about precooled circuits and circuits with a separator, for JSON and CSV."""

from __future__ import annotations

from mixjt.cycles.precooled_result import PrecooledResult
from mixjt.cycles.records import CircuitResult
from mixjt.cycles.separator_result import SeparatorResult
from mixjt.cycles.solve import PLAIN, PRECOOLED, SEPARATOR
from mixjt.report.output import Table
from mixjt.studies.precooling import PrecoolingCurve, PrecoolingGain


def kind_of(result: CircuitResult) -> str:
    """"plain", "precooled" or "separator"."""
    if isinstance(result, PrecooledResult):
        return PRECOOLED
    return SEPARATOR if isinstance(result, SeparatorResult) else PLAIN


def kind_record(result: CircuitResult) -> dict:
    """Figures besides those of a plain circuit, all of them numbers or texts; empty for a plain one."""
    if isinstance(result, PrecooledResult):
        return {"circuit": PRECOOLED, "total_power_W": result.total_power} | _precooler(result) | _sections(result)
    if isinstance(result, SeparatorResult):
        return {
            "circuit": SEPARATOR,
            "total_power_W": result.total_power,
            "separator_temperature_K": result.warm_temperature,
            "separator_vapour_fraction": result.vapour_fraction,
            "intermediate_temperature_K": result.intermediate_temperature,
        } | _sections(result)
    return {}


def separated_record(result: SeparatorResult) -> dict:
    """Mole fractions of what leaves the separator; None where no liquid does."""
    liquid = result.liquid_composition
    return {
        "separator_vapour": dict(zip(result.gases, result.vapour_composition, strict=True)),
        "separator_liquid": None if liquid is None else dict(zip(result.gases, liquid, strict=True)),
    }


def gain_record(gain: PrecoolingGain, plain: CircuitResult | None) -> dict:
    """The plain circuit with the same blend, and the precooled one relative to it."""
    return {
        "plain_cooling_power_W": None if plain is None else plain.cooling_power,
        "plain_cop": None if plain is None else plain.cop,
        "plain_recuperator_conductance_W_per_K": None if plain is None else plain.recuperator_conductance,
        "cooling_capacity_over_plain": gain.capacity,
        "cooling_power_over_plain": gain.cooling_power,
        "total_power_over_plain": gain.total_power,
        "cop_over_plain": gain.cop,
        "conductance_over_plain": gain.conductance,
        "conductance_per_cooling_over_plain": gain.conductance_per_cooling,
    }


def precooling_table(curve: PrecoolingCurve) -> Table:
    """One row a precooling temperature."""
    columns = (
        "precooler_temperature_K", "cooling_capacity_J_per_mol", "cooling_power_W", "precooler_duty_W",
        "compressor_power_W", "precooler_power_W", "total_power_W", "cop",
    )  # fmt: skip
    rows = zip(
        curve.temperatures, curve.capacity, curve.cooling_power, curve.precooler_duty, curve.compressor_power,
        curve.precooler_power, curve.total_power, curve.cop, strict=True,
    )  # fmt: skip
    return Table(columns, tuple(tuple(float(value) for value in row) for row in rows))


def _precooler(result: PrecooledResult) -> dict:
    stage = result.stage
    return {
        "precooler_temperature_K": result.precooler_temperature,
        "precooler_heat_J_per_mol": result.precooler_heat,
        "precooler_duty_W": result.precooler_duty,
        "precooler_power_W": result.precooler_power,
        "precooler_fluid": result.precooler_fluid,
        "precooler_evaporating_temperature_K": stage and stage.stage.evaporating_temperature,
        "precooler_condensing_temperature_K": stage and stage.stage.condensing_temperature,
        "precooler_suction_pressure_Pa": stage and stage.suction_pressure,
        "precooler_discharge_pressure_Pa": stage and stage.discharge_pressure,
        "precooler_discharge_temperature_K": stage and stage.discharge_temperature,
        "precooler_valve_temperature_K": stage and stage.valve_temperature,
        "precooler_swept_flow_m3_per_s": stage and result.precooler_duty * stage.swept_per_heat,
    }


def _sections(result: PrecooledResult | SeparatorResult) -> dict:
    found = {}
    for number, name in enumerate(("cold", "warm")):
        section = result.sections[number] if number < len(result.sections) else None
        found[f"{name}_section_conductance_W_per_K"] = section and section.conductance * result.molar_flow
        found[f"{name}_section_approach_K"] = section and section.smallest_approach
    return found
