"""Sensitivity: tornado of single changes, histograms of weighing errors."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.circuit.result import CircuitResult
from mixjt.errors import InputError
from mixjt.plots.style import (
    BLACK,
    BLUE,
    LEVEL,
    ORANGE,
    PLAIN_BAR,
    SKY_BLUE,
    add_legend,
    new_figure,
    print_style,
)
from mixjt.plots.titles import circuit_text, set_title
from mixjt.studies.band import Band, percent
from mixjt.studies.sensitivity import UNIT_SCALE, Effect, Sensitivity
from mixjt.studies.weighing import PERCENTILES, Weighing

MORE = {"facecolor": SKY_BLUE, "hatch": "", "edgecolor": BLACK, "linewidth": 0.7, "label": "more of it"}
LESS = {"facecolor": ORANGE, "hatch": "///", "edgecolor": BLACK, "linewidth": 0.7, "label": "less of it"}
DASHES = ((0, (5, 2)), "-", (0, (2, 2)))  # of the lower percentile, the median and the higher one
THICK, THIN = 0.74, 0.40  # heights of the first bar of an input and of those of smaller changes
ROW_HEIGHT = 0.30  # inches
BINS = 30


def plot_tornado(axes: Axes, effects: Sequence[Effect], value_of: Callable[[Effect], float | None], label: str) -> Axes:
    """One row an input, the greatest effect at the top, a bar for each change; smaller changes are thinner.

    value_of gives an effect's length, None where there is none: then a cross stands at the axis. The axes' legend is
    left to the caller; the same axes are returned.
    """
    sizes: dict[str, float] = {}
    for effect in effects:
        size = abs(value_of(effect) or 0.0)
        sizes[effect.change.input] = max(sizes.get(effect.change.input, 0.0), size)
    names = sorted(sizes, key=lambda name: sizes[name], reverse=True)
    for row, name in enumerate(names):
        own = [effect for effect in effects if effect.change.input == name]
        largest = max(abs(effect.change.amount) for effect in own)
        for effect in sorted(own, key=lambda one: -abs(one.change.amount)):
            value = value_of(effect)
            style = LESS if effect.change.amount < 0.0 else MORE
            if value is None:
                axes.plot([0.0], [row], marker="x", color=BLACK, markersize=6, linestyle="none", zorder=3,
                          label="no answer (see the table)")  # fmt: skip
                continue
            height = THICK if abs(effect.change.amount) == largest else THIN
            axes.barh(row, value, height=height, **style)
    axes.axvline(0.0, color=BLACK, linewidth=0.9)
    axes.set_yticks(range(len(names)), [f"{name} {_size_text(effects, name)}" for name in names])
    axes.set(xlabel=label, ylim=(len(names) - 0.4, -0.6))
    axes.margins(x=0.06)
    axes.grid(visible=False, axis="y")
    return axes


@print_style()
def tornado_figure(found: Sensitivity, band: Band | None = None) -> Figure:
    """Titled figure of one or two tornados: cooling power and, where it was sought, lowest temperature.

    The band, which all changes share, is told and not drawn: as a rule it is far wider than they are.

    Raises
    ------
    InputError
        If there is no effect to plot.
    """
    if not found.effects:
        raise InputError("there is no effect to plot")
    with_reach = found.reach is not None and found.reach.temperature is not None
    panels = 2 if with_reach else 1
    figure = new_figure(height=1.9 + panels * (0.75 + ROW_HEIGHT * len(found.inputs)))
    (upper, *lower) = np.atleast_1d(figure.subplots(panels, 1))
    plot_tornado(upper, found.effects, lambda effect: effect.power_change, "Change of cooling power (W)")
    known = "" if band is None else f", known to about {percent(band.fraction)}"
    upper.set_title(f"Cooling power, {found.base.cooling_power:.4g} W unchanged{known}", loc="left")
    if with_reach:
        plot_tornado(lower[0], found.effects, lambda effect: effect.lowest_change, "Change of lowest temperature (K)")
        title = f"Lowest temperature for {found.reach.load:.3g} W, {found.reach.temperature:.1f} K unchanged"
        lower[0].set_title(title, loc="left")
    add_legend(figure)
    frozen = with_reach and found.reach.frozen
    note = [f"the lowest temperature counts no freezing; {found.reach.solution.freezing_gas} freezes before"] if frozen else []
    several = len({(effect.change.input, abs(effect.change.amount)) for effect in found.effects}) > len(found.inputs)
    heading = "Sensitivity: what each input moves" + ("; thinner bars: the smaller change" if several else "")
    set_title(figure, heading, *circuit_text(found.base), *note)
    return figure


def plot_histogram(axes: Axes, values: np.ndarray, percentiles, target: float | None, label: str) -> Axes:
    """Histogram of the finite values (n,) with lines at the 5th, 50th and 95th percentile, and the target marked."""
    known = values[np.isfinite(values)]
    axes.hist(known, bins=BINS, facecolor=PLAIN_BAR, edgecolor=BLACK, linewidth=0.6)
    names = [f"{percentile:.0f}th percentile" for percentile in PERCENTILES]
    names[1] = "median"
    for value, name, dash in zip(percentiles, names, DASHES, strict=True):
        if np.isfinite(value):
            axes.axvline(value, color=BLUE, linestyle=dash, linewidth=1.8, label=name)
    if target is not None:
        axes.plot([target], [0.0], marker="^", color=BLACK, markersize=8, clip_on=False, linestyle="none", zorder=3,
                  label="the blend aimed at")  # fmt: skip
    axes.set(xlabel=label, ylabel="Number of charges")
    return axes


@print_style()
def weighing_figure(found: Weighing, base: CircuitResult) -> Figure:
    """Titled figure of one or two histograms: cooling power and, where it was sought, lowest temperature.

    Raises
    ------
    InputError
        If no draw was solved.
    """
    if found.power_percentiles is None:
        raise InputError("there is no draw to plot")
    with_lowest = bool(np.isfinite(found.lowest_temperature).any())
    figure = new_figure(height=5.6 if with_lowest else 3.4)
    (upper, *lower) = np.atleast_1d(figure.subplots(2 if with_lowest else 1, 1))
    power_label = f"Cooling power at {base.cold_temperature:.4g} K (W)"
    plot_histogram(upper, found.cooling_power, found.power_percentiles, found.target_power, power_label)
    if with_lowest:
        label = f"Lowest temperature for {found.load:.3g} W (K)"
        plot_histogram(lower[0], found.lowest_temperature, found.lowest_percentiles, found.target_lowest, label)
    left, right = upper.get_xlim()
    if found.load is not None and left <= found.load <= right:
        upper.axvline(found.load, **LEVEL, label=f"load, {found.load:.3g} W")
    add_legend(figure)
    heading = f"{len(found.amounts)} charges of {1e3 * found.request.charge:.3g} g with weighing errors"
    set_title(figure, heading, *circuit_text(base))
    return figure


def _size_text(effects: Sequence[Effect], name: str) -> str:
    """For instance "\u00b11, \u00b12 mol %"."""
    own = [effect.change for effect in effects if effect.change.input == name]
    sizes = sorted({round(UNIT_SCALE[change.unit] * abs(change.amount), 9) for change in own})
    return ", ".join(f"\u00b1{size:.3g}" for size in sizes) + f" {own[0].unit}"
