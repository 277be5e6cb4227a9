"""Precooling: cooling and electrical power against the temperature to which the high side is precooled."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.circuit.layouts.precooled import PrecooledResult
from mixjt.circuit.result import CircuitResult
from mixjt.plots.style import (
    DIFFERENCE,
    HIGH_SIDE,
    LEVEL,
    LOW_SIDE,
    MARK,
    POWER,
    add_legend,
    fit_height,
    new_figure,
    print_style,
    whisker,
)
from mixjt.plots.titles import circuit_text, set_title
from mixjt.studies.band import Band
from mixjt.studies.precooling import PrecoolingCurve


def plot_over_precooling(
    axes: Axes, curve: PrecoolingCurve, name: str, result: PrecooledResult, plain: CircuitResult | None,
    style: dict, label: str,
) -> Axes:  # fmt: skip
    """One quantity against precooling temperature, the result marked, the plain circuit of the same blend as a level.

    name is that of the quantity in curve and results. The legend is left to the caller; the same axes are returned.
    """
    axes.plot(curve.temperatures, getattr(curve, name), **style, label=label)
    if plain is not None:
        axes.axhline(getattr(plain, name), **LEVEL, label="plain circuit, same blend")
    chosen = result.precooler_temperature
    axes.plot([chosen], [getattr(result, name)], **MARK, label=f"chosen, {chosen:.4g} K")
    axes.margins(y=0.12)
    return axes


@print_style()
def precooling_figure(
    result: PrecooledResult, curve: PrecoolingCurve, plain: CircuitResult | None = None, band: Band | None = None
) -> Figure:
    """Titled figure: heat flows, with how well the cooling is known, total power and COP one below the other."""
    figure = new_figure(height=7.4)
    upper, middle, lower = figure.subplots(3, 1, sharex=True, height_ratios=(1.6, 1.0, 1.0))
    plot_over_precooling(upper, curve, "cooling_power", result, plain, LOW_SIDE, "cooling power")
    upper.plot(curve.temperatures, curve.precooler_duty, **HIGH_SIDE, label="heat taken up by the precooler")
    whisker(upper, result.precooler_temperature, result.cooling_power, band)
    upper.set(ylabel="Heat flow (W)", ylim=(0.0, None))
    plot_over_precooling(middle, curve, "total_power", result, plain, POWER, "power of both compressors")
    middle.set(ylabel="Electrical power (W)")
    fit_height(middle, [*curve.total_power, result.total_power, *([] if plain is None else [plain.total_power])])
    plot_over_precooling(lower, curve, "cop", result, plain, DIFFERENCE, "COP with both compressors")
    lower.set(xlabel="Precooling temperature (K)", ylabel="COP (W/W)", ylim=(0.0, None))
    add_legend(figure)
    set_title(figure, "Precooling: what each temperature gives and costs", *circuit_text(result), *_short(curve))
    return figure


def _short(curve: PrecoolingCurve) -> list[str]:
    """Why the curves do not go on."""
    if curve.lowest is not None:
        return [f"below {curve.lowest:.4g} K the precooler cannot take up the heat"]
    return [f"the curves leave out what has no answer: {curve.obstacles[0]}"] if curve.obstacles else []
