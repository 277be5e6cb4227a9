"""Filling a circuit: gauge pressure against the mass in it, bottle by bottle."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.plots.style import (
    BLACK,
    BLUE,
    GREEN,
    LEVEL,
    ORANGE,
    PURPLE,
    SMALL_MARK,
    VERMILLION,
    add_legend,
    new_figure,
    print_style,
)
from mixjt.plots.titles import blend_text, set_title
from mixjt.studies.charge.charge_plan import ChargePlan
from mixjt.studies.charge.filling import filling_curve

LINES = (  # in turn, a colour and a dash for each bottle
    (BLUE, "-"), (VERMILLION, (0, (6, 2))), (GREEN, (0, (1, 1))), (PURPLE, (0, (5, 1.5, 1, 1.5))), (BLACK, (0, (3, 1))),
    (ORANGE, "-"),
)  # fmt: skip


def plot_filling(axes: Axes, plan: ChargePlan) -> Axes:
    """Gauge pressure against grams in the circuit, a line a bottle, its end marked; the same axes are returned."""
    atmosphere, rows = plan.request.atmosphere, filling_curve(plan.model, plan.steps, plan.request)
    for k, step in enumerate(plan.steps):
        own = [(1e3 * mass, (pressure - atmosphere) / 1e5) for name, mass, pressure in rows if name == step.bottle.name]
        colour, dash = LINES[k % len(LINES)]
        axes.plot(*zip(*own, strict=True), color=colour, linestyle=dash, linewidth=2.0,
                  label=f"{step.bottle.name}, {1e3 * step.mass:.1f} g")  # fmt: skip
        axes.plot(*own[-1], **SMALL_MARK, clip_on=False, label="read the gauge here")
    axes.axhline(0.0, **LEVEL, label="local atmosphere")
    axes.set(xlabel="Mass in the circuit (g)", ylabel="Pressure (bar gauge)")
    axes.margins(x=0.02)
    return axes


@print_style()
def filling_figure(plan: ChargePlan) -> Figure:
    """Titled figure of the filling."""
    figure = new_figure()
    plot_filling(figure.subplots(), plan)
    add_legend(figure)
    request = plan.request
    set_title(
        figure,
        f"Filling {1e3 * plan.mass:.3g} g into {1e3 * request.volume:.3g} L",
        blend_text(plan.model.gases, plan.composition),
        f"at {request.bench_temperature:.4g} K, both sides equalised, atmosphere {request.atmosphere / 1e5:.3g} bar",
    )
    return figure
