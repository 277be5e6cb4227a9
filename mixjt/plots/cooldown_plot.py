"""The load line with its pressures and power against the cold end's temperature, and what a cool-down shows over time."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.parts.compressor.compression import Compressor, supply_current
from mixjt.parts.compressor.limits import known_limits
from mixjt.plots.style import (
    BLACK,
    DEW,
    DIFFERENCE,
    GREEN,
    HIGH_SIDE,
    LEVEL,
    LOW_SIDE,
    MARK,
    ORANGE,
    POWER,
    add_legend,
    new_figure,
    print_style,
)
from mixjt.plots.titles import blend_text, set_title
from mixjt.studies.cooldown import Cooldown

NET = {"color": BLACK, "linestyle": (0, (1, 1.5)), "linewidth": 1.6}
VALVE = {"color": ORANGE, "linestyle": "-", "linewidth": 2.0}
LINE = {"color": GREEN, "linestyle": (0, (6, 2)), "linewidth": 1.8}
OTHER_LEVEL = {**LEVEL, "linestyle": (0, (4, 1.5, 1, 1.5, 1, 1.5))}  # of two in one panel
SETTLED = {"marker": ".", "markersize": 5}  # the states between which a line is drawn


def plot_load_line(axes: Axes, found: Cooldown) -> Axes:
    """Cooling power and what the load leaves of it, against the cold end's temperature."""
    _over_cold_end(axes, found, lambda state: state.cooling_power, DIFFERENCE, "cooling power")
    temperatures = [state.cold_temperature for state in found.states]
    axes.plot(temperatures, found.net_power, **NET, **SETTLED, label="less the load")
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


def plot_temperatures(axes: Axes, found: Cooldown, compressor: Compressor) -> Axes:
    """Cold end and the recuperator's copper over time."""
    way, minutes = found.way, found.way.times / 60.0
    axes.plot(minutes, way.cold_temperatures, **DIFFERENCE, label="cold end")
    axes.plot(minutes, way.copper_temperatures, **DEW, label="recuperator's copper, mean")
    label = f"{way.cold_temperatures[-1]:.4g} K after {minutes[-1]:.0f} min, {_last(found)}"
    axes.plot(minutes[-1:], way.cold_temperatures[-1:], **MARK, label=label)
    axes.set(ylabel="Temperature (K)")
    return axes


def plot_pressures_over_time(axes: Axes, found: Cooldown, compressor: Compressor) -> Axes:
    """Both pressures over time, the suction's limit, and what the greatest pressure ratio makes of the discharge."""
    _over_time(axes, found, lambda state: state.discharge_pressure / 1e5, HIGH_SIDE, "discharge")
    suctions = _over_time(axes, found, lambda state: state.suction_pressure / 1e5, LOW_SIDE, "suction")
    limits = _limits(compressor)
    if "pressure_ratio" in limits:
        minutes = found.way.moment_times / 60.0
        ratio = limits["pressure_ratio"]
        style = {**OTHER_LEVEL, "color": HIGH_SIDE["color"]}
        axes.plot(minutes, ratio * suctions, **style, label=f"discharge at the limit of {ratio:.3g} to 1")
    _limit(axes, limits, "suction_pressure", 1e5, LOW_SIDE, "suction, limit")
    axes.set_ylim(bottom=0.0)
    axes.set(ylabel="Pressure (bar abs)")
    return axes


def plot_current(axes: Axes, found: Cooldown, compressor: Compressor) -> Axes:
    """Current over time, or electrical power where no current is known, with the limits of both."""
    limits = _limits(compressor)
    if compressor.supply_voltage is None:
        _over_time(axes, found, lambda state: state.compression.electrical_power, POWER, "electrical power")
        _limit(axes, limits, "electrical_power", 1.0, POWER, "electrical power, limit")
        axes.set(ylabel="Power (W)")
    else:
        _over_time(axes, found, lambda state: state.compression.supply_current, POWER, "current")
        _limit(axes, limits, "supply_current", 1.0, POWER, "current, limit")
        if "electrical_power" in limits:
            at_limit = {"power": supply_current(limits["electrical_power"], compressor)}
            _limit(axes, at_limit, "power", 1.0, POWER, "current at the limit of power", OTHER_LEVEL)
        axes.set(ylabel="Current (A)")
    axes.set_ylim(bottom=0.0)
    return axes


def plot_discharge(axes: Axes, found: Cooldown, compressor: Compressor) -> Axes:
    """Temperatures of the gas at the valve and of the discharge line over time."""
    limits = _limits(compressor)
    for name, style, label, level in (("valve", VALVE, "valve", LEVEL), ("discharge", LINE, "discharge line", OTHER_LEVEL)):
        attribute = f"{name}_temperature"
        _over_time(axes, found, lambda state, of=attribute: getattr(state.compression, of), style, label)
        _limit(axes, limits, attribute, 1.0, style, f"{label}, limit", level)
    axes.margins(y=0.12)
    axes.set(xlabel="Time (min)", ylabel="Hot gas (K)")
    axes.set_xlim(left=0.0)
    return axes


@print_style()
def load_line_figure(found: Cooldown, gases, composition) -> Figure:
    """Titled figure of the steady load line, pressures and electrical power."""
    figure = new_figure(height=7.6)
    panels = figure.subplots(3, 1, sharex=True)
    for axes, draw in zip(panels, (plot_load_line, plot_pressures, plot_electrical), strict=True):
        draw(axes, found)
    add_legend(figure)
    set_title(figure, "Load line at settled pressures", blend_text(gases, np.asarray(composition)), *_ends(found))
    return figure


@print_style()
def cooldown_figure(found: Cooldown, compressor: Compressor, gases, composition) -> Figure:
    """Titled figure of what a builder watches over time, with the compressor's limits."""
    figure = new_figure(height=9.4)
    panels = figure.subplots(4, 1, sharex=True, height_ratios=(1.3, 1.2, 0.8, 1.0))
    for axes, draw in zip(panels, (plot_temperatures, plot_pressures_over_time, plot_current, plot_discharge), strict=True):
        draw(axes, found, compressor)
    add_legend(figure)
    set_title(figure, "Cool-down from ambient", blend_text(gases, np.asarray(composition)), "points: settled states")
    return figure


def _over_time(axes: Axes, found: Cooldown, value, style: dict, label: str) -> np.ndarray:
    """Draw a quantity of the settled states on the way down; its values."""
    values = np.array([value(moment.settled) for moment in found.way.moments])
    axes.plot(found.way.moment_times / 60.0, values, **style, **SETTLED, label=label)
    return values


def _limits(compressor: Compressor) -> dict[str, float]:
    """What the compressor stands, by attribute."""
    return {limit.attribute: getattr(compressor, limit.field) for limit in known_limits(compressor)}


def _limit(axes: Axes, limits: dict, attribute: str, scale: float, style: dict, label: str, level=LEVEL) -> None:
    """A level in the colour of what it limits, where there is such a limit."""
    if attribute in limits:
        axes.axhline(limits[attribute] / scale, **{**level, "color": style["color"]}, label=label)


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
    ends = [] if found.lowest_temperature is None else ["they end where the load takes all the cooling"]
    missing = [f"not settled with the {found.lost[0]}"] if found.lost else []
    text = "; ".join(ends + missing) or "they end at the coldest state asked for"
    return [f"points: settled states; {text}"]
