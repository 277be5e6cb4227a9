"""What is said of a solved throttle circuit: its figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.case.contradictions import contradictions
from mixjt.circuit.result import CircuitResult, DifferenceCurve, PinchCurve
from mixjt.parts.places import COMPRESSOR_INLET, COMPRESSOR_OUTLET, THROTTLE_OUTLET
from mixjt.report import inventory_report
from mixjt.report import kinds_report as kinds
from mixjt.report.cautions import cautions
from mixjt.report.figure import EVERY, Figure, Listing, curve, evenly, listing, print_figures, record_of
from mixjt.report.terminal import print_notes, print_quantities, print_title, print_warnings
from mixjt.studies.at_rest import AtRest
from mixjt.studies.band import Band
from mixjt.studies.envelopes import Envelope, envelope_of
from mixjt.workers import in_background

COOLING, RECUPERATOR, COMPRESSOR, BLEND = "Cooling", "Recuperator", "Compressor", "Blend"
LEAK, AFTERCOOLER = "Heat leak", "Aftercooler"
AT_REST = "The charge at rest, all warm"


def blend_of(result: CircuitResult) -> dict[str, float]:
    """Mole fraction of each gas present."""
    return {gas: x for gas, x in zip(result.gases, result.composition, strict=True) if x > 0.0}


def _cooling_per_conductance(result: CircuitResult) -> float | None:
    """None where the streams touch, so that the recuperator would have to be infinitely large."""
    conductance = result.pinch.conductance
    return result.cooling_capacity / conductance if math.isfinite(conductance) else None


TITLE = (  # of anything that holds a case
    Figure("title", "case.title", "of the case, and its file"),
    Figure("case", "case.file"),
)
MODEL = Figure("model", "model", "the property model, one of those that `mixjt gases` lists")
BLEND_SHARES = Figure("blend", lambda run: run["blend"].to_dict(), "mole fraction of each gas present")
WARNINGS = Figure("warnings", lambda found: list(found.warnings), "a list of sentences")
INTERRUPTED = Figure("interrupted", "interrupted", "true after Ctrl-C: what was found until then is kept")
SUCTION = Figure(
    "suction_pressure_Pa", f"points.{COMPRESSOR_INLET}.pressure", "absolute, at the compressor", "suction pressure"
)
DISCHARGE = Figure("discharge_pressure_Pa", f"points.{COMPRESSOR_OUTLET}.pressure", "", "discharge pressure")
BAR = {"unit": "bar", "scale": 1e5}
LOAD = Figure("load_W", "case.load", "of the case", "load", COOLING, 2)
FIGURES = (
    MODEL,
    replace(BLEND_SHARES, read=blend_of),
    Figure("cooling_power_W", "cooling_power", "greatest cooling at the stated approach, times the molar flow",
           "cooling power", COOLING, 1),
    Figure("cooling_capacity_J_per_mol", "cooling_capacity", "the same per mole", "cooling capacity", COOLING, 3),
    Figure("min_enthalpy_difference_J_per_mol", "difference.minimum",
           "least isothermal enthalpy difference between suction and discharge pressure over the span, and where",
           "least enthalpy difference", COOLING, 4),
    Figure("min_enthalpy_difference_temperature_K", "difference.minimum_temperature", "", "  at", COOLING, 5),
    Figure("cop", "cop", "cooling over electrical power", "COP", COOLING, 6),
    Figure("carnot_fraction", "carnot_fraction", "COP over that of a reversible machine between cold end and ambient",
           "fraction of Carnot", COOLING, 7),
    Figure("ambient_temperature_K", "ambient_temperature", "surroundings, aftercooler outlet, evaporator outlet"),
    Figure("warm_temperature_K", "warm_temperature"),
    Figure("cold_temperature_K", "cold_temperature"),
    Figure("throttle_outlet_K", f"points.{THROTTLE_OUTLET}.temperature", "coldest point as a rule"),
    SUCTION,
    DISCHARGE,
    Figure("discharge_temperature_K", "discharge_temperature", "discharge line outside the compressor's shell",
           "discharge temperature, line", COMPRESSOR, 6),
    Figure("valve_temperature_K", "valve_temperature",
           "gas at the discharge valve, before the shell takes its loss ([theory](theory.md#7-the-compressor))",
           "  gas at the valve", COMPRESSOR, 7),
    Figure("shell_temperature_K", "shell_temperature", "of the compressor", "  shell", COMPRESSOR, 8),
    Figure("cylinder_inlet_temperature_K", "cylinder_inlet_temperature", "suction gas as the shell has warmed it",
           "suction gas at the cylinder", COMPRESSOR, 9),
    Figure("suction_superheat_K", "suction_superheat",
           "compressor inlet above the dew point; negative where it is wet", "suction superheat", COMPRESSOR, 10),
    Figure("pinch_temperature_K", "pinch.pinch_temperature",
           "high-side temperature at the pinch, and the approach there", "  where the high side has", RECUPERATOR, 2),
    Figure("smallest_approach_K", "pinch.smallest_approach", "", "smallest approach", RECUPERATOR, 1),
    Figure("recuperator_conductance_W_per_K", "recuperator_conductance", "UA; `null` where the streams touch",
           "conductance UA", RECUPERATOR, 3),
    Figure("recuperator_length_m", "rating.length",
           "of the tubes in `[recuperator_tubes]`, as stated or as that UA needs, and their metal; `null` without tubes",
           "length of its tubes", RECUPERATOR, 4),
    Figure("recuperator_metal_kg", "rating.mass", "", "their metal", RECUPERATOR, 5),
    Figure("high_side_drop_Pa", "circuit.high_side_drop", "pressure drops of the recuperator, stated or those of its tubes",
           "pressure drop, high side", RECUPERATOR, 6, **BAR),
    Figure("low_side_drop_Pa", "circuit.low_side_drop", "", "pressure drop, low side", RECUPERATOR, 7, **BAR),
    Figure("cooling_per_conductance_K", _cooling_per_conductance, "cooling power over UA"),
    Figure("insulation_conductance_W_per_K", "insulation_conductance",
           "conductance G between ambient and the cold parts ([insulation](insulation.md)), and what leaks in through it, "
           "all in all and at the cold end; the cooling power is what is left; `null` without `[insulation]`",
           "conductance G", LEAK, 3),
    Figure("heat_leak_W", "heat_leak", "", "leak into recuperator and cold end", LEAK, 1),
    Figure("heat_leak_cold_end_W", "cold_end_leak", "", "  of it into the cold end", LEAK, 2),
    Figure("dew_point_low_K", "dew_point_low", "at suction pressure", "dew point at suction pressure", BLEND, 2),
    Figure("bubble_point_low_K", "bubble_point_low", "", "bubble point at suction pressure", BLEND, 1),
    Figure("dew_point_high_K", "dew_point_high", "at discharge pressure", "dew point at discharge pressure", BLEND, 4),
    Figure("bubble_point_high_K", "bubble_point_high", "", "bubble point at discharge pressure", BLEND, 3),
    Figure("freezing_gas", "freezing_gas",
           "the gas that freezes first, by how many kelvin it does not (negative where it does), and where, by that of "
           "the plausible sets of pair parameters which finds least: see [solids](solids.md); `null` where nothing "
           "freezes"),
    Figure("freezing_margin_K", "freezing_margin", "", "freezing margin, at the least", BLEND, 5),
    Figure("freezing_place", "freezing_place"),
    Figure("own_freezing_margin_K", "own_freezing_margin",
           "the margin by the result's own model; `null` where nothing freezes, or where it could not be told (a warning "
           "says so)", "  by this model", BLEND, 6),
    Figure("molar_flow_mol_per_s", "molar_flow", "of the blend", "molar flow", COMPRESSOR, 3),
    Figure("mass_flow_g_per_s", lambda result: result.mass_flow * 1e3, "", "mass flow", COMPRESSOR, 4),
    Figure("volumetric_efficiency", "volumetric_efficiency", "gas moved, as it arrives, over swept volume",
           "volumetric efficiency", COMPRESSOR, 5),
    Figure("leakage_fraction", "leakage", "gas that leaks back inside the compressor over gas moved", "leakage inside",
           COMPRESSOR, 5.5),
    Figure("compressor_power_W", "compressor_power", "electrical", "electrical power", COMPRESSOR, 1),
    Figure("compressor_work_J_per_mol", "compressor_work", "into the gas"),
    Figure("supply_current_A", "supply_current", "`null` where no voltage is stated", "supply current", COMPRESSOR, 2),
    Figure("aftercooler_heat_W", lambda result: result.aftercooler_heat * result.molar_flow,
           "rejected to the surroundings", "heat to the room", AFTERCOOLER, 1),
    Figure("shell_heat_W", lambda result: result.shell_heat * result.molar_flow),
    Figure("aftercooler_approach_K", "aftercooler_approach",
           "aftercooler's outlet above ambient, and the conductance from the blend to air of ambient temperature that it takes "
           "([theory](theory.md#6-the-sizes-of-recuperator-and-aftercooler)); `null` where the outlet is not above ambient",
           "outlet above ambient", AFTERCOOLER, 2),
    Figure("aftercooler_conductance_W_per_K", "aftercooler_conductance", "", "conductance to air at ambient", AFTERCOOLER, 3),
    Figure("energy_residual", "energy_residual",
           "misfit of the balances over the compressor work; above 1e-6 something is wrong"),
    Figure("exergy_residual", "exergy_residual"),
    WARNINGS,
)  # fmt: skip
STANDING_FIGURES = (
    Figure("standing_pressure_Pa", "found.ambient_pressure",
           "of that charge, or the one in `[standstill]`, with everything warm and at rest, at ambient and on the hottest day "
           "(`cycle`, `search` for its candidates, `compare`, `cooldown`); `null` without `[volumes]`, and volume and charge "
           "in `[standstill]`", "pressure at ambient", AT_REST),
    Figure("hot_standing_pressure_Pa", "found.hottest_pressure", "", "pressure on the hottest day", AT_REST),
    Figure("largest_standing_pressure_Pa", "limit",
           "the rating of the parts against it, and the volume to add on the suction side, with the gas at suction "
           "pressure that it holds while running, so that the hottest day keeps the rating: 0 where none is needed, "
           "`null` without a rating or where none can", "rating of the parts", AT_REST),
    Figure("buffer_volume_m3", "found.buffer", "", "buffer volume to add for it", AT_REST),
)  # fmt: skip
REST_FIGURES = (*inventory_report.FIGURES, *STANDING_FIGURES)
BAND_FIGURES = (
    Figure("cooling_band_fraction", "fraction",
           "how well the cooling is known, the errors of a machine not counted: relative half width of the band, the "
           "pair of gases on which it hangs most (`null` where the pure gases leave more open), and what it rests on "
           "(see [limits](limits.md)); `null` after an interruption"),
    Figure("cooling_band_pair", "pair"),
    Figure("cooling_band_basis", "basis"),
)  # fmt: skip
STATES = (  # of (place, state)
    Figure("place", lambda row: row[0]),
    Figure("", lambda row: row[0].replace("_", " "), text="place", table=EVERY),
    Figure("temperature_K", lambda row: row[1].temperature, text="T", form=".2f"),
    Figure("pressure_Pa", lambda row: row[1].pressure, text="p", form=".3f"),
    Figure("enthalpy_J_per_mol", lambda row: row[1].enthalpy, text="h", form=".1f"),
    Figure("entropy_J_per_mol_K", lambda row: row[1].entropy, text="s", form=".2f"),
    Figure("molar_volume_m3_per_mol", lambda row: row[1].molar_volume),
    Figure("vapour_fraction", lambda row: row[1].vapour_fraction, text="vapour", unit="mol/mol", form=".4f"),
    Figure("phases", lambda row: row[1].phase_text, text="phases"),
)
EXERGY = (  # of (part, molar flow, exergy of all parts)
    Figure("component", lambda row: row[0].component, text="component"),
    Figure("exergy_J_per_mol", lambda row: row[0].exergy),
    Figure("exergy_W", lambda row: row[0].exergy * row[1], text="exergy"),
    Figure("", lambda row: 100 * row[0].exergy / row[2], text="share", unit="%", form=".1f"),
)
PINCH = (
    Figure("heat_J_per_mol", "heat", text="heat", form=".1f"),
    Figure("high_side_temperature_K", "high_temperature", text="high side", form=".2f"),
    Figure("low_side_temperature_K", "low_temperature", text="low side", form=".2f"),
    Figure("approach_K", lambda pinch: pinch.high_temperature - pinch.low_temperature, text="approach", form=".2f"),
    Figure("", lambda pinch: _smallest(pinch), text=""),
)
DIFFERENCE = (
    Figure("temperature_K", "temperatures"),
    Figure("enthalpy_difference_J_per_mol", "difference"),
)
CASE_FIGURES = (
    *TITLE,
    LOAD,
    Figure("state_points", lambda run: state_points(run["result"]), "in flow order", rows=STATES),
    Figure("exergy", lambda run: exergy_parts(run["result"]),
           "destroyed in, or carried out by, each component", rows=EXERGY),
)  # fmt: skip
CURVES = (  # of `mixjt pinch`
    Figure("pinch_curve", lambda result: pinch_listing(result.pinch), "from the cold end", rows=PINCH),
    Figure("enthalpy_difference_curve", lambda result: difference_listing(result.difference), "", rows=DIFFERENCE),
)


def circuit_record(result: CircuitResult) -> dict:
    """A circuit's figures, each key ending in its unit; None where there is no such quantity."""
    return record_of(FIGURES, result)


