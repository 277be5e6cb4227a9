"""Cascade plots: the lines carry the states and powers they claim to."""

import numpy as np
import pytest
from cascade_samples import sample_cascade
from matplotlib.figure import Figure

from mixjt.cascade.cascade_curves import power_curves, stage_domes
from mixjt.cascade.stages import solve_cascade
from mixjt.errors import InputError
from mixjt.parts import places as place
from mixjt.parts.stage_fluid import pure_fluid
from mixjt.plots import cascade_plot as plots


@pytest.fixture(scope="module")
def result():
    return solve_cascade(sample_cascade(), [pure_fluid("ethane"), pure_fluid("propane")], (246.0,))


def test_a_stage_is_drawn_through_its_states_and_closes(result):
    axes = Figure().subplots()
    plots.plot_stage(axes, result.stages[0], stage_domes(result)[0])
    liquid, vapour, stage = axes.get_lines()[:3]
    drawn = np.column_stack(stage.get_data())
    assert np.allclose(drawn[0], drawn[-1])
    hot = result.stages[0].points[place.COMPRESSOR_OUTLET]
    assert np.any(np.all(np.isclose(drawn, (hot.enthalpy / 1e3, hot.pressure / 1e5)), axis=1))
    assert axes.get_yscale() == "log" and axes.get_ylabel() == "Pressure (bar abs)"
    assert np.all(np.diff(liquid.get_ydata()) > 0.0) and liquid.get_xdata()[0] < vapour.get_xdata()[0]


def test_power_curve_passes_through_the_design_and_knows_its_limits(result):
    (curve,) = power_curves(result)
    at = np.flatnonzero(curve.temperatures == 246.0)
    assert curve.powers[at] == pytest.approx(result.total_power, rel=1e-9) and curve.within[at].all()
    coldest, warmest = curve.temperatures[[0, -1]]
    assert (coldest, warmest) == (pytest.approx(188.15 + 2.0), pytest.approx(305.15 - 2.0))
    assert not curve.within[0] and not curve.within[-1]
    assert np.isnan(curve.powers[-1])  # ethane would have to condense above its critical temperature
    axes = Figure().subplots()
    plots.plot_power(axes, result, [curve])
    kept = axes.get_lines()[1].get_ydata()
    assert np.array_equal(np.isfinite(kept), curve.within)
    lowest, highest = axes.get_ylim()
    shown = curve.powers[curve.powers <= highest]
    assert lowest < shown.min() and highest < 1.5 * result.total_power
    assert highest - lowest < 2.0 * max(np.ptp(shown), 0.1 * highest)


def test_figures_name_stages_fluids_and_load(result):
    figure = plots.stages_figure(result, stage_domes(result))
    titles = [axes.get_title(loc="left") for axes in figure.axes]
    assert titles[0].startswith("Stage 2: propane, 246.0 K") and titles[1].startswith("Stage 1: ethane")
    assert "ethane + propane, 30 W at 193.2 K" in figure.get_suptitle()
    labels = [text.get_text() for text in plots.power_figure(result, power_curves(result)).legends[0].get_texts()]
    assert labels == [
        "beyond a limit; ends where a stage does not work", "within all limits, between ethane and propane",
        f"design, {result.total_power:.4g} W",
    ]  # fmt: skip
    assert "end 0.2 K below the critical point" in " ".join(figure.get_suptitle().split())


def test_a_single_stage_has_no_power_curve():
    machine = sample_cascade(cold_temperature=250.0)
    single = solve_cascade(machine, [pure_fluid("propane")], ())
    assert power_curves(single) == ()
    with pytest.raises(InputError, match="single stage"):
        plots.power_figure(single, ())
