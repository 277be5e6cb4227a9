"""Load line, settled pressures and power against the cold end's temperature, and the temperature over time."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.plots.style import (
    BLACK,
    DIFFERENCE,
    HIGH_SIDE,
    LOW_SIDE,
    MARK,
    POWER,
    add_legend,
    new_figure,
    print_style,
)
from mixjt.plots.titles import blend_text, set_title
from mixjt.studies.cooldown import Cooldown

NET = {"color": BLACK, "linestyle": (0, (1, 1.5)), "linewidth": 1.6}
SETTLED = {"marker": ".", "markersize": 5}  # the states between which a line is drawn


def plot_load_line(axes: Axes, found: Cooldown) -> Axes:
    """Cooling power and what leak and load leave of it, against the cold end's temperature."""
    _over_cold_end(axes, found, lambda state: state.cooling_power, DIFFERENCE, "cooling power")
    temperatures = [state.cold_temperature for state in found.states]
    axes.plot(temperatures, found.net_power, **NET, **SETTLED, label="less leak and load")
    axes.axhline(0.0, color=BLACK, linewidth=0.8)
    if found.lowest_temperature is not None:
        label = f"lowest, {found.lowest_temperature:.4g} K"
        axes.plot([found.lowest_temperature], [0.0], **MARK, label=label)
    axes.set(ylabel="Heat flow (W)")
    return axes


def plot_pressures(axes: Axes, found: Cooldown) -> Axes:
    """Settled pressures against the cold end's temperature."""
    _over_cold_end(axes, found, lambda state: state.discharge_pressure / 1e5, HIGH_SIDE, "discharge")
    _over_cold_end(axes, found, lambda state: state.suction_pressure / 1e5, LOW_SIDE, "suction")
    axes.set_ylim(bottom=0.0)
    axes.set(ylabel="Pressure (bar abs)")
    return axes


def plot_electrical(axes: Axes, found: Cooldown) -> Axes:
    """Electrical power against the cold end's temperature."""
    _over_cold_end(axes, found, lambda state: state.compression.electrical_power, POWER, "electrical power")
    axes.set_ylim(bottom=0.0)
    axes.set(xlabel="Temperature of the cold end (K)", ylabel="Electrical power (W)")
    return axes


def plot_way(axes: Axes, found: Cooldown) -> Axes:
    """Temperature of the cold end over time."""
    minutes, temperatures = np.asarray(found.times) / 60.0, found.temperatures
    axes.plot(minutes, temperatures, **DIFFERENCE, label="cold end")
    label = f"{temperatures[-1]:.4g} K after {minutes[-1]:.0f} min, {_last(found)}"
    axes.plot(minutes[-1:], temperatures[-1:], **MARK, label=label)
    axes.set(xlabel="Time (min)", ylabel="Temperature of the cold end (K)")
    axes.set_xlim(left=0.0)
    return axes


@print_style()
def load_line_figure(found: Cooldown, gases, composition) -> Figure:
    """Titled figure of load line, pressures and electrical power."""
    figure = new_figure(height=7.6)
    panels = figure.subplots(3, 1, sharex=True)
    for axes, draw in zip(panels, (plot_load_line, plot_pressures, plot_electrical), strict=True):
        draw(axes, found)
    add_legend(figure)
    set_title(figure, "Load line at settled pressures", blend_text(gases, np.asarray(composition)), *_ends(found))
    return figure


@print_style()
def cooldown_figure(found: Cooldown, gases, composition) -> Figure:
    """Titled figure of the temperature over time."""
    figure = new_figure()
    plot_way(figure.subplots(), found)
    add_legend(figure)
    set_title(figure, "Cool-down from ambient", blend_text(gases, np.asarray(composition)))
    return figure


def _over_cold_end(axes: Axes, found: Cooldown, value, style: dict, label: str) -> None:
    """A quantity of the settled states against the cold end's temperature."""
    temperatures = [state.cold_temperature for state in found.states]
    axes.plot(temperatures, [value(state) for state in found.states], **style, **SETTLED, label=label)


def _last(found: Cooldown) -> str:
    """What the cool-down ends with."""
    if found.time_to_target is not None:
        return "the target"
    return "where it hardly gains any more" if found.lowest_temperature is not None else "the coldest state that settles"


def _ends(found: Cooldown) -> list[str]:
    """Why the lines end where they do, or have gaps."""
    if found.interrupted:
        return ["the lines end where they were interrupted"]
    ends = [] if found.lowest_temperature is None else ["they end where leak and load take all the cooling"]
    missing = [f"not settled with the {found.lost[0]}"] if found.lost else []
    text = "; ".join(ends + missing) or "they end at the coldest state asked for"
    return [f"points: settled states; {text}"]