def case_record(case: Case, result: CircuitResult) -> dict:
    """A circuit's figures with the case's title and load, its state points and its exergy balance."""
    run = {"case": case, "result": result}
    record = record_of(TITLE, run) | circuit_record(result) | record_of(CASE_FIGURES, run)
    record["warnings"] += _load_warnings(result, case.load) + contradictions(case)
    return record


def with_band(record: Mapping, band: Band | None) -> dict:
    """A record with how well its cooling is known, and the warnings that this brings, last."""
    warnings = [*record["warnings"], *(band.warnings if band else ())]
    return {**record, "warnings": warnings} | record_of(BAND_FIGURES, band)


def with_rest(record: Mapping, rest: AtRest) -> dict:
    """A record with the charge at rest, and the warnings that this brings, first."""
    return {**record, "warnings": [*rest.warnings, *record["warnings"]]} | record_of(REST_FIGURES, rest)


def state_points(result: CircuitResult) -> Listing:
    """The state points in flow order, one row each."""
    return listing(STATES, result.points.items())


def exergy_parts(result: CircuitResult) -> Listing:
    """Exergy destroyed in, or carried out by, each component."""
    total = sum(part.exergy for part in result.exergy)
    return listing(EXERGY, [(part, result.molar_flow, total) for part in result.exergy])


