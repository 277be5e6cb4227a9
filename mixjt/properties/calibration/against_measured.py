"""Cubic sets and the reference model against measured bubble pressures."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from mixjt.errors import MixjtError
from mixjt.properties.calibration.bubble import bubble_pressures
from mixjt.properties.calibration.measured import read_measured
from mixjt.properties.calibration.pairs import is_unfitted
from mixjt.properties.calibration.write import NAME, PLAIN
from mixjt.properties.parameters import load_parameters
from mixjt.properties.reference import ReferenceModel

ABSURD = 0.3  # a deviation beyond this is no answer: critical points taken for bubble points, misprints
MOST_POINTS = 8  # a pair on which the reference model is asked; each takes about a tenth of a second


def measured_lines(folder: Path):
    """A table, line by line: mean deviation and bias of bubble pressure, in percent."""
    yield "\nbubble pressure against measurement, mean deviation (bias) in %; T [K], p [bar]"
    for both, data in read_measured(folder).items():
        x = np.column_stack([data.x, 1.0 - data.x])
        cells = []
        for name in (PLAIN, NAME):
            found = bubble_pressures(load_parameters(name, both), data.temperatures, x, data.pressures)
            cells.append(_summary(name, found / data.pressures - 1.0))
        cells.append(_summary("reference", reference_misses(both, data, x)))
        yield (
            f"{' + '.join(both):32s} {len(data.x):3d} points {data.temperatures.min():.0f}-"
            f"{data.temperatures.max():.0f} K {data.pressures.min() / 1e5:.1f}-"
            f"{data.pressures.max() / 1e5:.1f} bar: "
            + "; ".join(cells)
        )


def reference_misses(both, data, x):
    """Relative deviations of the reference model on an even choice of points; empty where it is estimated."""
    if is_unfitted(both):
        return np.array([])
    model = ReferenceModel(both, threads=1)
    chosen = np.unique(np.linspace(0, len(data.x) - 1, MOST_POINTS).astype(int))
    misses = []
    for k in chosen:
        try:
            misses.append(model.bubble_pressure(x[k], data.temperatures[k]) / data.pressures[k] - 1.0)
        except MixjtError:
            misses.append(np.nan)
    return np.array(misses)


def _summary(name, misses) -> str:
    good = 100.0 * misses[np.abs(misses) < ABSURD]
    if not good.size:
        return f"{name} -"
    lost = f", {misses.size - good.size} without" if good.size < misses.size else ""
    return f"{name} {np.mean(np.abs(good)):.1f} ({np.mean(good):+.1f}{lost})"
