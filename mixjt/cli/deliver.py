"""The end of every command: the result is printed, then saved as a case, its tables are written, its pictures drawn.

In this order, because drawing takes seconds and may fail: neither that nor Ctrl-C costs what was found.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from mixjt import interrupt
from mixjt.cli.progress import waiting
from mixjt.report import terminal
from mixjt.report.output import Table, move_all, output_directory, write_json, write_table, write_text

if TYPE_CHECKING:
    from mixjt.case.answers import Answer
    from mixjt.case.read import CaseFile

PARTIAL = "Interrupted: this is what was found until then, not the whole answer.\n"
Drawings = Mapping[str, Callable]  # by name of the picture, a function that makes the figure


@dataclass(frozen=True)
class Saving:
    """A new case file to be written (none where path is None), and functions that tell what goes into it, and what was there."""

    path: Path | None
    case: CaseFile
    command: str
    answer: Callable[[], Answer]
    before: Callable[[], Answer] = dict


def deliver(
    record: Mapping,
    show: Callable[[], None],
    json: bool,
    out: Path | None = None,
    tables: Callable[[], Mapping[str, Table]] = dict,
    pictures: Callable[[], Drawings] = dict,
    save: Saving | None = None,
    pages: Callable[[], Mapping[str, str]] = dict,
) -> int:
    """Print a result and write its files.

    Parameters
    ----------
    record : mapping
        What --json prints and summary.json holds.
    show : function
        Prints the same for people.
    json : bool
    out : Path, optional
        Directory for the files; nothing is written without one.
    tables, pictures : function
        Called when their turn has come.
    save : Saving, optional
    pages : function
        Texts of further files by name; called with the tables, and like them in one piece with summary.json.

    Returns
    -------
    int
        The exit code: 0, or 130 after Ctrl-C.
    """
    with interrupt.holding():
        _print(record, show, json)
        if save is not None and save.path is not None:
            _save(save)
        if out is not None:
            with output_directory(out) as scratch:
                write_json(scratch / "summary.json", record)
                with waiting("tabulating"):
                    made, texts = tables(), pages()
                for name, table in made.items():
                    write_table(scratch / f"{name}.csv", table)
                for name, text in texts.items():
                    write_text(scratch / name, text)
                move_all(scratch, out)
                _draw(pictures(), scratch, out, record.get("title") or "")
    return interrupt.EXIT_CODE if interrupt.happened() else 0


def _save(save: Saving) -> None:
    from mixjt.case.saved_case import save_case

    save_case(save.path, save.case, save.answer(), save.command, save.before())
    terminal.say(f"the case with this result in its place is {save.path}")


def _print(record: Mapping, show: Callable[[], None], json: bool) -> None:
    try:
        if json:
            terminal.print_json(record)
        else:
            if interrupt.happened():
                print(PARTIAL)
            show()
        sys.stdout.flush()
    except BrokenPipeError:  # the reader of our output has gone, as in "mixjt gases | head"; the files still count
        terminal.drop_output()


def _draw(drawings: Drawings, scratch: Path, out: Path, machine: str) -> None:
    """All pictures, or none of them; then also none of an earlier run, which would belie the new tables."""
    if not drawings:
        return
    from mixjt.plots.save import save_figure

    complete = False
    try:
        if not interrupt.impatient():
            terminal.say("drawing the pictures; Ctrl-C leaves them out")
            with interrupt.keeping():
                for name, figure in drawings.items():
                    save_figure(figure(), scratch / name, machine)
                complete = True
    finally:
        if not complete:
            terminal.say("the pictures are left out")
            for folder in (scratch, out):
                for name in drawings:
                    for kind in ("png", "svg"):
                        (folder / f"{name}.{kind}").unlink(missing_ok=True)
