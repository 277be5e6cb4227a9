"""Search overview: what each further bottle buys, and what the best blends are made of."""

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
from mixjt.gases.catalogue import gas_names
from mixjt.plots.style import (
    BLACK,
    GAS_BARS,
    LABEL_BOX,
    LEVEL,
    PLAIN_BAR,
    SMALLEST_FONT,
    WHISKER,
    add_legend,
    halo,
    new_figure,
    print_style,
    whisker_lengths,
)
from mixjt.plots.titles import percent_text, pressure_pair, set_title, text_width
from mixjt.studies.band import Band, percent
from mixjt.studies.search.search_request import (
    COOLING_PER_CONDUCTANCE,
    COOLING_POWER,
    COP,
    POWER_AT_LOAD,
    aim,
)
from mixjt.studies.search.search_result import SearchResult, objective_value

Bands = Sequence[Band | None]
LABELS = {  # of the axis, by objective
    COOLING_POWER: "Cooling power (W)",
    COP: "COP (W/W)",
    COOLING_PER_CONDUCTANCE: "Cooling per recuperator UA (W per W/K)",
    POWER_AT_LOAD: "Electrical power at the load (W)",
}
BANDED = (COOLING_POWER, COP)  # what is known as well as the cooling
ROW_HEIGHT = 0.44  # inches for one bar
LEAST_ROWS = 3  # room for the axis label even beside a single bar


def plot_best_by_count(axes: Axes, found: SearchResult, bands: Bands = (), load: float | None = None) -> Axes:
    """Best value with at most so many bottles, and below each bar the bottles that came and went.

    Parameters
    ----------
    axes : Axes
        Where to draw; its legend is left to the caller.
    found : SearchResult
    bands : sequence of Band or None
        How well the cooling of each candidate is known; whiskers show it at the bars that are candidates.
    load : float, optional
        [W]; drawn as a line where cooling power is compared.

    Returns
    -------
    Axes
        The same axes.
    """
    counts = sorted(found.best_by_count)
    values = [objective_value(found.objective, found.best_by_count[count]) for count in counts]
    rows = np.arange(len(counts)) - 0.18
    lengths = whisker_lengths(values, [_band_of(found, bands, count) for count in counts])
    axes.barh(rows, values, height=0.44, facecolor=PLAIN_BAR, edgecolor=BLACK, linewidth=0.7)
    known = [k for k, length in enumerate(lengths[1]) if length > 0.0]
    if known:
        axes.errorbar(np.take(values, known), rows[known], xerr=np.take(lengths, known, axis=1), **WHISKER,
                      label="how well the cooling is known, where looked at")
    ends = np.add(values, lengths[1])
    for row, end, text in zip(rows, ends, value_texts(values), strict=True):
        axes.annotate(text, (end, row), xytext=(5, 0), textcoords="offset points", va="center", fontsize=SMALLEST_FONT)
    for row, change in zip(rows, _changes(found.amounts_by_count), strict=True):
        axes.annotate(change, (0.0, row + 0.44), xycoords=("axes fraction", "data"), xytext=(5, 0),
                      textcoords="offset points", va="center", fontsize=SMALLEST_FONT, path_effects=halo())
    shown = [*values, *ends]
    if load is not None and found.objective == COOLING_POWER:
        axes.axvline(load, **LEVEL, label=f"load, {load:.3g} W")
        shown.append(load)
    axes.set_yticks(rows, [str(count) for count in counts])
    axes.set(xlabel=LABELS[found.objective], ylabel="Bottles, at most", ylim=(max(len(counts), LEAST_ROWS) - 0.5, -0.5))
    axes.set_xlim(left=min(0.0, 1.15 * min(shown)), right=max(0.0, 1.12 * max(shown)))
    axes.grid(visible=False, axis="y")
    return axes


def plot_compositions(axes: Axes, candidates: Sequence[CircuitResult], labels: Sequence[str]) -> Axes:
    """Composition of each candidate as a stacked bar, best at the top; every gas has its own look.

    Parameters
    ----------
    axes : Axes
        Where to draw, already in its place; its legend is left to the caller.
    candidates : sequence of CircuitResult
        Best first.
    labels : sequence of str
        What stands beside each bar.

    Returns
    -------
    Axes
        The same axes.
    """
    gases = gas_order(candidates)
    fractions = np.array([_fractions(candidate, gases) for candidate in candidates])
    lefts = np.cumsum(fractions, axis=1) - fractions
    stacks = [axes.barh(range(len(candidates)), 100.0 * fractions[:, column], left=100.0 * lefts[:, column],
                        height=0.74, label=gas, **GAS_BARS[gas])
              for column, gas in enumerate(gases)]
    axes.set_yticks(range(len(candidates)), labels)
    axes.set(xlabel="Composition (mole %)", xlim=(0.0, 100.0), ylim=(len(candidates) - 0.5, -0.5))
    axes.grid(visible=False)
    axes.figure.canvas.figure.draw_without_rendering()  # settles the width on which the labels depend
    for column, gas in enumerate(gases):
        _label_segments(axes, gas, stacks[column], fractions[:, column])
    return axes


