"""Sensitivity as people read it on the terminal."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from mixjt.cli import circuit_view
from mixjt.cli.request import Solved
from mixjt.cli.sensitivity_run import SensitivityRun
from mixjt.cycles.records import COMPRESSOR_INLET, CircuitResult
from mixjt.files.search_records import blend_option
from mixjt.report.terminal import print_notes, print_quantities, print_table
from mixjt.studies.robust import RobustBlend
from mixjt.studies.sensitivity import Effect, Sensitivity

EFFECT_COLUMNS = (
    "input", "change", "cooling|W|.3f", "change|W|+.3f", "lowest|K|.2f", "change|K|+.2f", "superheat|K|.1f",
    "outlet|K|.1f", "power|W|.1f", "note",
)  # fmt: skip


def print_sensitivity(solved: Solved, run: SensitivityRun) -> None:
    """All tables of a sensitivity study."""
    circuit_view.print_heading(solved.case, solved.blend, solved.result.model, solved.band)
    found = run.found
    reach = found.reach
    rows = [("cooling power", found.base.cooling_power, "W")]
    if reach is not None:
        rows.append((f"lowest temperature for {reach.load:.4g} W", reach.temperature, "K"))
        if reach.frozen:
            rows.append(("  nothing freezes with a cold end of at least", run.frost_free, "K"))
    print_quantities("Unchanged", rows)
    print()
    title = "One input changed at a time, pressures and all else held; greatest effect on the cooling first"
    print_table(title, EFFECT_COLUMNS, [_effect_row(effect, found) for effect in found.effects])
    if run.weighing is not None:
        _print_weighing(run)
    if run.robust is not None:
        print_robust(run.robust)
        if run.robust_solution is not None:
            print_notes("Warnings about this blend", run.robust_solution.warnings)
    circuit_view.print_circuit_closing(run.record["warnings"], solved.blend, solved.result)


def print_robust(found: RobustBlend) -> None:
    """The start and the blend whose worst case is best."""
    rows = [
        (name, *_bottles(found.names, amounts), nominal, worst, neighbour or "the blend itself")
        for name, amounts, nominal, worst, neighbour in (
            ("start", found.start, found.start_nominal, found.start_worst, found.start_neighbour),
            ("best worst case", found.amounts, found.nominal, found.worst, found.neighbour),
        )
    ]
    columns = ("", *(f"{name}|mol %|.2f" for name in found.names), "cooling|W|.3f", "worst|W|.3f", "where")
    print_table(f"Worst case, each bottle off by {100.0 * found.step:.3g} mol %", columns, rows)
    print(f'--blend "{blend_option(_amounts(found))}"')
    if not found.kept:
        print("Superheat, discharge temperature or another condition is broken here or in a neighbour, as at the start.")


def _effect_row(effect: Effect, found: Sensitivity) -> tuple:
    result, reach = effect.result, effect.reach
    return (
        effect.change.input,
        effect.change.text,
        None if result is None else result.cooling_power,
        effect.power_change,
        None if reach is None else reach.temperature,
        effect.lowest_change,
        None if result is None else result.suction_superheat,
        None if result is None else result.discharge_temperature,
        None if result is None else result.compressor_power,
        "; ".join([*_limits_broken(effect, found), *([effect.problem] if effect.problem else [])]),
    )


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


def _print_weighing(run: SensitivityRun) -> None:
    found, record = run.weighing, run.record["weighing"]
    if found.power_percentiles is not None:
        columns = ("", "5 %||.2f", "50 %||.2f", "95 %||.2f", "aimed at||.2f")
        rows = [("cooling power, W", *found.power_percentiles, found.target_power)]
        if found.lowest_percentiles is not None:
            rows.append(("lowest temperature, K", *found.lowest_percentiles, found.target_lowest))
        title = f"{len(found.amounts)} charges of {1e3 * found.request.charge:.4g} g with weighing errors, percentiles"
        print_table(title, columns, rows)
    print_table(
        "What to weigh in, and the scatter of the cooling that each error brings alone",
        ("bottle", "mass|g|.2f", "error|g|.2f", "scatter|W|.3f"),
        zip(run.recipe.names, 1e3 * found.masses, 1e3 * np.array(found.request.errors), run.contributions, strict=True),
    )
    share = record["carrying_share"]
    print_quantities("", [
        ("scatter of the cooling power, drawn", record["cooling_power_deviation_W"], "W"),
        ("  from the table of changes", record["cooling_power_linear_deviation_W"], "W"),
        ("charges that carry the load", None if share is None else 100.0 * share, "%"),
        ("charges without an answer", len(found.amounts) - found.solved or None, ""),
    ])  # fmt: skip


def _bottles(names, amounts) -> list[float]:
    return [100.0 * float(x) for _, x in zip(names, amounts, strict=True)]


def _amounts(found: RobustBlend) -> Mapping[str, float]:
    return {name: float(x) for name, x in zip(found.names, found.amounts, strict=True)}
