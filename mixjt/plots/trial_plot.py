"""A run over time beside what was predicted and fitted, how far readings are off, and the recuperator against its readings."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.circuit.fixed_machine import Settled
from mixjt.plots.style import (
    BLACK,
    BLUE,
    GREEN,
    HIGH_SIDE,
    LEVEL,
    LOW_SIDE,
    ORANGE,
    PLAIN_BAR,
    PURPLE,
    SKY_BLUE,
    SMALL_MARK,
    VERMILLION,
    add_legend,
    new_figure,
    print_style,
)
from mixjt.plots.titles import blend_text, set_title
from mixjt.studies.trial.readout import ComparedReading
from mixjt.studies.trial.run import LOGS
from mixjt.studies.trial.trial import Trial, predicted_there

COLD, HOT = "Cold end (K)", "Warm parts (K)"
PANELS = (  # title of the axis, unit's scale, places with colour and marker
    ("Pressure (bar abs)", 1e5, (("discharge", VERMILLION, "^"), ("suction", BLUE, "v"))),
    (COLD, 1.0, (("throttle inlet", PURPLE, "s"), ("evaporator", BLACK, "o"), ("throttle outlet", SKY_BLUE, "D"))),
    (HOT, 1.0, (("discharge line", VERMILLION, "^"), ("shell", ORANGE, "s"), ("aftercooler outlet", GREEN, "D"),
                ("suction line", BLUE, "v"), ("ambient", BLACK, "x"))),
    ("Power (W)", 1.0, (("power", BLACK, "o"), ("heater", ORANGE, "x"))),
)  # fmt: skip
FEW = 300  # readings of a place that are drawn at most
POINTS = {"linestyle": "none", "markersize": 2.5, "markerfacecolor": "none", "alpha": 0.7}
PREDICTED = {"linestyle": (0, (3, 1.5)), "linewidth": 1.6}
FITTED = {"linestyle": "-", "linewidth": 2.2}
BEFORE = {**SMALL_MARK, "marker": "D"}
AFTER = {"marker": "o", "markersize": 5, "color": BLACK, "linestyle": "none"}
MEASURED = {"linestyle": "none", "markeredgecolor": BLACK, "markeredgewidth": 1.2, "markersize": 7}
BEYOND = 12.0  # sigma; what is further off is drawn there


def plot_readings(axes: Axes, found: Trial, scale: float, places: Sequence[tuple[str, str, str]]) -> None:
    """Readings of some places over time as points, predictions and fit as steps on the stretches that were compared."""
    minutes = found.log.times / 60.0
    every = max(1, minutes.size // FEW)
    for place, colour, marker in places:
        values = found.log.readings.get(place)
        if values is None:
            continue
        axes.plot(minutes[::every], values[::every] / scale, color=colour, marker=marker, **POINTS, label=place)
        for runs, style in ((found.fit.first, PREDICTED), (found.fit.runs, FITTED)):
            for (start, end), run in zip(spans(found), runs, strict=True):
                if place in run.shown:
                    shown = math.exp(run.shown[place]) if place in LOGS else run.shown[place]
                    axes.plot([start / 60.0, end / 60.0], [shown / scale] * 2, color=colour, **style)


def spans(found: Trial) -> list[tuple[float, float]]:
    """Start and end of the stretches that were compared [s]."""
    known = {_label(one): (one.start, one.end) for one in found.stretches}
    return [known[seen.name.partition(": ")[2]] for seen in found.fit.problem.seen]


def _label(stretch) -> str:
    return f"{stretch.kind} from {stretch.start / 60.0:.0f} to {stretch.end / 60.0:.0f} min"


@print_style()
def run_figure(found: Trial) -> Figure:
    """Titled figure of readings over time, stretches shaded; panels without a reading are left out."""
    panels = [one for one in PANELS if any(place in found.log.readings for place, _, _ in one[2])]
    figure = new_figure(height=1.2 + 2.2 * len(panels))
    drawn = np.atleast_1d(figure.subplots(len(panels), 1, sharex=True))
    for axes, (title, scale, places) in zip(drawn, panels, strict=True):
        for start, end in spans(found):
            axes.axvspan(start / 60.0, end / 60.0, facecolor=PLAIN_BAR, edgecolor="none", alpha=0.6)
        plot_readings(axes, found, scale, places)
        axes.set(ylabel=title)
    drawn[-1].set(xlabel="Time (min)")
    drawn[0].plot([], [], color=BLACK, **PREDICTED, label="predicted by the case")
    drawn[0].plot([], [], color=BLACK, **FITTED, label="fitted machine")
    add_legend(figure)
    set_title(figure, "The run: readings, and what was compared with them", "grey: stretches that were compared; offsets of sensors "
              "are not in the lines")  # fmt: skip
    return figure


@print_style()
def residual_figure(readings: Sequence[ComparedReading]) -> Figure:
    """Titled figure of how far each reading is off, in standard deviations, before the fit and after."""
    places = list(dict.fromkeys(one.place for one in readings))
    figure = new_figure(height=1.6 + 0.42 * max(len(places), 3))
    axes = figure.subplots()
    rows = [places.index(one.place) for one in readings]
    for values, style, label in (([one.before for one in readings], BEFORE, "less predicted by the case"),
                                 ([one.after for one in readings], AFTER, "less fitted, sensors' offsets included")):  # fmt: skip
        axes.plot(np.clip(values, -BEYOND, BEYOND), rows, **style, clip_on=False, label=f"measured {label}")
    axes.axvspan(-2.0, 2.0, facecolor=PLAIN_BAR, edgecolor="none", alpha=0.6, label="two standard deviations")
    axes.axvline(0.0, color=BLACK, linewidth=0.8)
    axes.set_yticks(range(len(places)), places)
    axes.invert_yaxis()
    axes.set(xlim=(-BEYOND, BEYOND), xlabel="Off by (standard deviations)")
    add_legend(figure)
    set_title(figure, "How far the readings are off", f"one point a stretch; what is off by more than {BEYOND:.0f} stands at the edge")
    return figure


def plot_recuperator(axes: Axes, settled: Settled, style: dict, label: str) -> None:
    """Both sides of a recuperator over the share of its heat."""
    profile = settled.recuperator.profile
    share = profile.heat / profile.heat[-1]
    axes.plot(share, profile.high, **HIGH_SIDE | style, label=f"high side, {label}")
    axes.plot(share, profile.low, **LOW_SIDE | style, label=f"low side, {label}")


@print_style()
def pinch_figure(found: Trial) -> Figure:
    """Titled figure of the recuperator on the coldest stretch: fitted and predicted, with the readings at its ends."""
    number = found.coldest
    settled, seen = found.settled[number], found.fit.problem.seen[number]
    figure = new_figure(height=5.0)
    axes = figure.subplots()
    plot_recuperator(axes, settled, {"linestyle": "-"}, "fitted")
    plot_recuperator(axes, predicted_there(found, number), {"linestyle": (0, (3, 1.5)), "linewidth": 1.4}, "predicted by the case")
    ends = (("throttle inlet", 0.0, HIGH_SIDE, "s"), ("evaporator", 0.0, LOW_SIDE, "o"),
            ("aftercooler outlet", 1.0, HIGH_SIDE, "D"), ("suction line", 1.0, LOW_SIDE, "v"))  # fmt: skip
    for place, share, style, marker in ends:
        if place in seen.measured:
            axes.plot([share], [seen.measured[place]], marker=marker, markerfacecolor=style["color"], **MEASURED, clip_on=False,
                      zorder=5, label=f"{place}, measured")  # fmt: skip
    axes.axhline(seen.imposed.ambient, **LEVEL, label="ambient")
    axes.set(xlabel="Share of the recuperator's heat, from the cold end", ylabel="Temperature (K)", xlim=(0.0, 1.0))
    axes.margins(y=0.05)
    add_legend(figure)
    heat = settled.recuperator.profile.heat[-1] * settled.molar_flow
    conductance = settled.recuperator.profile.conductance * settled.molar_flow
    set_title(figure, f"The recuperator as it ran: {heat:.0f} W, UA {conductance:.3g} W/K", blend_text(settled.fluid.gases, settled.fluid.z),
              f"stretch {seen.name}")  # fmt: skip
    return figure
