"""Cooling of the best blends against the size of the recuperator."""

from __future__ import annotations

import math
from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.errors import InputError
from mixjt.plots.style import BLACK, BLUE, LEVEL, VERMILLION, add_legend, fit_height, new_figure
from mixjt.plots.titles import blend_text, pressure_pair, set_title
from mixjt.studies.search.search_result import SearchResult
from mixjt.studies.size_study import SizePoint

LINES = (  # of the blends, best first
    {"color": BLACK, "linestyle": "-", "marker": "o"},
    {"color": VERMILLION, "linestyle": (0, (6, 2)), "marker": "s"},
    {"color": BLUE, "linestyle": (0, (5, 1.5, 1, 1.5)), "marker": "^"},
)


def plot_cooling_by_size(axes: Axes, sizes: Sequence[SizePoint], load: float | None = None) -> Axes:
    """Cooling power against conductance, a line a blend, and the load [W] as a level; blends that do not cool have no point."""
    for number in sorted({point.number for point in sizes}):
        points = [point for point in sizes if point.number == number]
        cooling = [math.nan if point.cooling_power is None else point.cooling_power for point in points]
        style = LINES[(number - 1) % len(LINES)]
        axes.plot([point.conductance for point in points], cooling, markersize=5, linewidth=1.6, label=f"blend {number}", **style)
    if load is not None:
        axes.axhline(load, **LEVEL, label=f"load, {load:.4g} W")
    fit_height(axes, [point.cooling_power for point in sizes if point.cooling_power is not None])
    axes.set(xlabel="Conductance UA of the recuperator (W/K)", ylabel="Cooling power (W)")
    return axes


def size_figure(found: SearchResult, sizes: Sequence[SizePoint], load: float | None = None) -> Figure:
    """Titled figure of that, with metres of the tubes along the top where they are known.

    Raises
    ------
    InputError
        If there is no blend.
    """
    if not found.candidates:
        raise InputError("there is no candidate to plot")
    figure, best = new_figure(), found.candidates[0]
    axes = plot_cooling_by_size(figure.subplots(), sizes, load)
    known = [point for point in sizes if point.number == 1 and point.length is not None]
    if known:
        top = axes.secondary_xaxis("top")
        top.set_xticks([point.conductance for point in known], [f"{point.length:.3g}" for point in known])
        top.set_xlabel("Length of its tubes for blend 1 (m)")
    add_legend(figure)
    made_of = f"Blend 1: {blend_text(best.gases, best.composition)}"
    set_title(figure, "What a larger recuperator buys", pressure_pair(best), made_of)
    return figure
