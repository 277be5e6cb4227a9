"""What a blend search found, as people read it on the terminal."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.cli.circuit_view import AT_REST, circuit_cautions, print_circuit_closing, print_figures
from mixjt.cli.progress import UNITS
from mixjt.cli.show import print_notes, print_table
from mixjt.cycles.records import CircuitResult
from mixjt.cycles.solve import PLAIN
from mixjt.files.records import at_rest_record
from mixjt.files.search_records import blend_option
from mixjt.studies.band import Band
from mixjt.studies.search.result import SearchResult, objective_value
from mixjt.studies.standstill import AtRest

FIGURES = (
    "cooling|W|.2f", "COP|W/W|.4f", "UA|W/K|.1f", "suction|bar abs|.3f", "discharge|bar abs|.3f",
    "superheat|K|.1f", "line|K|.1f", "valve|K|.1f", "freezing margin|K|.1f",
)  # fmt: skip
SHORT = {"cooling power": "cooling power", "cop": "COP", "cooling per conductance": "cooling per UA"}


def print_heading(case: Case, found: SearchResult, model: str) -> None:
    """Title, aim, effort and property model."""
    print(case.title or case.file)
    load = "" if case.load is None else f", load {case.load:.4g} W"
    print(f"  aim        greatest {found.objective} at {case.circuit.cold_temperature:.5g} K{load}")
    print(f"  effort     {found.evaluations} blends in {found.seconds:.1f} s, seed {case.search.seed}")
    print(f"  model      {model}\n")


def print_candidates(found: SearchResult, bands: Sequence[Band | None], rests: Sequence[AtRest]) -> None:
    """The best blends, best first, how well the cooling of each is known, and its charge at rest."""
    candidates = zip(found.candidates, found.amounts, bands, rests, strict=True)
    rows = [
        (rank, *_figures(result), _hot_bar(rest), band and 100.0 * band.fraction, _amounts_text(amounts))
        for rank, (result, amounts, band, rest) in enumerate(candidates, start=1)
    ]
    columns = ("", *FIGURES, "hot at rest|bar abs|.1f", "known to|%|.0f", "bottles|mole %")
    print_table("Best blends", columns, rows)


def _hot_bar(rest: AtRest) -> float | None:
    return None if rest.found is None else rest.found.hottest_pressure / 1e5


def print_counts(found: SearchResult) -> None:
    """What each further bottle buys."""
    rows, before = [], None
    for count, result in sorted(found.best_by_count.items()):
        value = objective_value(found.objective, result)
        gain = None if before is None else 100.0 * (value / before - 1.0)
        rows.append((count, value, gain, _amounts_text(found.amounts_by_count[count])))
        before = value
    value_column = f"{SHORT[found.objective]}|{UNITS[found.objective]}"
    print_table(
        "What each further bottle buys",
        ("bottles|at most", value_column, "gain|%|.1f", "bottles|mole %"),
        rows,
    )


def print_closing(
    case: Case, found: SearchResult, bands: Sequence[Band | None], rests: Sequence[AtRest], kind: str = PLAIN
) -> None:
    """How to look closer, messages, the charge at rest, and warnings and cautions about the best blend."""
    best = found.candidates[0]
    option = blend_option(found.amounts[0])
    kind_option = "" if kind == PLAIN else f" --circuit {kind}"
    print(f'To see the best blend in full:\n  mixjt cycle {case.file}{kind_option} --blend "{option}"')
    if not _has_case_pressures(best, case):
        low, high = best.suction_pressure / 1e5, best.discharge_pressure / 1e5
        print(f"  with suction_pressure and discharge_pressure set to {low:.4g} bar and {high:.4g} bar")
    print_notes("Search", found.messages)
    print()
    print_figures("The best blend's charge at rest, all warm", AT_REST, at_rest_record(rests[0]))
    print_circuit_closing((*rests[0].warnings, *best.warnings, *(bands[0].warnings if bands[0] else ())), _blend(best), best)


def best_cautions(found: SearchResult) -> list[str]:
    """Cautions for the best blend; none where there is no blend."""
    return circuit_cautions(_blend(found.candidates[0]), found.candidates[0]) if found.candidates else []


def _blend(result: CircuitResult) -> Blend:
    return Blend(result.gases, tuple(result.composition))


def _has_case_pressures(result: CircuitResult, case: Case) -> bool:
    found = (result.suction_pressure, result.discharge_pressure)
    stated = (case.circuit.suction_pressure, case.circuit.discharge_pressure)
    return all(math.isclose(a, b, rel_tol=1e-6) for a, b in zip(found, stated, strict=True))


def _figures(result: CircuitResult) -> tuple:
    return (
        result.cooling_power,
        result.cop,
        result.recuperator_conductance,
        result.suction_pressure / 1e5,
        result.discharge_pressure / 1e5,
        result.suction_superheat,
        result.discharge_temperature,
        result.valve_temperature,
        result.freezing_margin,
    )


def _amounts_text(amounts: Mapping[str, float]) -> str:
    """For instance "methane 38, camping gas 24", the largest first."""
    ordered = sorted(((x, name) for name, x in amounts.items() if x > 0.0), key=lambda item: -item[0])
    return ", ".join(f"{name} {100.0 * x:.3g}" for x, name in ordered)