@print_style()
def search_figure(found: SearchResult, bands: Bands = (), load: float | None = None, rows: int = 8) -> Figure:
    """Titled overview of a search: best value by number of bottles above, compositions of the best below.

    Parameters
    ----------
    found : SearchResult
    bands, load :
        As `plot_best_by_count`.
    rows : int
        Greatest number of candidates shown.

    Raises
    ------
    InputError
        If there is no candidate.
    """
    if not found.candidates:
        raise InputError("there is no candidate to plot")
    shown = found.candidates[:rows]
    rows_each = (max(len(found.best_by_count), LEAST_ROWS), len(shown))
    figure = new_figure()
    upper, lower = figure.subplots(2, 1, height_ratios=[ROW_HEIGHT * count for count in rows_each])
    plot_best_by_count(upper, found, bands, load)
    upper.set_title("Best blend of at most so many bottles, and which bottles changed", loc="left")
    lower.set_title("Best blends of all, by gas", loc="left")
    plot_compositions(lower, shown, _row_labels(found, bands, rows))
    legend = add_legend(figure)
    title = set_title(figure, f"Search for the {aim(found.objective)}", _search_text(shown))
    figure.set_figheight(ROW_HEIGHT * sum(rows_each) + _surroundings(title, legend))
    return figure


def gas_order(candidates: Sequence[CircuitResult]) -> tuple[str, ...]:
    """All gases that any candidate holds, in the order of the catalogue: lightest boiling first."""
    present = {gas for candidate in candidates
               for gas, x in zip(candidate.gases, candidate.composition, strict=True) if x > 0.0}
    return tuple(gas for gas in gas_names() if gas in present)


def _band_of(found: SearchResult, bands: Bands, count: int) -> Band | None:
    """The band of the best blend for a number of bottles, where it is one of the candidates."""
    if found.objective not in BANDED:
        return None
    for amounts, band in zip(found.amounts, bands, strict=False):
        if amounts == found.amounts_by_count[count]:
            return band
    return None


def _fractions(candidate: CircuitResult, gases: Sequence[str]) -> list[float]:
    own = dict(zip(candidate.gases, candidate.composition, strict=True))
    return [float(own.get(gas, 0.0)) for gas in gases]


def value_texts(values: Sequence[float]) -> list[str]:
    """Values with equal decimals, the greatest having three digits."""
    greatest = max(abs(value) for value in values)
    decimals = max(0, 2 - floor(log10(greatest))) if greatest > 0.0 else 0
    return [f"{value:.{decimals}f}" for value in values]


def _changes(amounts_by_count: Mapping[int, Mapping[str, float]]) -> list[str]:
    """The bottles of the smallest blend, then what each larger one adds and drops."""
    texts, before = [], ()
    for count in sorted(amounts_by_count):
        now = tuple(bottle for bottle, x in amounts_by_count[count].items() if x > 0.0)
        sign = "+ " if before else ""
        added = [f"{sign}{bottle}" for bottle in now if bottle not in before]
        dropped = [f"\u2212 {bottle}" for bottle in before if bottle not in now]
        texts.append(shorten(", ".join(added + dropped), 80, placeholder=" ...") or "no better with one more")
        before = now
    return texts


def _row_labels(found: SearchResult, bands: Bands, rows: int) -> list[str]:
    """Rank and value of each candidate, how well it is known, and its pressures where they are not common to all."""
    candidates = found.candidates[:rows]
    label = LABELS[found.objective]
    unit = label[label.rindex("(") + 1:-1]
    values = value_texts([objective_value(found.objective, candidate) for candidate in candidates])
    labels = [f"{rank}:  {value} {unit}" for rank, value in enumerate(values, 1)]
    if found.objective in BANDED:
        bands = [*bands, *[None] * (len(labels) - len(bands))]
        labels = [text if band is None else f"{text} \u00b1 {percent(band.fraction)}"
                  for text, band in zip(labels, bands, strict=False)]
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
