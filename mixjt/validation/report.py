"""Writes the validation page: python -m mixjt.validation.report docs/validation.md"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from math import isnan

from mixjt.fluid.pair_sets import pair_set, set_names
from mixjt.validation.measures import measured
from mixjt.validation.series import BAND_PERCENT, DEFAULT_PAIRS, summaries
from mixjt.validation.values import VALUES, OutsideValue
from mixjt.whole import write_whole

HEAD = """# Validation

Made by `python -m mixjt.validation.report docs/validation.md`; the tests check the same tables.

## Single values

Each line compares a value from outside the project with the property model. The band is the deviation we
vouch for, and what lies beyond it "misses".

| what | outside value | model | deviation | band | verdict | source |
|---|---|---|---|---|---|---|
"""
SERIES = """
## Every measured series, with every set of pair parameters

Bubble pressures of two gases at measured temperature and liquid composition, with the default parameters and
with every set that changes the pair (below). Deviation: calculated less measured. "Fitted" marks the papers
to which we fitted the parameters ourselves: those lines show how well a fit holds what it was given, and are
no predictions. Published parameters may have been fitted to the same data by their authors. A miss is a point
more than {band:g} % off; "unsolved" counts points without bubble point in the model, all close to the
mixture's critical pressure. Points of pure gases and points marked as suspect are left out. Measured
pressures as the open [ThermoML](https://trc.nist.gov/ThermoML) archive of NIST gives them, whose help is
acknowledged; figures by `python -m mixjt.validation.series FOLDER`.

| gases | source | K | points | set | fitted | mean deviation | mean size | largest | misses | unsolved |
|---|---|---|---|---|---|---|---|---|---|---|
"""
READING = """
Where it misses:

- Methane + n-pentane at 313 K: up to 20 % low from 10 % of methane, with EOS-LNG's parameters and with
  GERG-2008's alike; at 173 to 243 K both hold but for one point of nearly pure methane.
- Methane + ethane at 93 K: the paper's pressures of 2 to 11 kPa are rounded to 1 kPa, and lie below the
  model's.
- Trifluoromethane + ethane at 174 to 184 K: no parameters of this form meet the dilute liquids at both ends.
- The eutectic of methane + ethane: gamma_T of the pair would have to be 0.8 % higher, which puts measured
  bubble pressures 3 % too low on average (the set methane-ethane-eutectic); the two measurements can't both
  be met this way.
- Isobutane + n-butane: two points stray from their neighbours in the same series.
- Nitrogen + n-pentane: all of it above 344 K and most above 60 bar, outside of what this tool is for.
- That methane + n-butane holds to 0.3 % at 203 to 273 K says nothing about the cold: below 203 K no measured
  series of methane with a butane is held here, and at 150 K the sets lie 20 to 35 % apart where methane is
  dilute.
- Not measured anywhere open, as far as we know: nitrogen with propane and the butanes, the pairs of ethylene
  and of isopentane. The sets that shift these are held by no data.
"""
SETS = """
## The sets

What differs between plausible parameters is what a cooling figure is uncertain by. Each set changes some
pairs and leaves all others at the default.

| set | what it changes, and why | against measurements |
|---|---|---|
"""


@dataclass(frozen=True)
class OutsideCheck:
    """The model against one outside value: its number, the deviation and the verdict."""

    number: float
    deviation: float
    verdict: str


def compared(value: OutsideValue) -> OutsideCheck:
    """Compare the model with an outside value."""
    number = measured(value)
    if isnan(number):
        return OutsideCheck(number, number, "no answer")
    deviation = number - value.value if value.absolute else number / value.value - 1.0
    return OutsideCheck(number, deviation, "holds" if abs(deviation) <= value.band else "misses")


def deviation_text(value: OutsideValue, comparison: OutsideCheck) -> str:
    """The deviation with its unit."""
    if isnan(comparison.deviation):
        return ""
    if value.absolute:
        return f"{comparison.deviation:+.2g} {value.unit}"
    return f"{100.0 * comparison.deviation:+.1f} %"


def page() -> str:
    """The page as Markdown."""
    lines = [HEAD]
    for value in VALUES:
        result = compared(value)
        number = "" if isnan(result.number) else f"{result.number:.5g}"
        band = f"{value.band:g} {value.unit}" if value.absolute else f"{100.0 * value.band:g} %"
        cells = [value.what, f"{value.value:.5g} {value.unit}", number, deviation_text(value, result), band]
        lines.append(_row([*cells, result.verdict, value.source]))
    return "".join([*lines, series_text(), READING, sets_text()])


def series_text() -> str:
    """The table of measured series."""
    lines = [SERIES.format(band=BAND_PERCENT)]
    for row in summaries():
        low, high = row["temperature_K"]
        head = [" + ".join(row["gases"]), row["doi"], f"{low:.0f} to {high:.0f}", str(row["points"])]
        for found in row["results"]:
            sizes = [f"{found['bias_percent']:+.1f} %", f"{found['mean_percent']:.1f} %"]
            sizes.append(f"{found['largest_percent']:+.1f} %")
            counts = str(found["misses"]), str(found["unsolved"])
            lines.append(_row([*head, found["set"], "yes" if found["fitted"] else "no", *sizes, *counts]))
    return "".join(lines)


def sets_text() -> str:
    """The table of pair sets."""
    known = [pair_set(name) for name in set_names()]
    start = _row(
        [
            DEFAULT_PAIRS,
            "what `mixjt.fluid.flash.coefficients.pair` gives; sources in equations.json",
            "see above",
        ]
    )
    return SETS + start + "".join(_row([each.name, each.text, each.measured]) for each in known)


def _row(cells) -> str:
    return "| " + " | ".join(cells) + " |\n"


def main(path: str) -> None:
    """Write the page to path, whole or not at all."""
    write_whole(path, page())


if __name__ == "__main__":
    main(sys.argv[1])
