"""What a blend search found, as a record for JSON and as tables for CSV."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from mixjt.case.case import Case
from mixjt.cycles.records import CircuitResult
from mixjt.files.kind_records import kind_record
from mixjt.files.output import Table
from mixjt.files.records import at_rest_record, band_record, circuit_record
from mixjt.studies.band import Band
from mixjt.studies.search.result import SearchResult
from mixjt.studies.standstill import AtRest


def search_record(
    case: Case, found: SearchResult, bands: Sequence[Band | None], rests: Sequence[AtRest]
) -> dict:
    """Candidates, best first, with the band and the charge at rest of each, and the best for each number."""
    candidates = zip(found.candidates, found.amounts, bands, rests, strict=True)
    counts = sorted(found.best_by_count)
    return {
        "title": case.title,
        "case": case.file,
        "objective": found.objective,
        "load_W": case.load,
        "candidates": [banded_record(*candidate) for candidate in candidates],
        "best_by_count": {
            str(count): candidate_record(found.best_by_count[count], found.amounts_by_count[count])
            for count in counts
        },
        "evaluations": found.evaluations,
        "elapsed_s": found.seconds,
        "interrupted": found.interrupted,
        "messages": list(found.messages),
    }


def candidate_record(result: CircuitResult, amounts: Mapping[str, float]) -> dict:
    """A circuit's figures and the mole fraction of each bottle used."""
    return circuit_record(result) | kind_record(result) | {"bottles": {name: x for name, x in amounts.items() if x > 0.0}}


def banded_record(result: CircuitResult, amounts: Mapping[str, float], band: Band | None, rest: AtRest) -> dict:
    """A candidate's figures with how well its cooling is known, and its charge at rest."""
    record = candidate_record(result, amounts) | band_record(band) | at_rest_record(rest)
    record["warnings"] = [*rest.warnings, *record["warnings"], *(band.warnings if band else ())]
    return record


def candidate_table(found: SearchResult, bands: Sequence[Band | None], rests: Sequence[AtRest]) -> Table:
    """One row a candidate, best first."""
    candidates = zip(found.candidates, found.amounts, bands, rests, strict=True)
    return _table("rank", enumerate((banded_record(*candidate) for candidate in candidates), start=1))


def best_by_count_table(found: SearchResult) -> Table:
    """One row a number of bottles: the best blend with at most that many."""
    rows = [
        (count, candidate_record(result, found.amounts_by_count[count]))
        for count, result in sorted(found.best_by_count.items())
    ]
    return _table("number_of_bottles", rows)


def blend_option(amounts: Mapping[str, float], digits: int = 4) -> str:
    """Amounts as text for --blend, rounded so that they still add up to 1."""
    rounded = {name: round(x, digits) for name, x in amounts.items() if x > 0.0}
    largest = max(rounded, key=rounded.get)
    rest = sum(x for name, x in rounded.items() if name != largest)
    rounded[largest] = round(1.0 - rest, digits)
    return ", ".join(f"{name}={x:.{digits}g}" for name, x in rounded.items() if x > 0.0)


def _table(first: str, rows: Iterable[tuple[int, dict]]) -> Table:
    """Plain figures in columns, then a column for each gas and each bottle that any row uses."""
    rows = list(rows)
    records = [record for _, record in rows]
    figures = [key for key in (records[0] if records else ()) if key not in ("blend", "bottles", "warnings")]
    gases = dict.fromkeys(gas for record in records for gas in record["blend"])
    bottles = dict.fromkeys(name for record in records for name in record["bottles"])
    columns = (
        first,
        *figures,
        *(f"mole_fraction_{gas}" for gas in gases),
        *(f"bottle_fraction_{name.replace(' ', '_')}" for name in bottles),
        "warnings",
    )
    return Table(
        columns,
        tuple(
            (
                count,
                *(record[key] for key in figures),
                *(record["blend"].get(gas, 0.0) for gas in gases),
                *(record["bottles"].get(name, 0.0) for name in bottles),
                "; ".join(record["warnings"]),
            )
            for count, record in rows
        ),
    )
