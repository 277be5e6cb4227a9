"""What is known of a cascade design, as a record for JSON and as tables for CSV."""

from __future__ import annotations

from collections.abc import Sequence

from mixjt.case.case import Case
from mixjt.cycles.cascade_records import CascadeResult
from mixjt.files.output import Table
from mixjt.files.records import STATE_COLUMNS
from mixjt.studies.cascade_curves import PowerCurve
from mixjt.studies.cascade_design import CascadeDesign, RuledOut
from mixjt.studies.cascade_warming import Warming

STAGE_COLUMNS = (
    "stage", "fluid", "evaporating_temperature_K", "condensing_temperature_K", "suction_pressure_Pa",
    "suction_pressure_gauge_Pa", "discharge_pressure_Pa", "discharge_pressure_gauge_Pa", "pressure_ratio",
    "discharge_temperature_K", "valve_temperature_K", "displacement_m3_per_rev", "swept_flow_m3_per_s", "volumetric_efficiency",
    "molar_flow_mol_per_s", "mass_flow_g_per_s", "compressor_power_W", "load_W", "heat_leak_W", "suction_heat_W",
    "hot_gas_heat_W", "condenser_heat_W", "desuperheater_heat_W", "shell_heat_W",
    "cascade_condenser_conductance_W_per_K", "cascade_condenser_smallest_approach_K", "charge_kg", "charge_source", "standing_pressure_ambient_Pa",
    "standing_pressure_hottest_Pa", "expansion_vessel_m3",
)  # fmt: skip


def cascade_record(case: Case, design: CascadeDesign, warmings: Sequence[Warming] = ()) -> dict:
    """The design as one record, its best cascade at the top level; every key ends in its unit."""
    record = {"title": case.title, "case": case.file}
    if design.best is not None:
        record |= result_record(design.best)
        record["exergy"] = exergy_table(design.best).records()
        record["state_points"] = state_table(design.best).records()
        record["suction_warmings"] = warming_table({len(design.best.stages): warmings}).records()
    record["best_by_stages"] = {count: result_record(one) for count, one in design.by_count.items()}
    record["candidates"] = [result_record(one) for one in design.candidates]
    record["ruled_out"] = ruled_out_table(design.ruled_out).records()
    record["evaluations"] = design.evaluations
    record["interrupted"] = design.interrupted
    record["messages"] = list(design.messages)
    record.setdefault("warnings", [])
    return record


def result_record(result: CascadeResult) -> dict:
    """Figures of one cascade and of its stages, coldest first."""
    cascade = result.cascade
    standing = result.standing_pressures
    return {
        "fluids": list(result.fluids),
        "intermediate_temperatures_K": list(result.intermediate_temperatures),
        "number_of_compressors": len(result.stages),
        "total_power_W": result.total_power,
        "load_W": cascade.load,
        "cop": result.cop,
        "carnot_fraction": result.carnot_fraction,
        "cold_temperature_K": cascade.cold_temperature,
        "ambient_temperature_K": cascade.ambient_temperature,
        "lowest_temperature_K": result.lowest_temperature,
        "total_displacement_m3_per_rev": sum(result.displacements),
        "highest_running_pressure_Pa": max(result.running_pressures),
        "highest_standing_pressure_Pa": None if None in standing else max(standing),
        "highest_discharge_temperature_K": max(result.discharge_temperatures),
        "flammable_mass_kg": result.flammable_mass,
        "cascade_condenser_conductance_W_per_K": result.condenser_conductance,
        "energy_residual": result.energy_residual,
        "exergy_residual": result.exergy_residual,
        "stages": stage_table(result).records(),
        "warnings": list(result.warnings),
    }


def stage_table(result: CascadeResult) -> Table:
    """One row a stage, coldest first; its cascade condenser is the one to the next warmer stage."""
    return Table(STAGE_COLUMNS, tuple(_stage_row(result, number) for number in range(len(result.stages))))


