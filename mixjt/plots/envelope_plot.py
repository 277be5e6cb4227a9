"""Phase envelope of a blend through its critical point, and where it has two liquids."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.fluid.envelope import Envelope
from mixjt.plots.style import (
    BUBBLE,
    DEW,
    GREY,
    HIGH_SIDE,
    LOW_SIDE,
    MARK,
    add_legend,
    logarithmic,
    new_figure,
    print_style,
)
from mixjt.plots.titles import blend_text, pressure_text, set_title
from mixjt.studies.envelopes import TwoLiquids
from mixjt.studies.phases import BlendPhases


def plot_envelope(axes: Axes, envelope: Envelope) -> Axes:
    """Bubble and dew curve, met at the critical point where it is known; the legend is left to the caller."""
    for name, points, style in zip(("bubble", "dew"), envelope.curves, (BUBBLE, DEW), strict=True):
        axes.plot(envelope.temperatures[points], envelope.pressures[points] / 1e5, **style, label=f"{name} curve")
    if envelope.critical is not None:
        temperature, pressure = envelope.critical
        label = f"critical point, {temperature:.4g} K and {pressure_text(pressure)}"
        axes.plot([temperature], [pressure / 1e5], **MARK, label=label)
    return axes


def plot_two_liquids(axes: Axes, region: TwoLiquids) -> Axes:
    """Hatch where the blend has two liquids, without an outline: it may go on beyond where it was looked for."""
    split = np.isfinite(region.coldest)
    if split.any():
        axes.fill_betweenx(
            region.pressures / 1e5, region.coldest, region.warmest, where=split, facecolor="none", edgecolor=GREY,
            hatch="...", linewidth=0.0, label="two liquids",
        )  # fmt: skip
    return axes


@print_style()
def envelope_figure(found: BlendPhases, gases: Sequence[str], composition) -> Figure:
    """Titled figure of the phase envelope with both pressures of the circuit; gases and composition for the title."""
    figure = new_figure(height=5.2)
    axes = figure.subplots()
    if found.region is not None:
        plot_two_liquids(axes, found.region)
    if found.envelope is not None:
        plot_envelope(axes, found.envelope)
    for line, side, style in ((found.low, "suction", LOW_SIDE), (found.high, "discharge", HIGH_SIDE)):
        axes.plot(line.temperatures[[0, -1]], [line.pressure / 1e5] * 2, **style,
                  label=f"{side}, {pressure_text(line.pressure)}")
    logarithmic(axes, "y")
    axes.set(xlabel="Temperature (K)", ylabel="Pressure (bar abs)")
    add_legend(figure)
    set_title(figure, f"Phase envelope of the blend, {found.model} model", blend_text(gases, np.asarray(composition)),
              *_short(found.envelope, found.region))  # fmt: skip
    return figure


def _short(envelope: Envelope | None, region: TwoLiquids | None) -> list[str]:
    """Where the curves begin and end, and where two liquids were looked for."""
    said = []
    if envelope is None:
        said.append("vapour and liquid do not coexist, or could not be followed: no envelope")
    else:
        said.append(f"curves followed from {pressure_text(envelope.pressures.min())}")
        if envelope.cricondenbar is None:
            said[0] += f" up to {pressure_text(envelope.pressures.max())}, where they are still apart"
        elif envelope.critical is None:
            said[0] += " until no flash converged, short of the critical point"
    if region is not None and np.isfinite(region.coldest).any():
        highest = pressure_text(region.pressures.max())
        said.append(f"two liquids looked for from {np.nanmin(region.coldest):.4g} K and up to {highest}")
    return ["; ".join(said)]
