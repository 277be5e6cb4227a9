"""What is said of a sensitivity study: its figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from mixjt.bounds import finite_or_none
from mixjt.circuit.result import CircuitResult
from mixjt.parts.places import COMPRESSOR_INLET, THROTTLE_OUTLET
from mixjt.report import circuit_report
from mixjt.report.figure import EVERY, Figure, Listing, listing, record_of
from mixjt.report.search_report import amounts_text, blend_option
from mixjt.report.terminal import print_notes, print_quantities, print_table, wrapped
from mixjt.studies.band import Band
from mixjt.studies.robust import RobustBlend
from mixjt.studies.robust_search import RobustSearch
from mixjt.studies.sensitivity import Effect, Sensitivity
from mixjt.studies.weighing import PERCENTILES, Weighing

STORED_UNITS = {"mol %": "mol_per_mol", "K": "K", "%": "relative"}  # of the column "change"
ITSELF = "the blend itself"


def _percentiles(name: str, unit: str, attribute: str) -> list[Figure]:
    def read(run, place: int) -> float | None:
        values = getattr(run.weighing, attribute)
        return None if values is None else finite_or_none(values[place])

    return [
        Figure(f"{name}_percentile_{percent:.0f}_{unit}", lambda run, place=place: read(run, place))
        for place, percent in enumerate(PERCENTILES)
    ]


def _carrying_nowhere(run) -> int | None:
    found = run.weighing
    return None if found.floor is None else found.solved - int((~np.isnan(found.lowest_temperature)).sum())


MOVED = "One input changed at a time, pressures and all else held; greatest effect on the cooling first"
MACHINE = "The machine with it"
EFFECTS = (
    Figure("input", "change.input", text="input", table=EVERY),
    Figure("change", "change.amount"),
    Figure("change_unit", lambda effect: STORED_UNITS[effect.change.unit], '"mol_per_mol", "K" or "relative"'),
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
    Figure("limits_exceeded", lambda effect: ", ".join(effect.limits_passed) or None if effect.result else None,
           "of the compressor, by name; null where none is"),
    Figure("problem", lambda effect: effect.problem or None),
)
MASSES = (  # of (name, mass, error, contribution)
    Figure("bottle", lambda row: row[0], text="bottle"),
    Figure("mass_g", lambda row: row[1], text="mass", form=".2f"),
    Figure("error_g", lambda row: row[2], text="error", form=".2f"),
    Figure("cooling_power_deviation_W", lambda row: finite_or_none(row[3]), text="scatter", form=".3f"),
)
RANKED = (
    Figure("candidate", "rank", text="blend"),
    Figure("cooling_power_W", "nominal", text="cooling", form=".3f"),
    Figure("worst_cooling_power_W", "worst", text="worst", form=".3f"),
    Figure("worst_neighbour", lambda one: one.neighbour or ITSELF, text="where"),
)
WORST = (  # of (name, names of the bottles, amounts, nominal, worst, neighbour)
    Figure("", lambda row: row[0], text=""),
    Figure("", lambda row: amounts_text(_amounts(*row[1:3])), text="bottles", unit="mole %", rank=100),
    Figure("bottles", lambda row: _amounts(*row[1:3])),
    Figure("cooling_power_W", lambda row: row[3], text="cooling", form=".3f"),
    Figure("worst_cooling_power_W", lambda row: row[4], text="worst", form=".3f"),
    Figure("worst_neighbour", lambda row: row[5] or ITSELF, text="where"),
)
ROBUST = (  # of the blend found, its solution and the problem with it
    Figure("worst_case_step_mol_per_mol", "blend.step", "what one bottle is off"),
    Figure("start", lambda robust: _start(robust["blend"]), "the blend that was started from", parts=WORST),
    Figure("best", lambda robust: _best(robust["blend"]), "that whose worst case is best", parts=WORST),
    Figure("conditions_kept", "blend.kept", "by it and its neighbours"),
    Figure("solution", lambda robust: robust["solution"] and circuit_report.circuit_record(robust["solution"]),
           "its circuit in full, with the keys of `cycle`, or null with the problem"),
    Figure("problem", lambda robust: robust["problem"] or None),
    Figure("interrupted", "blend.interrupted"),
)  # fmt: skip
SEARCHED = Figure(  # of a search
    "robust", lambda worst: vars(worst), "only with `--robust`",
    parts=(Figure("ranked", "ranked", "candidates by their worst case", rows=RANKED), *ROBUST),
)  # fmt: skip
WEIGHING = (  # of a run with draws
    Figure("charge_g", lambda run: 1e3 * run.weighing.request.charge),
    Figure("draws", lambda run: len(run.weighing.amounts)),
    Figure("draws_solved", "weighing.solved"),
    Figure("seed", "weighing.request.seed"),
    Figure("load_W", "weighing.load"),
    Figure("target_cooling_power_W", "weighing.target_power"),
    Figure("target_lowest_temperature_K", "weighing.target_lowest"),
    *_percentiles("cooling_power", "W", "power_percentiles"),
    *_percentiles("lowest_temperature", "K", "lowest_percentiles"),
    Figure("lowest_temperature_floor_K", "weighing.floor"),
    Figure("draws_carrying_nowhere", _carrying_nowhere),
    Figure("draws_below_floor", lambda run: int(np.isneginf(run.weighing.lowest_temperature).sum())),
    Figure("cooling_power_deviation_W", "weighing.power_deviation", "drawn"),
    Figure("cooling_power_linear_deviation_W", lambda run: finite_or_none(np.sqrt(np.sum(run.weighing.contributions**2)))),
    Figure("carrying_share", "weighing.carrying_share", "of the draws, the load at the cold end"),
    Figure("bottles", lambda run: masses(run), rows=MASSES),
    Figure("interrupted", "weighing.interrupted"),
)
FIGURES = (  # besides those of the circuit; of a run
    Figure("lowest_temperature_K", "found.reach.temperature", "null where there is none, and why, or what freezes"),
    Figure("lowest_temperature_load_W", "found.reach.load"),
    Figure("lowest_temperature_note", lambda run: (run.found.reach and run.found.reach.sentence) or None),
    Figure("lowest_temperature_throttle_outlet_K", f"found.reach.solution.points.{THROTTLE_OUTLET}.temperature",
           "at that temperature"),
    Figure("lowest_temperature_freezing_gas", "found.reach.solution.freezing_gas"),
    Figure("lowest_temperature_freezing_margin_K", "found.reach.solution.freezing_margin"),
    Figure("frost_free_temperature_K", "frost_free",
           "coldest cold end at which nothing freezes; null where the lowest temperature is free of frost, or where it "
           "was not found (a warning says why)"),
    Figure("effects", "found.effects", "a list", rows=EFFECTS),
    replace(circuit_report.INTERRUPTED, help=circuit_report.INTERRUPTED.help + ", and the exit code is 130"),
    Figure("weighing", lambda run: run.weighing and run, "null without a charge", parts=WEIGHING),
    Figure("robust", lambda run: run.robust and {"blend": run.robust, "solution": run.robust_solution, "problem": run.problem},
           "null without `--robust`", parts=ROBUST),
)  # fmt: skip


def sensitivity_record(run, of_circuit: Mapping) -> dict:
    """A `SensitivityRun`: that of its circuit, lowest temperature, effects, and what was looked at besides."""
    return dict(of_circuit) | record_of(FIGURES, run) | {"warnings": [*of_circuit["warnings"], *run.notes]}


def effects(found: Sensitivity) -> Listing:
    """One row a change, the input with the greatest effect on the cooling power first."""

    def note(effect: Effect) -> str:
        return "; ".join([*_limits_broken(effect, found), *([effect.problem] if effect.problem else [])])

    return listing((*EFFECTS, Figure("", note, text="note", table=MACHINE)), found.effects)


def masses(run) -> Listing:
    """One row a bottle: what is weighed in, its error, and the scatter that this error alone brings."""
    errors = 1e3 * np.array(run.weighing.request.errors)
    return listing(MASSES, zip(run.recipe.names, 1e3 * run.weighing.masses, errors, run.weighing.contributions, strict=True))


def draws(found: Weighing, names) -> Listing:
    """One row a draw: fractions of the bottles, cooling power, lowest temperature."""
    bottles = [
        Figure(f"bottle_fraction_{name.replace(' ', '_')}", lambda row, place=place: row[0][place])
        for place, name in enumerate(names)
    ]
    power = Figure("cooling_power_W", lambda row: finite_or_none(row[1]))
    lowest = Figure("lowest_temperature_K", lambda row: finite_or_none(row[2]))
    return listing((*bottles, power, lowest), zip(found.amounts, found.cooling_power, found.lowest_temperature, strict=True))


def sensitivity_tables(run) -> dict[str, Listing]:
    """Effects and, with a charge, what weighing errors do."""
    found = {"sensitivity": effects(run.found)}
    if run.weighing is not None:
        names = run.recipe.names
        found["weighing"] = draws(run.weighing, names)
        found["weighing_masses"] = masses(run)
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
        print_robust(run.robust, run.robust_solution, (*found.base.warnings, *run.notes))


def print_robust(found: RobustBlend, solution: CircuitResult | None, said: Sequence[str]) -> None:
    """The start and the blend whose worst case is best, with those warnings about it that are not said anyhow."""
    title = f"Worst case, each bottle off by {100.0 * found.step:.3g} mol %"
    listing(WORST, (_start(found), _best(found))).show(title)
    print(f'--blend "{blend_option(_amounts(found.names, found.amounts))}"')
    if not found.kept:
        broken = "Superheat, discharge temperature or another condition is broken here or in a neighbour, as at the start."
        print(wrapped("", broken))
    if solution is not None:
        print_notes("Warnings about this blend", [text for text in solution.warnings if text not in said])
    print()


def print_robust_search(found: RobustSearch, said: Sequence[str]) -> None:
    """Candidates by their worst case, and the blend whose worst case is best; without the warnings that are said below."""
    listing(RANKED, found.ranked).show(f"By the worst case, each bottle off by {100.0 * found.step:.3g} mol %")
    if found.solution is None:
        print(wrapped("", f"The blend whose worst case is best could not be solved in full: {found.problem}"))
    print_robust(found.blend, found.solution, said)


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
    found, record = run.weighing, record_of(WEIGHING, run)
    if found.power_percentiles is not None:
        columns = ("", "5 %||.2f", "50 %||.2f", "95 %||.2f", "aimed at||.2f")
        rows = [("cooling power, W", *found.power_percentiles, found.target_power)]
        if found.lowest_percentiles is not None:
            rows.append(("lowest temperature, K", *found.lowest_percentiles, found.target_lowest))
        title = f"{len(found.amounts)} charges of {1e3 * found.request.charge:.4g} g with weighing errors, percentiles"
        print_table(title, columns, rows)
    masses(run).show("What to weigh in, and the scatter of the cooling that each error brings alone")
    share = record["carrying_share"]
    print_quantities("", [
        ("scatter of the cooling power, drawn", record["cooling_power_deviation_W"], "W"),
        ("  from the table of changes", record["cooling_power_linear_deviation_W"], "W"),
        ("charges that carry the load", None if share is None else 100.0 * share, "%"),
        ("charges without an answer", len(found.amounts) - found.solved or None, ""),
    ])  # fmt: skip


def _start(found: RobustBlend) -> tuple:
    return "start", found.names, found.start, found.start_nominal, found.start_worst, found.start_neighbour


def _best(found: RobustBlend) -> tuple:
    return "best worst case", found.names, found.amounts, found.nominal, found.worst, found.neighbour


def _amounts(names, amounts) -> Mapping[str, float]:
    return {name: float(x) for name, x in zip(names, amounts, strict=True)}
