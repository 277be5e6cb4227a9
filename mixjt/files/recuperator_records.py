"""A rated recuperator as a flat record for JSON and as tables for CSV."""

from __future__ import annotations

from mixjt.components.exchanger_rating import Rating
from mixjt.components.heat_transfer import BAND
from mixjt.report.output import Table
from mixjt.studies.recuperator import RecuperatorResult

OFFER_COLUMNS = (
    "norm", "small_diameter_m", "small_wall_m", "large_diameter_m", "large_wall_m", "length_m", "high_drop_Pa",
    "low_drop_Pa", "low_drop_fraction_of_suction", "return_speed_m_per_s", "metal_mass_kg",
)  # fmt: skip
LENGTH_COLUMNS = ("length_m", "smallest_approach_K", "duty_W", "cooling_power_W", "high_drop_Pa", "low_drop_Pa")
CELL_COLUMNS = (
    "position_m", "length_m", "high_temperature_K", "low_temperature_K", "high_pressure_Pa", "low_pressure_Pa",
    "high_quality", "low_quality", "high_film_W_per_m2_K", "low_film_W_per_m2_K", "conductance_W_per_m_K",
    "flux_W_per_m2", "high_reynolds", "low_reynolds", "high_speed_m_per_s", "low_speed_m_per_s",
)  # fmt: skip


def recuperator_record(result: RecuperatorResult) -> dict:
    """Figures of a recuperator in its circuit, each key ending in its unit; None where there is no such quantity."""
    request, rating, solved = result.request, result.solved.rating, result.solved
    return {
        "kind": request.kind,
        "tubes": rating.tubes.text,
        "material": request.material,
        "length_m": rating.length,
        "length_found": request.length is None,
        "smallest_approach_K": rating.smallest_approach,
        "pinch_position_m": rating.pinch_position,
        "pinch_temperature_K": rating.pinch_temperature,
        "circuit_approach_K": solved.circuit.recuperator_approach,
        "duty_W": rating.duty,
        "recuperator_conductance_W_per_K": rating.conductance,
        "cooling_capacity_J_per_mol": solved.cooling,
        "cooling_power_W": solved.cooling_power,
        "molar_flow_mol_per_s": rating.molar_flow,
        "mass_flow_g_per_s": 1e3 * rating.molar_flow * rating.molar_mass,
        "high_drop_Pa": rating.high_drop,
        "low_drop_Pa": rating.low_drop,
        "low_drop_fraction_of_suction": rating.low_drop / solved.circuit.suction_pressure,
        "high_outlet_temperature_K": rating.high_outlet_temperature,
        "low_outlet_temperature_K": rating.low_outlet_temperature,
        "high_mass_flux_kg_per_m2_s": rating.high_flux,
        "low_mass_flux_kg_per_m2_s": rating.low_flux,
        "return_speed_m_per_s": float(rating.low_speed[-1]),
        "heat_leak_W": rating.heat_leak,
        "axial_heat_W": rating.axial_heat,
        "metal_mass_kg": rating.mass,
        "film_band_fraction": BAND,
        "smallest_approach_with_weak_films_K": result.weak.smallest_approach,
        "smallest_approach_with_strong_films_K": result.strong.smallest_approach,
        "cooling_power_with_weak_films_W": _cooling(result, result.weak),
        "cooling_power_with_strong_films_W": _cooling(result, result.strong),
        "length_with_weak_films_m": result.weak_length,
        "length_with_strong_films_m": result.strong_length,
        "target_approach_K": result.request.approach,
        "lengths": length_table(result).records(),
        "offers": offer_table(result).records(),
        "warnings": list(result.warnings),
    }


def cell_table(rating: Rating) -> Table:
    """One row a cell, from the cold end; temperatures and pressures are means of its two faces."""

    def middle(values):
        return 0.5 * (values[1:] + values[:-1])

    columns = (
        middle(rating.position), rating.cell_length, middle(rating.high_temperature), middle(rating.low_temperature),
        middle(rating.high_pressure), middle(rating.low_pressure), rating.high_quality, rating.low_quality,
        rating.high_film, rating.low_film, rating.cell_conductance, rating.flux, rating.high_reynolds,
        rating.low_reynolds, rating.high_speed, rating.low_speed,
    )  # fmt: skip
    return Table(CELL_COLUMNS, tuple(zip(*(column.tolist() for column in columns), strict=True)))


def length_table(result: RecuperatorResult) -> Table:
    """Other lengths of the same tubes."""
    rows = (
        (p.length, p.smallest_approach, p.duty, p.cooling_power, p.high_drop, p.low_drop) for p in result.lengths
    )
    return Table(LENGTH_COLUMNS, tuple(rows))


def offer_table(result: RecuperatorResult) -> Table:
    """Tubes one can buy, with the length that reaches the target approach."""
    rows = (
        (o.norm, o.small.outer_diameter, o.small.wall, o.large.outer_diameter, o.large.wall, o.length, o.high_drop,
         o.low_drop, o.suction_share, o.suction_speed, o.mass)
        for o in result.offers
    )  # fmt: skip
    return Table(OFFER_COLUMNS, tuple(rows))


def _cooling(result: RecuperatorResult, rating: Rating) -> float:
    """Cooling power [W] of another rating at the same flow; may be negative."""
    return (result.solved.pair.low_enthalpy - rating.high_outlet_enthalpy) * rating.molar_flow
