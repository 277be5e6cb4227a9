"""A rated recuperator as people read it on the terminal."""

from __future__ import annotations

from mixjt.cli.circuit_view import print_figures
from mixjt.files.recuperator_records import cell_table
from mixjt.report.terminal import number, print_table
from mixjt.studies.recuperator import RecuperatorResult

PROFILE_ROWS = 11
RATING = (
    ("length", "length_m", "m", 1),
    ("smallest approach", "smallest_approach_K", "K", 1),
    ("  at, from the cold end", "pinch_position_m", "m", 1),
    ("duty", "duty_W", "W", 1),
    ("conductance UA", "recuperator_conductance_W_per_K", "W/K", 1),
    ("pressure drop, high side", "high_drop_Pa", "bar", 1e5),
    ("pressure drop, low side", "low_drop_Pa", "bar", 1e5),
    ("  of the suction pressure", "low_drop_fraction_of_suction", "%", 0.01),
    ("throttle inlet", "high_outlet_temperature_K", "K", 1),
    ("return at the warm end", "low_outlet_temperature_K", "K", 1),
    ("  its speed", "return_speed_m_per_s", "m/s", 1),
    ("mass flux, high side", "high_mass_flux_kg_per_m2_s", "kg/(m2 s)", 1),
    ("mass flux, low side", "low_mass_flux_kg_per_m2_s", "kg/(m2 s)", 1),
    ("heat leak", "heat_leak_W", "W", 1),
    ("heat along the walls, at most", "axial_heat_W", "W", 1),
    ("metal", "metal_mass_kg", "kg", 1),
)
CIRCUIT = (
    ("cooling power", "cooling_power_W", "W", 1),
    ("load", "load_W", "W", 1),
    ("mass flow", "mass_flow_g_per_s", "g/s", 1),
    ("electrical power", "compressor_power_W", "W", 1),
    ("suction superheat", "suction_superheat_K", "K", 1),
)


def print_recuperator(result: RecuperatorResult, record: dict) -> None:
    """All tables of a rated recuperator."""
    print(f"  tubes      {record['kind']}: {record['tubes']}")
    goal = f"for an approach of {record['target_approach_K']:.3g} K" if record["length_found"] else "as stated"
    print(f"  length     {record['length_m']:.4g} m, {goal}\n")
    print_figures("Recuperator", RATING, record)
    print_figures("Circuit with it", CIRCUIT, record)
    _print_band(record)
    _print_profile(result)
    print_table(
        "Other lengths of the same tubes, at the same flow",
        ("length|m|.4g", "approach|K|.2f", "cooling|W|.2f", "drop high|bar|.4f", "drop low|bar|.4f"),
        [(p.length, p.smallest_approach, p.cooling_power, p.high_drop / 1e5, p.low_drop / 1e5) for p in result.lengths],
    )
    _print_offers(result)


def _print_band(record: dict) -> None:
    """What film coefficients less or greater by their band would mean."""
    band = f"{100 * record['film_band_fraction']:.0f} %"
    rows = [
        (f"{word} by {band}", record[f"smallest_approach_with_{name}_films_K"],
         record[f"cooling_power_with_{name}_films_W"], record[f"length_with_{name}_films_m"])
        for word, name in (("less", "weak"), ("greater", "strong"))
    ]  # fmt: skip
    print_table(
        "Correlations of this kind are good to 20-30 %; with film coefficients",
        ("", "approach|K|.2f", "cooling|W|.2f", "length for the same approach|m|.4g"), rows,
    )  # fmt: skip


def _print_profile(result: RecuperatorResult) -> None:
    cells = cell_table(result.solved.rating).records()
    last = len(cells) - 1
    picked = sorted({round(k * last / (PROFILE_ROWS - 1)) for k in range(PROFILE_ROWS)})
    rows = [
        (cell["position_m"], cell["high_temperature_K"], cell["low_temperature_K"], cell["high_quality"],
         cell["low_quality"], cell["high_film_W_per_m2_K"], cell["low_film_W_per_m2_K"],
         cell["flux_W_per_m2"] / 1e3)
        for cell in (cells[k] for k in picked)
    ]  # fmt: skip
    columns = (
        "position|m|.3f", "high side|K|.2f", "low side|K|.2f", "vapour high|kg/kg|.3f", "vapour low|kg/kg|.3f",
        "film high|W/(m2 K)|.0f", "film low|W/(m2 K)|.0f", "flux|kW/m2|.2f",
    )  # fmt: skip
    print_table("Along the recuperator, from the cold end", columns, rows)


def _print_offers(result: RecuperatorResult) -> None:
    """Tubes one can buy, least metal first."""
    rows = [
        (o.norm, _size(o.small), _size(o.large), o.length, o.high_drop / 1e5, o.low_drop / 1e5,
         100 * o.suction_share, o.suction_speed, o.mass)
        for o in result.offers
    ]  # fmt: skip
    columns = (
        "norm", "small", "large", "length|m|.1f", "drop high|bar|.3f", "drop low|bar|.3f", "of suction|%|.1f",
        "return|m/s|.1f", "metal|kg|.2f",
    )  # fmt: skip
    title = f"Tubes one can buy (sizes from memory), each for {number(result.request.approach)} K, least metal first"
    print_table(title, columns, rows)


def _size(tube) -> str:
    return f"{1e3 * tube.outer_diameter:.2f} x {1e3 * tube.wall:.2f} mm"
