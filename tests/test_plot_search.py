"""Search overview: bars have the right lengths, order, words and labels that fit."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from plot_samples import GASES, make_result, make_search

from mixjt.errors import InputError
from mixjt.plots import search_plot as search
from mixjt.plots import style


def test_bars_by_count_have_the_values_and_say_what_changed():
    _, best = make_search()
    axes = search.plot_best_by_count(Figure().subplots(), best)
    assert [bar.get_width() for bar in axes.patches] == [8.0, 12.0, 16.0, 17.1]
    assert [tick.get_text() for tick in axes.get_yticklabels()] == ["2", "3", "4", "5"]
    texts = [text.get_text() for text in axes.texts]
    assert texts[:4] == ["8.0", "12.0", "16.0", "17.1"]
    assert texts[4:] == ["nitrogen, ethane", "+ methane, + propane, \u2212 ethane", "+ ethane", "+ isobutane"]


@pytest.mark.parametrize(("quantity", "value", "label"), [
    ("cooling power", 17.1, "Cooling power (W)"),
    ("cooling capacity", 500.0, "Cooling capacity (J/mol)"),
    ("cop", 0.05, "COP (W/W)"),
    ("cooling per conductance", 500.0 / 1500.0, "Cooling per recuperator UA (W per W/K)"),
])  # fmt: skip
def test_quantity_sets_bars_and_label(quantity, value, label):
    axes = search.plot_best_by_count(Figure().subplots(), {5: make_search()[1][5]}, quantity)
    assert axes.patches[0].get_width() == pytest.approx(value)
    assert axes.get_xlabel() == label


def test_composition_bars_are_the_mole_percentages_in_order():
    candidates, _ = make_search()
    axes = search.plot_compositions(Figure().subplots(), candidates)
    assert [stack.get_label() for stack in axes.containers] == list(GASES)
    widths = np.array([[bar.get_width() for bar in stack] for stack in axes.containers])
    np.testing.assert_allclose(widths.T, 100.0 * np.array([c.composition for c in candidates]))
    ends = [bar.get_x() + bar.get_width() for bar in axes.containers[-1]]
    np.testing.assert_allclose(ends, 100.0)
    assert axes.yaxis_inverted()  # the best on top


def test_gases_are_matched_by_name_and_absent_ones_left_out():
    first = make_result(("nitrogen", "ethane"), (0.5, 0.5))
    second = make_result(("ethane", "argon", "nitrogen"), (0.3, 0.0, 0.7))
    axes = search.plot_compositions(Figure().subplots(), [first, second])
    widths = {stack.get_label(): [bar.get_width() for bar in stack] for stack in axes.containers}
    assert widths == {"nitrogen": pytest.approx([50.0, 70.0]), "ethane": pytest.approx([50.0, 30.0])}


def test_segment_labels_stay_inside_their_segments():
    figure = search.search_figure(*make_search())
    with style.print_style():
        figure.draw_without_rendering()
    axes = figure.axes[1]
    bars = [bar for stack in axes.containers for bar in stack]
    assert "propane\n35" in [text.get_text() for text in axes.texts]
    assert "2" not in [text.get_text() for text in axes.texts]  # too narrow a segment to be labelled
    for text in axes.texts:
        middle = text.get_position()
        (bar,) = [bar for bar in bars if bar.get_x() < middle[0] < bar.get_x() + bar.get_width()
                  and bar.get_y() < middle[1] < bar.get_y() + bar.get_height()]
        assert text.get_window_extent().width <= bar.get_window_extent().width
        assert text.get_window_extent().height <= bar.get_window_extent().height


def test_pressures_stand_in_the_title_or_beside_each_bar():
    candidates, best = make_search()
    assert "1.5 to 15 bar abs" in search.search_figure(candidates, best).get_suptitle()
    candidates[1] = replace(candidates[1], suction_pressure=2e5)
    figure = search.search_figure(candidates, best)
    assert "1.5 to 15" not in figure.get_suptitle()
    assert "2 to 15 bar abs" in figure.axes[1].get_yticklabels()[1].get_text()


def test_nothing_found_and_unknown_quantity_are_refused():
    candidates, best = make_search()
    with pytest.raises(InputError, match="no candidate"):
        search.search_figure([], {})
    with pytest.raises(InputError, match="choose one of cooling power"):
        search.search_figure(candidates, best, quantity="beauty")


def test_values_share_their_decimals():
    assert search.value_texts([12.34, 1.2, 0.0]) == ["12.3", "1.2", "0.0"]
    assert search.value_texts([1234.5, -3.0]) == ["1234", "-3"]
    assert search.value_texts([0.0]) == ["0"]


def test_neighbouring_bars_differ_in_grey():
    grey = [np.dot(to_rgb(bar["facecolor"]), (0.299, 0.587, 0.114)) for bar in style.BAR_STYLES]
    assert np.abs(np.diff(grey)).min() > 0.1
    assert len({(bar["facecolor"], bar["hatch"]) for bar in style.BAR_STYLES}) == len(style.BAR_STYLES)
