"""The throttle as a flat record for JSON and as tables for CSV."""

from __future__ import annotations

from mixjt.components.capillary import BAND
from mixjt.report.output import Table
from mixjt.studies.throttle import ThrottleResult


def throttle_record(result: ThrottleResult) -> dict:
    """Figures of a throttle, each key ending in its unit; None where there is no such quantity."""
    solved = result.solved
    tube, end = solved.tube, solved.march
    return {
        "found": result.found,
        "diameter_m": tube.diameter,
        "length_m": tube.length,
        "parallel": tube.parallel,
        "mass_flow_g_per_s": solved.mass_flow * 1e3,
        "molar_flow_mol_per_s": solved.mass_flow / solved.line.molar_mass,
        "circuit_mass_flow_g_per_s": result.wanted * 1e3,
        "flow_band_fraction": BAND,
        "mass_flux_kg_per_m2_s": end.flux,
        "choked": end.choked,
        "inlet_temperature_K": result.inlet.temperature,
        "inlet_pressure_Pa": result.inlet.pressure,
        "inlet_vapour_fraction": result.inlet.vapour_fraction,
        "inlet_phases": result.inlet.phase_text,
        "flash_position_m": result.flash_position,
        "tube_end_pressure_Pa": float(end.pressures[-1]),
        "tube_end_temperature_K": float(end.temperatures[-1]),
        "tube_end_vapour_fraction": float(end.vapour_fractions[-1]),
        "tube_end_velocity_m_per_s": float(end.velocities[-1]),
        "smallest_reynolds": float(end.reynolds.min()),
        "outlet_temperature_K": result.outlet.temperature,
        "outlet_pressure_Pa": result.outlet.pressure,
        "outlet_vapour_fraction": result.outlet.vapour_fraction,
        "heat_to_return_J_per_mol": solved.heat,
        "valve_kv_m3_per_h": result.kv,
        "valve_kv_iec_m3_per_h": result.kv_iec,
        "valve_choked": result.valve_chokes,
        "stated_valve_mass_flow_g_per_s": None if result.valve_flow is None else 1e3 * result.valve_flow,
        "sensitivity": sensitivity_table(result).records(),
        "bores": bore_table(result).records(),
        "warnings": list(result.warnings),
    }


def profile_table(result: ThrottleResult) -> Table:
    """States along the tube, from behind the entrance to its end."""
    end = result.solved.march
    columns = (
        "position_m", "pressure_Pa", "temperature_K", "vapour_fraction", "velocity_m_per_s", "volume_m3_per_kg",
        "reynolds",
    )  # fmt: skip
    values = (
        end.positions, end.pressures, end.temperatures, end.vapour_fractions, end.velocities, end.volumes,
        end.reynolds,
    )  # fmt: skip
    return Table(columns, tuple(zip(*(value.tolist() for value in values), strict=True)))


def sensitivity_table(result: ThrottleResult) -> Table:
    """What a changed bore does."""
    columns = ("case", "diameter_m", "mass_flow_g_per_s", "length_at_same_flow_m")
    rows = tuple((v.name, v.diameter, 1e3 * v.mass_flow, v.length) for v in result.variants)
    return Table(columns, rows)


def bore_table(result: ThrottleResult) -> Table:
    """Lengths of other bores at the circuit's flow."""
    return Table(("diameter_m", "length_m"), tuple((bore.diameter, bore.length) for bore in result.bores))
