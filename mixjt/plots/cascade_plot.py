"""A cascade in pictures: pressure-enthalpy diagram of every stage, power against intermediate temperatures."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from mixjt.cascade.cascade_curves import BELOW, NEAREST_CRITICAL, Dome, PowerCurve
from mixjt.cascade.cascade_records import CascadeResult
from mixjt.constants import ZERO_CELSIUS
from mixjt.errors import InputError
from mixjt.parts import places as place
from mixjt.parts.vapour_stage import StageResult
from mixjt.plots.style import (
    BUBBLE,
    DEW,
    GREY,
    HIGH_SIDE,
    MARK,
    SMALL_MARK,
    SMALLEST_FONT,
    add_legend,
    fit_height,
    logarithmic,
    new_figure,
    print_style,
)
from mixjt.plots.titles import set_title

WORTH_SHOWING = 1.2  # times the power of the design
PANEL_HEIGHT = 2.6  # inches
# From the throttle round to the condenser; the exchanger's ends coincide with its neighbours without one.
ROUND = (
    place.THROTTLE_OUTLET, place.EVAPORATOR_OUTLET, place.EXCHANGER_GAS_OUTLET, place.HOT_GAS_EXCHANGER_OUTLET,
    place.COMPRESSOR_INLET, place.COMPRESSOR_OUTLET, place.DESUPERHEATER_INLET, place.DESUPERHEATER_OUTLET,
    place.CONDENSER_INLET, place.CONDENSER_OUTLET, place.THROTTLE_INLET, place.THROTTLE_OUTLET,
)  # fmt: skip
SEVERAL = ({"linestyle": "-"}, {"linestyle": (0, (6, 2))}, {"linestyle": (0, (1, 1))})


def plot_stage(axes: Axes, stage: StageResult, saturation: Dome) -> Axes:
    """One stage in the pressure-enthalpy diagram of its fluid.

    The compressor's states between inlet and outlet are not known: its line only joins them.

    Parameters
    ----------
    axes : Axes
        Where to draw; its legend is left to the caller.
    stage : StageResult
    saturation : Dome
        Of the stage's fluid.

    Returns
    -------
    Axes
        The same axes.
    """
    axes.plot(saturation.liquid_enthalpies / 1e3, saturation.liquid_pressures / 1e5, **BUBBLE, label="saturated liquid")
    axes.plot(saturation.vapour_enthalpies / 1e3, saturation.vapour_pressures / 1e5, **DEW, label="saturated vapour")
    states = [stage.points[name] for name in ROUND]
    enthalpies, pressures = np.array([(state.enthalpy / 1e3, state.pressure / 1e5) for state in states]).T
    axes.plot(enthalpies, pressures, **HIGH_SIDE, label="circuit of the stage, temperature at the compressor outlet")
    axes.plot(enthalpies[:-1], pressures[:-1], **SMALL_MARK, label="its states")
    hot = stage.points[place.COMPRESSOR_OUTLET]
    axes.annotate(f"{hot.temperature - ZERO_CELSIUS:.0f} °C", (hot.enthalpy / 1e3, hot.pressure / 1e5),
                  xytext=(4, 4), textcoords="offset points", fontsize=SMALLEST_FONT)
    logarithmic(axes, "y")
    axes.set(xlabel="Molar enthalpy (kJ/mol)", ylabel="Pressure (bar abs)")
    axes.margins(x=0.12)
    return axes


def plot_power(axes: Axes, result: CascadeResult, curves: Sequence[PowerCurve]) -> Axes:
    """Power against each intermediate temperature; grey where a limit is broken, the design marked.

    The axes show what comes near the design's power; the lines may leave them.

    Parameters
    ----------
    axes : Axes
        Where to draw; its legend is left to the caller.
    result : CascadeResult
    curves : sequence of PowerCurve
        Of the same cascade.

    Returns
    -------
    Axes
        The same axes.
    """
    for curve, style in zip(curves, SEVERAL):
        colder, warmer = result.fluids[curve.warmer - 1 : curve.warmer + 1]
        axes.plot(curve.temperatures, curve.powers, color=GREY, linewidth=0.9,
                  label="beyond a limit; ends where a stage does not work")  # fmt: skip
        kept = np.where(curve.within, curve.powers, np.nan)
        axes.plot(curve.temperatures, kept, **{**HIGH_SIDE, **style},
                  label=f"within all limits, between {colder} and {warmer}")  # fmt: skip
        axes.plot([result.intermediate_temperatures[curve.warmer - 1]], [result.total_power], **MARK,
                  label=f"design, {result.total_power:.4g} W")  # fmt: skip
    axes.set(xlabel="Evaporating temperature of the warmer stage (K)", ylabel="Electrical power (W)")
    temperatures, powers = (np.concatenate([getattr(one, name) for one in curves]) for name in ("temperatures", "powers"))
    kept = np.concatenate([one.powers[one.within] for one in curves])
    shown = powers <= WORTH_SHOWING * kept.max(initial=result.total_power)
    fit_height(axes, powers[shown])
    axes.set_xlim(temperatures[shown].min(), temperatures[shown].max())
    return axes


@print_style()
def stages_figure(result: CascadeResult, domes: Sequence[Dome]) -> Figure:
    """Titled pressure-enthalpy diagrams of all stages, warmest at the top.

    Parameters
    ----------
    result : CascadeResult
    domes : sequence of Dome
        Of the stages' fluids, coldest first.
    """
    count = len(result.stages)
    figure = new_figure(height=PANEL_HEIGHT * count + 1.2)
    panels = np.atleast_1d(figure.subplots(count, 1))[::-1]
    for number, (axes, stage, saturation) in enumerate(zip(panels, result.stages, domes, strict=True), start=1):
        plot_stage(axes, stage, saturation)
        cold, warm = stage.cycle.stage.evaporating_temperature, stage.cycle.stage.condensing_temperature
        axes.set_title(f"Stage {number}: {stage.fluid.name}, {cold:.1f} K to {warm:.1f} K, "
                       f"{stage.compressor_power:.3g} W", loc="left")
    add_legend(figure)
    pure = all(stage.fluid.facts for stage in result.stages)
    set_title(figure, "Stages in the pressure-enthalpy diagram", _text(result),
              f"saturation curves begin {BELOW:.0f} K below the evaporator, or at the triple point, and end "
              + (f"{NEAREST_CRITICAL} K below the critical point" if pure else "at the condenser's temperature"))  # fmt: skip
    return figure


@print_style()
def power_figure(result: CascadeResult, curves: Sequence[PowerCurve]) -> Figure:
    """Titled diagram of power against the intermediate temperatures.

    Raises
    ------
    InputError
        For a single stage, which has none.
    """
    if not curves:
        raise InputError("a single stage has no intermediate temperature to plot")
    figure = new_figure()
    plot_power(figure.subplots(), result, curves)
    add_legend(figure)
    set_title(figure, "Power against intermediate temperature, the others held", _text(result))
    return figure


def _text(result: CascadeResult) -> str:
    cascade = result.cascade
    return (
        f"{' + '.join(result.fluids)}, {cascade.load:.3g} W at {cascade.cold_temperature:.4g} K, ambient "
        f"{cascade.ambient_temperature:.4g} K"
    )
