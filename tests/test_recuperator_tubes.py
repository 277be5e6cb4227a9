"""The circuit with a recuperator of tube, the command that shows it, and what they refuse."""

import csv
import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from mixjt.case.case import read_case
from mixjt.case.recuperator_case import recuperator_request
from mixjt.circuit.rated import solve_rated_circuit
from mixjt.circuit.solve import solve_circuit
from mixjt.cli import solved_case as cli_request
from mixjt.cli.app import main
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.places import AFTERCOOLER_OUTLET, EVAPORATOR_OUTLET, THROTTLE_INLET
from mixjt.parts.recuperator.tubes import TUBE_IN_TUBE, Tube
from mixjt.plots.exchanger_plot import exchanger_figure, trade_figure, unbeaten
from mixjt.studies.recuperator_study import RecuperatorRequest, recuperator_warnings, solve_recuperator

CASE = Path(__file__).parent.parent / "mixtures-demo" / "receiver-tubes.toml"


@pytest.fixture(scope="module")
def case():
    return read_case(CASE)


@pytest.fixture(scope="module")
def model(case, model_of):
    return model_of(case.blend.gases)


@pytest.fixture(scope="module")
def z(case):
    return np.array(case.blend.composition)


@pytest.fixture(scope="module")
def result(case, model, z):
    return solve_recuperator(Fluid(model, z), case.circuit, replace(recuperator_request(case), norm="EN 12735-1"))


def test_the_circuit_agrees_with_its_recuperator(result):
    """Cooling, flow and throttle inlet of the circuit are those of the rating, but for the heat that leaks in."""
    solved = result.solved
    assert solved.result.cooling_capacity == pytest.approx(solved.cooling, abs=1e-3 * solved.rating.duty / 0.023)
    assert solved.circuit.low_side_drop == pytest.approx(solved.rating.low_drop, rel=1e-3)
    assert solved.circuit.high_side_drop == pytest.approx(solved.rating.high_drop, rel=1e-3)
    assert solved.rating.molar_flow == pytest.approx(solved.result.molar_flow, rel=0.01)
    points = solved.result.points
    assert points[THROTTLE_INLET].temperature == pytest.approx(solved.rating.high_outlet_temperature, abs=0.05)
    assert points[AFTERCOOLER_OUTLET].enthalpy == pytest.approx(solved.pair.high_enthalpy)
    assert points[EVAPORATOR_OUTLET].pressure == pytest.approx(solved.pair.low_pressure, rel=1e-4)


def test_without_a_leak_conductance_and_approach_agree_too(case, model, z):
    """UA of the circuit's pinch curve (pressures linear in temperature) against the sum over the cells.

    At 20 m: where the pinch is a narrow kink, as from 25 m on, the cells step over its bottom.
    """
    tubes = recuperator_request(case).tubes
    solved = solve_rated_circuit(Fluid(model, z), case.circuit, tubes, length=20.0)
    assert solved.result.recuperator_conductance == pytest.approx(solved.rating.conductance, rel=0.02)
    assert solved.circuit.recuperator_approach == pytest.approx(solved.rating.smallest_approach, rel=0.02)
    again = solve_circuit(Fluid(model, z), solved.circuit)
    assert again.cooling_power == pytest.approx(solved.cooling_power, rel=2e-3)


def test_the_length_found_for_an_approach_gives_it_back(case, model, z):
    tubes = recuperator_request(case).tubes
    found = solve_rated_circuit(Fluid(model, z), case.circuit, tubes, approach=4.0)
    again = solve_rated_circuit(Fluid(model, z), case.circuit, tubes, length=found.rating.length)
    assert again.rating.smallest_approach == pytest.approx(4.0, rel=1e-3)
    assert again.cooling_power == pytest.approx(found.cooling_power, rel=1e-3)


