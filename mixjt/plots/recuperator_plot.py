"""Recuperator: temperatures of both streams against the heat they exchange."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.circuit.result import CircuitResult, PinchCurve
from mixjt.plots.style import (
    DIFFERENCE,
    HIGH_SIDE,
    LOW_SIDE,
    SMALL_MARK,
    add_legend,
    new_figure,
    print_style,
)
from mixjt.plots.titles import circuit_text, pressure_text, set_title

HEAT = "Heat transferred per mole of blend, from the cold end (J/mol)"
Sides = tuple[str, str]  # what flows on the high-pressure side and on the low-pressure side


def plot_pinch(axes: Axes, result: CircuitResult, sides: Sides) -> Axes:
    """Temperatures of both sides against transferred heat, the smallest approach marked.

    Parameters
    ----------
    axes : Axes
        Where to draw; its legend is left to the caller.
    result : CircuitResult
        Its pinch curve and molar flow are used.
    sides : (str, str)
        What flows on the warmer and on the colder side, for the legend.

    Returns
    -------
    Axes
        The same axes.
    """
    pinch = result.pinch
    axes.plot(pinch.heat, pinch.high_temperature, **HIGH_SIDE, label=sides[0])
    axes.plot(pinch.heat, pinch.low_temperature, **LOW_SIDE, label=sides[1])
    at = pinch_index(pinch)
    axes.plot([pinch.heat[at]] * 2, [pinch.low_temperature[at], pinch.high_temperature[at]],
              **SMALL_MARK, label=f"smallest approach, {pinch.smallest_approach:.3g} K at {pinch.pinch_temperature:.4g} K")
    axes.set(xlabel=HEAT, ylabel="Temperature (K)")
    axes.margins(x=0.02)
    add_power_axis(axes, result.molar_flow)
    return axes


def plot_approach(axes: Axes, result: CircuitResult) -> Axes:
    """Temperature approach between the sides against transferred heat, its minimum marked; as `plot_pinch`."""
    pinch = result.pinch
    approach = pinch.high_temperature - pinch.low_temperature
    at = pinch_index(pinch)
    axes.plot(pinch.heat, approach, **DIFFERENCE, label="approach between them")
    axes.plot([pinch.heat[at]], [approach[at]], **SMALL_MARK)
    axes.set(xlabel=HEAT, ylabel="Approach (K)")
    axes.set_ylim(bottom=0.0)
    axes.margins(x=0.02)
    return axes


@print_style()
def pinch_figure(result: CircuitResult, sides: Sides | None = None) -> Figure:
    """Titled figure of the pinch curves, with the approach between them in a second panel.

    sides tells what flows on each where it is more than the blend.
    """
    high, low = pressure_text(result.discharge_pressure), pressure_text(result.suction_pressure)
    sides = sides or (f"high-pressure side, {high}", f"low-pressure side, {low}")
    figure = new_figure(height=6.0)
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(2.4, 1.0))
    plot_pinch(upper, result, sides)
    plot_approach(lower, result)
    upper.set_xlabel("")
    add_legend(figure)
    set_title(figure, "Recuperator: both sides against transferred heat", *circuit_text(result))
    return figure


def pinch_index(pinch: PinchCurve) -> int:
    """Index of the sample at the pinch.

    Temperature alone does not tell where it is: a stream that condenses at constant temperature has it at
    many places. So it is the sample nearest to the pinch temperature among those of (almost) the smallest
    approach.
    """
    approach = pinch.high_temperature - pinch.low_temperature
    closest = approach <= approach.min() + 0.01 * abs(approach.min())
    distance = np.where(closest, np.abs(pinch.high_temperature - pinch.pinch_temperature), np.inf)
    return int(np.argmin(distance))


def add_power_axis(axes: Axes, molar_flow: float) -> None:
    """Add a second axis in W above one in J/mol, unless the flow [mol/s] is nought or unknown."""
    if not molar_flow > 0.0:
        return
    upper = axes.secondary_xaxis("top", functions=(lambda heat: heat * molar_flow,
                                                   lambda power: power / molar_flow))
    upper.set_xlabel(f"Heat flow (W) at {1e3 * molar_flow:.3g} mmol/s")