def pinch_listing(pinch: PinchCurve) -> Listing:
    """Both streams of the recuperator from the cold end to the warm end."""
    return curve(PINCH, pinch)


def difference_listing(difference: DifferenceCurve) -> Listing:
    """Isothermal enthalpy difference over the span."""
    return curve(DIFFERENCE, difference)


def circuit_tables(result: CircuitResult) -> dict[str, Listing]:
    """State points, the exergy, and the recuperator, for files."""
    own = {"state_points": state_points(result), "exergy": exergy_parts(result)}
    return own | pinch_tables(result)


def pinch_tables(result: CircuitResult) -> dict[str, Listing]:
    """The recuperator and, of a plain circuit, the enthalpy difference."""
    tables = {"pinch": pinch_listing(result.pinch)}
    if kinds.kind_of(result) == kinds.PLAIN:  # the recuperator of the others is no single line in one diagram
        tables["enthalpy_difference"] = difference_listing(result.difference)
    return tables


def circuit_pictures(result: CircuitResult, band: Band | None) -> dict[str, Callable]:
    """The circuit in a diagram, and the recuperator."""
    if kinds.kind_of(result) != kinds.PLAIN:
        return pinch_pictures(result, band)
    envelope = in_background(lambda: envelope_of(result.fluid, 0.5 * result.suction_pressure))  # while the others are drawn
    return pinch_pictures(result, band) | {"circuit": lambda: _circuit_figure(result, *envelope.result())}


