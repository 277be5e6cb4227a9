"""What is said of a blend search: its figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.case.rating_case import guess_warnings
from mixjt.circuit.inventory import Inventory
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import PLAIN
from mixjt.report import circuit_report, inventory_report
from mixjt.report.ends_report import ENDS, ends_listing
from mixjt.report.ends_report import TITLE as ENDS_TITLE
from mixjt.report.figure import EVERY, Figure, Listing, listing, print_figures
from mixjt.report.kinds_report import kind_record
from mixjt.report.terminal import print_notes, print_title
from mixjt.studies.at_rest import AtRest
from mixjt.studies.band import Band
from mixjt.studies.search.search_request import LEAST, aim
from mixjt.studies.search.search_result import SearchResult, objective_value
from mixjt.studies.size_study import SizePoint

BEST, RUNNING = "Best blends", "How the machine runs on them"
OBJECTIVES = {  # name in a column, unit
    "cooling power": ("cooling power", "W"), "cop": ("COP", "W/W"), "cooling per conductance": ("cooling per UA", "K"),
    "power at the load": ("power", "W"),
}  # fmt: skip
POWER = Figure("power_W", lambda row: row.get("total_power_W", row["compressor_power_W"]), text="power", table=BEST, form=".1f")
SHOWN = (  # of a candidate's record, as people see it
    Figure("rank", "rank", text="", table=EVERY),
    Figure("cooling_power_W", "cooling_power_W", text="cooling", table=BEST, form=".2f"),
    Figure("cop", "cop", text="COP", table=BEST, form=".4f"),
    Figure("recuperator_conductance_W_per_K", "recuperator_conductance_W_per_K", text="UA", table=BEST, form=".1f"),
    Figure("cooling_band_fraction", "cooling_band_fraction", text="known to", table=BEST, form=".0f"),
    Figure("bottles", lambda row: amounts_text(row["bottles"]), text="bottles", table=BEST, unit="mole %"),
    Figure("suction_pressure_Pa", "suction_pressure_Pa", text="suction", table=RUNNING, form=".3f"),
    Figure("discharge_pressure_Pa", "discharge_pressure_Pa", text="discharge", table=RUNNING, form=".3f"),
    Figure("suction_superheat_K", "suction_superheat_K", text="superheat", table=RUNNING, form=".1f"),
    Figure("discharge_temperature_K", "discharge_temperature_K", text="line", table=RUNNING, form=".1f"),
    Figure("valve_temperature_K", "valve_temperature_K", text="valve", table=RUNNING, form=".1f"),
    Figure("freezing_margin_K", "freezing_margin_K", text="freezing margin", table=RUNNING, form=".1f"),
    Figure("hot_standing_pressure_Pa", "hot_standing_pressure_Pa", text="hot at rest", table=RUNNING, form=".1f"),
)


SIZES = "What a larger recuperator buys"
BY_SIZE = (
    Figure("rank", "number", "blend, as in candidates", "blend", SIZES),
    Figure("recuperator_conductance_W_per_K", "conductance", "of the other recuperator", "UA", SIZES, form=".1f"),
    Figure("recuperator_length_m", "length", "of its tubes; `null` without tubes", "length", SIZES, form=".1f"),
    Figure("recuperator_metal_kg", "metal", "", "metal", SIZES, form=".2f"),
    Figure("smallest_approach_K", "smallest_approach", "", "approach", SIZES, form=".2f"),
    Figure("cooling_power_W", "cooling_power", "`null` where the blend does not cool", "cooling", SIZES, form=".2f"),
)
FIGURES = (  # of a case, model, what was found, and the band and the charge at rest of each candidate
    replace(circuit_report.MODEL, read="model.name"),
    *circuit_report.TITLE,
    Figure("objective", "found.objective", "what is made greatest, of \"power at the load\" least"),
    replace(circuit_report.LOAD, help="its load"),
    Figure("candidates", lambda run: candidate_records(run["found"], run["bands"], run["rests"], guess_warnings(run["case"])),
           "best first, each with the keys of a circuit and `bottles`, the mole fraction of every bottle"),
    Figure("ambient_ends", lambda run: ends_listing(run["found"].ends), "with `temperature_range`: every candidate in "
           "the coldest and the hottest ambient, by its rank", rows=ENDS),
    Figure("best_by_count", lambda run: {str(n): record for n, record in _best_by_count(run["found"]).items()},
           "from number of bottles to the best blend with at most so many"),
    Figure("cooling_by_size", lambda run: listing(BY_SIZE, run["sizes"]),
           "the first blends in smaller and larger recuperators", rows=BY_SIZE),
    Figure("evaluations", "found.evaluations", "blends tried, and the time it took"),
    Figure("elapsed_s", "found.seconds"),
    replace(circuit_report.INTERRUPTED, read="found.interrupted"),
    Figure("messages", lambda run: list(run["found"].messages), "about the search; what may hurt the builder"),
    Figure("cautions", lambda run: best_cautions(run["found"])),
)  # fmt: skip


def candidate_record(result: CircuitResult, amounts: Mapping[str, float]) -> dict:
    """A circuit's figures and the mole fraction of each bottle used."""
    bottles = {name: x for name, x in amounts.items() if x > 0.0}
    return circuit_report.circuit_record(result) | kind_record(result) | {"bottles": bottles}


