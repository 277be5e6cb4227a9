"""What is said of a rated compressor: its figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.parts.compressor.label import RatedCompressor
from mixjt.report.circuit_report import BLEND_SHARES, MODEL, WARNINGS, blend_of, print_closing
from mixjt.report.figure import Figure, Listing, listing, print_figures, record_of
from mixjt.report.terminal import print_title
from mixjt.studies.label_study import MapPoint, RatingResult

LABEL, MACHINE, LIMITS = "Label", "Machine worked back from it", "Limits"


MAP = (
    Figure("suction_pressure_Pa", "suction_pressure", text="suction", form=".3g"),
    Figure("discharge_pressure_Pa", "discharge_pressure", text="discharge", form=".3g"),
    Figure("pressure_ratio", lambda point: point.discharge_pressure / point.suction_pressure, text="ratio", form=".3g"),
    Figure("swept_flow_m3_per_s", lambda point: point.result and point.swept_flow),
    Figure("volumetric_efficiency", "result.volumetric_efficiency"),
    Figure("isentropic_efficiency", lambda point: point.result and point.isentropic_efficiency),
    Figure("molar_flow_mol_per_s", "result.molar_flow"),
    Figure("mass_flow_g_per_s", lambda point: point.result and 1e3 * point.result.mass_flow, text="mass flow", form=".4g"),
    Figure("power_W", "result.electrical_power", text="power", form=".4g"),
    Figure("current_A", "result.supply_current", text="current", form=".3g"),
    Figure("discharge_temperature_K", "result.discharge_temperature", text="line", form=".1f"),
    Figure("valve_temperature_K", "result.valve_temperature", text="valve", form=".1f"),
    Figure("shell_temperature_K", "result.shell_temperature", text="shell", form=".1f"),
    Figure("limits_exceeded", lambda point: _beyond(point, point.reason)),
    Figure("", lambda point: _beyond(point, "does not work here"), text="beyond its limit"),
)
CURVES = (  # of (pressure ratio, volumetric efficiency, isentropic efficiency)
    Figure("pressure_ratio", lambda row: row[0], text="ratio", form=".3g"),
    Figure("volumetric_efficiency", lambda row: row[1], text="volumetric", form=".1f"),
    Figure("isentropic_efficiency", lambda row: row[2], text="isentropic", form=".1f"),
)
GUESSES = (  # of (name, machine, point)
    Figure("guess", lambda row: row[0], text="guess"),
    Figure("capacity_W", lambda row: row[1].label.capacity, text="capacity", form=".4g"),
    Figure("swept_volume_m3", lambda row: row[1].machine.displacement, text="swept", unit="cm3", scale=1e-6, form=".3g"),
    Figure("mass_flow_g_per_s", lambda row: row[2].result and 1e3 * row[2].result.mass_flow, text="mass flow", form=".4g"),
    Figure("power_W", lambda row: row[2].result and row[2].result.electrical_power, text="power", form=".4g"),
    Figure("current_A", lambda row: row[2].result and row[2].result.supply_current, text="current", form=".3g"),
)
ABOUT_FIGURES = (
    MODEL,
    replace(BLEND_SHARES, read=lambda found: {gas: float(x) for gas, x in blend_of(found).items()}),
    Figure("suction_temperature_K", "request.suction_temperature", "at which the gas enters the machine"),
    Figure("stated_swept_volume_m3", "request.displacement", "of `[compressor]`, which all other commands take; `null` without"),
)
LABEL_FIGURES = (  # of a machine worked back from its label
    Figure("refrigerant", "label.fluid", "of the label or its polynomials, and the kind of machine"),
    Figure("type", "label.kind"),
    Figure("rated_capacity_W", "label.capacity", "what the label says, or a guess from `nominal_power`; like all that follows down to `isentropic_exponent` only with a label",
           "capacity", LABEL),
    Figure("rating_evaporating_temperature_K", "label.point.evaporating", "", "evaporating temperature", LABEL),
    Figure("rating_condensing_temperature_K", "label.point.condensing", "", "condensing temperature", LABEL),
    Figure("rating_return_gas_temperature_K", "label.point.return_gas", "", "return gas", LABEL),
    Figure("rating_liquid_temperature_K", "label.point.liquid", "", "liquid", LABEL),
    Figure("rating_pressure_ratio", "rating.ratio", "", "pressure ratio", LABEL),
    Figure("speed_Hz", "label.speed", "of the shaft", "speed", MACHINE, 3),
    Figure("swept_volume_m3", "machine.displacement", "the machine that this takes", "swept volume", MACHINE, 1, unit="cm3",
           scale=1e-6),
    Figure("rating_mass_flow_g_per_s", lambda rated: 1e3 * rated.at_rating.mass_flow, "at the rating point",
           "mass flow there", MACHINE, 6),
    Figure("rating_volumetric_efficiency", "at_rating.volumetric_efficiency", "",
           "volumetric efficiency at the rating point", MACHINE, 4),
    Figure("isentropic_efficiency", "machine.isentropic_efficiency", "", "isentropic efficiency of the cylinder", MACHINE, 5),
    Figure("rating_power_W", "at_rating.electrical_power", "", "electrical input there", MACHINE, 7),
    Figure("rating_cop", lambda rated: rated.label.capacity / rated.at_rating.electrical_power, "", "COP there", MACHINE,
           9),
    Figure("rating_isentropic_cop", "rating.isentropic_cop"),
    Figure("rating_current_A", "at_rating.supply_current", "", "current there", MACHINE, 8),
    Figure("rating_discharge_temperature_K", "at_rating.discharge_temperature", "",
           "discharge temperature there, line", MACHINE, 10),
    Figure("rating_valve_temperature_K", "at_rating.valve_temperature", "", "  gas at the valve", MACHINE, 11),
    Figure("rating_shell_temperature_K", "at_rating.shell_temperature", "", "  shell", MACHINE, 12),
    Figure("power_factor", "power_factor", "where the rated current gives one; between the two pressures"),
    Figure("isentropic_exponent", "at_rating.isentropic_exponent"),
)  # fmt: skip
POLYNOMIAL_FIGURES = (
    Figure("refrigerant", "fluid"),
    Figure("type", "kind"),
    Figure("speed_Hz", "speed"),
)
LIMIT_FIGURES = (
    Figure("largest_pressure_ratio", "largest_pressure_ratio", "what the machine stands", "pressure ratio", LIMITS),
    Figure("largest_discharge_temperature_K", "largest_discharge_temperature", "", "discharge temperature, line", LIMITS),
    Figure("largest_valve_temperature_K", "largest_valve_temperature", "", "  gas at the valve", LIMITS),
    Figure("largest_suction_pressure_Pa", "largest_suction_pressure", "", "suction pressure", LIMITS),
    Figure("largest_current_A", "largest_supply_current", "", "current", LIMITS),
    Figure("largest_power_W", "largest_electrical_power", "", "electrical power", LIMITS),
)
BLEND_FIGURES = (
    Figure("at_circuit", lambda found: record_of(MAP, found.at_circuit), "on the blend at the two pressures of `[circuit]`, with the keys of `map`"),
    Figure("guesses", "guesses", "of a machine of which only the `nominal_power` is known, low, middle and high, on the blend at the "
           "pressures of `[circuit]`; empty otherwise", rows=GUESSES),
    Figure("map", "points", "over pairs of pressures", rows=MAP),
    Figure("curves", "curves", "empty for polynomials", rows=CURVES),
    WARNINGS,
)


def rating_record(found: RatingResult) -> dict:
    """Figures of a rated compressor on a blend; of polynomials only what they belong to."""
    machine = found.request.machine
    own = LABEL_FIGURES if isinstance(machine, RatedCompressor) else POLYNOMIAL_FIGURES
    about = record_of(ABOUT_FIGURES, found) | record_of(own, machine)
    return about | record_of(LIMIT_FIGURES, found.limits) | record_of(BLEND_FIGURES, found)


def compressor_tables(found: RatingResult) -> dict[str, Listing]:
    """The machine on the blend, one row a pair of pressures; efficiencies against the pressure ratio."""
    curves = {"compressor_curves": listing(CURVES, found.curves)} if found.curves else {}
    return {"compressor_map": listing(MAP, found.points)} | curves


def compressor_pictures(found: RatingResult) -> dict[str, Callable]:
    """The map."""
    from mixjt.plots.rating_plot import rating_figure
    from mixjt.plots.titles import blend_text

    about = blend_text(found.gases, found.composition)
    heading = f"Compressor on the blend, gas entering at {found.request.suction_temperature:.4g} K"
    return {"compressor_map": lambda: rating_figure(found.points, heading, about)}


def print_rating(case: Case, blend: Blend, found: RatingResult, record: Mapping) -> None:
    """All tables of a rated compressor."""
    about = {"blend": blend.text, "inlet": f"{found.request.suction_temperature:.5g} K", "model": found.model}
    print_title(case.title or case.file, about)
    if found.curves:
        source = "Guessed from its motor's size" if found.guesses else LABEL
        print_figures(LABEL_FIGURES, LABEL, record, f"{source}: {record['refrigerant']}, {record['type']}")
        print_figures(LABEL_FIGURES, MACHINE, record)
        if found.request.displacement is not None:
            print(f"What follows is of this machine; all other commands take the {1e6 * found.request.displacement:.4g} cm3 of [compressor].\n")
    else:
        print(f"Polynomials for {record['refrigerant']}, {record['type']}\n")
    print_figures(LIMIT_FIGURES, LIMITS, record)
    if found.curves:
        listing(CURVES, found.curves).show("Against the pressure ratio")
    listing(MAP, (*found.points, found.at_circuit)).show("On the blend")
    print("The last row is the pair of pressures in [circuit].")
    if found.guesses:
        listing(GUESSES, found.guesses).show("Only a guess: the machine may be any of these, on the blend in [circuit]")
    print_closing(record["warnings"], record["cautions"], getattr(found.request.machine, "notes", ()))


def _beyond(point: MapPoint, otherwise: str) -> str:
    return otherwise if point.result is None else ", ".join(point.exceeded)
