"""A throttle as people read it on the terminal."""

from __future__ import annotations

from mixjt.cli.circuit_view import print_figures
from mixjt.components.capillary import BAND
from mixjt.report.terminal import print_table
from mixjt.studies.throttle import LONGEST, ThrottleResult

PROFILE_ROWS = 9
CAPILLARY = (
    ("inner diameter", "diameter_m", "mm", 1e-3),
    ("length", "length_m", "m", 1),
    ("tubes side by side", "parallel", "", 1),
    ("mass flow of all tubes", "mass_flow_g_per_s", f"g/s, within {100 * BAND:.0f} % or so", 1),
    ("mass flow of the circuit", "circuit_mass_flow_g_per_s", "g/s", 1),
    ("mass flux", "mass_flux_kg_per_m2_s", "kg/(m2 s)", 1),
    ("first vapour after", "flash_position_m", "m", 1),
    ("pressure at the end of the tube", "tube_end_pressure_Pa", "bar abs", 1e5),
    ("velocity there", "tube_end_velocity_m_per_s", "m/s", 1),
    ("temperature behind the throttle", "outlet_temperature_K", "K", 1),
    ("vapour behind the throttle", "outlet_vapour_fraction", "mol/mol", 1),
    ("heat to the return line", "heat_to_return_J_per_mol", "J/mol", 1),
)
VALVE = (
    ("Kv for the circuit's flow, homogeneous expansion", "valve_kv_m3_per_h", "m3/h", 1),
    ("Kv for it by IEC 60534", "valve_kv_iec_m3_per_h", "m3/h", 1),
    ("flow of the stated valve", "stated_valve_mass_flow_g_per_s", "g/s", 1),
)


def print_throttle(result: ThrottleResult, record: dict) -> None:
    """All tables of a throttle."""
    inlet, choked = result.inlet, result.solved.march.choked
    before = f"{inlet.temperature:.5g} K and {inlet.pressure / 1e5:.4g} bar before it ({inlet.phase_text})"
    print(f"  throttle   {before}, {result.outlet.pressure / 1e5:.4g} bar behind it; found: the {result.found}\n")
    print_figures(f"Capillary, {'choked at its end' if choked else 'not choked'}", CAPILLARY, record)
    print_figures(f"Needle valve, {'choked' if result.valve_chokes else 'not choked'}", VALVE, record)
    print_table(
        "Tolerance and debris",
        ("case", "diameter|mm|.3f", "flow at this length|g/s|.4g", "length for this flow|m|.3f"),
        [(v.name, 1e3 * v.diameter, 1e3 * v.mass_flow, v.length) for v in result.variants],
    )
    print_table(
        "Other bores",
        ("diameter|mm|.3f", "length for the circuit's flow|m|.3g"),
        [(1e3 * bore.diameter, bore.length) for bore in result.bores if bore.length and bore.length < 2.0 * LONGEST],
    )
    end = result.solved.march
    last = len(end.positions) - 1
    picked = sorted({round(k * last / (PROFILE_ROWS - 1)) for k in range(PROFILE_ROWS)})
    print_table(
        "Along the tube",
        ("position|m|.4f", "p|bar abs|.3f", "T|K|.2f", "vapour|mol/mol|.4f", "velocity|m/s|.1f"),
        [
            (end.positions[k], end.pressures[k] / 1e5, end.temperatures[k], end.vapour_fractions[k], end.velocities[k])
            for k in picked
        ],
    )
