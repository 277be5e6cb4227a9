"""A progress bar on stderr, so that stdout keeps nothing but results."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def search_progress(objective: str) -> Iterator[Callable | None]:
    """A function for the search to report stage, steps done, steps in all and the best value so far.

    None where stderr is not a terminal.
    """
    from mixjt.report.search_report import OBJECTIVES

    with _progress(lambda best: f"best {objective} {best:.4g} {OBJECTIVES[objective][1]}") as report:
        yield report


@contextmanager
def design_progress(sought: str = "least power") -> Iterator[Callable | None]:
    """The same for a design that seeks some watts."""
    with _progress(lambda best: f"{sought} {best:.4g} W") as report:
        yield report


@contextmanager
def stage_progress() -> Iterator[Callable[[str, int, int], None] | None]:
    """A function for work of several stages to report stage, steps done and steps in all; None without a terminal."""
    with _progress(lambda _: "") as report:
        yield None if report is None else lambda stage, done, total: report(stage, done, total, None)


@contextmanager
def step_progress(stage: str) -> Iterator[Callable[[int, int], None] | None]:
    """The same for work of one stage, without its name."""
    with stage_progress() as report:
        yield None if report is None else lambda done, total: report(stage, done, total)


@contextmanager
def waiting(what: str) -> Iterator[None]:
    """Show what is done while it takes its time, where its steps are not reported."""
    with _progress(lambda _: "") as report:
        if report is not None:
            report(what, 0, None, None)
        yield


@contextmanager
def _progress(best_text: Callable[[float], str]) -> Iterator[Callable | None]:
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn("{task.description:<12}"),
        BarColumn(),
        TimeElapsedColumn(),
        TextColumn("{task.fields[best]}"),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("starting", total=None, best="")

        def report(stage: str, done: int, total: int | None, best: float | None) -> None:
            text = "" if best is None else best_text(best)
            bar.update(task, description=stage, completed=done, total=total, best=text)

        yield report