def test_too_short_a_tube_leaves_no_cooling(case, model, z):
    with pytest.raises(UnreachableError, match="leaves no cooling at 120 K"):
        solve_rated_circuit(Fluid(model, z), case.circuit, recuperator_request(case).tubes, length=2.0)


def test_a_leak_into_a_tight_recuperator_costs_its_share_of_cooling(case, model_of):
    """Where the streams already touch at the warm end, all the heat that leaks in is lost to the load."""
    gases = ("nitrogen", "methane", "ethane", "propane", "isobutane")
    model, z = model_of(gases), np.array([0.16, 0.38, 0.12, 0.17, 0.17])
    tubes = recuperator_request(case).tubes
    dry, leaking = (
        solve_rated_circuit(Fluid(model, z), case.circuit, tubes, length=30.0, heat_leak=leak) for leak in (0.0, 2.0)
    )
    assert dry.rating.pinch_position == pytest.approx(30.0)
    lost = (dry.cooling - leaking.cooling) * leaking.pair.molar_flow
    assert 1.5 < lost < 2.0
    assert leaking.result.cooling_capacity == pytest.approx(leaking.cooling, rel=0.01)


def test_length_or_approach(case, model, z):
    with pytest.raises(InputError, match="either its length or its smallest approach"):
        solve_rated_circuit(Fluid(model, z), case.circuit, recuperator_request(case).tubes)


def test_the_band_encloses_the_answer(result):
    rating = result.solved.rating
    assert result.strong.smallest_approach < rating.smallest_approach < result.weak.smallest_approach
    assert result.strong_length < rating.length < result.weak_length


def test_other_lengths_trade_approach_for_pressure(result):
    lengths = result.lengths
    assert len(lengths) >= 5 and any(point.length == pytest.approx(result.solved.rating.length) for point in lengths)
    for shorter, longer in pairwise(lengths):
        assert longer.smallest_approach < shorter.smallest_approach and longer.low_drop > shorter.low_drop


def test_offers_are_of_the_norm_and_sorted_by_metal(result):
    assert len(result.offers) >= 3
    assert {offer.norm for offer in result.offers} == {"EN 12735-1"}
    masses = [offer.mass for offer in result.offers]
    assert masses == sorted(masses)
    best = unbeaten(result.offers)
    assert best and all(a.low_drop > b.low_drop for a, b in pairwise(best))


def test_warnings_speak_of_speed_share_and_range(result):
    rating = result.solved.rating
    slow = replace(rating, low_speed=np.full_like(rating.low_speed, 1.0))
    assert any("oil may not come back" in text for text in recuperator_warnings(slow, 2e5))
    fast = replace(rating, low_speed=np.full_like(rating.low_speed, 30.0))
    assert any("faster than the 15 m/s" in text for text in recuperator_warnings(fast, 2e5))
    assert any("of the suction pressure" in text for text in recuperator_warnings(replace(rating, low_drop=5e4), 2e5))
    assert any("laminar" in text for text in recuperator_warnings(rating, 2e5))
    assert any("below the range of the boiling" in text for text in recuperator_warnings(replace(rating, low_flux=5.0), 2e5))


def test_figures_hold_both_streams_and_the_trade(result):
    figure = exchanger_figure(result)
    upper = figure.axes[0]
    assert np.array_equal(upper.lines[0].get_ydata(), result.solved.rating.high_temperature)
    assert np.array_equal(upper.lines[1].get_ydata(), result.solved.rating.low_temperature)
    trade = trade_figure(result)
    assert list(trade.axes[0].lines[0].get_xdata()) == [point.length for point in result.lengths]
    (whisker,) = trade.axes[0].containers
    ends = whisker[2][0].get_segments()[0][:, 1]
    assert list(ends) == pytest.approx([result.strong.smallest_approach, result.weak.smallest_approach])
    for one in (figure, trade):
        one.draw_without_rendering()
        assert all(axes.get_tightbbox().x1 <= one.bbox.x1 for axes in one.axes)  # no title is cut


