"""What is said of a sensitivity study: its figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np

from mixjt.circuit.result import COMPRESSOR_INLET, THROTTLE_OUTLET, CircuitResult
from mixjt.report.circuit_report import circuit_record
from mixjt.report.figure import EVERY, Figure, Listing, listing, record_of
from mixjt.report.search_report import amounts_text, blend_option
from mixjt.report.terminal import print_notes, print_quantities, print_table, wrapped
from mixjt.studies.band import Band
from mixjt.studies.reach import Reach
from mixjt.studies.robust import RobustBlend
from mixjt.studies.robust_search import RobustSearch
from mixjt.studies.sensitivity import Effect, Sensitivity
from mixjt.studies.weighing import PERCENTILES, Weighing

STORED_UNITS = {"mol %": "mol_per_mol", "K": "K", "%": "relative"}  # of the column "change"
ITSELF = "the blend itself"


def _throttle_outlet(reach: Reach | None) -> float | None:
    return reach and reach.solution and reach.solution.points[THROTTLE_OUTLET].temperature


REACH_FIGURES = (
    Figure("lowest_temperature_K", "temperature", "null where there is none, and why, or what freezes"),
    Figure("lowest_temperature_load_W", "load"),
    Figure("lowest_temperature_note", lambda reach: (reach and reach.sentence) or None),
    Figure("lowest_temperature_throttle_outlet_K", _throttle_outlet, "at that temperature"),
    Figure("lowest_temperature_freezing_gas", "solution.freezing_gas"),
    Figure("lowest_temperature_freezing_margin_K", "solution.freezing_margin"),
)
MOVED = "One input changed at a time, pressures and all else held; greatest effect on the cooling first"
MACHINE = "The machine with it"
EFFECTS = (
    Figure("input", "change.input", text="input", table=EVERY),
    Figure("change", "change.amount"),
    Figure("change_unit", lambda effect: STORED_UNITS[effect.change.unit]),
    Figure("", "change.text", text="change", table=EVERY),
    Figure("cooling_power_W", "result.cooling_power", text="cooling", table=MOVED, form=".3f"),
    Figure("cooling_power_change_W", "power_change", text="change", table=MOVED, form="+.3f"),
    Figure("lowest_temperature_K", "reach.temperature", text="lowest", table=MOVED, form=".2f"),
    Figure("lowest_temperature_change_K", "lowest_change", text="change", table=MOVED, form="+.2f"),
    Figure("lowest_temperature_freezing_gas", "reach.solution.freezing_gas"),
    Figure("lowest_temperature_freezing_margin_K", "reach.solution.freezing_margin"),
    Figure("suction_superheat_K", "result.suction_superheat", text="superheat", table=MACHINE, form=".1f"),
    Figure("discharge_temperature_K", "result.discharge_temperature", text="outlet", table=MACHINE, form=".1f"),
    Figure("valve_temperature_K", "result.valve_temperature"),
    Figure("compressor_power_W", "result.compressor_power", text="power", table=MACHINE, form=".1f"),
    Figure("supply_current_A", "result.supply_current"),
    Figure("cop", "result.cop"),
    Figure("limits_exceeded", lambda effect: ", ".join(effect.limits_passed) or None if effect.result else None),
    Figure("problem", lambda effect: effect.problem or None),
)
MASSES = (  # of (name, mass, error, contribution)
    Figure("bottle", lambda row: row[0], text="bottle"),
    Figure("mass_g", lambda row: row[1], text="mass", form=".2f"),
    Figure("error_g", lambda row: row[2], text="error", form=".2f"),
    Figure("cooling_power_deviation_W", lambda row: _finite(row[3]), text="scatter", form=".3f"),
)
RANKED = (
    Figure("candidate", "rank", text="blend"),
    Figure("cooling_power_W", "nominal", text="cooling", form=".3f"),
    Figure("worst_cooling_power_W", "worst", text="worst", form=".3f"),
    Figure("worst_neighbour", lambda one: one.neighbour or ITSELF, text="where"),
)


def sensitivity_record(found: Sensitivity, frost_free: float | None) -> dict:
    """The lowest temperature and all effects, each key ending in its unit; None where there is none."""
    return record_of(REACH_FIGURES, found.reach) | {
        "frost_free_temperature_K": frost_free,
        "effects": effects(found).records(),
        "interrupted": found.interrupted,
    }


def effects(found: Sensitivity) -> Listing:
    """One row a change, the input with the greatest effect on the cooling power first."""

    def note(effect: Effect) -> str:
        return "; ".join([*_limits_broken(effect, found), *([effect.problem] if effect.problem else [])])

    return listing((*EFFECTS, Figure("", note, text="note", table=MACHINE)), found.effects)


def weighing_record(found: Weighing, contributions: np.ndarray, names) -> dict:
    """Percentiles and shares of the draws, and what each bottle's error brings."""
    return {
        "charge_g": 1e3 * found.request.charge,
        "draws": len(found.amounts),
        "draws_solved": found.solved,
        "seed": found.request.seed,
        "load_W": found.load,
        "target_cooling_power_W": found.target_power,
        "target_lowest_temperature_K": found.target_lowest,
        **_percentile_record("cooling_power", "W", found.power_percentiles),
        **_percentile_record("lowest_temperature", "K", found.lowest_percentiles),
        "lowest_temperature_floor_K": found.floor,
        "draws_carrying_nowhere": None if found.floor is None else found.solved - int((~np.isnan(found.lowest_temperature)).sum()),
        "draws_below_floor": int(np.isneginf(found.lowest_temperature).sum()),
        "cooling_power_deviation_W": found.power_deviation,
        "cooling_power_linear_deviation_W": _finite(np.sqrt(np.sum(contributions**2))),
        "carrying_share": found.carrying_share,
        "bottles": masses(found, contributions, names).records(),
        "interrupted": found.interrupted,
    }


