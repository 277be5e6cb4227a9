"""Roads to one load: electrical power and capacity against cold temperature."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.circuit.solve import PLAIN, PRECOOLED, SEPARATOR
from mixjt.constants import ZERO_CELSIUS
from mixjt.errors import InputError
from mixjt.plots.style import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    KNOWN,
    LEVEL,
    ORANGE,
    PURPLE,
    SKY_BLUE,
    VERMILLION,
    add_legend,
    logarithmic,
    new_figure,
    print_style,
    whisker,
)
from mixjt.plots.titles import set_title
from mixjt.studies.compare.comparison import Carried, Comparison, Road

# Every road has its own dash and marker besides its colour.
STYLES = {
    PLAIN: {"color": BLACK, "linestyle": "-", "marker": "o"},
    PRECOOLED: {"color": BLUE, "linestyle": (0, (6, 2)), "marker": "s"},
    SEPARATOR: {"color": GREEN, "linestyle": (0, (1, 1)), "marker": "^"},
    "cascade-1": {"color": ORANGE, "linestyle": (0, (3, 1)), "marker": "v"},
    "cascade-2": {"color": VERMILLION, "linestyle": (0, (5, 1.5, 1, 1.5)), "marker": "D"},
    "cascade-3": {"color": PURPLE, "linestyle": (0, (8, 2, 1, 2, 1, 2)), "marker": "x"},
    "cascade-4": {"color": SKY_BLUE, "linestyle": (0, (2, 3)), "marker": "+"},
}
CROSSING = {"color": GREY, "linestyle": "-", "linewidth": 1.0}
COLD_END = {"color": GREY, "linestyle": (0, (4, 4)), "linewidth": 1.0, "zorder": 1}


def plot_compared_power(axes: Axes, found: Comparison) -> Axes:
    """Electrical power that carries the load against cold temperature; cold end and crossings marked.

    Parameters
    ----------
    axes : Axes
        Where to draw; its legend is left to the caller.
    found : Comparison

    Returns
    -------
    Axes
        The same axes.
    """
    _lines(axes, found, lambda one: one.power)
    crossing = found.crossing
    for number, (temperature, ends, joined) in enumerate(
        zip(crossing.temperatures, crossing.between, crossing.joined, strict=True)
    ):
        label = "blend and cascade take the same power" if number == 0 else None
        if not joined:
            axes.axvspan(*ends, **KNOWN, label=label)
            continue
        axes.axvline(temperature, **CROSSING, label=label)
        axes.annotate(f"{temperature:.0f} K", (temperature, 1.0), xycoords=("data", "axes fraction"), xytext=(3, -3),
                      textcoords="offset points", va="top")
    logarithmic(axes, "y")
    axes.set_ylabel("Electrical power (W)")
    axes.set_title("Power that carries the load", loc="left")
    return axes


def plot_compared_capacity(axes: Axes, found: Comparison) -> Axes:
    """Cooling power with one compressor of the case in every stage against cold temperature; the load as a level."""
    _lines(axes, found, lambda one: one.own_capacity if one.own_capacity > 0.0 else float("nan"))
    axes.axhline(found.load, **LEVEL, label=f"load, {found.load:.3g} W")
    logarithmic(axes, "y")
    axes.set_ylabel("Cooling power (W)")
    axes.set_title("Cooling with the case's compressor in every stage", loc="left")
    return axes


@print_style()
def compare_figure(found: Comparison) -> Figure:
    """Titled figure: power above, capacity below.

    Raises
    ------
    InputError
        Where no road has a load line.
    """
    if not any(road.line for road in found.roads):
        raise InputError("no road carries the load at any temperature: there is nothing to plot")
    figure = new_figure(height=7.8)
    upper, lower = figure.subplots(2, 1, sharex=True)
    plot_compared_power(upper, found)
    plot_compared_capacity(lower, found)
    lower.set_xlabel("Cold temperature (K)")
    add_legend(figure)
    cold = f"{found.cold_temperature:.4g} K ({found.cold_temperature - ZERO_CELSIUS:.0f} °C)"
    set_title(figure, "Roads to the load, and around it",
              f"{found.load:.3g} W at {cold}, ambient {found.ambient_temperature:.4g} K; points are joined only where "
              "bottles or fluids stay the same; the legend tells from where the load is carried, where colder was tried")
    return figure


def _lines(axes: Axes, found: Comparison, value) -> None:
    """A line a road; whiskers tell how well a blend's value is known at the cold end of the case."""
    for road in found.roads:
        for number, piece in enumerate(_pieces(road)):
            axes.plot([one.temperature for one in piece], [value(one) for one in piece], linewidth=1.6, markersize=4,
                      label=_label(found, road) if number == 0 else None, **STYLES[road.name])
        if road.carried is not None:
            whisker(axes, found.cold_temperature, value(road.carried), road.band, "how well a blend's is known",
                    color=STYLES[road.name]["color"])  # fmt: skip
    axes.axvline(found.cold_temperature, **COLD_END, label=f"cold end of the case, {found.cold_temperature:.4g} K")


def _label(found: Comparison, road: Road) -> str:
    """The road, and between which temperatures it carries the load where others were tried in vain."""
    ends = road.line[0].temperature, road.line[-1].temperature
    tried = [temperature for name, temperature, _ in found.lost if name == road.name]
    low = [f"from {ends[0]:.0f} K"] if any(one < ends[0] for one in tried) else []
    high = [f"up to {ends[1]:.0f} K"] if any(one > ends[1] for one in tried) else []
    return " ".join([road.label, *low, *high])


def _pieces(road: Road) -> list[list[Carried]]:
    """The stretches of a load line, coldest first, along which the fluids stay the same."""
    pieces: list[list[Carried]] = []
    for before, one in zip((None, *road.line), road.line):
        if before is not None and before.fluids == one.fluids:
            pieces[-1].append(one)
        else:
            pieces.append([one])
    return pieces
