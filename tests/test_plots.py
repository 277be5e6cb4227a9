"""Plots: what is marked where, what the labels say, and that figures reach the disk whole."""

import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from itertools import chain
from xml.etree import ElementTree

import matplotlib
import numpy as np
import pytest
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.colors import to_hex, to_rgb
from matplotlib.container import ErrorbarContainer
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.text import Text
from plot_samples import (
    APPROACH,
    BAND,
    COMPOSITION,
    FIGURES,
    GASES,
    LEAST,
    LEAST_TEMPERATURE,
    PINCH_HEAT,
    make_envelope,
    make_isobars,
    make_phases,
    make_result,
)

from mixjt.circuit.result import DifferenceCurve, PinchCurve
from mixjt.gases.catalogue import gas_names
from mixjt.plots import envelope_plot, style, titles
from mixjt.plots import property_plot as property_plots
from mixjt.plots import recuperator_plot as recuperator
from mixjt.plots.save import save_figure

every_figure = pytest.mark.parametrize("name", FIGURES)
SIDES = ("high-pressure side", "low-pressure side")
OF_A_CIRCUIT = ("pinch", "difference", "circuit", "envelope", "search", "precooling", "feed_pressures", "sensitivity", "weighing")


@cache
def drawn(name: str) -> Figure:
    """One of the figures above, laid out; shared by tests that only look at it."""
    return lay_out(FIGURES[name]())


def lay_out(figure: Figure) -> Figure:
    with style.print_style():
        figure.draw_without_rendering()
    return figure


def new_axes():
    return Figure().subplots()


def line_labelled(axes, start: str):
    found = [line for line in axes.get_lines() if line.get_label().startswith(start)]
    assert len(found) == 1, f"one line labelled {start}..."
    return found[0]


def visible_texts(figure: Figure) -> list[Text]:
    return [text for text in figure.findobj(Text) if text.get_text().strip() and text.get_visible()]


def svg_words(path) -> list[str]:
    """Contents of the text elements of an SVG file."""
    root = ElementTree.parse(path).getroot()
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    return ["".join(text.itertext()) for text in root.iter("{http://www.w3.org/2000/svg}text")]


# --- what is marked, and where


def test_pinch_is_marked_on_both_streams_where_they_are_closest():
    axes = recuperator.plot_pinch(new_axes(), make_result(), SIDES)
    mark = line_labelled(axes, "smallest approach, 5 K")
    low = 120.0 + 175.0 * PINCH_HEAT / 12000.0
    np.testing.assert_allclose(mark.get_xydata(), [[PINCH_HEAT, low], [PINCH_HEAT, low + APPROACH]])


def test_approach_panel_marks_its_least_value():
    axes = recuperator.plot_approach(new_axes(), make_result())
    curve, mark = axes.get_lines()
    assert curve.get_ydata().min() == pytest.approx(APPROACH)
    np.testing.assert_allclose(mark.get_xydata(), [[PINCH_HEAT, APPROACH]])


def test_pinch_on_a_stretch_of_constant_temperature_is_found_by_the_approach():
    heat = np.linspace(0.0, 100.0, 11)
    low = 100.0 + 0.1 * heat
    pinch = PinchCurve(heat, np.full(11, 115.0), low, 5.0, 115.0, 1.0)
    assert recuperator.pinch_index(pinch) == 10


def test_of_two_equal_approaches_the_one_at_the_pinch_temperature_is_marked():
    heat = np.array([0.0, 1.0, 2.0, 3.0])
    low = np.array([100.0, 110.0, 120.0, 130.0])
    high = low + np.array([5.0, 9.0, 5.0, 9.0])
    assert recuperator.pinch_index(PinchCurve(heat, high, low, 5.0, 125.0, 1.0)) == 2
    assert recuperator.pinch_index(PinchCurve(heat, high, low, 5.0, 105.0, 1.0)) == 0


def test_power_axis_is_heat_times_flow():
    upper = drawn("pinch").axes[0]
    (power,) = upper.child_axes
    np.testing.assert_allclose(power.get_xlim(), np.array(upper.get_xlim()) * 0.025)
    assert power.get_xlabel() == "Heat flow (W) at 25 mmol/s"


