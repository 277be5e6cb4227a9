"""A rated compressor as people read it on the terminal."""

from __future__ import annotations

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.cli.circuit_view import print_closing, print_figures
from mixjt.cli.show import print_table
from mixjt.studies.rating import RatingResult

LABEL = (
    ("capacity of the label", "rated_capacity_W", "W", 1),
    ("evaporating temperature", "rating_evaporating_temperature_K", "K", 1),
    ("condensing temperature", "rating_condensing_temperature_K", "K", 1),
    ("return gas", "rating_return_gas_temperature_K", "K", 1),
    ("liquid", "rating_liquid_temperature_K", "K", 1),
    ("pressure ratio", "rating_pressure_ratio", "", 1),
)
MACHINE = (
    ("swept volume, by the curves", "swept_volume_m3", "cm3", 1e-6),
    ("displacement less heating and leakage", "effective_displacement_m3", "cm3", 1e-6),
    ("speed", "speed_Hz", "rev/s", 1),
    ("volumetric efficiency at the rating point", "rating_volumetric_efficiency", "%", 0.01),
    ("isentropic efficiency there", "rating_isentropic_efficiency", "%", 0.01),
    ("mass flow there", "rating_mass_flow_g_per_s", "g/s", 1),
    ("electrical input there", "rating_power_W", "W", 1),
    ("current there", "rating_current_A", "A", 1),
    ("COP there", "rating_cop", "W/W", 1),
    ("discharge temperature there, line", "rating_discharge_temperature_K", "K", 1),
    ("  gas at the valve", "rating_valve_temperature_K", "K", 1),
)
LIMITS = (
    ("pressure ratio", "largest_pressure_ratio", "", 1),
    ("discharge temperature, line", "largest_discharge_temperature_K", "K", 1),
    ("  gas at the valve", "largest_valve_temperature_K", "K", 1),
    ("suction pressure", "largest_suction_pressure_Pa", "bar abs", 1e5),
    ("current", "largest_current_A", "A", 1),
)
MAP_COLUMNS = (
    "suction|bar abs|.3g", "discharge|bar abs|.3g", "ratio||.3g", "mass flow|g/s|.4g", "power|W|.4g", "current|A|.3g",
    "line|K|.1f", "valve|K|.1f", "beyond its limit",
)  # fmt: skip


def print_rating(case: Case, blend: Blend, found: RatingResult, record: dict) -> None:
    """All tables of a rated compressor."""
    print(case.title or case.file)
    print(f"  blend      {blend.text}")
    print(f"  inlet      {found.request.suction_temperature:.5g} K")
    print(f"  model      {found.model}\n")
    if found.curves:
        print_figures(f"Label: {record['refrigerant']}, {record['type']}", LABEL, record)
        print_figures("Machine worked back from it", MACHINE, record)
    else:
        print(f"Polynomials for {record['refrigerant']}, {record['type']}\n")
    print_figures("Limits", LIMITS, record)
    if found.curves:
        print_table(
            "Against the pressure ratio",
            ("ratio||.3g", "volumetric|%|.1f", "isentropic|%|.1f"),
            [(ratio, 100 * filling, 100 * work) for ratio, filling, work in found.curves],
        )
    print_table("On the blend", MAP_COLUMNS, [_row(point) for point in (*found.points, found.at_circuit)])
    print("The last row is the pair of pressures in [circuit].")
    print_closing(record["warnings"], record["cautions"])


def _row(point) -> tuple:
    pressures = point.suction_pressure / 1e5, point.discharge_pressure / 1e5
    ratio, result = point.discharge_pressure / point.suction_pressure, point.result
    if result is None:
        return (*pressures, ratio, None, None, None, None, None, "does not work here")
    return (
        *pressures, ratio, 1e3 * result.mass_flow, result.electrical_power, result.supply_current,
        result.discharge_temperature, result.valve_temperature, ", ".join(point.exceeded),
    )  # fmt: skip