def candidate_records(
    found: SearchResult, bands: Sequence[Band | None], rests: Sequence[AtRest], remarks: Sequence[str] = ()
) -> list[dict]:
    """A candidate's figures with how well its cooling is known, and its charge at rest; remarks on the machine among its warnings."""
    records = []
    for result, amounts, band, rest in zip(found.candidates, found.amounts, bands, rests, strict=True):
        known = circuit_report.with_band(candidate_record(result, amounts), band)
        known["warnings"] += remarks
        records.append(circuit_report.with_rest(known, rest))
    return records


def search_tables(found: SearchResult, record: Mapping, sizes: Sequence[SizePoint]) -> dict[str, Listing]:
    """One row a candidate, best first; one a number of bottles, the best with at most that many; sizes; the best in full."""
    return {
        "candidates": _blends("rank", enumerate(record["candidates"], start=1)),
        "best_by_count": _blends("number_of_bottles", _best_by_count(found).items()),
        "cooling_by_size": listing(BY_SIZE, sizes),
        **({"ambient_ends": ends_listing(found.ends)} if found.ends else {}),
    } | circuit_report.circuit_tables(found.candidates[0])


def search_pictures(
    found: SearchResult, sizes: Sequence[SizePoint], bands: Sequence[Band | None], load: float | None
) -> dict[str, Callable]:
    """An overview, the first blends in other recuperators, and the best one in full."""
    from mixjt.plots.search_plot import search_figure
    from mixjt.plots.size_plot import size_figure

    overview = {"search": lambda: search_figure(found, bands, load), "size": lambda: size_figure(found, sizes, load)}
    return overview | circuit_report.circuit_pictures(found.candidates[0], bands[0])


def blend_option(amounts: Mapping[str, float], digits: int = 4) -> str:
    """Amounts as text for --blend, rounded so that they still add up to 1."""
    rounded = {name: round(x, digits) for name, x in amounts.items() if x > 0.0}
    largest = max(rounded, key=rounded.get)
    rest = sum(x for name, x in rounded.items() if name != largest)
    rounded[largest] = round(1.0 - rest, digits)
    return ", ".join(f"{name}={x:.{digits}g}" for name, x in rounded.items() if x > 0.0)


def print_heading(case: Case, found: SearchResult, model: str) -> None:
    """Title, aim, effort and property model."""
    load = "" if case.load is None else f", load {case.load:.4g} W"
    ends = case.search.ambient_range
    air = "" if ends is None else f", ambient {ends[0]:.5g} to {ends[1]:.5g} K"
    print_title(case.title or case.file, {
        "aim": f"{aim(found.objective)} at {case.circuit.cold_temperature:.5g} K{load}{air}",
        "effort": f"{found.evaluations} blends in {found.seconds:.1f} s, seed {case.search.seed}",
        "model": model,
    })  # fmt: skip


def print_candidates(records: Sequence[Mapping], objective: str) -> None:
    """The best blends, best first, how well the cooling of each is known, and how the machine runs on it."""
    figures = [POWER if one.key == "cop" and objective in LEAST else one for one in SHOWN]
    shown = listing(figures, [{"rank": rank} | record for rank, record in enumerate(records, start=1)])
    for table in (BEST, RUNNING):
        shown.show(table, table)


