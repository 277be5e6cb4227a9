"""Writes the validation page: python -m mixjt.validation.report docs/validation.md"""

from __future__ import annotations

import os
import re
import sys
from dataclasses import dataclass
from math import isnan

from mixjt.properties.band import held_out_table
from mixjt.properties.parameters import DEFAULT_SET, pair_source
from mixjt.validation.measures import measured
from mixjt.validation.values import VALUES, OutsideValue

MODELS = ("fast", "reference")
HEAD = """# Validation

Made by `python -m mixjt.validation.report docs/validation.md`; the tests check the same table.
Each line compares a value from outside the project with both property models. The band is the deviation we
vouch for, and what lies beyond it "misses"; "no parameters" means that the reference model lacks this pair and
says so when asked. Pair parameters of the fast model are fitted, where that was possible, to data of the same
papers: "yes" under "fitted" says that the line shows how well the fit holds what it was given, and is no
prediction.

| what | outside value | fitted | {heads} | source |
|---|---|---|{rules}|---|
"""
PAPER = re.compile(r"doi:\S+|arXiv:\d+\.\d+|[^,;()]+ \d+ \(\d{4}\) \d+")  # what a source names a paper by
BANDS = """
## The band of a cooling figure

Beside every cooling figure stands a band: how far two property models lie apart, and nothing about the errors of
a machine. Nine of ten blends held out of the fit lay within it, taken as the deviation of the least enthalpy
difference between the fast and the reference model; it widens to the difference found for the blend at hand.
"Sound" holds where the reference model has fitted and trusted parameters for every pair and the cold end is above
the temperature at which its liquids become strange; "full" for everything else. What the reference model itself
misses in the table above comes on top. Only blends of {useful:g} J/mol and more count. Made by
`{source}`.

| parameter set | blends | median | nine of ten within | worst |
|---|---|---|---|---|
"""


@dataclass(frozen=True)
class Comparison:
    """One model against one outside value: its number, the deviation and the verdict."""

    number: float
    deviation: float
    verdict: str


def compared(value: OutsideValue, model: str) -> Comparison:
    """Compare a model with an outside value."""
    band = getattr(value, model)
    number = measured(value, model)
    if isnan(number):
        return Comparison(number, number, "no parameters" if band is None else "no answer")
    deviation = number - value.value if value.absolute else number / value.value - 1.0
    if band is None:
        return Comparison(number, deviation, "not vouched for")
    return Comparison(number, deviation, "holds" if abs(deviation) <= band else "misses")


def deviation_text(value: OutsideValue, comparison: Comparison) -> str:
    """The deviation with its unit."""
    if isnan(comparison.deviation):
        return ""
    if value.absolute:
        return f"{comparison.deviation:+.2g} {value.unit}"
    return f"{100.0 * comparison.deviation:+.1f} %"


def band_text(value: OutsideValue, model: str) -> str:
    """The band with its unit."""
    band = getattr(value, model)
    if band is None:
        return "none"
    return f"{band:g} {value.unit}" if value.absolute else f"{100.0 * band:g} %"


def page() -> str:
    """The page as Markdown."""
    heads = " | ".join(f"{m} | deviation | band | verdict" for m in MODELS)
    lines = [HEAD.format(heads=heads, rules="|".join(["---"] * 4 * len(MODELS)))]
    for value in VALUES:
        cells = [value.what, f"{value.value:.5g} {value.unit}", "yes" if is_fitted(value) else "no"]
        for model in MODELS:
            result = compared(value, model)
            number = "" if isnan(result.number) else f"{result.number:.5g}"
            cells += [number, deviation_text(value, result), band_text(value, model), result.verdict]
        lines.append("| " + " | ".join([*cells, value.source]) + " |\n")
    return "".join(lines) + bands_text()


def is_fitted(value: OutsideValue) -> bool:
    """Whether the default set's parameters of the pair were fitted to, or chosen by, data of this value's paper."""
    gases = value.arguments[0]
    if not isinstance(gases, tuple) or len(gases) != 2:
        return False
    known = pair_source(DEFAULT_SET, *gases)
    return any(paper.strip() in known for paper in PAPER.findall(value.source))


def bands_text() -> str:
    """The bands of cooling figures as a section of the page."""
    table = held_out_table()
    lines = [BANDS.format(source=table["source"], useful=table["useful_from_J_per_mol"])]
    for name, spans in table["sets"].items():
        for span, row in spans.items():
            shares = " | ".join(f"{100 * row[key]:.1f} %" for key in ("median", "ninety", "worst"))
            lines.append(f"| {name}, {span} | {row['blends']} | {shares} |\n")
    return "".join(lines)


def main(path: str) -> None:
    """Write the page to path, whole or not at all."""
    scratch = f"{path}.tmp"
    with open(scratch, "w", encoding="utf-8") as file:
        file.write(page())
    os.replace(scratch, path)


if __name__ == "__main__":
    main(sys.argv[1])