def masses(found: Weighing, contributions: np.ndarray, names) -> Listing:
    """One row a bottle: what is weighed in, its error, and the scatter that this error alone brings."""
    errors = 1e3 * np.array(found.request.errors)
    return listing(MASSES, zip(names, 1e3 * found.masses, errors, contributions, strict=True))


def draws(found: Weighing, names) -> Listing:
    """One row a draw: fractions of the bottles, cooling power, lowest temperature."""
    bottles = [
        Figure(f"bottle_fraction_{name.replace(' ', '_')}", lambda row, place=place: row[0][place])
        for place, name in enumerate(names)
    ]
    power = Figure("cooling_power_W", lambda row: _finite(row[1]))
    lowest = Figure("lowest_temperature_K", lambda row: _finite(row[2]))
    return listing((*bottles, power, lowest), zip(found.amounts, found.cooling_power, found.lowest_temperature, strict=True))


def robust_record(found: RobustBlend, solution: CircuitResult | None, problem: str) -> dict:
    """The start and the blend whose worst case is best, with its solution, or None and the problem with it."""
    return {
        "worst_case_step_mol_per_mol": found.step,
        "start": _worst_record(found.names, found.start, found.start_nominal, found.start_worst, found.start_neighbour),
        "best": _worst_record(found.names, found.amounts, found.nominal, found.worst, found.neighbour),
        "conditions_kept": found.kept,
        "solution": None if solution is None else circuit_record(solution),
        "problem": problem or None,
        "interrupted": found.interrupted,
    }


def robust_search_record(found: RobustSearch) -> dict:
    """Candidates of a search by their worst case, and the blend whose worst case is best."""
    ranked = listing(RANKED, found.ranked).records()
    return {"ranked": ranked} | robust_record(found.blend, found.solution, found.problem)


def sensitivity_tables(run) -> dict[str, Listing]:
    """Effects and, with a charge, what weighing errors do."""
    found = {"sensitivity": effects(run.found)}
    if run.weighing is not None:
        names = run.recipe.names
        found["weighing"] = draws(run.weighing, names)
        found["weighing_masses"] = masses(run.weighing, run.contributions, names)
    return found


def sensitivity_pictures(run, band: Band | None) -> dict[str, Callable]:
    """The same as pictures."""
    from mixjt.plots.sensitivity_plot import tornado_figure, weighing_figure

    pictures = {"sensitivity": lambda: tornado_figure(run.found, band)}
    if run.weighing is not None and run.weighing.power_percentiles is not None:
        pictures["weighing"] = lambda: weighing_figure(run.weighing, run.found.base)
    return pictures


def print_sensitivity(run) -> None:
    """All tables of a sensitivity study, a `SensitivityRun` of `mixjt.cli.sensitivity_run`."""
    found, reach = run.found, run.found.reach
    rows = [("cooling power", found.base.cooling_power, "W")]
    if reach is not None:
        rows.append((f"lowest temperature for {reach.load:.4g} W", reach.temperature, "K"))
        if reach.frozen:
            rows.append(("  nothing freezes with a cold end of at least", run.frost_free, "K"))
    print_quantities("Unchanged", rows)
    print()
    for table in (MOVED, MACHINE):
        effects(found).show(table, table)
    if run.weighing is not None:
        _print_weighing(run)
    if run.robust is not None:
        print_robust(run.robust)
        if run.robust_solution is not None:
            print_notes("Warnings about this blend", run.robust_solution.warnings)