@pytest.mark.parametrize("flow", [0.0, float("nan")])
def test_no_power_axis_without_a_flow(flow):
    assert not recuperator.plot_pinch(new_axes(), make_result(molar_flow=flow), SIDES).child_axes


def test_least_difference_is_marked_with_its_value():
    axes = property_plots.plot_difference(new_axes(), make_result())
    mark = line_labelled(axes, "minimum, 640 J/mol at 150 K")
    np.testing.assert_allclose(mark.get_xydata(), [[LEAST_TEMPERATURE, LEAST]])


def test_difference_marks_the_phase_boundaries_that_exist():
    axes = property_plots.plot_difference(new_axes(), make_result())
    dew = line_labelled(axes, "dew point, 1.5 bar abs")
    np.testing.assert_allclose(dew.get_xydata(), [[250.0, LEAST + 0.3 * 100.0**2]])
    labels = {line.get_label() for line in axes.get_lines()}
    assert "bubble point, 15 bar abs" in labels
    assert not labels & {"bubble point, 1.5 bar abs", "dew point, 15 bar abs"}


def test_phase_boundaries_beyond_the_span_are_not_drawn():
    axes = property_plots.plot_difference(new_axes(), make_result(dew_point_low=350.0))
    assert not any("dew point" in line.get_label() for line in axes.get_lines())


def test_difference_axis_starts_at_nought_and_below_it_only_for_negative_values():
    assert property_plots.plot_difference(new_axes(), make_result()).get_ylim()[0] == 0.0
    curve = DifferenceCurve(np.array([100.0, 200.0]), np.array([-50.0, 80.0]), -50.0, 100.0)
    axes = property_plots.plot_difference(new_axes(), make_result(difference=curve, cooling_capacity=-70.0))
    assert axes.get_ylim()[0] < -70.0


def test_small_minimum_gets_an_enlarged_panel_and_a_large_one_does_not():
    whole, enlarged = property_plots.difference_figure(make_result()).axes
    assert enlarged.get_ylim() == pytest.approx((0.0, 3.0 * LEAST))
    assert whole.get_ylim()[1] > 5.0 * LEAST
    flat = DifferenceCurve(np.array([100.0, 200.0]), np.array([700.0, 800.0]), 700.0, 100.0)
    assert len(property_plots.difference_figure(make_result(difference=flat)).axes) == 1


def test_every_circuit_point_stands_at_its_state():
    result = make_result()
    axes = property_plots.plot_circuit_enthalpy(new_axes(), result)
    marked = {text.get_text(): text.xy for text in axes.texts}
    assert marked == {place.replace("_", " "): (state.enthalpy / 1e3, state.temperature)
                      for place, state in result.points.items()}


def test_recuperator_sides_join_the_circuit_points():
    axes = property_plots.plot_circuit_enthalpy(new_axes(), make_result())
    high = line_labelled(axes, "recuperator, 15 bar abs").get_xydata()
    low = line_labelled(axes, "recuperator, 1.5 bar abs").get_xydata()
    np.testing.assert_allclose(high[[0, -1]], [[-16.0, 128.333333], [-4.0, 330.0]], rtol=1e-6)
    np.testing.assert_allclose(low[[0, -1]], [[-15.5, 120.0], [-3.5, 295.0]])


def test_throttle_runs_at_constant_enthalpy():
    axes = property_plots.plot_circuit_enthalpy(new_axes(), make_result())
    np.testing.assert_allclose(line_labelled(axes, "throttle").get_xdata(), -16.0)


def test_aftercooler_follows_the_isobar_of_its_pressure_only():
    enthalpies = make_isobars()[2].enthalpy
    inside = (enthalpies > -4000.0) & (enthalpies < 4000.0)
    for isobars, points in ((make_isobars(), inside.sum() + 2), (make_isobars()[:2], 2)):
        axes = property_plots.plot_circuit_enthalpy(new_axes(), make_result(), isobars=isobars)
        leg = line_labelled(axes, "aftercooler")
        assert len(leg.get_xdata()) == points
        assert np.all(np.diff(leg.get_xdata()) > 0.0)
        assert leg.get_xydata()[-1] == pytest.approx([4.0, 390.0])