def print_ends(found: SearchResult) -> None:
    """The best blends at both ends of the range of the ambient, where there is one."""
    if found.ends:
        ends_listing(found.ends).show(ENDS_TITLE, EVERY)


def print_counts(found: SearchResult) -> None:
    """What each further bottle buys."""
    name, unit = OBJECTIVES[found.objective]
    values = {n: objective_value(found.objective, one) for n, one in sorted(found.best_by_count.items())}
    before = dict(zip(list(values)[1:], values.values(), strict=False))
    sign, gain = (-100.0, "saving") if found.objective in LEAST else (100.0, "gain")
    figures = (
        Figure("", lambda n: n, text="bottles", unit="at most"),
        Figure("", values.get, text=name, unit=unit),
        Figure("", lambda n: sign * (values[n] / before[n] - 1.0) if n in before else None, text=gain, unit="%",
               form=".1f"),
        Figure("", lambda n: amounts_text(found.amounts_by_count[n]), text="bottles", unit="mole %"),
    )  # fmt: skip
    listing(figures, values).show("What each further bottle buys")


def print_sizes(sizes: Sequence[SizePoint]) -> None:
    """What a larger recuperator buys."""
    listing(BY_SIZE, sizes).show(SIZES, SIZES)


def print_closing(
    case: Case, found: SearchResult, record: Mapping, about_models: Iterable[str], kind: str, inventory: Inventory | None
) -> None:
    """How to look closer, the best blend's charge, running and at rest, warnings and cautions about the best blend, and messages."""
    first = record["candidates"][0]
    kind_option = "" if kind == PLAIN else f" --circuit {kind}"
    print(f"To see the best blend in full:\n  mixjt cycle {case.file}{kind_option} --blend \"{blend_option(found.amounts[0])}\"")
    if not _has_case_pressures(found.candidates[0], case):
        print(f"  with suction_pressure and discharge_pressure set to {' and '.join(circuit_report.pressures(first))}")
    print()
    rest = circuit_report.AT_REST
    print_figures(circuit_report.REST_FIGURES, rest, first, "The best blend's charge at rest, all warm")
    inventory_report.print_inventory(inventory)
    circuit_report.print_closing(first["warnings"], record["cautions"], about_models)
    print_notes("Search", found.messages)


def best_cautions(found: SearchResult) -> list[str]:
    """Cautions for the best blend; none where there is no blend."""
    if not found.candidates:
        return []
    best = found.candidates[0]
    return circuit_report.circuit_cautions(Blend(best.gases, tuple(best.composition)), best)


def amounts_text(amounts: Mapping[str, float]) -> str:
    """For instance "methane 38, camping gas 24", the largest first."""
    ordered = sorted(((x, name) for name, x in amounts.items() if x > 0.0), key=lambda item: -item[0])
    return ", ".join(f"{name} {100.0 * x:.3g}" for x, name in ordered)


def _best_by_count(found: SearchResult) -> dict[int, dict]:
    counts = sorted(found.best_by_count)
    return {n: candidate_record(found.best_by_count[n], found.amounts_by_count[n]) for n in counts}


def _has_case_pressures(result: CircuitResult, case: Case) -> bool:
    found = (result.suction_pressure, result.discharge_pressure)
    stated = (case.circuit.suction_pressure, case.circuit.discharge_pressure)
    return all(math.isclose(a, b, rel_tol=1e-6) for a, b in zip(found, stated, strict=True))


def _blends(first: str, rows: Iterable[tuple[int, dict]]) -> Listing:
    """Plain figures in columns, then a column for each gas and each bottle that any row uses."""
    rows = [{first: number} | record for number, record in rows]
    plain = [key for key in (rows[0] if rows else (first,)) if key not in ("blend", "bottles", "warnings")]
    figures = [Figure(key, key) for key in plain]
    for inside, lead in (("blend", "mole_fraction_"), ("bottles", "bottle_fraction_")):
        for name in dict.fromkeys(name for row in rows for name in row[inside]):
            key = f"{lead}{name.replace(' ', '_') if inside == 'bottles' else name}"
            figures.append(Figure(key, lambda row, inside=inside, name=name: row[inside].get(name, 0.0)))
    return listing((*figures, Figure("warnings", lambda row: "; ".join(row["warnings"]))), rows)
