"""Capillary: pressure, temperature and vapour fraction along the tube."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.parts.throttle.capillary import CAPILLARY_BAND
from mixjt.plots.style import (
    DEW,
    DIFFERENCE,
    HIGH_SIDE,
    LEVEL,
    LOW_SIDE,
    SMALL_MARK,
    add_legend,
    new_figure,
    print_style,
)
from mixjt.plots.titles import blend_text, pressure_text, set_title
from mixjt.studies.throttle_study import ThrottleResult


def plot_along(axes: Axes, result: ThrottleResult, values, label: str, style: dict) -> Axes:
    """One quantity (m,) against the position along the tube; the first vapour and the tube's end are marked.

    The axes' own legend is left alone; the same axes are returned.
    """
    end = result.solved.march
    axes.plot(end.positions, values, **style, label=label)
    choked = "choked" if end.choked else "not choked"
    axes.plot([end.positions[-1]], [values[-1]], **SMALL_MARK, clip_on=False, label=f"end of the tube, {choked}")
    if result.flash_position is not None:
        axes.axvline(result.flash_position, **LEVEL, label=f"first vapour, at {result.flash_position:.3g} m")
    axes.margins(x=0.02)
    return axes


@print_style()
def throttle_figure(result: ThrottleResult) -> Figure:
    """Titled figure of three panels: pressure, temperature and vapour fraction along the tube."""
    solved = result.solved
    end, tube = solved.march, solved.tube
    figure = new_figure(height=6.4)
    upper, middle, lower = figure.subplots(3, 1, sharex=True)
    plot_along(upper, result, end.pressures / 1e5, "pressure", HIGH_SIDE)
    behind = result.outlet.pressure
    upper.axhline(behind / 1e5, **LOW_SIDE, label=f"behind the tube, {pressure_text(behind)}")
    upper.set(ylabel="Pressure (bar abs)")
    upper.set_ylim(bottom=0.0)
    plot_along(middle, result, end.temperatures, "temperature", DIFFERENCE)
    middle.set(ylabel="Temperature (K)")
    plot_along(lower, result, end.vapour_fractions, "vapour fraction", DEW)
    lower.set(ylabel="Vapour (mol/mol)")
    lower.set_ylim(bottom=0.0)
    lower.set_xlabel("Position along the tube (m)")
    count = f"{tube.parallel} x " if tube.parallel > 1 else ""
    add_legend(figure)
    set_title(
        figure,
        f"Capillary {count}{tube.diameter * 1e3:.3g} mm x {tube.length:.3g} m: {solved.mass_flow * 1e3:.3g} g/s, "
        f"known to about {100 * CAPILLARY_BAND:.0f} %",
        blend_text(solved.line.gases, solved.line.composition),
        f"from {pressure_text(result.inlet.pressure)} and {result.inlet.temperature:.4g} K",
    )
    return figure