@pytest.fixture
def fast_commands(monkeypatch, model):
    monkeypatch.setattr(cli_request, "chosen_model", lambda name, gases: model)


def test_command_writes_tables_and_plots(fast_commands, tmp_path, capsys):
    out = tmp_path / "run"
    text = CASE.read_text().replace('heat_leak = "2 W"', 'heat_leak = "2 W"\ntube_norm = "ASTM B280"')
    (tmp_path / "case.toml").write_text(text)
    assert main(["recuperator", str(tmp_path / "case.toml"), "--json", "--out", str(out)]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["length_m"] == pytest.approx(30.0) and record["length_found"] is False
    assert record["tubes"] == "copper, 6 x 1 mm in 12 x 1 mm"
    assert record["smallest_approach_with_strong_films_K"] < record["smallest_approach_K"]
    assert record["warnings"] and record["cooling_power_W"] > record["load_W"]
    names = {path.name for path in out.iterdir()}
    assert names == {
        "summary.json", "recuperator_cells.csv", "recuperator_lengths.csv", "recuperator_offers.csv",
        "recuperator.png", "recuperator.svg", "recuperator_trade.png", "recuperator_trade.svg",
    }  # fmt: skip
    with open(out / "recuperator_cells.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 100
    assert sum(float(row["length_m"]) for row in rows) == pytest.approx(30.0, rel=1e-6)
    conductance = sum(float(row["length_m"]) * float(row["conductance_W_per_m_K"]) for row in rows)
    assert conductance == pytest.approx(record["recuperator_conductance_W_per_K"], rel=1e-9)


def test_command_prints_the_band_and_the_length_found(fast_commands, tmp_path, capsys):
    text = CASE.read_text().replace('length = "30 m" ', "# ").replace('target_approach = "4 K"', 'target_approach = "5 K"')
    (tmp_path / "case.toml").write_text(text)
    assert main(["recuperator", str(tmp_path / "case.toml")]) == 0
    printed = capsys.readouterr().out
    for expected in ("good to 20-30 %", "for an approach of 5 K", "Tubes one can buy", "Flammable", "Local codes"):
        assert expected in printed


@pytest.mark.parametrize(
    "before, after, complaint",
    [
        ('large_diameter = "12 mm"', 'large_diameter = "7 mm"', "does not fit into the bore"),
        ('small_wall = "1 mm"', 'small_wall = "3 mm"', "has no bore"),
        ('length = "30 m"', 'length = "0 m"', "[recuperator_tubes] length"),
        ('kind = "tube in tube"', 'kind = "tube in tub"', 'did you mean "tube in tube"?'),
        ('heat_leak = "2 W"', 'material = "coper"', 'did you mean "copper"?'),
        ('heat_leak = "2 W"', "number = 3", "one small tube"),
        ('length = "30 m"', 'length = "2 m"', "leaves no cooling"),
        ("[recuperator_tubes]", "[recuperator_tubez]", "did you mean [recuperator_tubes]?"),
    ],
)
def test_command_refuses(fast_commands, tmp_path, capsys, before, after, complaint):
    text = CASE.read_text()
    assert before in text
    (tmp_path / "case.toml").write_text(text.replace(before, after))
    assert main(["recuperator", str(tmp_path / "case.toml"), "--out", str(tmp_path / "run")]) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and captured.err.count("\n") == 1 and complaint in captured.err
    assert not (tmp_path / "run").exists()


def test_a_case_without_tubes_says_what_to_add(fast_commands, capsys):
    assert main(["recuperator", str(CASE.with_name("receiver-120K.toml"))]) == 2
    assert "has no [recuperator_tubes]" in capsys.readouterr().err


def test_a_request_checks_its_norm():
    with pytest.raises(InputError, match="unknown norm"):
        RecuperatorRequest(TUBE_IN_TUBE, Tube(6e-3, 1e-3), Tube(12e-3, 1e-3), norm="DIN")
