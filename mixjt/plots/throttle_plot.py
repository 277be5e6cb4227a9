"""Capillary: pressure, temperature and vapour fraction along the tube."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.plots.style import DEW, HIGH_SIDE, LOW_SIDE, MARK, new_figure, print_style
from mixjt.plots.titles import blend_text, pressure_text, set_title
from mixjt.studies.throttle_study import ThrottleResult


def plot_along(axes: Axes, result: ThrottleResult, values, label: str, style: dict) -> Axes:
    """One quantity (m,) against the position along the tube; the first vapour and the tube's end are marked.

    The axes' own legend is left alone; the same axes are returned.
    """
    end = result.solved.march
    axes.plot(end.positions, values, **style)
    axes.plot([end.positions[-1]], [values[-1]], **{**MARK, "markersize": 5}, clip_on=False)
    if result.flash_position is not None:
        axes.axvline(result.flash_position, color="#000000", linestyle=(0, (1, 2)), linewidth=1.0)
    axes.set_ylabel(label)
    axes.margins(x=0.02)
    return axes


@print_style()
def throttle_figure(result: ThrottleResult) -> Figure:
    """Titled figure of three panels: pressure, temperature and vapour fraction along the tube."""
    solved = result.solved
    end, tube = solved.march, solved.tube
    figure = new_figure(height=6.4)
    upper, middle, lower = figure.subplots(3, 1, sharex=True)
    plot_along(upper, result, end.pressures / 1e5, "Pressure (bar abs)", HIGH_SIDE)
    upper.axhline(result.outlet.pressure / 1e5, **LOW_SIDE)
    upper.annotate(f"behind the tube {pressure_text(result.outlet.pressure)}", (0.02, result.outlet.pressure / 1e5),
                   xycoords=("axes fraction", "data"), xytext=(0, 4), textcoords="offset points", fontsize=9)  # fmt: skip
    upper.set_ylim(bottom=0.0)
    plot_along(middle, result, end.temperatures, "Temperature (K)", LOW_SIDE)
    plot_along(lower, result, end.vapour_fractions, "Vapour (mol/mol)", DEW)
    lower.set_ylim(-0.02, 1.02)
    lower.set_xlabel("Position along the tube (m)")
    count = f"{tube.parallel} x " if tube.parallel > 1 else ""
    choked = "choked at its end" if end.choked else "not choked"
    first = ", dotted: first vapour" if result.flash_position is not None else ""
    set_title(
        figure,
        f"Capillary {count}{tube.diameter * 1e3:.3g} mm x {tube.length:.3g} m: {solved.mass_flow * 1e3:.3g} g/s, {choked}",
        blend_text(solved.line.gases, solved.line.composition),
        f"from {pressure_text(result.inlet.pressure)} and {result.inlet.temperature:.4g} K; circle: end of the tube{first}",
    )
    return figure
