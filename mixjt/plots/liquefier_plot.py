"""Liquefier: composite curves of the recuperator, product over feed pressure, enrichment by boil-off."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.circuit.boil_off import BoilOff
from mixjt.circuit.liquefier_result import DAY, KILOWATT_HOUR, LiquefierResult
from mixjt.circuit.liquefier_warnings import ENRICHED
from mixjt.plots.recuperator_plot import pinch_figure
from mixjt.plots.style import (
    BLUE,
    GREEN,
    LEVEL,
    MARK,
    VERMILLION,
    add_legend,
    logarithmic,
    new_figure,
    print_style,
    whisker,
)
from mixjt.plots.titles import circuit_text, pressure_text, set_title
from mixjt.studies.band import Band
from mixjt.studies.liquefier_study import PressureCurve, PressurePoint

CIRCUIT_ENERGY = {"color": VERMILLION, "linestyle": "-", "marker": "s", "markersize": 4, "linewidth": 1.6}
TOTAL_ENERGY = {"color": GREEN, "linestyle": (0, (5, 1.5)), "marker": "^", "markersize": 5, "linewidth": 1.6}
PRODUCT = {"color": BLUE, "linestyle": "-", "marker": "o", "markersize": 4, "linewidth": 1.8}


def composite_figure(result: LiquefierResult) -> Figure:
    """Titled figure of the composite curves of all hot and all cold streams, and the approach between them."""
    feed, high = pressure_text(result.passage.pressure), pressure_text(result.discharge_pressure)
    back = " and flash vapour" if result.passage.recover_flash else ""
    low = pressure_text(result.suction_pressure)
    return pinch_figure(result, (f"blend at {high} and feed at {feed}", f"blend at {low}{back}"))


def plot_pressure_curve(axes: Axes, curve: PressureCurve) -> Axes:
    """Product over feed pressure, the best one marked."""
    bars, points = _working(curve)
    axes.plot(bars, [point.mass_rate * DAY for point in points], **PRODUCT, label="liquid")
    axes.plot([curve.best.pressure / 1e5], [curve.best.mass_rate * DAY], **MARK, label="most liquid")
    axes.set(ylabel="Liquid (kg/day)")
    axes.margins(y=0.12)
    axes.set_ylim(bottom=0.0)
    return axes


def plot_energy(axes: Axes, curve: PressureCurve) -> Axes:
    """Specific energy over feed pressure, without and with the feed's compressor, the thriftiest marked."""
    bars, points = _working(curve)
    for name, label, style in (
        ("circuit_energy", "energy of the blend's compressor", CIRCUIT_ENERGY),
        ("total_energy", "with the feed's compressor", TOTAL_ENERGY),
    ):
        axes.plot(bars, [getattr(point, name) / KILOWATT_HOUR for point in points], **style, label=label)
    best = curve.thriftiest
    axes.plot([best.pressure / 1e5], [best.total_energy / KILOWATT_HOUR], **{**MARK, "marker": "s"}, label="least energy")
    axes.set(xlabel="Feed pressure (bar abs)", ylabel="Energy (kWh/kg)")
    axes.set_ylim(bottom=0.0)
    return axes


@print_style()
def pressure_figure(result: LiquefierResult, curve: PressureCurve, band: Band | None = None) -> Figure:
    """Titled figure of product and specific energy over feed pressure, and how well the result's product is known."""
    figure = new_figure(height=5.4)
    upper, lower = figure.subplots(2, 1, sharex=True)
    plot_pressure_curve(upper, curve)
    whisker(upper, result.passage.pressure / 1e5, result.mass_rate * DAY, band)
    plot_energy(lower, curve)
    add_legend(figure)
    short = [f"no liquid at {pressure_text(point.pressure)}: {point.problem or 'nothing is left of the cooling'}"
             for point in curve.points if not point.mass_rate]  # fmt: skip
    heading = "Liquefier: liquid and energy over feed pressure"
    set_title(figure, heading, *circuit_text(result), *short[:1])
    return figure


def plot_boil_off(axes: Axes, boiling: BoilOff) -> Axes:
    """Oxygen in the liquid that is left, with the limit of enrichment and where it is passed."""
    last = 100.0 * boiling.left[-1]
    axes.plot(100.0 * boiling.left, 100.0 * boiling.oxygen, **PRODUCT, label=f"liquid left, followed down to {last:.2g} %")
    axes.axhline(100.0 * ENRICHED, **LEVEL, label=f"oxygen-enriched, {100 * ENRICHED:.3g} %")
    passed = boiling.left_at(ENRICHED)
    if passed is not None:
        axes.plot([100.0 * passed], [100.0 * max(ENRICHED, boiling.oxygen[0])], **MARK,
                  label=f"enriched with {100 * passed:.2g} % left")  # fmt: skip
    logarithmic(axes, "x")
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
    set_title(figure, f"Oxygen in the liquid nitrogen as it boils away, {100 * boiling.oxygen[0]:.2g} mole % at first")
    return figure


def _working(curve: PressureCurve) -> tuple[list[float], list[PressurePoint]]:
    """Pressures [bar] and points at which there is a product."""
    points = [point for point in curve.points if point.mass_rate]
    return [point.pressure / 1e5 for point in points], points
