"""The keys of JSON and CSV as tables of Markdown, made from the figures that are declared for each result.

    python -m mixjt.report.pages docs/*.md

puts the present tables into the pages, between the lines "<!-- keys of NAME -->" and "<!-- end of keys -->".
"""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from pathlib import Path

from mixjt.report import (
    cascade_report,
    charge_report,
    circuit_report,
    compare_report,
    compressor_report,
    cooldown_report,
    ends_report,
    first_start_report,
    gases_report,
    kinds_report,
    liquefier_report,
    new_case_report,
    phases_report,
    recuperator_report,
    search_report,
    sensitivity_report,
    sheet_report,
    throttle_report,
    trial_report,
)
from mixjt.report.figure import Figure

HEAD = "| key | meaning |\n|---|---|"
ABOUT = (*circuit_report.TITLE, circuit_report.MODEL, circuit_report.BLEND_SHARES)
CAUTIONS = Figure("cautions", "", "what may hurt the builder, a list of sentences")
TABLES = {
    "circuit": (*circuit_report.FIGURES, *circuit_report.REST_FIGURES, *circuit_report.BAND_FIGURES),
    "case": (*circuit_report.CASE_FIGURES, ends_report.OF_CYCLE, CAUTIONS),
    "pinch": circuit_report.CURVES,
    "kinds": kinds_report.ALL_FIGURES,
    "phases": (*ABOUT, *phases_report.FIGURES, phases_report.CRITICAL, CAUTIONS),
    "search": (*search_report.FIGURES, sensitivity_report.SEARCHED),
    "gases": gases_report.FIGURES,
    "recuperator": (*recuperator_report.FIGURES[:-1], *recuperator_report.CAPILLARY, circuit_report.WARNINGS),
    "liquefier": (*liquefier_report.FIGURES, *liquefier_report.REPORT_FIGURES, circuit_report.INTERRUPTED),
    "cascade": (*circuit_report.TITLE, *cascade_report.FIGURES, *cascade_report.BEST, *cascade_report.DESIGN),
    "compare": compare_report.RECORD,
    "throttle": (*ABOUT, *throttle_report.FIGURES, CAUTIONS),
    "cooldown": (*cooldown_report.FIGURES, CAUTIONS),
    "charge": (circuit_report.BLEND_SHARES, *charge_report.FIGURES, CAUTIONS),
    "first_start": first_start_report.FIGURES,
    "sheet": sheet_report.FIGURES,
    "trial": (*trial_report.FIGURES, *trial_report.BAND_FIGURES, CAUTIONS),
    "start": new_case_report.FIGURES,
    "sensitivity": sensitivity_report.FIGURES,
    "compressor": (
        *circuit_report.TITLE, *compressor_report.ABOUT_FIGURES, *compressor_report.LABEL_FIGURES,
        *compressor_report.LIMIT_FIGURES, *compressor_report.BLEND_FIGURES, CAUTIONS,
    ),
}  # fmt: skip
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