def test_bubble_and_dew_curve_meet_in_the_diagram_of_the_circuit():
    axes = property_plots.plot_circuit_enthalpy(new_axes(), make_result(), make_envelope(), make_isobars())
    bubble = line_labelled(axes, "bubble curve, from 1 bar abs")
    dew = line_labelled(axes, "dew curve, from 1 bar abs")
    assert bubble.get_xydata()[-1] == pytest.approx(dew.get_xydata()[0])
    assert dew.get_xydata()[-1] == pytest.approx([66.0 * (260.0 - 330.0) / 1e3, 260.0])


def test_the_band_of_the_cooling_lies_around_it():
    (span,) = property_plots.plot_difference(new_axes(), make_result(), BAND).patches
    np.testing.assert_allclose([span.get_y(), span.get_y() + span.get_height()], [375.0, 625.0])  # 500 J/mol, 25 %
    assert span.get_label() == "cooling, known to about 25 %"
    assert not property_plots.plot_difference(new_axes(), make_result()).patches


def test_an_axis_shows_its_data_without_blowing_them_up():
    axes = new_axes()
    style.fit_height(axes, [100.0, np.nan, 102.0])
    np.testing.assert_allclose(axes.get_ylim(), [90.8, 111.2])  # a fifth of 102 around 101
    style.fit_height(axes, [50.0, 150.0])
    np.testing.assert_allclose(axes.get_ylim(), [42.0, 158.0])


@pytest.mark.parametrize(("changes", "said"), [
    ({}, "curves followed from 1 bar abs; two liquids looked for from 80 K and up to 20 bar abs"),
    ({"critical": None}, "until no flash converged, short of the critical point"),
    ({"critical": None, "cricondenbar": None}, "up to 80 bar abs, where they are still apart"),
])  # fmt: skip
def test_an_envelope_says_how_far_it_was_followed(changes, said):
    found = make_phases(envelope=replace(make_phases().envelope, **changes))
    assert said in envelope_plot.envelope_figure(found, GASES, COMPOSITION).get_suptitle().replace("\n", " ")


def test_no_envelope_leaves_the_pressures_and_says_so():
    figure = envelope_plot.envelope_figure(make_phases(envelope=None, region=None), GASES, COMPOSITION)
    assert "no envelope" in figure.get_suptitle()
    assert [line.get_label() for line in figure.axes[0].get_lines()] == ["suction, 1.5 bar abs", "discharge, 15 bar abs"]


def test_envelope_is_in_bar_and_shows_both_pressures_and_the_critical_point():
    axes = drawn("envelope").axes[0]
    np.testing.assert_allclose(line_labelled(axes, "bubble curve").get_ydata(), 80.0 ** np.linspace(0, 1, 9))
    np.testing.assert_allclose(line_labelled(axes, "discharge, 15 bar abs").get_ydata(), 15.0)
    np.testing.assert_allclose(line_labelled(axes, "suction, 1.5 bar abs").get_ydata(), 1.5)
    assert line_labelled(axes, "critical point, 245 K and 80 bar abs").get_xdata() == [245.0]


# --- words


@every_figure
def test_axis_labels_carry_units(name):
    figure = drawn(name)
    labels = [[label for label in (axes.get_xlabel(), axes.get_ylabel()) if label] for axes in figure.axes]
    assert all(labels)
    for label in chain(*labels):
        unit = re.search(r"\((K|J/mol|kJ/mol|W|A|W/W|bar abs|bar gauge|mole %|min|g|g/s|kg/day|kWh/kg)\)$", label)
        assert unit or label in ("Bottles, at most", "Number of charges")


@every_figure
def test_every_line_and_area_stands_in_the_legend(name):
    """By its look; but for lines at nought and points with their names beside them."""
    figure = drawn(name)
    listed = {look(handle) for handle in figure.legends[0].legend_handles}
    texts = [text.get_text() for text in figure.legends[0].get_texts()]
    for axes in figure.axes:
        whiskers = [one for one in axes.containers if isinstance(one, ErrorbarContainer)]
        assert all(one.get_label() in texts for one in whiskers)
        told = {line for one in whiskers for line in (one[0], *one[1])}
        named = {tuple(text.xy) for text in axes.texts if hasattr(text, "xy")}
        for line in set(axes.get_lines()) - told:
            x, y = np.asarray(line.get_xdata()), np.asarray(line.get_ydata())
            if np.any(x != 0.0) and np.any(y != 0.0) and (x[0], y[0]) not in named:
                assert look(line) in listed
        for patch in axes.patches:
            single = name == "search" and axes is figure.axes[0] or name == "weighing"  # bars of one kind: the axis tells
            assert single or look(patch) in listed