def pinch_pictures(result: CircuitResult, band: Band | None) -> dict[str, Callable]:
    """The recuperator and, of a plain circuit, the enthalpy difference with how well the cooling is known."""
    from mixjt.plots.property_plot import difference_figure
    from mixjt.plots.recuperator_plot import pinch_figure

    pictures = {"pinch": lambda: pinch_figure(result)}
    if kinds.kind_of(result) == kinds.PLAIN:
        pictures["enthalpy_difference"] = lambda: difference_figure(result, band)
    return pictures


def print_heading(
    case: Case, blend: Blend, record: Mapping, band: Band | None = None, more: Mapping[str, str] | None = None
) -> None:
    """Title, blend, pressures and property model, how well the figure is known, and more of what it is about."""
    circuit, about = case.circuit, {"blend": blend.text}
    if DISCHARGE.key in record:
        about["pressures"] = f"{' to '.join(pressures(record))}, absolute"
    about["cold end"] = f"{circuit.cold_temperature:.5g} K, ambient {circuit.ambient_temperature:.5g} K"
    about["model"] = record[MODEL.key]
    about |= {} if band is None else {"band": band.sentence}
    print_title(case.title or case.file, about | (more or {}))


def pressures(record: Mapping) -> list[str]:
    """Suction and discharge pressure of a record, as people are shown them."""
    return [f"{one.scaled(record[one.key]):.4g} bar" for one in (SUCTION, DISCHARGE)]


