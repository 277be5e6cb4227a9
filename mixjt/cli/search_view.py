"""What a blend search found, as people read it on the terminal."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from mixjt.blend import Blend
from mixjt.cli.circuit_view import AT_REST, circuit_cautions, print_circuit_closing, print_figures
from mixjt.cli.progress import UNITS
from mixjt.cli.show import print_notes, print_table
from mixjt.cycles.records import CircuitResult
from mixjt.cycles.solve import PLAIN
from mixjt.files.case import Case
from mixjt.files.records import at_rest_record
from mixjt.files.search_records import blend_option
from mixjt.studies.agreement import Agreement
from mixjt.studies.search.repolish import Repolished
from mixjt.studies.search.result import SearchResult, objective_value
from mixjt.studies.standstill import AtRest

FIGURES = (
    "cooling|W|.2f", "COP|W/W|.4f", "UA|W/K|.1f", "suction|bar abs|.3f", "discharge|bar abs|.3f",
    "superheat|K|.1f", "line|K|.1f", "valve|K|.1f", "freezing margin by each model|K",
)  # fmt: skip
SHORT = {"cooling power": "cooling power", "cop": "COP", "cooling per conductance": "cooling per UA"}


def print_heading(case: Case, found: SearchResult, model: str) -> None:
    """Title, aim, effort and property model."""
    print(case.title or case.file)
    load = "" if case.load is None else f", load {case.load:.4g} W"
    print(f"  aim        greatest {found.objective} at {case.circuit.cold_temperature:.5g} K{load}")
    print(f"  effort     {found.evaluations} blends in {found.seconds:.1f} s, seed {case.search.seed}")
    print(f"  model      {model}\n")


def print_candidates(found: SearchResult, checks: Sequence[Agreement], rests: Sequence[AtRest]) -> None:
    """The best blends, best first, how far the other property model is from each, and the charge at rest."""
    candidates = zip(found.candidates, found.amounts, checks, rests, strict=True)
    rows = [
        (rank, *_figures(result), _hot_bar(rest), *_check_figures(result, check), _amounts_text(amounts))
        for rank, (result, amounts, check, rest) in enumerate(candidates, start=1)
    ]
    other = checks[0].other
    title = f"Best blends; cooling of each by the {other} model, the difference, and the spread of models (band)"
    columns = ("", *FIGURES, "hot at rest|bar abs|.1f", *_check_columns(other), "bottles|mole %")
    print_table(title, columns, rows)


def _hot_bar(rest: AtRest) -> float | None:
    return None if rest.found is None else rest.found.hottest_pressure / 1e5


def print_repolished(polished: Sequence[Repolished], checks: Sequence[Agreement]) -> None:
    """The best blends polished on the second model, and what the first one says of them."""
    rows, lost = [], []
    solved = iter(checks)
    for one in polished:
        if one.result is None:
            lost.append(f"blend {one.rank}: {one.obstacle}")
            continue
        check = next(solved)
        rows.append(
            (one.rank, *_figures(one.result), *_check_figures(one.result, check), _amounts_text(one.amounts))
        )
    if rows:
        model, other = polished[0].model, checks[0].other
        title = f"The same, polished on the {model} model; cooling of each by the {other} model beside it"
        print_table(title, ("from", *FIGURES, *_check_columns(other), "bottles|mole %"), rows)
    print_notes("Not polished on the second model", lost)


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
    case: Case, found: SearchResult, checks: Sequence[Agreement], rests: Sequence[AtRest], kind: str = PLAIN
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
    print_circuit_closing((*rests[0].warnings, *best.warnings, *checks[0].warnings), _blend(best), best)


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
        _margins_text(result),
    )


def _margins_text(result: CircuitResult) -> str:
    """Freezing margins by the result's model and by the second one, for instance "+5.2 / -4.7"."""
    margins = (result.own_freezing_margin, result.check_freezing_margin)
    return " / ".join("-" if one is None else f"{one:+.1f}" for one in margins)


def _check_columns(other: str) -> tuple[str, ...]:
    return f"{other}|W|.2f", "differs|%|+.1f", "band|%|.0f"


def _check_figures(result: CircuitResult, check: Agreement) -> tuple:
    """The other model's cooling power, its difference and the band, as the columns show them."""
    power = None if check.difference is None else result.cooling_power * (1.0 + check.difference)
    return power, _percent(check.difference), _percent(None if check.band is None else check.band.fraction)


def _percent(fraction: float | None) -> float | None:
    return None if fraction is None else 100.0 * fraction


def _amounts_text(amounts: Mapping[str, float]) -> str:
    """For instance "methane 38, camping gas 24", the largest first."""
    ordered = sorted(((x, name) for name, x in amounts.items() if x > 0.0), key=lambda item: -item[0])
    return ", ".join(f"{name} {100.0 * x:.3g}" for x, name in ordered)
