"""Pictures of studies: what is drawn is what was found, how well it is known, and why lines end."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.container import ErrorbarContainer
from plot_samples import (
    COMPOSITION,
    COOLED_BY,
    FIGURES,
    GASES,
    make_cooldown,
    make_feed,
    make_map,
    make_precooling,
    make_weighing,
)

from mixjt.plots import cooldown_plot, liquefier_plot, precooling_plot, rating_plot


def words(figure) -> str:
    return " ".join(figure.get_suptitle().split())


def lines_of(axes) -> dict:
    return {line.get_label(): line for line in axes.get_lines()}


def whisker_of(axes) -> list[float]:
    """Ends of the one whisker."""
    (whisker,) = [one for one in axes.containers if isinstance(one, ErrorbarContainer)]
    return list(whisker[2][0].get_segments()[0][:, 1])


# --- precooling


def test_precooling_draws_its_curves_the_plain_circuit_and_the_band():
    result, curve, plain = make_precooling()
    upper, middle, lower = FIGURES["precooling"]().axes
    for axes, name, label in (
        (upper, "cooling_power", "cooling power"), (middle, "total_power", "power of both compressors"),
        (lower, "cop", "COP with both compressors"),
    ):  # fmt: skip
        lines = lines_of(axes)
        assert np.array_equal(lines[label].get_ydata(), getattr(curve, name))
        assert set(lines["plain circuit, same blend"].get_ydata()) == {getattr(plain, name)}
        assert lines["chosen, 250 K"].get_xydata().tolist() == [[250.0, getattr(result, name)]]
    assert whisker_of(upper) == pytest.approx([0.75 * 12.4, 1.25 * 12.4])


def test_precooling_tells_why_its_curves_end():
    result, curve, plain = make_precooling()
    assert "below 240 K the precooler cannot take up the heat" in words(FIGURES["precooling"]())
    open_ended = replace(curve, lowest=None, obstacles=("at 240 K: no answer",))
    assert words(precooling_plot.precooling_figure(result, open_ended, plain)).endswith("has no answer: at 240 K: no answer")


def test_a_power_that_hardly_changes_is_not_blown_up():
    result, curve, plain = make_precooling()
    steady = replace(curve, compressor_power=300.0 + 0.0 * curve.temperatures, precooler_power=np.linspace(0.0, 6.0, 5))
    low, high = precooling_plot.precooling_figure(result, steady, plain).axes[1].get_ylim()
    assert low < 300.0 and high > 306.0 and high - low > 0.19 * 306.0


# --- cool-down


def test_load_line_passes_through_the_settled_states():
    upper, middle, lower = FIGURES["load_line"]().axes
    assert lines_of(upper)["cooling power"].get_xydata().tolist() == [[295.0, 202.0], [200.0, 107.0], [120.0, 27.0], [100.0, 7.0]]
    assert lines_of(upper)["lowest, 105 K"].get_xydata().tolist() == [[105.0, 0.0]]
    assert list(lines_of(middle)["discharge"].get_ydata()) == [24.75, 20.0, 16.0, 15.0]
    assert lower.get_ylim()[0] == 0.0


@pytest.mark.parametrize(("changes", "said"), [
    ({}, "they end where the load takes all the cooling"),
    ({"lowest_temperature": None}, "they end at the coldest state asked for"),
    ({"lowest_temperature": None, "lost": ("cold end at 90 K: it chokes",)}, "not settled with the cold end at 90 K: it chokes"),
    ({"interrupted": True}, "the lines end where they were interrupted"),
])  # fmt: skip
def test_load_line_tells_why_it_ends(changes, said):
    assert said in words(cooldown_plot.load_line_figure(make_cooldown(**changes), GASES, COMPOSITION))


@pytest.mark.parametrize(("changes", "label"), [
    ({}, "120 K after 120 min, the target"),
    ({"time_to_target": None}, "120 K after 120 min, where it hardly gains any more"),
    ({"time_to_target": None, "lowest_temperature": None}, "120 K after 120 min, the coldest state that settles"),
])  # fmt: skip
def test_cool_down_marks_its_end(changes, label):
    axes = cooldown_plot.cooldown_figure(make_cooldown(**changes), COOLED_BY, GASES, COMPOSITION).axes[0]
    assert lines_of(axes)[label].get_xydata().tolist() == [[120.0, 120.0]]


def test_cool_down_shows_what_the_builder_watches_and_its_limits():
    _, pressures, current, hot = FIGURES["cooldown"]().axes
    assert lines_of(pressures)["discharge"].get_xydata().tolist() == [[0.0, 24.75], [60.0, 20.0], [120.0, 16.0]]
    assert lines_of(pressures)["discharge at the limit of 9 to 1"].get_ydata().tolist() == pytest.approx([18.0] * 3)
    assert set(lines_of(pressures)["suction, limit"].get_ydata()) == {9.0}
    assert set(lines_of(current)["current, limit"].get_ydata()) == {2.2}
    assert lines_of(current)["current"].get_ydata().tolist() == pytest.approx([1.295, 1.2, 1.12])
    assert set(lines_of(hot)["valve, limit"].get_ydata()) == {420.0}
    assert set(lines_of(hot)["discharge line, limit"].get_ydata()) == {380.0}


def test_without_a_voltage_the_power_stands_for_the_current():
    unknown = replace(COOLED_BY, supply_voltage=None)
    current = cooldown_plot.cooldown_figure(make_cooldown(), unknown, GASES, COMPOSITION).axes[2]
    assert lines_of(current)["electrical power"].get_ydata().tolist() == pytest.approx([279.5, 270.0, 262.0])


# --- compressor, liquefier, comparison, weighing


def test_map_marks_what_is_beyond_a_limit_and_tells_what_is_left_out():
    figure = rating_plot.rating_figure(make_map(), "Compressor", "propane 100 (mole %)")
    upper, lower = figure.axes
    np.testing.assert_allclose(lines_of(upper)["discharge 10 bar abs"].get_xydata(), [[1, 1], [2, 2], [3, 3]])
    assert list(lines_of(upper)["discharge 15 bar abs"].get_xdata()) == [2.0, 3.0]
    assert lines_of(lower)["beyond a limit"].get_xydata().tolist() == [[2.0, 300.0]]
    assert "limits passed: discharge temperature" in words(figure) and "does not work: no gas is moved" in words(figure)


def test_feed_pressures_leave_out_those_without_liquid_and_say_so():
    figure = FIGURES["feed_pressures"]()
    upper, lower = figure.axes
    np.testing.assert_allclose(lines_of(upper)["liquid"].get_xydata(), [[10, 1.728], [20, 2.592], [30, 3.456]])  # kg/s x 86400 s
    assert whisker_of(upper) == pytest.approx([0.75 * 1.728, 1.25 * 1.728])
    assert list(lines_of(lower)["least energy"].get_xdata()) == [20.0]
    assert "no liquid at 5 bar abs: the feed stays warm" in words(figure)
    assert not liquefier_plot.pressure_figure(*make_feed()).axes[0].containers


def test_boil_off_marks_where_the_liquid_gets_enriched():
    (axes,) = FIGURES["boil_off"]().axes
    (mark,) = [line for label, line in lines_of(axes).items() if label.startswith("enriched with")]
    left, oxygen = mark.get_xydata()[0]
    assert 2.0 < left < 10.0 and oxygen == pytest.approx(23.5)
    assert "liquid left, followed down to 2 %" in lines_of(axes)


def test_comparison_tells_where_a_road_ends_and_how_well_a_blend_is_known():
    upper, lower = FIGURES["compare"]().axes
    assert list(lines_of(upper)["cascade of 2 from 170 K"].get_xdata()) == [170.0, 200.0]
    assert list(lines_of(upper)["plain blend"].get_xdata()) == [150.0, 170.0, 200.0]
    assert set(lines_of(lower)["load, 12 W"].get_ydata()) == {12.0}
    assert whisker_of(lower) == pytest.approx([0.75 * 15.0, 1.25 * 15.0])
    assert whisker_of(upper) == pytest.approx([0.75 * 60.0, 1.25 * 60.0])


def test_histogram_counts_all_charges_and_marks_the_percentiles():
    found = make_weighing()
    (axes,) = FIGURES["weighing"]().axes
    assert sum(bar.get_height() for bar in axes.patches) == 41
    for label, at in (("5th percentile", 11.1), ("median", 12.0), ("95th percentile", 12.9)):  # of an even spread
        assert lines_of(axes)[label].get_xdata()[0] == pytest.approx(at)
    assert list(lines_of(axes)["the blend aimed at"].get_xdata()) == [found.target_power]
