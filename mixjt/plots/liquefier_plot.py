"""Liquefier: composite curves of the recuperator, product over feed pressure, enrichment by boil-off."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.circuit.boil_off import BoilOff
from mixjt.circuit.liquefier_result import DAY, KILOWATT_HOUR, LiquefierResult
from mixjt.circuit.liquefier_warnings import ENRICHED
from mixjt.plots.recuperator_plot import PINCH_LINE, add_power_axis, pinch_index, plot_approach
from mixjt.plots.style import (
    BLACK,
    BLUE,
    GREEN,
    HIGH_SIDE,
    LOW_SIDE,
    MARK,
    VERMILLION,
    add_legend,
    new_figure,
    print_style,
)
from mixjt.plots.titles import circuit_text, pressure_text, set_title
from mixjt.studies.liquefier_study import PressureCurve

CIRCUIT_ENERGY = {"color": VERMILLION, "linestyle": "-", "marker": "s", "markersize": 4, "linewidth": 1.6}
TOTAL_ENERGY = {"color": GREEN, "linestyle": (0, (5, 1.5)), "marker": "^", "markersize": 5, "linewidth": 1.6}
PRODUCT = {"color": BLUE, "linestyle": "-", "marker": "o", "markersize": 4, "linewidth": 1.8}
LIMIT = {"color": BLACK, "linestyle": (0, (1, 2)), "linewidth": 1.0}


def plot_composites(axes: Axes, result: LiquefierResult) -> Axes:
    """Temperatures of all hot and all cold streams against transferred heat, the smallest approach marked."""
    pinch = result.pinch
    at = pinch_index(pinch)
    feed = pressure_text(result.passage.pressure)
    axes.plot(
        pinch.heat,
        pinch.high_temperature,
        **HIGH_SIDE,
        label=f"blend at {pressure_text(result.discharge_pressure)} and feed at {feed}",
    )
    back = " and flash vapour" if result.passage.recover_flash else ""
    axes.plot(
        pinch.heat,
        pinch.low_temperature,
        **LOW_SIDE,
        label=f"blend at {pressure_text(result.suction_pressure)}{back}",
    )
    axes.axvline(pinch.heat[at], **PINCH_LINE)
    middle = 0.5 * (pinch.high_temperature[at] + pinch.low_temperature[at])
    axes.plot([pinch.heat[at]], [middle], **MARK, label=f"smallest approach, {pinch.smallest_approach:.3g} K")
    axes.set(xlabel="Heat transferred, from the cold end (J per mole of blend)", ylabel="Temperature (K)")
    axes.margins(x=0.02)
    add_power_axis(axes, result.molar_flow)
    return axes


@print_style()
def composite_figure(result: LiquefierResult) -> Figure:
    """Titled figure of the composite curves, with the approach between them in a second panel."""
    figure = new_figure(height=5.6)
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(2.4, 1.0))
    plot_composites(upper, result)
    plot_approach(lower, result)
    upper.set_xlabel("")
    add_legend(figure)
    set_title(figure, "Recuperator: hot and cold streams against transferred heat", *circuit_text(result))
    return figure


def plot_pressure_curve(axes: Axes, curve: PressureCurve) -> Axes:
    """Product over feed pressure, the best one marked."""
    points = [point for point in curve.points if point.mass_rate]
    axes.plot(
        [point.pressure / 1e5 for point in points],
        [point.mass_rate * DAY for point in points],
        **PRODUCT,
        label="product",
    )
    axes.plot([curve.best.pressure / 1e5], [curve.best.mass_rate * DAY], **MARK, label="most product")
    axes.set(ylabel="Liquid (kg/day)", xscale="log")
    return axes


def plot_energy(axes: Axes, curve: PressureCurve) -> Axes:
    """Specific energy over feed pressure, without and with the feed's compressor."""
    points = [point for point in curve.points if point.mass_rate]
    bars = [point.pressure / 1e5 for point in points]
    for name, label, style in (
        ("circuit_energy", "blend's compressor alone", CIRCUIT_ENERGY),
        ("total_energy", "with the feed's compressor", TOTAL_ENERGY),
    ):
        axes.plot(bars, [getattr(point, name) / KILOWATT_HOUR for point in points], **style, label=label)
    axes.set(xlabel="Feed pressure (bar abs)", ylabel="Energy (kWh/kg)", xscale="log")
    axes.xaxis.set_major_formatter("{x:g}")
    axes.xaxis.set_minor_formatter("{x:g}")
    return axes


@print_style()
def pressure_figure(result: LiquefierResult, curve: PressureCurve) -> Figure:
    """Titled figure of product and specific energy over feed pressure."""
    figure = new_figure(height=5.2)
    upper, lower = figure.subplots(2, 1, sharex=True)
    plot_pressure_curve(upper, curve)
    plot_energy(lower, curve)
    add_legend(figure)
    set_title(figure, "Liquefier: product and energy over feed pressure", *circuit_text(result))
    return figure


def plot_boil_off(axes: Axes, boiling: BoilOff) -> Axes:
    """Oxygen in the liquid that is left, with the limit of enrichment."""
    axes.plot(100.0 * boiling.left, 100.0 * boiling.oxygen, **PRODUCT, label="liquid left")
    axes.axhline(100.0 * ENRICHED, **LIMIT, label=f"oxygen-enriched, {100 * ENRICHED:.3g} %")
    axes.set(xlabel="Left of the liquid (mole %)", ylabel="Oxygen (mole %)")
    axes.invert_xaxis()
    axes.set_ylim(bottom=0.0)
    return axes


@print_style()
def boil_off_figure(boiling: BoilOff) -> Figure:
    """Titled figure of the enrichment by boil-off."""
    figure = new_figure(height=4.0)
    plot_boil_off(figure.subplots(), boiling)
    add_legend(figure)
    set_title(figure, "Oxygen in the liquid as it boils away")
    return figure