def _stage_row(result: CascadeResult, number: int) -> tuple:
    stage, rest, air = result.stages[number], result.standstills[number], result.cascade.atmosphere
    cycle = stage.cycle
    coupled = result.condensers[number] if number < len(result.condensers) else None
    return (
        number + 1,
        stage.fluid.name,
        cycle.stage.evaporating_temperature,
        cycle.stage.condensing_temperature,
        cycle.suction_pressure,
        cycle.suction_pressure - air,
        cycle.discharge_pressure,
        cycle.discharge_pressure - air,
        cycle.pressure_ratio,
        cycle.discharge_temperature,
        cycle.valve_temperature,
        stage.displacement,
        stage.swept_flow,
        stage.volumetric_efficiency,
        stage.molar_flow,
        1e3 * stage.mass_flow,
        stage.compressor_power,
        stage.load,
        stage.evaporator_heat - stage.load,
        stage.suction_heat,
        stage.hot_gas_heat,
        stage.condenser_heat,
        stage.desuperheater_heat,
        stage.shell_heat,
        coupled and coupled.conductance,
        coupled and coupled.smallest_approach,
        rest and rest.charge,
        rest and rest.charge_source,
        rest and rest.ambient_pressure,
        rest and rest.hottest_pressure,
        rest and rest.vessel,
    )


def state_table(result: CascadeResult) -> Table:
    """State points of every stage in flow order."""
    rows = [
        (number, place, state.temperature, state.pressure, state.enthalpy, state.entropy, state.molar_volume,
         state.vapour_fraction, state.phase_text)
        for number, stage in enumerate(result.stages, start=1)
        for place, state in stage.points.items()
    ]  # fmt: skip
    return Table(("stage", *STATE_COLUMNS), tuple(rows))


def exergy_table(result: CascadeResult) -> Table:
    """Exergy destroyed in each component, and last carried out by the load; no stage where it spans two."""
    rows = [(None if number is None else number + 1, component, lost) for number, component, lost in result.exergy]
    return Table(("stage", "component", "exergy_W"), tuple(rows))


def warming_table(warmings: dict[int, Sequence[Warming]]) -> Table:
    """By number of stages, the same load with suction gas warmed by hot gas, by the surroundings, and by nothing."""
    rows = [(count, one.by, *_warmed(one.result), one.obstacle) for count, many in warmings.items() for one in many]
    columns = ("number_of_compressors", "suction_warming", "total_power_W", "cop", "highest_discharge_temperature_K",
               "fluids", "obstacle")  # fmt: skip
    return Table(columns, tuple(rows))


def _warmed(result: CascadeResult | None) -> tuple:
    if result is None:
        return (None,) * 4
    return result.total_power, result.cop, max(result.discharge_temperatures), " + ".join(result.fluids)


def candidate_table(design: CascadeDesign) -> Table:
    """Every cascade kept, least power first."""
    rows = [
        (len(one.stages), " + ".join(one.fluids), _listed(one.intermediate_temperatures), one.total_power, one.cop,
         one.carnot_fraction, sum(one.displacements), max(one.running_pressures), max(one.discharge_temperatures),
         one.condenser_conductance, one.lowest_temperature)
        for one in design.candidates
    ]  # fmt: skip
    columns = ("number_of_compressors", "fluids", "intermediate_temperatures_K", "total_power_W", "cop",
               "carnot_fraction", "total_displacement_m3_per_rev", "highest_running_pressure_Pa",
               "highest_discharge_temperature_K", "cascade_condenser_conductance_W_per_K",
               "lowest_temperature_K")  # fmt: skip
    return Table(columns, tuple(rows))


def power_table(result: CascadeResult, curves: Sequence[PowerCurve]) -> Table:
    """Power against each intermediate temperature, the others held."""
    rows = [
        (curve.warmer + 1, result.fluids[curve.warmer], temperature, power, bool(within))
        for curve in curves
        for temperature, power, within in zip(curve.temperatures, curve.powers, curve.within, strict=True)
    ]
    columns = ("warmer_stage", "fluid", "evaporating_temperature_K", "total_power_W", "within_limits")
    return Table(columns, tuple(rows))


def ruled_out_table(ruled_out: Sequence[RuledOut]) -> Table:
    """What does not serve, and why."""
    rows = [(one.stages, one.role, " + ".join(one.fluids), one.reason) for one in ruled_out]
    return Table(("number_of_compressors", "role", "fluids", "reason"), tuple(rows))


def _listed(temperatures: Sequence[float]) -> str:
    return " ".join(f"{one:.4f}" for one in temperatures)
