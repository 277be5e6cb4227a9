"""Precooling: cooling and electrical power against the temperature to which the high side is precooled."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.circuit.layouts.precooled import PrecooledResult
from mixjt.circuit.result import CircuitResult
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
from mixjt.plots.titles import circuit_text, set_title
from mixjt.studies.precooling import PrecoolingCurve

PLAIN_LINE = {"color": BLACK, "linestyle": (0, (1, 2)), "linewidth": 1.2}


def plot_precooling_cooling(
    axes: Axes, result: PrecooledResult, curve: PrecoolingCurve, plain: CircuitResult | None = None
) -> Axes:
    """Cooling power and precooler duty against precooling temperature, the result marked.

    Parameters
    ----------
    axes : Axes
        Where to draw; its legend is left to the caller.
    result : PrecooledResult
    curve : PrecoolingCurve
    plain : CircuitResult, optional
        Of the same blend, drawn as a level line.

    Returns
    -------
    Axes
        The same axes.
    """
    axes.plot(curve.temperatures, curve.cooling_power, **LOW_SIDE, label="cooling power")
    axes.plot(curve.temperatures, curve.precooler_duty, **HIGH_SIDE, label="heat taken up by the precooler")
    if plain is not None:
        axes.axhline(plain.cooling_power, **PLAIN_LINE, label="plain circuit, same blend")
    label = f"chosen, {result.precooler_temperature:.4g} K"
    axes.plot([result.precooler_temperature], [result.cooling_power], **MARK, label=label)
    axes.set(xlabel="Precooling temperature (K)", ylabel="Heat flow (W)")
    axes.set_ylim(bottom=0.0)
    return axes


def plot_precooling_power(
    axes: Axes, result: PrecooledResult, curve: PrecoolingCurve, plain: CircuitResult | None = None
) -> Axes:
    """Electrical power of both compressors against precooling temperature; as `plot_precooling_cooling`."""
    axes.plot(curve.temperatures, curve.total_power, **DIFFERENCE)
    if plain is not None:
        axes.axhline(plain.total_power, **PLAIN_LINE)
    axes.plot([result.precooler_temperature], [result.total_power], **MARK)
    axes.set(xlabel="Precooling temperature (K)", ylabel="Total power (W)")
    axes.margins(y=0.15)
    return axes


def plot_precooling_cop(
    axes: Axes, result: PrecooledResult, curve: PrecoolingCurve, plain: CircuitResult | None = None
) -> Axes:
    """COP with both compressors against precooling temperature; as `plot_precooling_cooling`."""
    axes.plot(curve.temperatures, curve.cop, **DIFFERENCE)
    if plain is not None:
        axes.axhline(plain.cop, **PLAIN_LINE)
    axes.plot([result.precooler_temperature], [result.cop], **MARK)
    axes.set(xlabel="Precooling temperature (K)", ylabel="COP (W/W)")
    axes.set_ylim(bottom=0.0)
    return axes


@print_style()
def precooling_figure(
    result: PrecooledResult, curve: PrecoolingCurve, plain: CircuitResult | None = None
) -> Figure:
    """Titled figure: heat flows, total power and COP one below the other."""
    figure = new_figure(height=7.0)
    panels = figure.subplots(3, 1, sharex=True, height_ratios=(1.6, 1.0, 1.0))
    for axes, plot in zip(
        panels, (plot_precooling_cooling, plot_precooling_power, plot_precooling_cop), strict=True
    ):
        plot(axes, result, curve, plain)
    for axes in panels[:-1]:
        axes.set_xlabel("")
    add_legend(figure, handles=panels[0].get_legend_handles_labels()[0])
    set_title(figure, "Precooling: what each temperature gives and costs", *circuit_text(result))
    return figure
