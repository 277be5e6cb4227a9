"""The blend's properties: enthalpy difference over the span, circuit in the T-h diagram."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.circuit.result import CircuitResult
from mixjt.fluid.envelope import Envelope
from mixjt.parts import places as place
from mixjt.plots.style import (
    BLACK,
    BUBBLE,
    DEW,
    DIFFERENCE,
    GREY,
    HIGH_SIDE,
    KNOWN,
    LEVEL,
    LOW_SIDE,
    MARK,
    SMALL_MARK,
    SMALLEST_FONT,
    add_legend,
    halo,
    known_text,
    new_figure,
    print_style,
)
from mixjt.plots.titles import circuit_text, pressure_text, set_title
from mixjt.studies.band import Band
from mixjt.studies.phases import Isobar

SAME_ISOBAR = 0.05  # by how much pressure drops may move a leg off the isobar it is drawn along

# Where a place's name stands from its point [points], clear of the lines that meet there.
_NAME_OFFSETS = {
    place.COMPRESSOR_INLET: (8, -12),
    place.COMPRESSOR_OUTLET: (-8, 6),
    place.AFTERCOOLER_OUTLET: (-9, 5),
    place.THROTTLE_INLET: (-9, 3),
    place.THROTTLE_OUTLET: (-9, -9),
    place.EVAPORATOR_OUTLET: (9, -9),
}


def plot_difference(axes: Axes, result: CircuitResult, band: Band | None = None) -> Axes:
    """Isothermal enthalpy difference over the span, with the cooling, its minimum and the phase boundaries.

    Parameters
    ----------
    axes : Axes
        Where to draw; its legend is left to the caller.
    result : CircuitResult
        Its difference curve, cooling capacity, bubble and dew points are used.
    band : Band, optional
        How well the cooling is known.

    Returns
    -------
    Axes
        The same axes.
    """
    curve, cooling = result.difference, result.cooling_capacity
    if band is not None:
        axes.axhspan(max(1.0 - band.fraction, 0.0) * cooling, (1.0 + band.fraction) * cooling, **KNOWN,
                     label=known_text(band))
    axes.plot(curve.temperatures, curve.difference, **DIFFERENCE,
              label="enthalpy difference at equal temperature")
    axes.axhline(0.0, color=BLACK, linewidth=0.8)
    axes.axhline(cooling, **LEVEL, label=f"cooling at an approach of {result.pinch.smallest_approach:.3g} K")
    _mark_boundaries(axes, result)
    axes.plot([curve.minimum_temperature], [curve.minimum], **MARK,
              label=f"minimum, {curve.minimum:.4g} J/mol at {curve.minimum_temperature:.4g} K")
    axes.set(xlabel="Temperature, from the cold end to the aftercooler outlet (K)",
             ylabel="Enthalpy difference (J/mol)")
    axes.set_ylim(bottom=min(0.0, 1.1 * curve.difference.min(), 1.1 * cooling))
    return axes


def plot_circuit_enthalpy(axes: Axes, result: CircuitResult, envelope: Envelope | None = None,
                          isobars: Sequence[Isobar] = ()) -> Axes:
    """The circuit in the temperature-enthalpy diagram.

    The recuperator's sides are drawn as they run, the throttle at constant enthalpy; aftercooler and
    evaporator follow an isobar where one near their pressure is given, and are straight otherwise. The
    compressor's states between inlet and outlet are not known: its line only joins them.

    Parameters
    ----------
    axes : Axes
        Where to draw; its legend is left to the caller.
    result : CircuitResult
        Its state points and pinch curve are used.
    envelope : Envelope, optional
        Bubble and dew curve of the blend.
    isobars : sequence of Isobar
        Drawn thin, beyond the circuit's own lines too.

    Returns
    -------
    Axes
        The same axes.
    """
    label = "isobars, " + " and ".join(f"{line.pressure / 1e5:.3g}" for line in isobars) + " bar abs"
    for line in isobars:
        axes.plot(line.enthalpy / 1e3, line.temperatures, color=GREY, linewidth=0.9, label=label)
    if envelope is not None:
        from_bar = f"curve, from {envelope.pressures.min() / 1e5:.3g} bar abs"
        for name, points, style in zip(("bubble", "dew"), envelope.curves, (BUBBLE, DEW), strict=True):
            axes.plot(envelope.enthalpies[points] / 1e3, envelope.temperatures[points], **style, label=f"{name} {from_bar}")
    _draw_circuit(axes, result, isobars)
    axes.set(xlabel="Molar enthalpy (kJ/mol)", ylabel="Temperature (K)")
    left, right = axes.get_xlim()
    axes.set_xlim(left=left - 0.16 * (right - left))  # room for the names at the cold end
    return axes


@print_style()
def difference_figure(result: CircuitResult, band: Band | None = None) -> Figure:
    """Titled figure of the isothermal enthalpy difference, and of how well the cooling is known.

    Where the greatest difference dwarfs the least, a second panel enlarges the lower part: it shows over
    which span the blend is short of cooling.
    """
    curve = result.difference
    if curve.difference.max() > 5.0 * curve.minimum > 0.0:
        figure = new_figure(height=6.4)
        whole, enlarged = figure.subplots(2, 1, sharex=True)
        plot_difference(enlarged, result, band)
        enlarged.set_ylim(top=3.0 * curve.minimum)
        enlarged.set_title("the same, its lower part enlarged", loc="left", fontsize=SMALLEST_FONT)
    else:
        figure = new_figure()
        whole = figure.subplots()
    plot_difference(whole, result, band)
    if figure.axes[-1] is not whole:
        whole.set_xlabel("")
    add_legend(figure)
    set_title(figure, "Isothermal enthalpy difference, low less high pressure", *circuit_text(result))
    return figure


@print_style()
def circuit_figure(result: CircuitResult, envelope: Envelope | None = None,
                   isobars: Sequence[Isobar] = (), obstacle: str = "") -> Figure:
    """Titled figure of the circuit in the temperature-enthalpy diagram; obstacle says what its envelope lacks, if anything."""
    figure = new_figure(height=5.6)
    plot_circuit_enthalpy(figure.subplots(), result, envelope, isobars)
    add_legend(figure)
    set_title(figure, "Throttle circuit in the temperature-enthalpy diagram", *circuit_text(result), *filter(None, [obstacle]))
    return figure


def _mark_boundaries(axes: Axes, result: CircuitResult) -> None:
    """Mark bubble and dew points on the difference curve, where they bend it."""
    curve = result.difference
    points = (
        (result.bubble_point_low, "^", "white", f"bubble point, {pressure_text(result.suction_pressure)}"),
        (result.dew_point_low, "v", "white", f"dew point, {pressure_text(result.suction_pressure)}"),
        (result.bubble_point_high, "^", BLACK, f"bubble point, {pressure_text(result.discharge_pressure)}"),
        (result.dew_point_high, "v", BLACK, f"dew point, {pressure_text(result.discharge_pressure)}"),
    )
    for temperature, marker, fill, label in points:
        if temperature is None or not curve.temperatures[0] <= temperature <= curve.temperatures[-1]:
            continue
        difference = np.interp(temperature, curve.temperatures, curve.difference)
        axes.plot([temperature], [difference], marker=marker, markersize=6.5, markerfacecolor=fill,
                  markeredgecolor=BLACK, linestyle="none", label=label)


def _draw_circuit(axes: Axes, result: CircuitResult, isobars: Sequence[Isobar]) -> None:
    """Draw the six legs of the circuit and name its points."""
    points, pinch = result.points, result.pinch
    thin_high, thin_low = {**HIGH_SIDE, "linewidth": 1.2}, {**LOW_SIDE, "linewidth": 1.2}
    _draw_leg(axes, points, place.COMPRESSOR_OUTLET, place.AFTERCOOLER_OUTLET, isobars, thin_high, "aftercooler")
    _draw_leg(axes, points, place.THROTTLE_OUTLET, place.EVAPORATOR_OUTLET, isobars, thin_low, "evaporator")
    for start, end, dashes, label in (
        (place.COMPRESSOR_INLET, place.COMPRESSOR_OUTLET, (0, (1, 2)), "compressor"),
        (place.THROTTLE_INLET, place.THROTTLE_OUTLET, (0, (4, 2, 1, 2, 1, 2)), "throttle"),
    ):
        axes.plot([points[start].enthalpy / 1e3, points[end].enthalpy / 1e3],
                  [points[start].temperature, points[end].temperature],
                  color=BLACK, linestyle=dashes, linewidth=1.4, label=label)
    for start, temperatures, line, label in (
        (place.THROTTLE_INLET, pinch.high_temperature, HIGH_SIDE,
         f"recuperator, {pressure_text(result.discharge_pressure)}"),
        (place.EVAPORATOR_OUTLET, pinch.low_temperature, LOW_SIDE,
         f"recuperator, {pressure_text(result.suction_pressure)}"),
    ):
        axes.plot((points[start].enthalpy + pinch.heat) / 1e3, temperatures, **line, label=label)
    for name, state in points.items():
        _name_point(axes, name, state.enthalpy / 1e3, state.temperature)


def _draw_leg(axes: Axes, points, start: str, end: str, isobars: Sequence[Isobar], line: dict,
              label: str) -> None:
    """Draw a leg along the isobar nearest to its pressure, or straight where there is none near."""
    first, last = points[start], points[end]
    enthalpies = np.array([first.enthalpy, last.enthalpy])
    temperatures = np.array([first.temperature, last.temperature])
    nearest = min(isobars, key=lambda isobar: abs(isobar.pressure - last.pressure), default=None)
    if nearest and np.isclose(nearest.pressure, (first.pressure, last.pressure), rtol=SAME_ISOBAR).all():
        between = (nearest.enthalpy > enthalpies.min()) & (nearest.enthalpy < enthalpies.max())
        enthalpies = np.concatenate((enthalpies, nearest.enthalpy[between]))
        temperatures = np.concatenate((temperatures, nearest.temperatures[between]))
    order = np.argsort(enthalpies)
    axes.plot(enthalpies[order] / 1e3, temperatures[order], **line, label=label)


def _name_point(axes: Axes, name: str, enthalpy: float, temperature: float) -> None:
    across, up = _NAME_OFFSETS.get(name, (8, 8))
    axes.plot([enthalpy], [temperature], **SMALL_MARK, zorder=4)
    axes.annotate(name.replace("_", " "), (enthalpy, temperature), xytext=(across, up), va="center",
                  textcoords="offset points", ha="left" if across > 0 else "right", fontsize=SMALLEST_FONT,
                  path_effects=halo(), zorder=5)
