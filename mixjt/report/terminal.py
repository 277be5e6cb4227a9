"""What people read on the terminal: tables with units, notes, cautions."""

from __future__ import annotations

import contextlib
import math
import os
import shutil
import sys
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from mixjt.report.output import json_text

PAGE = 100  # columns, where neither a terminal nor COLUMNS says otherwise
NARROW_TEXT = 16  # columns that a text keeps at the least
BETWEEN = 3  # blanks from one column to the next


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


def width() -> int:
    """Columns that a line may take: what COLUMNS says, or else the terminal, or else a page."""
    return shutil.get_terminal_size((PAGE, 24)).columns


def print_title(title: str, about: Mapping[str, str]) -> None:
    """A title and, below it, what it is about: a name and a text a line, long texts wrapped."""
    print(wrapped("", title))
    for name, text in about.items():
        print(wrapped(f"  {name:<11}", text))
    print()


def print_table(title: str, columns: Sequence[str], rows: Iterable[Sequence]) -> None:
    """Print a table; columns that hold a text are aligned left.

    A column is written "temperature|K|.2f": its name, its unit on a second line, and the format of its
    numbers; unit and format may be left out. What is too wide goes on in a table below, led by the same first
    column: a text may take several lines, a number never does.
    """
    rows = [tuple(row) for row in rows]
    table = [_Column.of(column, [row[place] for row in rows]) for place, column in enumerate(columns)]
    if _total(table) > width():
        table = [column.narrow() for column in table]
    heading = title
    while table:
        shown = next(n for n in range(len(table), 0, -1) if n <= 2 or _total(table[:n]) <= width())
        _print_columns(heading, table[:shown])
        heading, table = f"{title}, continued", table[:1] + table[shown:] if shown < len(table) else []


@dataclass(frozen=True)
class _Column:
    """A column of texts as they will stand; least is how narrow it may be."""

    name: str
    unit: str
    cells: tuple[str, ...]
    is_text: bool
    least: int

    @classmethod
    def of(cls, column: str, values: Sequence) -> _Column:
        name, unit, form = (column.split("|") + ["", ""])[:3]
        cells = tuple(number(value, form) for value in values)
        is_text = any(isinstance(value, str) for value in values)
        longest = max(map(len, (*cells, name, unit)))
        return cls(name, unit, cells, is_text, longest)

    def narrow(self) -> _Column:
        """With its name over several lines, and its texts too."""
        words = [*self.name.split(), self.unit]
        inside = [word for cell in self.cells for word in (cell.split() if self.is_text else [cell])]
        least = max(map(len, (*words, *inside, "")))
        if self.is_text:
            least = max(least, min(self.least, NARROW_TEXT))
        return replace(self, name=textwrap.fill(self.name, max(least, 1), break_on_hyphens=False), least=least)


def _total(columns: Sequence[_Column]) -> int:
    return sum(column.least + BETWEEN for column in columns)


def _print_columns(title: str, columns: Sequence[_Column]) -> None:
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for column in columns:
        heading = f"{column.name}\n{column.unit}" if column.unit else column.name
        justify = "left" if column.is_text else "right"
        table.add_column(heading, justify=justify, overflow="fold", no_wrap=not column.is_text, min_width=column.least)
    for row in zip(*(column.cells for column in columns), strict=True):
        table.add_row(*row)
    _print_titled(title, table)


def _print_titled(title: str, table) -> None:
    from rich.text import Text

    console = _console()
    if title:
        console.print(Text(title, style="bold"))
    console.print(table)


def print_quantities(title: str, rows: Iterable[tuple[str, float | None, str]]) -> None:
    """Print name, value and unit of quantities, one a line; those that do not exist show a dash."""
    from rich.table import Table

    table = Table(box=None, show_header=False, pad_edge=False)
    table.add_column()
    table.add_column(justify="right", no_wrap=True)
    table.add_column()
    for name, value, unit in rows:
        table.add_row(name, number(value), unit)
    _print_titled(title, table)


def print_notes(heading: str, notes: Sequence[str]) -> None:
    """Print a short list under a heading; nothing where the list is empty."""
    if notes:
        print(f"\n{heading}")
        for note in dict.fromkeys(notes):
            print(wrapped("  - ", note))


def print_warnings(warnings: Sequence[str], about_models: Iterable[str] = ()) -> None:
    """Print warnings, each once: what endangers machine or builder first, then what only limits the figures."""
    last = set(about_models)
    print_notes("Warnings", sorted(warnings, key=last.__contains__))


def wrapped(lead: str, text: str) -> str:
    """A text behind a lead, its further lines indented like the first."""
    wide = max(width(), len(lead) + NARROW_TEXT)
    return textwrap.fill(
        text, wide, initial_indent=lead, subsequent_indent=" " * len(lead), break_long_words=False, break_on_hyphens=False
    )


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

    return Printer(width=width(), highlight=False, markup=False, emoji=False)