def look(artist) -> tuple:
    """By what one tells it from others."""
    if isinstance(artist, Line2D):
        drawn = artist.get_linestyle() != "None"
        dash = str(artist._unscaled_dash_pattern) + str(artist.get_color()) + str(artist.get_linewidth()) if drawn else ""
        return dash, artist.get_marker(), str(artist.get_markerfacecolor())
    if isinstance(artist, Patch):
        return to_hex(artist.get_facecolor()), artist.get_hatch()
    return ()


@every_figure
def test_no_label_is_listed_twice(name):
    texts = [text.get_text() for text in drawn(name).legends[0].get_texts()]
    assert len(texts) == len(set(texts))


@pytest.mark.parametrize("name", OF_A_CIRCUIT)
def test_title_names_blend_and_pressures(name):
    title = drawn(name).get_suptitle()
    assert all(gas in title for gas in GASES)
    assert "1.5 to 15 bar abs" in title or name == "envelope"  # its legend names them
    assert "mole %" in title or name == "search"


@pytest.mark.parametrize(("fraction", "text"), [
    (0.36, "36"), (0.1234, "12.3"), (1.0, "100"), (0.0042, "0.42"), (0.3, "30"), (0.00001, "0.001"),
])  # fmt: skip
def test_percentages_are_short(fraction, text):
    assert titles.percent_text(fraction) == text


def test_gas_left_out_is_not_named():
    assert titles.blend_text(("nitrogen", "neon", "ethane"), np.array([0.5, 0.0, 0.5])) == (
        "nitrogen 50, ethane 50 (mole %)")


def test_long_title_is_wrapped_to_the_figure_and_keeps_numbers_with_names():
    gases = [f"gas number {letter} of a long list" for letter in "abcdefghijkl"]
    figure = lay_out(recuperator.pinch_figure(make_result(gases, np.full(12, 1 / 12))))
    title = next(text for text in figure.texts if "gas number" in text.get_text())
    extent = title.get_window_extent()
    assert 0.0 < extent.x0 and extent.x1 < figure.bbox.x1
    assert extent.y0 >= max(axes.get_tightbbox().y1 for axes in figure.axes)
    assert not any(line[0].isdigit() for line in title.get_text().splitlines()[:-1])


def test_words_too_long_for_a_line_are_kept_whole():
    assert titles.wrap("aa bbbbbb c", lambda line: len(line) <= 4) == ["aa", "bbbbbb", "c"]


# --- looks


@every_figure
def test_legend_covers_no_data_and_fits(name):
    figure = drawn(name)
    (legend,) = figure.legends
    box = legend.get_window_extent()
    assert figure.bbox.x0 <= box.x0 and box.x1 <= figure.bbox.x1 and box.y0 >= figure.bbox.y0
    assert all(not box.overlaps(axes.get_tightbbox()) for axes in figure.axes)


@every_figure
def test_no_text_is_smaller_than_nine_points_or_off_the_page(name):
    figure = drawn(name)
    for text in visible_texts(figure):
        assert text.get_fontsize() >= 9.0
    page = figure.bbox
    for axes in figure.axes:
        box = axes.get_tightbbox()
        assert page.x0 <= box.x0 and box.x1 <= page.x1 and page.y0 <= box.y0 and box.y1 <= page.y1


def test_every_gas_of_the_catalogue_has_a_look_of_its_own():
    assert set(style.GAS_BARS) == set(gas_names())
    assert len({(bar["facecolor"], bar["hatch"]) for bar in style.GAS_BARS.values()}) == len(style.GAS_BARS)


def test_gases_often_mixed_part_in_grey_and_in_hatch():
    bars = [style.GAS_BARS[gas] for gas in ("nitrogen", "methane", "ethane", "propane", "isobutane", "n-butane")]
    grey = [np.dot(to_rgb(bar["facecolor"]), (0.299, 0.587, 0.114)) for bar in bars]
    assert np.abs(np.diff(grey)).min() > 0.1
    assert len({bar["hatch"] for bar in bars}) == len(bars)


