"""What is said of a throttle: its figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from mixjt.parts.throttle.capillary import CAPILLARY_BAND
from mixjt.report.circuit_report import WARNINGS
from mixjt.report.figure import Figure, Listing, curve, evenly, listing, print_figures
from mixjt.studies.throttle_study import LONGEST, ThrottleResult

CAPILLARY, VALVE = "Capillary", "Needle valve"
PROFILE_ROWS = 9  # on the terminal; --out has all of them


def _valve_flow(result: ThrottleResult) -> float | None:
    return None if result.valve_flow is None else 1e3 * result.valve_flow


MILLIMETRES = {"unit": "mm", "scale": 1e-3, "form": ".3f"}
PROFILE = (
    Figure("position_m", "positions", text="position", form=".4f"),
    Figure("pressure_Pa", "pressures", text="p", form=".3f"),
    Figure("temperature_K", "temperatures", text="T", form=".2f"),
    Figure("vapour_fraction", "vapour_fractions", text="vapour", unit="mol/mol", form=".4f"),
    Figure("velocity_m_per_s", "velocities", text="velocity", form=".1f"),
    Figure("volume_m3_per_kg", "volumes"),
    Figure("reynolds", "reynolds"),
)
VARIANTS = (
    Figure("case", "name", text="case"),
    Figure("diameter_m", "diameter", text="diameter", **MILLIMETRES),
    Figure("mass_flow_g_per_s", lambda one: 1e3 * one.mass_flow, text="flow at this length", form=".4g"),
    Figure("length_at_same_flow_m", "length", text="length for this flow", form=".3f"),
)
BORES = (
    Figure("diameter_m", "diameter", text="diameter", **MILLIMETRES),
    Figure("length_m", "length", text="length for the circuit's flow", form=".3g"),
)
FIGURES = (
    Figure("found", "found", '"length", "diameter" or "flow"'),
    Figure("diameter_m", "solved.tube.diameter", "the tube; tubes side by side", "inner diameter", CAPILLARY, unit="mm", scale=1e-3),
    Figure("length_m", "solved.tube.length", "", "length", CAPILLARY),
    Figure("parallel", "solved.tube.parallel", "", "tubes side by side", CAPILLARY),
    Figure("mass_flow_g_per_s", lambda result: result.solved.mass_flow * 1e3, "of all tubes", "mass flow of all tubes", CAPILLARY,
           unit=f"g/s, within {100 * CAPILLARY_BAND:.0f} % or so"),
    Figure("molar_flow_mol_per_s", lambda result: result.solved.mass_flow / result.solved.line.molar_mass),
    Figure("circuit_mass_flow_g_per_s", lambda result: result.wanted * 1e3, "what the circuit wants; how far the flow is off",
           "mass flow of the circuit", CAPILLARY),
    Figure("flow_band_fraction", lambda _: CAPILLARY_BAND),
    Figure("mass_flux_kg_per_m2_s", "solved.march.flux", "in the tube; whether it chokes at its end", "mass flux", CAPILLARY),
    Figure("choked", "solved.march.choked"),
    Figure("inlet_temperature_K", "inlet.temperature", "state before it"),
    Figure("inlet_pressure_Pa", "inlet.pressure"),
    Figure("inlet_vapour_fraction", "inlet.vapour_fraction"),
    Figure("inlet_phases", "inlet.phase_text"),
    Figure("flash_position_m", "flash_position",
           "first vapour; null where the inlet has vapour or none appears", "first vapour after", CAPILLARY),
    Figure("tube_end_pressure_Pa", lambda result: float(result.solved.march.pressures[-1]), "at its end",
           "pressure at the end of the tube", CAPILLARY),
    Figure("tube_end_temperature_K", lambda result: float(result.solved.march.temperatures[-1])),
    Figure("tube_end_vapour_fraction", lambda result: float(result.solved.march.vapour_fractions[-1])),
    Figure("tube_end_velocity_m_per_s", lambda result: float(result.solved.march.velocities[-1]), "", "velocity there",
           CAPILLARY),
    Figure("smallest_reynolds", lambda result: float(result.solved.march.reynolds.min())),
    Figure("outlet_temperature_K", "outlet.temperature", "behind the jet", "temperature behind the throttle", CAPILLARY),
    Figure("outlet_pressure_Pa", "outlet.pressure"),
    Figure("outlet_vapour_fraction", "outlet.vapour_fraction", "", "vapour behind the throttle", CAPILLARY,
           unit="mol/mol"),
    Figure("heat_to_return_J_per_mol", "solved.heat", "given to the return line", "heat to the return line", CAPILLARY),
    Figure("valve_kv_m3_per_h", "kv", "needle valve in its place, by homogeneous expansion and by IEC 60534",
           "Kv for the circuit's flow, homogeneous expansion", VALVE),
    Figure("valve_kv_iec_m3_per_h", "kv_iec", "", "Kv for it by IEC 60534", VALVE),
    Figure("valve_choked", "valve_chokes"),
    Figure("stated_valve_mass_flow_g_per_s", _valve_flow, "", "flow of the stated valve", VALVE),
    Figure("sensitivity", "variants", "tolerance and debris", rows=VARIANTS),
    Figure("bores", "bores", "lengths of other bores", rows=BORES),
    WARNINGS,
)  # fmt: skip


def throttle_tables(result: ThrottleResult) -> dict[str, Listing]:
    """States along the tube, what a changed bore does, and lengths of other bores at the circuit's flow."""
    return {
        "throttle_profile": curve(PROFILE, result.solved.march),
        "throttle_sensitivity": listing(VARIANTS, result.variants),
        "throttle_bores": listing(BORES, result.bores),
    }


def throttle_pictures(result: ThrottleResult) -> dict[str, Callable]:
    """Along the tube."""
    from mixjt.plots.throttle_plot import throttle_figure

    return {"throttle": lambda: throttle_figure(result)}


def about_throttle(result: ThrottleResult) -> str:
    """Between which states, and what was found, in words."""
    inlet = result.inlet
    before = f"{inlet.temperature:.5g} K and {inlet.pressure / 1e5:.4g} bar before it ({inlet.phase_text})"
    return f"{before}, {result.outlet.pressure / 1e5:.4g} bar behind it; found: the {result.found}"


def print_throttle(result: ThrottleResult, record: Mapping) -> None:
    """All tables of a throttle."""
    choked = result.solved.march.choked
    print_figures(FIGURES, CAPILLARY, record, f"{CAPILLARY}, {'choked at its end' if choked else 'not choked'}")
    print_figures(FIGURES, VALVE, record, f"{VALVE}, {'choked' if result.valve_chokes else 'not choked'}")
    tables = throttle_tables(result)
    tables["throttle_sensitivity"].show("Tolerance and debris")
    short = [k for k, bore in enumerate(result.bores) if bore.length and bore.length < 2.0 * LONGEST]
    tables["throttle_bores"].show("Other bores", picked=short)
    along = tables["throttle_profile"]
    along.show("Along the tube", picked=evenly(len(along.cells), PROFILE_ROWS))
