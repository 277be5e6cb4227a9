"""Search overview: bars have the right lengths, order, words and labels that fit."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.container import ErrorbarContainer
from matplotlib.figure import Figure
from plot_samples import BAND, GASES, make_result, make_search

from mixjt.errors import InputError
from mixjt.plots import search_plot as search
from mixjt.plots import style


def counts_of(found, *more):
    return search.plot_best_by_count(Figure().subplots(), found, *more)


def test_bars_by_count_have_the_values_and_say_which_bottles_changed():
    axes = counts_of(make_search())
    assert [bar.get_width() for bar in axes.patches] == [8.0, 12.0, 16.0, 17.1]
    assert [tick.get_text() for tick in axes.get_yticklabels()] == ["2", "3", "4", "5"]
    texts = [text.get_text() for text in axes.texts]
    assert texts[:4] == ["8.0", "12.0", "16.0", "17.1"]
    assert texts[4:] == [
        "nitrogen, ethane", "+ methane, + propane, \u2212 ethane", "+ ethane", "+ lighter gas, \u2212 propane",
    ]  # fmt: skip


def test_a_further_bottle_that_helps_nothing_is_said():
    found = make_search()
    same = {4: found.amounts_by_count[4], 5: found.amounts_by_count[4]}
    axes = counts_of(replace(found, best_by_count={4: found.candidates[1], 5: found.candidates[1]}, amounts_by_count=same))
    assert axes.texts[-1].get_text() == "no better with one more"


def test_whiskers_stand_where_a_band_is_known():
    axes = counts_of(make_search(), (BAND, None, BAND))  # of the best with 5, 4 and 3 bottles
    (whiskers,) = [one for one in axes.containers if isinstance(one, ErrorbarContainer)]
    ends = [segment[:, 0] for segment in whiskers[2][0].get_segments()]
    np.testing.assert_allclose(ends, [[0.75 * 12.0, 1.25 * 12.0], [0.75 * 17.1, 1.25 * 17.1]])
    assert axes.get_xlim()[1] > 1.25 * 17.1
    assert not any(isinstance(one, ErrorbarContainer) for one in counts_of(make_search(), (None, None, None)).containers)


@pytest.mark.parametrize("load", [12.0, 40.0])
def test_the_load_is_a_line_within_the_axis(load):
    axes = counts_of(make_search(), (), load)
    (line,) = axes.get_lines()
    assert set(line.get_xdata()) == {load} and line.get_label() == f"load, {load:.3g} W"
    assert axes.get_xlim()[1] > load
    assert not counts_of(make_search()).get_lines()
    assert not counts_of(make_search(objective="cop"), (), load).get_lines()  # a load is no COP


@pytest.mark.parametrize(("objective", "value", "label"), [
    ("cooling power", 17.1, "Cooling power (W)"),
    ("cop", 0.05, "COP (W/W)"),
    ("cooling per conductance", 500.0 / 1500.0, "Cooling per recuperator UA (W per W/K)"),
])  # fmt: skip
def test_objective_sets_bars_and_label(objective, value, label):
    axes = counts_of(make_search(objective=objective))
    assert axes.patches[-1].get_width() == pytest.approx(value)
    assert axes.get_xlabel() == label


def test_composition_bars_are_the_mole_percentages_in_order():
    candidates = make_search().candidates
    axes = search.plot_compositions(Figure().subplots(), candidates, ("1", "2", "3"))
    assert [stack.get_label() for stack in axes.containers] == list(GASES)
    widths = np.array([[bar.get_width() for bar in stack] for stack in axes.containers])
    np.testing.assert_allclose(widths.T, 100.0 * np.array([c.composition for c in candidates]))
    ends = [bar.get_x() + bar.get_width() for bar in axes.containers[-1]]
    np.testing.assert_allclose(ends, 100.0)
    assert axes.yaxis_inverted()  # the best on top


def test_a_gas_looks_the_same_in_whatever_order_and_company_it_comes():
    looks = []
    for gases in (("propane", "nitrogen"), ("nitrogen", "methane", "ethane", "propane")):
        result = make_result(gases, np.full(len(gases), 1.0 / len(gases)))
        stacks = search.plot_compositions(Figure().subplots(), [result], ("",)).containers
        looks.append({stack.get_label(): (stack[0].get_facecolor(), stack[0].get_hatch()) for stack in stacks})
    few, many = looks
    assert list(few) == ["nitrogen", "propane"]  # the lighter boiling first
    assert all(many[gas] == look for gas, look in few.items())
    assert len(set(many.values())) == 4


def test_gases_are_matched_by_name_and_absent_ones_left_out():
    first = make_result(("nitrogen", "ethane"), (0.5, 0.5))
    second = make_result(("ethane", "argon", "nitrogen"), (0.3, 0.0, 0.7))
    axes = search.plot_compositions(Figure().subplots(), [first, second], ("1", "2"))
    widths = {stack.get_label(): [bar.get_width() for bar in stack] for stack in axes.containers}
    assert widths == {"nitrogen": pytest.approx([50.0, 70.0]), "ethane": pytest.approx([50.0, 30.0])}


def test_segment_labels_stay_inside_their_segments():
    figure = search.search_figure(make_search())
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


def test_rows_tell_how_well_each_blend_is_known():
    lower = search.search_figure(make_search(), (BAND, None, None)).axes[1]
    assert [tick.get_text() for tick in lower.get_yticklabels()] == ["1:  17.1 W \u00b1 25 %", "2:  16.0 W", "3:  12.0 W"]


def test_pressures_stand_in_the_title_or_beside_each_bar():
    found = make_search()
    assert "1.5 to 15 bar abs" in search.search_figure(found).get_suptitle()
    best, second, third = found.candidates
    found = replace(found, candidates=(best, replace(second, suction_pressure=2e5), third))
    figure = search.search_figure(found)
    assert "1.5 to 15" not in figure.get_suptitle()
    assert "2 to 15 bar abs" in figure.axes[1].get_yticklabels()[1].get_text()


def test_nothing_found_is_refused():
    with pytest.raises(InputError, match="no candidate"):
        search.search_figure(make_search(candidates=()))


def test_values_share_their_decimals():
    assert search.value_texts([12.34, 1.2, 0.0]) == ["12.3", "1.2", "0.0"]
    assert search.value_texts([1234.5, -3.0]) == ["1234", "-3"]
    assert search.value_texts([0.0]) == ["0"]
