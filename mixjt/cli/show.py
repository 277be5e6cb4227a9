"""What people read on the terminal: tables with units, notes, cautions."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterable, Mapping, Sequence

from mixjt.files.output import json_text

PIPED_WIDTH = 160  # columns, where the output does not go to a terminal


def print_json(record: Mapping) -> None:
    """Print one JSON object."""
    print(json_text(record))


def number(value, digits: int = 4) -> str:
    """A number with so many significant digits; a dash where there is none."""
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return "-"
    if isinstance(value, str):
        return value
    value = float(value)
    if value == 0.0 or not 1e-3 <= abs(value) < 1e7:
        return f"{value:.{digits}g}"
    return f"{value:.{max(digits - 1 - math.floor(math.log10(abs(value))), 0)}f}"


def print_table(title: str, columns: Sequence[str], rows: Iterable[Sequence]) -> None:
    """Print a table; columns that hold a text are aligned left.

    A column is headed by its name and, on a second line, its unit: "temperature|K".
    """
    from rich import box
    from rich.table import Table

    rows = [tuple(row) for row in rows]
    table = Table(title=title, title_justify="left", title_style="bold", box=box.SIMPLE_HEAD, pad_edge=False)
    for place, column in enumerate(columns):
        is_text = any(isinstance(row[place], str) for row in rows)
        table.add_column(column.replace("|", "\n"), justify="left" if is_text else "right", overflow="fold")
    for row in rows:
        table.add_row(*(number(value) for value in row))
    _console().print(table)


def print_quantities(title: str, rows: Iterable[tuple[str, float | None, str]]) -> None:
    """Print name, value and unit of quantities, one a line; those that do not exist show a dash."""
    from rich.table import Table

    table = Table(
        title=title, title_justify="left", title_style="bold", box=None, show_header=False, pad_edge=False
    )
    table.add_column()
    table.add_column(justify="right")
    table.add_column()
    for name, value, unit in rows:
        table.add_row(name, number(value), unit)
    _console().print(table)


def print_notes(heading: str, notes: Sequence[str]) -> None:
    """Print a short list under a heading; nothing where the list is empty."""
    if notes:
        print(f"\n{heading}")
        for note in notes:
            print(f"  - {note}")


def say(text: str) -> None:
    """Tell the user something that is not part of the result."""
    print(f"mixjt: {text}", file=sys.stderr, flush=True)


def _console():
    from rich.console import Console

    return Console(
        width=None if sys.stdout.isatty() else PIPED_WIDTH, highlight=False, markup=False, emoji=False
    )
