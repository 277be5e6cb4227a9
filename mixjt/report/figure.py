"""Figures of results, each declared once: its key in JSON and CSV, how it is read, how people are shown it, its help.

A figure is one line of a list such as `FIGURES` in `mixjt.report.circuit_report`. The record for JSON, the columns of
CSV files, the tables of the terminal and the rows of the pages (`mixjt.report.pages`) are all made from these lists.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from mixjt.report.output import Table
from mixjt.report.terminal import print_quantities, print_table

EVERY = "every table"  # where the figures that name a row stand
# Unit shown by the ending of a key, and how many of the key's units it holds; the longer ending counts.
ENDINGS = {
    "J_per_mol": ("J/mol", 1), "J_per_mol_K": ("J/(mol K)", 1), "W_per_K": ("W/K", 1), "W_per_m2_K": ("W/(m2 K)", 1),
    "W_per_m2": ("kW/m2", 1e3), "mol_per_s": ("mmol/s", 1e-3), "g_per_s": ("g/s", 1), "kg_per_m2_s": ("kg/(m2 s)", 1),
    "m3_per_h": ("m3/h", 1), "m3_per_s": ("cm3/s", 1e-6), "m3_per_rev": ("cm3/rev", 1e-6), "m_per_s": ("m/s", 1),
    "kg_per_day": ("kg/day", 1), "L_per_day": ("L/day", 1), "kg_per_m3": ("kg/m3", 1), "L_per_min": ("L/min", 1),
    "kWh_per_kg": ("kWh/kg", 1), "kWh_per_L": ("kWh/L", 1), "cm3_per_rev": ("cm3/rev", 1), "g_per_mol": ("g/mol", 1),
    "K": ("K", 1), "W": ("W", 1), "A": ("A", 1), "m": ("m", 1), "g": ("g", 1), "kg": ("kg", 1), "bar": ("bar", 1),
    "Pa": ("bar abs", 1e5), "m3": ("L", 1e-3), "s": ("min", 60), "Hz": ("rev/s", 1), "percent": ("%", 1),
    "fraction": ("%", 0.01), "efficiency": ("%", 0.01), "cop": ("W/W", 1),
}  # fmt: skip


@dataclass(frozen=True)
class Figure:
    """One figure of a result.

    key ends in its unit; without a key a figure is only shown. read is a path of attributes or keys ("pinch.heat"; a
    None on the way gives None) or a function of the result. help is the row of the page; without one the key joins the
    row before. text is its name on the terminal, where it stands in the table of that name, ordered by rank; without
    one it is not shown. unit and scale (how many of the key's units it holds) follow from the key's ending unless
    stated; form is the format of a column's numbers. rows are the figures of each thing in a list that read gives,
    parts those of a single thing.
    """

    key: str
    read: str | Callable
    help: str = ""
    text: str | None = None
    table: str = ""
    rank: float = 99
    unit: str | None = None
    scale: float | None = None
    form: str = ""
    rows: tuple[Figure, ...] = ()
    parts: tuple[Figure, ...] = ()

    def value(self, result):
        """The figure of a result, in the unit of its key; records where it has rows or parts."""
        found = self.read(result) if callable(self.read) else _at(result, self.read)
        if isinstance(found, Listing):
            return found.records()
        if found is None or not (self.rows or self.parts):
            return found
        return record_of(self.parts, found) if self.parts else [record_of(self.rows, one) for one in found]

    @property
    def shown(self) -> tuple[str, float]:
        """The unit that people are shown, and how many of the key's units it holds."""
        words = self.key.split("_")
        endings = ("_".join(words[start:]) for start in range(len(words)))
        unit, scale = next((ENDINGS[one] for one in endings if one in ENDINGS), ("", 1))
        return (unit, scale) if self.unit is None else (self.unit, 1 if self.scale is None else self.scale)

    def scaled(self, value):
        """A value of the key's unit in the unit that people are shown."""
        scale = self.shown[1]
        return value if value is None or isinstance(value, str) or scale == 1 else value / scale


def record_of(figures: Iterable[Figure], result) -> dict:
    """A result's figures by key; None where there is no such quantity."""
    return {figure.key: figure.value(result) for figure in figures if figure.key}


def print_figures(figures: Iterable[Figure], table: str, record: Mapping, title: str | None = None) -> None:
    """The figures of one table, one a line with its unit, from a record that holds them."""
    print_quantities(table if title is None else title, quantities(figures, table, record))
    print()


def quantities(figures: Iterable[Figure], table: str, record: Mapping) -> list[tuple]:
    """Name, value and unit of the figures of one table, as people are shown them."""
    return [(one.text, one.scaled(record.get(one.key)), one.shown[0]) for one in _of_table(figures, table)]


@dataclass(frozen=True)
class Listing:
    """A table of a result: its figures, and rows with a value for each, in the units of the keys."""

    figures: tuple[Figure, ...]
    cells: tuple[tuple, ...]

    @property
    def columns(self) -> tuple[str, ...]:
        """Keys, for CSV."""
        return tuple(figure.key for figure in self.figures if figure.key)

    @property
    def rows(self) -> tuple[tuple, ...]:
        """Values of the columns."""
        kept = [place for place, figure in enumerate(self.figures) if figure.key]
        return tuple(tuple(row[place] for place in kept) for row in self.cells)

    records = Table.records

    def show(self, title: str, table: str = "", picked: Iterable[int] | None = None) -> None:
        """Print those columns that belong to one table, of all rows or of some."""
        print_table(title, *self.as_shown(table, picked))

    def as_shown(self, table: str = "", picked: Iterable[int] | None = None) -> tuple[list[str], list[list]]:
        """Columns "name|unit|format" of one table, and their rows in the units that people are shown."""
        shown = _of_table(self.figures, table)
        places = [self.figures.index(figure) for figure in shown]
        rows = self.cells if picked is None else [self.cells[row] for row in picked]
        return (
            ["|".join((one.text, one.shown[0], one.form)) for one in shown],
            [[one.scaled(row[place]) for one, place in zip(shown, places, strict=True)] for row in rows],
        )


def listing(figures: Sequence[Figure], results: Iterable) -> Listing:
    """One row a result."""
    return Listing(tuple(figures), tuple(tuple(figure.value(one) for figure in figures) for one in results))


def curve(figures: Sequence[Figure], result) -> Listing:
    """One row a point of a result whose figures are arrays."""
    return Listing(tuple(figures), tuple(zip(*(_plain(figure.value(result)) for figure in figures), strict=True)))


def joined(listings: Sequence[Listing]) -> Listing:
    """Tables of the same figures one below the other."""
    return Listing(listings[0].figures, tuple(row for one in listings for row in one.cells))


def evenly(count: int, rows: int) -> list[int]:
    """Places of so many rows, evenly spread over a count of them, first and last included."""
    return sorted({round(k * (count - 1) / (rows - 1)) for k in range(rows)})


def _at(result, path: str):
    for name in path.split("."):
        if result is None:
            return None
        result = result[name] if isinstance(result, Mapping) else getattr(result, name)
    return result


def _plain(values):
    return values.tolist() if hasattr(values, "tolist") else values


def _of_table(figures: Iterable[Figure], table: str) -> list[Figure]:
    chosen = [one for one in figures if one.text is not None and one.table in (table, EVERY)]
    return sorted(chosen, key=lambda one: one.rank)
