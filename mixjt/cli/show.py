"""What people read on the terminal: tables with units, notes, cautions."""

from __future__ import annotations

import contextlib
import math
import os
import sys
from collections.abc import Iterable, Mapping, Sequence

from mixjt.files.output import json_text

PIPED_WIDTH = 160  # columns, where the output does not go to a terminal


def print_json(record: Mapping) -> None:
    """Print one JSON object."""
    print(json_text(record))


def number(value, form: str = "") -> str:
    """A number in a format, by default with four significant digits; a dash where there is none."""
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return "-"
    if isinstance(value, (str, int)):
        return str(value)
    value = float(value)
    if form:
        return format(value, form)
    if value == 0.0 or not 1e-3 <= abs(value) < 1e7:
        return f"{value:.4g}"
    return f"{value:.{max(3 - math.floor(math.log10(abs(value))), 0)}f}"


def print_table(title: str, columns: Sequence[str], rows: Iterable[Sequence]) -> None:
    """Print a table; columns that hold a text are aligned left.

    A column is written "temperature|K|.2f": its name, its unit on a second line, and the format of its
    numbers; unit and format may be left out.
    """
    from rich import box
    from rich.table import Table

    rows = [tuple(row) for row in rows]
    table = Table(title=title, title_justify="left", title_style="bold", box=box.SIMPLE_HEAD, pad_edge=False)
    formats = []
    for place, column in enumerate(columns):
        name, unit, form = (column.split("|") + ["", ""])[:3]
        is_text = any(isinstance(row[place], str) for row in rows)
        heading = f"{name}\n{unit}" if unit else name
        table.add_column(heading, justify="left" if is_text else "right", overflow="fold")
        formats.append(form)
    for row in rows:
        table.add_row(*(number(value, form) for value, form in zip(row, formats, strict=True)))
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


def drop_output() -> None:
    """Let what is still to be printed go nowhere, or Python tries to write it again at its exit."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _console():
    from rich.console import Console

    class Printer(Console):
        def on_broken_pipe(self) -> None:  # by default it ends the process
            raise BrokenPipeError

    return Printer(
        width=None if sys.stdout.isatty() else PIPED_WIDTH, highlight=False, markup=False, emoji=False
    )
