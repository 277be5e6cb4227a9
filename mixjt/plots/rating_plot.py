"""A rated compressor on a blend: flow and power against suction pressure, a line a discharge pressure."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.plots.style import (
    BLACK,
    BLUE,
    GREEN,
    MARK,
    PURPLE,
    VERMILLION,
    add_legend,
    new_figure,
    print_style,
)
from mixjt.plots.titles import pressure_text, set_title
from mixjt.studies.label_study import MapPoint

DASHES = ("-", (0, (6, 2)), (0, (1, 1)), (0, (5, 1.5, 1, 1.5)), (0, (3, 1, 1, 1, 1, 1)))
COLOURS = (BLUE, VERMILLION, GREEN, PURPLE, BLACK)


def plot_map(axes: Axes, points: Sequence[MapPoint], value: Callable, label: str) -> Axes:
    """One quantity of the map against suction pressure; points beyond a limit get a cross.

    The legend is left to the caller; the same axes are returned.
    """
    working = [point for point in points if point.result is not None]
    for k, high in enumerate(sorted({point.discharge_pressure for point in working})):
        row = sorted((p for p in working if p.discharge_pressure == high), key=lambda p: p.suction_pressure)
        style = {"color": COLOURS[k % len(COLOURS)], "linestyle": DASHES[k % len(DASHES)], "linewidth": 1.8}
        axes.plot([p.suction_pressure / 1e5 for p in row], [value(p.result) for p in row], **style,
                  label=f"discharge {pressure_text(high)}")  # fmt: skip
    beyond = [p for p in working if p.exceeded]
    if beyond:
        mark = {**MARK, "marker": "x", "markersize": 6}
        axes.plot([p.suction_pressure / 1e5 for p in beyond], [value(p.result) for p in beyond], **mark,
                  label="beyond a limit")  # fmt: skip
    axes.set_ylabel(label)
    axes.set_ylim(bottom=0.0)
    return axes


@print_style()
def rating_figure(points: Sequence[MapPoint], heading: str, *about: str) -> Figure:
    """Titled figure of two panels: mass flow and electrical power."""
    figure = new_figure(height=5.8)
    upper, lower = figure.subplots(2, 1, sharex=True)
    plot_map(upper, points, lambda found: 1e3 * found.mass_flow, "Mass flow (g/s)")
    plot_map(lower, points, lambda found: found.electrical_power, "Electrical power (W)")
    lower.set_xlabel("Suction pressure (bar abs)")
    add_legend(figure)
    passed = list(dict.fromkeys(name for point in points for name in point.exceeded))
    said = [f"limits passed: {', '.join(passed)}"] if passed else []
    missing = [point.reason for point in points if point.result is None]
    said += [f"lines leave out where it does not work: {missing[0]}"] if missing else []
    set_title(figure, heading, *about, *said)
    return figure
