"""A rated compressor as a flat record for JSON and as tables for CSV."""

from __future__ import annotations

from mixjt.components.compressor import Compressor
from mixjt.components.rating import RatedCompressor
from mixjt.report.output import Table
from mixjt.studies.rating import Machine, MapPoint, RatingResult

MAP_COLUMNS = (
    "suction_pressure_Pa", "discharge_pressure_Pa", "pressure_ratio", "swept_flow_m3_per_s", "volumetric_efficiency",
    "isentropic_efficiency", "molar_flow_mol_per_s", "mass_flow_g_per_s", "power_W", "current_A",
    "discharge_temperature_K", "valve_temperature_K", "limits_exceeded",
)  # fmt: skip


def rating_record(found: RatingResult) -> dict:
    """Figures of a rated compressor on a blend."""
    return {
        "model": found.model,
        "blend": {gas: float(x) for gas, x in zip(found.gases, found.composition, strict=True) if x > 0.0},
        "suction_temperature_K": found.request.suction_temperature,
        **machine_record(found.request.machine),
        **limits_record(found.limits),
        "at_circuit": map_table((found.at_circuit,)).records()[0],
        "map": map_table(found.points).records(),
        "curves": curve_table(found.curves).records(),
        "warnings": list(found.warnings),
    }


def label_record(rated: RatedCompressor) -> dict:
    """What a label gives, each key ending in its unit; None where there is no such quantity."""
    label, point, found = rated.label, rated.label.point, rated.at_rating
    return {
        "refrigerant": label.fluid,
        "type": label.kind,
        "rated_capacity_W": label.capacity,
        "rating_evaporating_temperature_K": point.evaporating,
        "rating_condensing_temperature_K": point.condensing,
        "rating_return_gas_temperature_K": point.return_gas,
        "rating_liquid_temperature_K": point.liquid,
        "rating_pressure_ratio": rated.rating.ratio,
        "speed_Hz": label.speed,
        "swept_volume_m3": rated.swept_volume,
        "effective_displacement_m3": rated.swept_volume * rated.curve.filling(rated.rating.ratio),
        "rating_mass_flow_g_per_s": 1e3 * found.mass_flow,
        "rating_volumetric_efficiency": found.volumetric_efficiency * rated.curve.filling(rated.rating.ratio),
        "rating_isentropic_efficiency": rated.isentropic_efficiency(rated.rating.ratio),
        "rating_power_W": found.electrical_power,
        "rating_cop": label.capacity / found.electrical_power,
        "rating_isentropic_cop": rated.rating.isentropic_cop,
        "rating_current_A": found.supply_current,
        "rating_discharge_temperature_K": found.discharge_temperature,
        "rating_valve_temperature_K": found.valve_temperature,
        "power_factor": rated.power_factor,
        "isentropic_exponent": found.isentropic_exponent,
    }


def limits_record(limits: Compressor) -> dict:
    """What the machine stands."""
    return {
        "largest_pressure_ratio": limits.largest_pressure_ratio,
        "largest_discharge_temperature_K": limits.largest_discharge_temperature,
        "largest_valve_temperature_K": limits.largest_valve_temperature,
        "largest_suction_pressure_Pa": limits.largest_suction_pressure,
        "largest_current_A": limits.largest_supply_current,
    }


def machine_record(machine: Machine) -> dict:
    """A label's figures; of polynomials only what they belong to."""
    if isinstance(machine, RatedCompressor):
        return label_record(machine)
    return {"refrigerant": machine.fluid, "type": machine.kind, "speed_Hz": machine.speed}


def map_table(points: tuple[MapPoint, ...]) -> Table:
    """The machine on the blend, one row a pair of pressures; a place where it does not work has its reason last."""
    return Table(MAP_COLUMNS, tuple(_map_row(point) for point in points))


def curve_table(rows) -> Table:
    """Efficiencies against the pressure ratio."""
    return Table(("pressure_ratio", "volumetric_efficiency", "isentropic_efficiency"), tuple(rows))


def _map_row(point: MapPoint) -> tuple:
    pressures = point.suction_pressure, point.discharge_pressure, point.discharge_pressure / point.suction_pressure
    found = point.result
    if found is None:
        return (*pressures, *(None,) * 9, point.reason)
    return (
        *pressures, point.swept_flow, found.volumetric_efficiency, point.isentropic_efficiency, found.molar_flow,
        1e3 * found.mass_flow, found.electrical_power, found.supply_current, found.discharge_temperature,
        found.valve_temperature, ", ".join(point.exceeded),
    )  # fmt: skip
