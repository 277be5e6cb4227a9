"""The sheet for the bench as one page of HTML that needs nothing else: no script, no style or picture from outside."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter

from mixjt.gases import gas
from mixjt.report import charge_report, cooldown_report
from mixjt.report.circuit_report import (
    ALL_FIGURES,
    AT_REST,
    BLEND,
    COMPRESSOR,
    COOLING,
    MACHINE_KEYS,
    pinch_pictures,
    state_points,
)
from mixjt.report.figure import Listing, listing, quantities
from mixjt.report.first_start_report import PARTS as START_PARTS
from mixjt.report.first_start_report import START
from mixjt.report.inventory_report import by_gas
from mixjt.report.output import program_version
from mixjt.report.sheet_report import Sheet, gauge_text, point_listing, reading_listing, shown_readings
from mixjt.report.terminal import number
from mixjt.report.throttle_report import CAPILLARY, VARIANTS
from mixjt.report.throttle_report import FIGURES as THROTTLE_FIGURES

TEMPLATE = "sheet.html"


@dataclass(frozen=True)
class PageTable:
    """A table as texts: heading and unit of each column, rows of cells (blank to be written into), which hold numbers."""

    columns: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[bool, ...]


def sheet_page(sheet: Sheet, record: Mapping, about_models: Iterable[str]) -> str:
    """The page.

    Parameters
    ----------
    sheet : Sheet
    record : mapping
        Of the sheet.
    about_models : iterable of str
        Those of the warnings that only say how well the figures are known.
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined

    from mixjt.plots import style

    page = Environment(
        loader=PackageLoader("mixjt", "report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    last, rating = set(about_models), sheet.case.tables["standstill"]["largest_pressure"]
    return page.get_template(TEMPLATE).render(
        case=sheet.case, record=record, sheet=sheet, burns=any(gas(name).flammable for name in record["blend"]), style=style, version=program_version(),
        blend=sheet.blend.text,
        band=sheet.band and sheet.band.sentence,
        hazards=[one for one in record["warnings"] if one not in last],
        about_models=[one for one in record["warnings"] if one in last],
        notes=cooldown_report.method_notes(sheet.machine) if sheet.machine else [],
        parts=[(name, list(rows)) for name, rows in groupby(record["parts"], itemgetter("table"))],
        lists=_lists(sheet, record), tables=_tables(sheet), pictures=_pictures(sheet),
        rating=rating and gauge_text(rating, sheet.atmosphere),
    )  # fmt: skip


def grid(
    shown: Listing, table: str = "", picked: Iterable[int] | None = None, blanks: Iterable[str] = ()
) -> PageTable:
    """A listing's table with columns to be written into."""
    columns, rows = shown.as_shown(table, picked)
    headings = [tuple((column.split("|") + ["", ""])[:3]) for column in columns]
    cells = [[number(value, form) for value, (_, _, form) in zip(row, headings, strict=True)] for row in rows]
    numeric = [
        all(value is None or isinstance(value, (int, float)) for value in column)
        for column in zip(*rows, strict=True)
    ]
    blanks = tuple(blanks)
    return PageTable(
        (*((name, unit) for name, unit, _ in headings), *((name, "") for name in blanks)),
        tuple((*row, *("" for _ in blanks)) for row in cells),
        (*numeric, *(False for _ in blanks)),
    )


def _tables(sheet: Sheet) -> dict[str, PageTable | None]:
    """The page's tables; None where what it shows is not known."""
    told, rest = sheet.told, sheet.plan and sheet.plan.inventory
    return {
        "bores": sheet.throttle and grid(listing(VARIANTS, sheet.throttle.variants)),
        "gases": rest and grid(by_gas(rest)),
        "charge": told and grid(
            listing(charge_report.STEPS, told.rows), charge_report.FILL, blanks=("let in, g", "gauge read")
        ),
        "readings": grid(reading_listing(sheet), picked=shown_readings(sheet), blanks=("suction read", "discharge read")),
        "set_points": grid(point_listing(sheet), blanks=("set to",)),
        "states": grid(state_points(sheet.result)),
    }  # fmt: skip


def _lists(sheet: Sheet, record: Mapping) -> dict[str, list[tuple[str, str, str]]]:
    """Quantities, one a line: name, number, unit; those that do not exist are left out."""
    known = {figure.key: figure for figure in ALL_FIGURES}
    machine = [known[key] for key in MACHINE_KEYS]
    found = {
        "machine": [(one.text, one.scaled(record[one.key]), one.shown[0]) for one in machine],
        "cooling": quantities(ALL_FIGURES, COOLING, record),
        "compressor": quantities(ALL_FIGURES, COMPRESSOR, record),
        "blend": quantities(ALL_FIGURES, BLEND, record),
        "rest": quantities(ALL_FIGURES, AT_REST, record),
        "start": quantities(START_PARTS, START, record["first_start"] or {}),
        "throttle": _throttle(sheet),
    }
    return {
        name: [(text, number(value), unit) for text, value, unit in rows if value is not None]
        for name, rows in found.items()
    }


def _throttle(sheet: Sheet) -> list[tuple]:
    if sheet.throttle is None:
        return []
    record = {
        figure.key: figure.value(sheet.throttle) for figure in THROTTLE_FIGURES if figure.table == CAPILLARY
    }
    return quantities(THROTTLE_FIGURES, CAPILLARY, record)


def _pictures(sheet: Sheet) -> list[tuple[str, str]]:
    """Pictures as SVG with their captions, which are what can be read off them."""
    from mixjt.plots.save import svg_text

    drawn = {"pinch": (pinch_pictures(sheet.result, sheet.band)["pinch"], _pinch_words(sheet))}
    if sheet.found and sheet.found.states:
        pictures = cooldown_report.cooldown_pictures(sheet.machine, sheet.found, sheet.blend)
        words = {"cooldown": _cooldown_words, "load_line": _load_line_words}
        drawn |= {name: (pictures[name], words[name](sheet)) for name in words if name in pictures}
    return [(svg_text(draw(), name.replace("_", "-"), words), words) for name, (draw, words) in drawn.items()]


def _pinch_words(sheet: Sheet) -> str:
    pinch = sheet.result.pinch
    (cold_high, warm_high), (cold_low, warm_low) = (
        side[[0, -1]] for side in (pinch.high_temperature, pinch.low_temperature)
    )
    return (
        "Recuperator, temperature against heat exchanged: the high-pressure side cools from "
        f"{warm_high:.0f} to {cold_high:.0f} K, the low-pressure side warms from {cold_low:.0f} to {warm_low:.0f} K. "
        f"They come closest, to {pinch.smallest_approach:.3g} K, where the high-pressure side has {pinch.pinch_temperature:.0f} K."
    )


def _cooldown_words(sheet: Sheet) -> str:
    way = sheet.found.way
    first, last = (way.moments[place].settled for place in (0, -1))
    hottest = max(one.settled.compression.discharge_temperature for one in way.moments)
    return (
        f"Cool-down over time: the cold end goes from {way.cold_temperatures[0]:.0f} to {way.cold_temperatures[-1]:.0f} K in "
        f"{way.times[-1] / 60.0:.0f} minutes; the discharge pressure goes from {_bar(first.discharge_pressure):.1f} to "
        f"{_bar(last.discharge_pressure):.1f} bar and the suction pressure from {_bar(first.suction_pressure):.1f} to "
        f"{_bar(last.suction_pressure):.1f} bar, absolute; the discharge line has {hottest:.0f} K at the most."
    )


def _load_line_words(sheet: Sheet) -> str:
    first, last = sheet.found.states[0], sheet.found.states[-1]
    return (
        f"Load line: the cold end takes up {first.cooling_power:.3g} W at {first.cold_temperature:.0f} K and "
        f"{last.cooling_power:.3g} W at {last.cold_temperature:.0f} K, each with the pressures settled."
    )


def _bar(pressure: float | None) -> float | None:
    return None if pressure is None else pressure / 1e5
