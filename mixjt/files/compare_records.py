"""What a comparison of roads found, as a record for JSON and as tables for CSV."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.files.cascade_records import warming_table
from mixjt.files.output import Table
from mixjt.files.records import band_record
from mixjt.studies.compare.crossing import changes
from mixjt.studies.compare.names import CASCADES
from mixjt.studies.compare.records import Comparison, Road

FIGURES = (
    "total_power_W", "cop", "carnot_fraction", "number_of_compressors", "total_swept_flow_m3_per_h",
    "total_displacement_cm3_per_rev", "own_compressor_cooling_power_W", "own_compressor_power_W",
    "highest_running_pressure_Pa", "standing_pressure_Pa", "hot_standing_pressure_Pa",
    "buffer_volume_m3", "largest_standing_pressure_Pa", "highest_discharge_temperature_K",
    "discharge_temperatures_K", "flammable_mass_g", "flammable_mass_fraction", "number_of_bottles",
    "recuperator_conductance_W_per_K", "cascade_condenser_conductance_W_per_K",
)  # fmt: skip
LISTS = ("discharge_temperatures_K", "bottles", "warnings", "leaves_out")


def compare_record(case: Case, found: Comparison) -> dict:
    """All roads, their load lines, the crossing and the advice; every key ends in its unit."""
    return {
        "title": case.title,
        "case": case.file,
        "load_W": found.load,
        "cold_temperature_K": found.cold_temperature,
        "ambient_temperature_K": found.ambient_temperature,
        "advice": found.advice,
        "crossing_temperatures_K": list(found.crossing.temperatures),
        "crossing_between_K": [list(one) for one in found.crossing.between],
        "crossing_joined": list(found.crossing.joined),
        "crossing": found.crossing.sentence,
        "road_crossing_temperatures_K": {road: list(one) for road, one in found.road_crossings.items()},
        "roads": [road_record(road) for road in found.roads],
        "load_line": line_table(found).records(),
        "lost": [{"road": road, "cold_temperature_K": at, "reason": why} for road, at, why in found.lost],
        "suction_warmings": warmed_table(found).records(),
        "elapsed_s": found.seconds,
        "interrupted": found.interrupted,
        "messages": list(found.messages),
    }


def road_record(road: Road) -> dict:
    """One road; figures are None where it does not carry the load, and obstacle says why."""
    figures = road.figures
    record = {"road": road.name, "name": road.label, "looked_for": road.looked_for, "obstacle": road.obstacle or None}
    record |= dict.fromkeys(FIGURES) if figures is None else dict(zip(FIGURES, _values(figures), strict=True))
    record["lowest_temperature_K"] = road.lowest_temperature
    record |= band_record(road.band)
    record["contents"] = figures and figures.contents
    record["bottles"] = None if road.carried is None else road.carried.bottles
    record["warnings"] = road_warnings(road)
    record["leaves_out"] = list(road.leaves_out)
    return record


def road_warnings(road: Road) -> list[str]:
    """Of the circuit, and of its band."""
    own = [] if road.figures is None else list(road.figures.warnings)
    return own + ([] if road.band is None else list(road.band.warnings))


def road_table(found: Comparison) -> Table:
    """One row a road; lists are joined by semicolons."""
    records = [road_record(road) for road in found.roads]
    columns = tuple(records[0])
    rows = [tuple(_cell(record[key]) if key in LISTS else record[key] for key in columns) for record in records]
    return Table(columns, tuple(rows))


def line_table(found: Comparison) -> Table:
    """One row a road and temperature of the load line, coldest first, saying where its fluids change."""
    columns = ("road", "cold_temperature_K", "total_power_W", "cop", "own_compressor_cooling_power_W",
               "other_fluids_than_next_warmer", "contents")  # fmt: skip
    rows = [
        (road.name, one.temperature, one.power, one.cop, one.own_capacity, changed, one.contents)
        for road in found.roads
        for one, changed in zip(road.line, changes(road), strict=True)
    ]
    return Table(columns, tuple(rows))


def warmed_table(found: Comparison) -> Table:
    """What cascades cost at the cold end by what warms their suction gas."""
    return warming_table({CASCADES[road.name]: road.warmings for road in found.roads if road.warmings})


def _values(figures) -> tuple:
    mass = figures.flammable_mass
    return (
        figures.power,
        figures.cop,
        figures.carnot_fraction,
        figures.compressors,
        3600.0 * figures.swept_flow,
        1e6 * figures.displacement,
        figures.own_capacity,
        figures.own_power,
        figures.running_pressure,
        figures.standing_pressure,
        figures.hot_standing_pressure,
        figures.buffer,
        figures.standing_limit,
        max(figures.discharge_temperatures),
        list(figures.discharge_temperatures),
        None if mass is None else 1e3 * mass,
        figures.flammable_fraction,
        figures.bottles,
        figures.recuperator_conductance,
        figures.condenser_conductance,
    )


def _cell(value) -> str | None:
    if isinstance(value, dict):
        value = [f"{name} {share:.6g}" for name, share in value.items()]
    return "; ".join(str(one) for one in value) if value else None
