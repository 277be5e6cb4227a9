"""Phase envelope of a blend through its critical point, by one or two property models."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import LogLocator

from mixjt.fluid.envelope import Envelope
from mixjt.plots.style import (
    BLACK,
    BUBBLE,
    DEW,
    GREY,
    HIGH_SIDE,
    LOW_SIDE,
    MARK,
    SKY_BLUE,
    add_legend,
    new_figure,
    print_style,
)
from mixjt.plots.titles import blend_text, pressure_text, set_title
from mixjt.studies.envelopes import TwoLiquids

SECOND_MODEL = {"color": GREY, "linestyle": "-", "linewidth": 1.0}


def plot_envelope(axes: Axes, envelope: Envelope, model: str) -> Axes:
    """Bubble and dew curve, met at the critical point; the legend is left to the caller."""
    dew = envelope.on_dew_side
    last_bubble = max(int(np.argmax(dew)) - 1, 0) if dew.any() else len(dew) - 1
    bar = envelope.pressures / 1e5
    axes.plot(envelope.temperatures[~dew], bar[~dew], **BUBBLE, label=f"bubble curve, {model}")
    joined = slice(last_bubble, None)  # the two curves meet: no gap between them
    axes.plot(envelope.temperatures[joined], bar[joined], **DEW, label=f"dew curve, {model}")
    if envelope.critical is not None:
        temperature, pressure = envelope.critical
        label = f"critical point, {temperature:.4g} K and {pressure_text(pressure)}"
        axes.plot([temperature], [pressure / 1e5], **MARK, label=label)
    return axes


def plot_other_envelope(axes: Axes, envelope: Envelope, model: str) -> Axes:
    """The whole curve of a second model as a thin line."""
    axes.plot(envelope.temperatures, envelope.pressures / 1e5, **SECOND_MODEL, label=f"{model} model")
    if envelope.critical is not None:
        axes.plot([envelope.critical[0]], [envelope.critical[1] / 1e5], **{**MARK, "markersize": 4})
    return axes


def plot_two_liquids(axes: Axes, region: TwoLiquids) -> Axes:
    """Shade where the blend has two liquids."""
    split = np.isfinite(region.coldest)
    if split.any():
        axes.fill_betweenx(
            region.pressures / 1e5, region.coldest, region.warmest, where=split,
            facecolor=SKY_BLUE, edgecolor=BLACK, hatch="...", linewidth=0.5, label="two liquids",
        )  # fmt: skip
    return axes


@print_style()
def envelope_figure(
    envelopes: Mapping[str, Envelope],
    region: TwoLiquids | None,
    isobars: Sequence[tuple[str, float, tuple[float, float]]],
    gases: Sequence[str],
    composition,
) -> Figure:
    """Titled figure of the phase envelope.

    Parameters
    ----------
    envelopes : mapping of model name to Envelope
        The first is drawn in full, a second one thin.
    region : TwoLiquids, optional
    isobars : sequence of (side, pressure [Pa], (coldest, warmest) [K])
        The circuit's two pressures, "suction" first.
    gases, composition
        For the title.
    """
    figure = new_figure(height=5.2)
    axes = figure.subplots()
    if region is not None:
        plot_two_liquids(axes, region)
    for draw, (model, envelope) in zip((plot_envelope, plot_other_envelope), envelopes.items(), strict=False):
        draw(axes, envelope, model)
    for (side, pressure, span), style in zip(isobars, (LOW_SIDE, HIGH_SIDE), strict=True):
        axes.plot(span, [pressure / 1e5] * 2, label=f"{side}, {pressure_text(pressure)}", **style)
    axes.set_yscale("log")
    axes.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axes.yaxis.set_major_formatter(lambda pressure, _: f"{pressure:g}")
    axes.set(xlabel="Temperature (K)", ylabel="Pressure (bar abs)")
    add_legend(figure)
    set_title(figure, "Phase envelope of the blend", blend_text(gases, np.asarray(composition)))
    return figure
