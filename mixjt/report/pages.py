"""The keys of JSON and CSV as tables of Markdown, made from the figures that are declared for each result.

    python -m mixjt.report.pages docs/*.md

puts the present tables into the pages, between the lines "<!-- keys of NAME -->" and "<!-- end of keys -->".
"""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from pathlib import Path

from mixjt.report import circuit_report, kinds_report, liquefier_report, recuperator_report
from mixjt.report.figure import Figure

HEAD = "| key | meaning |\n|---|---|"
TABLES = {
    "circuit": (*circuit_report.FIGURES, *circuit_report.REST_FIGURES, *circuit_report.BAND_FIGURES),
    "kinds": kinds_report.ALL_FIGURES,
    "recuperator": recuperator_report.FIGURES,
    "liquefier": (*liquefier_report.FIGURES, *liquefier_report.REPORT_FIGURES),
}
MARKED = re.compile(r"(<!-- keys of (\w+) -->\n).*?(<!-- end of keys -->\n)", re.DOTALL)


def key_table(figures: Sequence[Figure]) -> str:
    """One row a figure; those without a help or figures of their own stand in the row before."""
    rows: list[tuple[list[str], str]] = []
    for figure in (one for one in figures if one.key):
        if figure.help or figure.rows or figure.parts or not rows:
            rows.append(([], _meaning(figure)))
        rows[-1][0].append(f"`{figure.key}`")
    return "\n".join([HEAD, *(f"| {', '.join(keys)} | {text} |" for keys, text in rows)])


def _meaning(figure: Figure) -> str:
    """Its help, and the keys of each of its rows or of its parts."""
    inside = [
        f"`{one.key}`" + (f" ({_meaning(one)})" if one.help or one.rows or one.parts else "")
        for one in (*figure.rows, *figure.parts)
        if one.key
    ]
    return ": ".join(filter(None, (figure.help, ", ".join(inside))))


def with_keys(page: str) -> str:
    """A page with every marked table as it is now."""
    return MARKED.sub(lambda found: f"{found[1]}{key_table(TABLES[found[2]])}\n{found[3]}", page)


if __name__ == "__main__":
    for path in map(Path, sys.argv[1:]):
        path.write_text(with_keys(path.read_text(encoding="utf-8")), encoding="utf-8")
