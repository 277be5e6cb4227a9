"""Writes the validation page: python -m mixjt.validation.report docs/validation.md"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from math import isnan

from mixjt.validation.measures import measured
from mixjt.validation.values import VALUES, OutsideValue

MODELS = ("fast", "reference")
HEAD = """# Validation

Made by `python -m mixjt.validation.report docs/validation.md`; the tests check the same table.
Each line compares a value from outside the project with both property models. The band is the deviation we
vouch for; "no parameters" means that the reference model lacks this pair and says so when asked. The pair
parameters of the fast model are fitted, where that was possible, to data of the same papers: for those pairs
the page shows how well the fit holds what it was given, not a prediction.

| what | outside value | {heads} | source |
|---|---|{rules}|---|
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
        cells = [value.what, f"{value.value:.5g} {value.unit}"]
        for model in MODELS:
            result = compared(value, model)
            number = "" if isnan(result.number) else f"{result.number:.5g}"
            cells += [number, deviation_text(value, result), band_text(value, model), result.verdict]
        lines.append("| " + " | ".join([*cells, value.source]) + " |\n")
    return "".join(lines)


def main(path: str) -> None:
    """Write the page to path."""
    with open(path, "w", encoding="utf-8") as file:
        file.write(page())


if __name__ == "__main__":
    main(sys.argv[1])
