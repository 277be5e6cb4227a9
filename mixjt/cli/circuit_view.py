"""A solved circuit as people read it on the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.cli.cautions import cautions
from mixjt.cli.show import print_notes, print_quantities, print_table
from mixjt.cycles.records import CircuitResult, PinchCurve
from mixjt.studies.band import Band

# Text, key of the record, unit shown, and how many of the record's units it holds.
COOLING = (
    ("cooling power", "cooling_power_W", "W", 1),
    ("load", "load_W", "W", 1),
    ("cooling capacity", "cooling_capacity_J_per_mol", "J/mol", 1),
    ("least enthalpy difference", "min_enthalpy_difference_J_per_mol", "J/mol", 1),
    ("  at", "min_enthalpy_difference_temperature_K", "K", 1),
    ("COP", "cop", "W/W", 1),
    ("fraction of Carnot", "carnot_fraction", "%", 0.01),
)
RECUPERATOR = (
    ("smallest approach", "smallest_approach_K", "K", 1),
    ("  where the high side has", "pinch_temperature_K", "K", 1),
    ("conductance UA", "recuperator_conductance_W_per_K", "W/K", 1),
)
COMPRESSOR = (
    ("electrical power", "compressor_power_W", "W", 1),
    ("supply current", "supply_current_A", "A", 1),
    ("molar flow", "molar_flow_mol_per_s", "mmol/s", 1e-3),
    ("mass flow", "mass_flow_g_per_s", "g/s", 1),
    ("volumetric efficiency", "volumetric_efficiency", "%", 0.01),
    ("discharge temperature, line", "discharge_temperature_K", "K", 1),
    ("  gas at the valve", "valve_temperature_K", "K", 1),
    ("suction superheat", "suction_superheat_K", "K", 1),
)
BLEND = (
    ("bubble point at suction pressure", "bubble_point_low_K", "K", 1),
    ("dew point at suction pressure", "dew_point_low_K", "K", 1),
    ("bubble point at discharge pressure", "bubble_point_high_K", "K", 1),
    ("dew point at discharge pressure", "dew_point_high_K", "K", 1),
    ("freezing margin, at the least", "freezing_margin_K", "K", 1),
    ("  by this model", "own_freezing_margin_K", "K", 1),
)
AT_REST = (
    ("pressure at ambient", "standing_pressure_Pa", "bar abs", 1e5),
    ("pressure on the hottest day", "hot_standing_pressure_Pa", "bar abs", 1e5),
    ("rating of the parts", "largest_standing_pressure_Pa", "bar abs", 1e5),
    ("buffer volume to add for it", "buffer_volume_m3", "L", 1e-3),
)
FIGURES = {
    "Cooling": COOLING, "Recuperator": RECUPERATOR, "Compressor": COMPRESSOR, "Blend": BLEND,
    "The charge at rest, all warm": AT_REST,
}  # fmt: skip
STATE_COLUMNS = (
    "place", "T|K|.2f", "p|bar abs|.3f", "h|J/mol|.1f", "s|J/(mol K)|.2f", "vapour|mol/mol|.4f", "phases",
)  # fmt: skip


def print_heading(case: Case, blend: Blend, model: str, band: Band | None = None) -> None:
    """Title, blend, pressures and property model, and how well the figure is known."""
    circuit = case.circuit
    low, high = circuit.suction_pressure / 1e5, circuit.discharge_pressure / 1e5
    print(case.title or case.file)
    print(f"  blend      {blend.text}")
    print(f"  pressures  {low:.4g} bar to {high:.4g} bar, absolute")
    print(f"  cold end   {circuit.cold_temperature:.5g} K, ambient {circuit.ambient_temperature:.5g} K")
    print(f"  model      {model}")
    if band is not None:
        print(f"  band       {band.sentence}")
    print()


def print_figures(title: str, figures, record: dict) -> None:
    """Figures of a record, one a line with its unit: rows of text, key, unit and how many of the record's units it holds."""
    rows = []
    for text, key, unit, scale in figures:
        value = record.get(key)
        rows.append((text, value if value is None or scale == 1 else value / scale, unit))
    print_quantities(title, rows)
    print()


def print_states(result: CircuitResult) -> None:
    """The state points in flow order."""
    rows = [
        (place.replace("_", " "), state.temperature, state.pressure / 1e5, state.enthalpy, state.entropy,
         state.vapour_fraction, state.phase_text)
        for place, state in result.points.items()
    ]  # fmt: skip
    print_table("State points", STATE_COLUMNS, rows)


def print_pinch(curve: PinchCurve, rows: int) -> None:
    """The recuperator at evenly spaced heats from the cold end, and at its pinch."""
    count = len(curve.heat)
    tightest = min(range(count), key=lambda k: curve.high_temperature[k] - curve.low_temperature[k])
    picked = sorted({round(k * (count - 1) / (rows - 1)) for k in range(rows)} | {tightest})
    table = [
        (curve.heat[k], curve.high_temperature[k], curve.low_temperature[k],
         curve.high_temperature[k] - curve.low_temperature[k], "smallest" if k == tightest else "")
        for k in picked
    ]  # fmt: skip
    columns = ("heat|J/mol|.1f", "high side|K|.2f", "low side|K|.2f", "approach|K|.2f", "")
    print_table("Recuperator from the cold end to the warm end", columns, table)


def print_exergy(result: CircuitResult) -> None:
    """Where the exergy of the electrical power goes."""
    total = sum(item.exergy for item in result.exergy)
    rows = [
        (item.component, item.exergy * result.molar_flow, 100 * item.exergy / total) for item in result.exergy
    ]
    print_table("Exergy", ("component", "exergy|W", "share|%|.1f"), rows)


def print_closing(warnings: Sequence[str], notes: Sequence[str]) -> None:
    """Warnings about this result, and the cautions that go with it."""
    print_notes("Warnings", warnings)
    print_notes("Cautions", notes)


def circuit_cautions(blend: Blend, result: CircuitResult) -> list[str]:
    """Cautions for a solved circuit, whose coldest point is the throttle outlet as a rule."""
    coldest = min(state.temperature for state in result.points.values())
    return cautions(blend.gases, blend.fractions, result.discharge_pressure, coldest)


def print_circuit_closing(warnings: Sequence[str], blend: Blend, result: CircuitResult) -> None:
    """Warnings and cautions for a solved circuit."""
    print_closing(warnings, circuit_cautions(blend, result))