def test_lines_that_meet_in_one_plot_have_their_own_dashes():
    lines = (style.HIGH_SIDE, style.LOW_SIDE, style.BUBBLE, style.DEW)
    assert len({str(line["linestyle"]) for line in lines}) == len(lines)


def test_users_settings_neither_leak_in_nor_get_lost():
    plain = recuperator.pinch_figure(make_result())
    with matplotlib.rc_context({"font.size": 30.0, "axes.facecolor": "red"}):
        figure = recuperator.pinch_figure(make_result())
        assert matplotlib.rcParams["font.size"] == 30.0
    assert figure.axes[0].get_facecolor() == plain.axes[0].get_facecolor()
    assert figure.axes[0].xaxis.label.get_fontsize() == plain.axes[0].xaxis.label.get_fontsize()


def test_dollar_signs_in_a_name_are_text(tmp_path):
    figure = recuperator.pinch_figure(make_result(("gas $5", "gas $6"), (0.5, 0.5)))
    _, svg = save_figure(figure, tmp_path / "pinch")
    assert any("gas $5 50, gas $6 50 (mole %)" in words for words in svg_words(svg))


# --- files


def test_a_saved_picture_names_its_machine_and_grows_for_it(tmp_path):
    figure = recuperator.pinch_figure(make_result())
    title, height = figure.get_suptitle(), figure.get_figheight()
    _, svg = save_figure(figure, tmp_path / "pinch", "A receiver on a ridge")
    assert figure.get_suptitle() == f"A receiver on a ridge\n{title}"
    assert 0.1 < figure.get_figheight() - height < 0.3
    assert "A receiver on a ridge" in svg_words(svg)


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    """A figure with its files, saved once."""

    @cache
    def one(name: str):
        figure = FIGURES[name]()
        return figure, save_figure(figure, tmp_path_factory.mktemp(name) / f"{name}-1.5bar")

    return one


@every_figure
def test_files_are_whole(name, saved):
    figure, (png, svg) = saved(name)
    assert sorted(path.name for path in png.parent.iterdir()) == [f"{name}-1.5bar.png", f"{name}-1.5bar.svg"]
    data = png.read_bytes()
    assert data.startswith(b"\x89PNG\r\n\x1a\n") and data.endswith(b"IEND\xaeB`\x82")
    width, height = int.from_bytes(data[16:20], "big"), int.from_bytes(data[20:24], "big")
    np.testing.assert_allclose((width, height), figure.get_size_inches() * 200.0, atol=1.0)
    assert figure.axes[-1].get_xlabel() in svg_words(svg)  # text is text, not outlines


@every_figure
def test_same_input_gives_the_same_bytes(name, saved, tmp_path):
    _, first = saved(name)
    second = save_figure(FIGURES[name](), tmp_path / "second")
    for one, other in zip(first, second, strict=True):
        assert one.read_bytes() == other.read_bytes()
    assert b"<dc:date>" not in first[1].read_bytes()


@pytest.mark.parametrize("error", [OSError("disk full"), KeyboardInterrupt()])
def test_interrupted_saving_leaves_the_old_files(tmp_path, monkeypatch, error):
    old = [path.read_bytes() for path in save_figure(drawn("pinch"), tmp_path / "pinch")]
    whole_print = FigureCanvasSVG.print_svg

    def failing_print(self, path, **options):
        whole_print(self, path, **options)
        raise error

    monkeypatch.setattr(FigureCanvasSVG, "print_svg", failing_print)
    with pytest.raises(type(error)):
        save_figure(drawn("difference"), tmp_path / "pinch")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["pinch.png", "pinch.svg"]
    assert [(tmp_path / f"pinch.{kind}").read_bytes() for kind in ("png", "svg")] == old


# --- structure


def test_records_do_not_import_matplotlib():
    code = (
        "import sys, mixjt.circuit.result, mixjt.fluid.states;"
        "sys.exit(any(name.split('.')[0] == 'matplotlib' for name in sys.modules))"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_plots_do_not_import_pyplot():
    code = (
        "import sys;"
        "from mixjt.plots import property_plot, recuperator_plot, save, search_plot;"
        "sys.exit('matplotlib.pyplot' in sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
