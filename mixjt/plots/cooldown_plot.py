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
    add_legend,
    new_figure,
    print_style,
)
from mixjt.plots.titles import blend_text, set_title
from mixjt.studies.cooldown import Cooldown

NET = {"color": BLACK, "linestyle": (0, (1, 1.5)), "linewidth": 1.6}
POWER = {"color": BLACK, "linestyle": (0, (5, 1.5, 1, 1.5)), "linewidth": 1.6}


def plot_load_line(axes: Axes, found: Cooldown) -> Axes:
    """Cooling power and what leak and load leave of it, against the cold end's temperature."""
    temperatures = [state.cold_temperature for state in found.states]
    axes.plot(temperatures, [state.cooling_power for state in found.states], **DIFFERENCE, label="cooling power")
    axes.plot(temperatures, found.net_power, **NET, label="less leak and load")
    axes.axhline(0.0, color=BLACK, linewidth=0.8)
    if found.lowest_temperature is not None:
        label = f"lowest, {found.lowest_temperature:.4g} K"
        axes.plot([found.lowest_temperature], [0.0], **MARK, label=label)
    axes.set(ylabel="Power (W)")
    return axes


def plot_pressures(axes: Axes, found: Cooldown) -> Axes:
    """Settled pressures against the cold end's temperature."""
    temperatures = [state.cold_temperature for state in found.states]
    high = [state.discharge_pressure / 1e5 for state in found.states]
    low = [state.suction_pressure / 1e5 for state in found.states]
    axes.plot(temperatures, high, **HIGH_SIDE, label="discharge")
    axes.plot(temperatures, low, **LOW_SIDE, label="suction")
    axes.set_ylim(bottom=0.0)
    axes.set(ylabel="Pressure (bar abs)")
    return axes


def plot_electrical(axes: Axes, found: Cooldown) -> Axes:
    """Electrical power against the cold end's temperature."""
    temperatures = [state.cold_temperature for state in found.states]
    power = [state.compression.electrical_power for state in found.states]
    axes.plot(temperatures, power, **POWER, label="electrical power")
    axes.set_ylim(bottom=0.0)
    axes.set(xlabel="Temperature of the cold end (K)", ylabel="Power (W)")
    return axes


def plot_way(axes: Axes, found: Cooldown) -> Axes:
    """Temperature of the cold end over time."""
    axes.plot(np.asarray(found.times) / 60.0, found.temperatures, **DIFFERENCE)
    axes.set(xlabel="Time (min)", ylabel="Cold end (K)")
    return axes


@print_style()
def load_line_figure(found: Cooldown, gases, composition) -> Figure:
    """Titled figure of load line, pressures and electrical power."""
    figure = new_figure(height=7.6)
    panels = figure.subplots(3, 1, sharex=True)
    for axes, draw in zip(panels, (plot_load_line, plot_pressures, plot_electrical), strict=True):
        draw(axes, found)
    add_legend(figure)
    set_title(figure, "Load line of the fixed machine", blend_text(gases, np.asarray(composition)))
    return figure


@print_style()
def cooldown_figure(found: Cooldown, gases, composition) -> Figure:
    """Titled figure of the temperature over time."""
    figure = new_figure()
    plot_way(figure.subplots(), found)
    set_title(figure, "Cool-down from ambient", blend_text(gases, np.asarray(composition)))
    return figure
