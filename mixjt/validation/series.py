"""Every measured series against every pair set that touches its pair: python -m mixjt.validation.series FOLDER

FOLDER holds the measured points (see mixjt.fluid.measured), which are no part of this project; the
figures go into series.json, which the validation page prints.
"""

from __future__ import annotations

import json
import sys
from functools import cache
from importlib.resources import files
from pathlib import Path

import numpy as np

from mixjt.fluid.measured import Series, pressure_ratios, read_series
from mixjt.fluid.pair_sets import pair_function, sets_touching
from mixjt.whole import write_whole

TARGET = "series.json"
DEFAULT_PAIRS = "default"
BAND_PERCENT = 5.0  # of bubble pressure; more is a miss


def deviations(series: Series, name: str | None) -> np.ndarray:
    """Calculated less measured bubble pressure in per cent of the measured one, by a pair set or the default (None).

    NaN as in `pressure_ratios`.
    """
    return 100.0 * (pressure_ratios(series, pair_function(name)) - 1.0)


def figures(series: Series, name: str | None) -> dict:
    """Mean and largest deviation in per cent, and how many points lie beyond the band or have no answer."""
    found = deviations(series, name)
    sizes = np.abs(found[np.isfinite(found)])
    worst = found[np.nanargmax(np.abs(found))]
    return {
        "set": name or DEFAULT_PAIRS,
        "fitted": series.doi in pair_function(name)(*series.gases)["source"],
        "bias_percent": round(float(np.nanmean(found)), 2),
        "mean_percent": round(float(sizes.mean()), 2),
        "largest_percent": round(float(worst), 2),
        "misses": int(np.sum(sizes > BAND_PERCENT)),
        "unsolved": int(found.size - sizes.size),
    }


def summary(series: Series) -> dict:
    """What a series is, and its figures by the default and by every set that touches its pair."""
    names = [None, *(each.name for each in sets_touching(series.gases))]
    return {
        "gases": list(series.gases),
        "doi": series.doi,
        "points": int(series.pressure.size),
        "temperature_K": [float(series.temperature.min()), float(series.temperature.max())],
        "pressure_Pa": [float(series.pressure.min()), float(series.pressure.max())],
        "results": [figures(series, name) for name in names],
    }


@cache
def summaries() -> tuple[dict, ...]:
    """The figures of all series, as last computed."""
    text = files("mixjt.validation").joinpath(TARGET).read_text(encoding="utf-8")
    return tuple(json.loads(text)["series"])


def main(folder: str) -> None:
    """Write series.json beside this module, whole or not at all."""
    rows = ",\n".join(json.dumps(summary(series)) for series in read_series(folder))
    write_whole(Path(__file__).with_name(TARGET), f'{{"series": [\n{rows}\n]}}\n')


if __name__ == "__main__":
    main(sys.argv[1])