def print_circuit(result: CircuitResult, record: Mapping) -> None:
    """All tables of a solved circuit."""
    leaking = () if result.insulation_conductance is None else (LEAK,)
    for table in (COOLING, RECUPERATOR, *leaking, COMPRESSOR, AFTERCOOLER, BLEND, AT_REST):
        print_figures(ALL_FIGURES, table, record)
    kinds.print_kind(record)
    print_states(result)


def print_keys(title: str, keys: Sequence[str], record: Mapping) -> None:
    """Some of a circuit's figures, one a line."""
    known = {figure.key: figure for figure in ALL_FIGURES}
    print_quantities(title, [(known[key].text, known[key].scaled(record[key]), known[key].shown[0]) for key in keys])
    print()


def print_states(result: CircuitResult) -> None:
    """The state points in flow order, and where the exergy of the electrical power goes."""
    state_points(result).show("State points")
    exergy_parts(result).show("Exergy")


def print_pinch(pinch: PinchCurve, rows: int) -> None:
    """The recuperator at evenly spaced heats from the cold end, and at its pinch."""
    picked = sorted({*evenly(len(pinch.heat), rows), _tightest(pinch)})
    pinch_listing(pinch).show("Recuperator from the cold end to the warm end", picked=picked)


def print_closing(warnings: Sequence[str], notes: Sequence[str], about_models: Iterable[str] = ()) -> None:
    """Warnings about this result, those about_models last, and the cautions that go with it."""
    print_warnings(warnings, about_models)
    print_notes("Cautions", notes)


def circuit_cautions(blend: Blend, result: CircuitResult) -> list[str]:
    """Cautions for a solved circuit, whose coldest point is the throttle outlet as a rule."""
    coldest = min(state.temperature for state in result.points.values())
    return cautions(blend.gases, blend.fractions, result.discharge_pressure, coldest)


MACHINE_KEYS = (  # what is built, one set for every command that designs a part of it
    "cooling_power_W", "load_W", SUCTION.key, DISCHARGE.key, "smallest_approach_K", "recuperator_conductance_W_per_K",
    "recuperator_length_m", "recuperator_metal_kg", "high_side_drop_Pa", "low_side_drop_Pa", "heat_leak_W",
)  # fmt: skip
ALL_FIGURES = (*FIGURES, LOAD, *REST_FIGURES)  # of the record of `mixjt cycle`


def _tightest(pinch: PinchCurve) -> int:
    return min(range(len(pinch.heat)), key=lambda k: pinch.high_temperature[k] - pinch.low_temperature[k])


def _smallest(pinch: PinchCurve) -> list[str]:
    tightest = _tightest(pinch)
    return ["smallest" if k == tightest else "" for k in range(len(pinch.heat))]


def _load_warnings(result: CircuitResult, load: float | None) -> list[str]:
    if load is None or result.cooling_power >= load:
        return []
    power = f"{result.cooling_power:.3g} W"
    return [
        f"the cooling power of {power} falls short of the load of {load:.3g} W: the cold end stays warmer"
    ]


def _circuit_figure(result: CircuitResult, envelope: Envelope | None, obstacle: str):
    from mixjt.plots.property_plot import circuit_figure
    from mixjt.studies.phases import circuit_isobars

    return circuit_figure(result, envelope, circuit_isobars(result), obstacle)