def print_robust(found: RobustBlend) -> None:
    """The start and the blend whose worst case is best."""
    rows = [
        (name, nominal, worst, neighbour or ITSELF, amounts_text(_amounts(found.names, amounts)))
        for name, amounts, nominal, worst, neighbour in (
            ("start", found.start, found.start_nominal, found.start_worst, found.start_neighbour),
            ("best worst case", found.amounts, found.nominal, found.worst, found.neighbour),
        )
    ]
    columns = ("", "cooling|W|.3f", "worst|W|.3f", "where", "bottles|mole %")
    print_table(f"Worst case, each bottle off by {100.0 * found.step:.3g} mol %", columns, rows)
    print(f'--blend "{blend_option(_amounts(found.names, found.amounts))}"')
    if not found.kept:
        broken = "Superheat, discharge temperature or another condition is broken here or in a neighbour, as at the start."
        print(wrapped("", broken))


def print_robust_search(found: RobustSearch) -> None:
    """Candidates by their worst case, and the blend whose worst case is best."""
    listing(RANKED, found.ranked).show(f"By the worst case, each bottle off by {100.0 * found.step:.3g} mol %")
    print_robust(found.blend)
    if found.solution is None:
        print(f"It could not be solved in full: {found.problem}")
    else:
        print_notes("Warnings about this blend", found.solution.warnings)


def _limits_broken(effect: Effect, found: Sensitivity) -> list[str]:
    """What the change does to suction and discharge, where it differs from the unchanged circuit, and what freezes."""
    result, notes = effect.result, []
    if result is None:
        return notes
    if _wet(result) and not _wet(found.base):
        notes.append("liquid reaches the compressor")
    notes += [f"{name} beyond its limit" for name in effect.limits_passed if name not in found.limits_passed]
    if effect.reach is not None and effect.reach.solution is not None and effect.reach.frozen:
        notes.append(f"{effect.reach.solution.freezing_gas} freezes before the lowest")
    return notes


def _wet(result: CircuitResult) -> bool:
    return bool(result.points[COMPRESSOR_INLET].liquids)


def _print_weighing(run) -> None:
    found, record = run.weighing, run.record["weighing"]
    if found.power_percentiles is not None:
        columns = ("", "5 %||.2f", "50 %||.2f", "95 %||.2f", "aimed at||.2f")
        rows = [("cooling power, W", *found.power_percentiles, found.target_power)]
        if found.lowest_percentiles is not None:
            rows.append(("lowest temperature, K", *found.lowest_percentiles, found.target_lowest))
        title = f"{len(found.amounts)} charges of {1e3 * found.request.charge:.4g} g with weighing errors, percentiles"
        print_table(title, columns, rows)
    weighed = masses(found, run.contributions, run.recipe.names)
    weighed.show("What to weigh in, and the scatter of the cooling that each error brings alone")
    share = record["carrying_share"]
    print_quantities("", [
        ("scatter of the cooling power, drawn", record["cooling_power_deviation_W"], "W"),
        ("  from the table of changes", record["cooling_power_linear_deviation_W"], "W"),
        ("charges that carry the load", None if share is None else 100.0 * share, "%"),
        ("charges without an answer", len(found.amounts) - found.solved or None, ""),
    ])  # fmt: skip


def _worst_record(names, amounts, nominal: float, worst: float, neighbour: str) -> dict:
    return {
        "bottles": _amounts(names, amounts),
        "cooling_power_W": nominal,
        "worst_cooling_power_W": worst,
        "worst_neighbour": neighbour or ITSELF,
    }


def _amounts(names, amounts) -> Mapping[str, float]:
    return {name: float(x) for name, x in zip(names, amounts, strict=True)}


def _percentile_record(name: str, unit: str, values: tuple[float, ...] | None) -> dict:
    values = values or (None,) * len(PERCENTILES)
    return {
        f"{name}_percentile_{percent:.0f}_{unit}": None if value is None else _finite(value)
        for percent, value in zip(PERCENTILES, values, strict=True)
    }


def _finite(value) -> float | None:
    return float(value) if math.isfinite(value) else None
