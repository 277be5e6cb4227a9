"""Search overview: what each further gas buys, and what the best blends are made of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import floor, log10
from textwrap import shorten

import numpy as np
from matplotlib.axes import Axes
from matplotlib.container import BarContainer
from matplotlib.figure import Figure
from matplotlib.legend import Legend
from matplotlib.text import Text

from mixjt.circuit.result import CircuitResult
from mixjt.errors import InputError
from mixjt.plots.style import (
    BAR_STYLES,
    BLACK,
    LABEL_BOX,
    SKY_BLUE,
    SMALLEST_FONT,
    add_legend,
    halo,
    new_figure,
    print_style,
)
from mixjt.plots.titles import percent_text, pressure_pair, set_title, text_width

# What may be compared, by the names that a case file uses: its axis label, and how it is read off a result.
QUANTITIES = {
    "cooling power": ("Cooling power (W)", lambda result: result.cooling_power),
    "cooling capacity": ("Cooling capacity (J/mol)", lambda result: result.cooling_capacity),
    "cop": ("COP (W/W)", lambda result: result.cop),
    "cooling per conductance": ("Cooling per recuperator UA (W per W/K)",
                                lambda result: result.cooling_capacity / result.pinch.conductance),
}
ROW_HEIGHT = 0.44  # inches for one bar
LEAST_ROWS = 3  # room for the axis label even beside a single bar


def plot_best_by_count(axes: Axes, best_by_count: Mapping[int, CircuitResult],
                       quantity: str = "cooling power") -> Axes:
    """Best value for each number of bottles, with what changed in the blend below each bar.

    Parameters
    ----------
    axes : Axes
        Where to draw.
    best_by_count : mapping of int to CircuitResult
        Number of bottles -> best blend with that number.
    quantity : str
        A key of QUANTITIES.

    Returns
    -------
    Axes
        The same axes.
    """
    label, value_of = _quantity(quantity)
    counts = sorted(best_by_count)
    values = [value_of(best_by_count[count]) for count in counts]
    rows = np.arange(len(counts))
    bars = axes.barh(rows - 0.18, values, height=0.44, facecolor=SKY_BLUE, edgecolor=BLACK, linewidth=0.7)
    axes.bar_label(bars, labels=value_texts(values), padding=4, fontsize=SMALLEST_FONT)
    for row, change in zip(rows, _changes(best_by_count), strict=True):
        axes.annotate(change, (0.0, row + 0.26), xycoords=("axes fraction", "data"), xytext=(5, 0),
                      textcoords="offset points", va="center", fontsize=SMALLEST_FONT, path_effects=halo())
    axes.set_yticks(rows - 0.18, [str(count) for count in counts])
    axes.set(xlabel=label, ylabel="Number of bottles", ylim=(max(len(counts), LEAST_ROWS) - 0.5, -0.5))
    axes.set_xlim(left=min(0.0, 1.15 * min(values)), right=max(0.0, 1.12 * max(values)))
    axes.grid(visible=False, axis="y")
    return axes


def plot_compositions(axes: Axes, candidates: Sequence[CircuitResult],
                      quantity: str = "cooling power") -> Axes:
    """Composition of each candidate as a stacked bar, best at the top.

    Parameters
    ----------
    axes : Axes
        Where to draw, already in its place; its legend is left to the caller.
    candidates : sequence of CircuitResult
        Best first.
    quantity : str
        A key of QUANTITIES, written beside each bar.

    Returns
    -------
    Axes
        The same axes.
    """
    gases = gas_order(candidates)
    fractions = np.array([_fractions(candidate, gases) for candidate in candidates])
    lefts = np.cumsum(fractions, axis=1) - fractions
    stacks = [axes.barh(range(len(candidates)), 100.0 * fractions[:, column], left=100.0 * lefts[:, column],
                        height=0.74, label=gas, **BAR_STYLES[column % len(BAR_STYLES)])
              for column, gas in enumerate(gases)]
    axes.set_yticks(range(len(candidates)), _row_labels(candidates, quantity))
    axes.set(xlabel="Composition (mole %)", xlim=(0.0, 100.0), ylim=(len(candidates) - 0.5, -0.5))
    axes.grid(visible=False)
    axes.figure.canvas.figure.draw_without_rendering()  # settles the width on which the labels depend
    for column, gas in enumerate(gases):
        _label_segments(axes, gas, stacks[column], fractions[:, column])
    return axes


@print_style()
def search_figure(candidates: Sequence[CircuitResult], best_by_count: Mapping[int, CircuitResult],
                  quantity: str = "cooling power", rows: int = 8) -> Figure:
    """Titled overview of a search: best value by number of bottles above, compositions of the best below.

    Parameters
    ----------
    candidates : sequence of CircuitResult
        Best first.
    best_by_count : mapping of int to CircuitResult
        Number of bottles -> best blend with that number.
    quantity : str
        A key of QUANTITIES.
    rows : int
        Greatest number of candidates shown.

    Raises
    ------
    InputError
        If there is no candidate, or no such quantity.
    """
    if not candidates or not best_by_count:
        raise InputError("there is no candidate to plot")
    shown = candidates[:rows]
    rows_each = (max(len(best_by_count), LEAST_ROWS), len(shown))
    figure = new_figure()
    upper, lower = figure.subplots(2, 1, height_ratios=[ROW_HEIGHT * count for count in rows_each])
    plot_best_by_count(upper, best_by_count, quantity)
    upper.set_title("Best blend by number of bottles, and what changed", loc="left")
    lower.set_title("Best blends of all", loc="left")
    plot_compositions(lower, shown, quantity)
    legend = add_legend(figure, handles=lower.containers)
    title = set_title(figure, "Search overview", _search_text(shown))
    figure.set_figheight(ROW_HEIGHT * sum(rows_each) + _surroundings(title, legend))
    return figure


def gas_order(candidates: Sequence[CircuitResult]) -> tuple[str, ...]:
    """All gases that any candidate holds, in the order in which the candidates list them."""
    listed = dict.fromkeys(gas for candidate in candidates for gas in candidate.gases)
    present = {gas for candidate in candidates
               for gas, x in zip(candidate.gases, candidate.composition, strict=True) if x > 0.0}
    return tuple(gas for gas in listed if gas in present)


def _quantity(quantity: str):
    if quantity not in QUANTITIES:
        raise InputError(f"cannot plot {quantity!r}; choose one of {', '.join(QUANTITIES)}")
    return QUANTITIES[quantity]


def _fractions(candidate: CircuitResult, gases: Sequence[str]) -> list[float]:
    own = dict(zip(candidate.gases, candidate.composition, strict=True))
    return [float(own.get(gas, 0.0)) for gas in gases]


def value_texts(values: Sequence[float]) -> list[str]:
    """Values with equal decimals, the greatest having three digits."""
    greatest = max(abs(value) for value in values)
    decimals = max(0, 2 - floor(log10(greatest))) if greatest > 0.0 else 0
    return [f"{value:.{decimals}f}" for value in values]


def _changes(best_by_count: Mapping[int, CircuitResult]) -> list[str]:
    """The gases of the smallest blend, then what each larger one adds and drops."""
    texts, before = [], ()
    for count in sorted(best_by_count):
        now = gas_order([best_by_count[count]])
        sign = "+ " if before else ""
        added = [f"{sign}{gas}" for gas in now if gas not in before]
        dropped = [f"\u2212 {gas}" for gas in before if gas not in now]
        texts.append(shorten(", ".join(added + dropped), 80, placeholder=" ..."))
        before = now
    return texts


def _row_labels(candidates: Sequence[CircuitResult], quantity: str) -> list[str]:
    """Rank and value of each candidate, and its pressures where they are not common to all."""
    label, value_of = _quantity(quantity)
    unit = label[label.rindex("(") + 1:-1]
    values = value_texts([value_of(candidate) for candidate in candidates])
    labels = [f"{rank}:  {value} {unit}" for rank, value in enumerate(values, 1)]
    if _common_pressures(candidates):
        return labels
    return [f"{text}\n{pressure_pair(candidate)}" for text, candidate in zip(labels, candidates, strict=True)]


def _common_pressures(candidates: Sequence[CircuitResult]) -> bool:
    return len({pressure_pair(candidate) for candidate in candidates}) == 1


def _search_text(candidates: Sequence[CircuitResult]) -> str:
    best = candidates[0]
    pressures = pressure_pair(best) if _common_pressures(candidates) else "pressures beside each blend"
    cold_end = f"cold end {best.cold_temperature:.4g} K"
    return f"Blends of {', '.join(gas_order(candidates))}; {pressures}, {cold_end}, {best.model} model"


def _surroundings(title: Text, legend: Legend) -> float:
    """Height in inches that title, legend, axis labels and panel titles take up."""
    return (title.get_window_extent().height + legend.get_window_extent().height) / title.figure.dpi + 2.0


def _label_segments(axes: Axes, gas: str, bars: BarContainer, fractions: np.ndarray) -> None:
    """Write gas and percentage into each segment, as much of them as fits."""
    for bar, fraction in zip(bars, fractions, strict=True):
        room = bar.get_window_extent().width - 0.4 * SMALLEST_FONT / 72.0 * axes.figure.dpi
        percentage = percent_text(fraction)
        for text in (f"{gas}\n{percentage}", percentage):
            if text_width(axes.figure, text, SMALLEST_FONT) <= room:
                axes.text(bar.get_x() + 0.5 * bar.get_width(), bar.get_y() + 0.5 * bar.get_height(), text,
                          ha="center", va="center", fontsize=SMALLEST_FONT, linespacing=1.0, bbox=LABEL_BOX)
                break
