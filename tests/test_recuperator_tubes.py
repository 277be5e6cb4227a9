"""The circuit with a recuperator of tube, the command that shows it, and what they refuse."""

import csv
import json
import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from mixjt.case.case import read_case
from mixjt.case.recuperator_case import recuperator_request
from mixjt.circuit.fixed_machine import FixedMachine, held_conductance
from mixjt.circuit.settled import settle_machine
from mixjt.circuit.solve import solve_circuit
from mixjt.cli import solved_case as cli_request
from mixjt.cli.app import main
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.insulation import Insulation
from mixjt.parts.places import EVAPORATOR_OUTLET, THROTTLE_INLET, THROTTLE_OUTLET
from mixjt.parts.recuperator.tubes import TUBE_IN_TUBE, Tube
from mixjt.plots.exchanger_plot import exchanger_figure, trade_figure, unbeaten
from mixjt.report.circuit_report import MACHINE_KEYS
from mixjt.studies import recuperator_study
from mixjt.studies.recuperator_study import RecuperatorRequest, recuperator_warnings, solve_recuperator
from mixjt.studies.throttle_study import ThrottleRequest, solve_throttle

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


def with_length(case, length, **values):
    return replace(case.circuit, coil=replace(case.circuit.coil, length=length), **values)


@pytest.fixture(scope="module")
def found(case, model, z):
    """The length that 4 K need."""
    return solve_circuit(Fluid(model, z), with_length(case, None, recuperator_approach=4.0))


@pytest.fixture(scope="module")
def stated(case, model, z, found):
    """That length stated."""
    return solve_circuit(Fluid(model, z), with_length(case, found.rating.length))


@pytest.mark.parametrize("leaking", [0.0, 0.05])
@pytest.mark.parametrize("length", [18.0, 30.0, 45.0])
def test_the_circuit_agrees_with_its_recuperator(case, model, z, length, leaking):
    """The march cuts the UA into cells of its own and knows the pressure all along: duty and cooling to 0.1 % of the duty.

    The circuit spreads the leak over even conductance, the march over even length; the cold, long stretches of little
    conductance then take up more of it.
    """
    solved = solve_circuit(Fluid(model, z), with_length(case, length, insulation=Insulation(leaking)))
    rating, points, duty = solved.rating, solved.points, solved.recuperator_duty
    assert rating.length == pytest.approx(length, rel=1e-5)
    assert solved.recuperator_conductance == pytest.approx(rating.conductance, rel=2e-5)
    assert rating.duty == pytest.approx(duty, rel=1e-3)
    marched = (points[EVAPORATOR_OUTLET].enthalpy - rating.high_outlet_enthalpy) * solved.molar_flow
    at_cold_end = 0.2 * leaking * (295.15 - 120.0)
    assert marched - at_cold_end == pytest.approx(solved.cooling_power, abs=1e-3 * duty)
    assert rating.heat_leak + at_cold_end == pytest.approx(solved.heat_leak, rel=0.07, abs=1e-9)
    assert solved.circuit.low_side_drop == pytest.approx(rating.low_drop, rel=1e-4)
    assert solved.circuit.high_side_drop == pytest.approx(rating.high_drop, rel=1e-4)
    assert points[THROTTLE_INLET].pressure == pytest.approx(15e5 - rating.high_drop, abs=1.0)
    assert points[EVAPORATOR_OUTLET].pressure == pytest.approx(3e5 + rating.low_drop, abs=1.0)


def test_a_length_that_was_found_changes_nothing_when_it_is_stated(found, stated):
    assert found.pinch.smallest_approach == pytest.approx(4.0, abs=1e-3)
    for name in ("recuperator_conductance", "cooling_power", "molar_flow", "recuperator_duty"):
        assert getattr(stated, name) == pytest.approx(getattr(found, name), rel=1e-6)
    assert stated.pinch.smallest_approach == pytest.approx(found.pinch.smallest_approach, rel=1e-6)
    assert stated.rating.mass == pytest.approx(found.rating.mass, rel=1e-6)
    for drop in ("high_side_drop", "low_side_drop"):  # to 0.1 Pa
        assert getattr(stated.circuit, drop) == pytest.approx(getattr(found.circuit, drop), rel=1e-5)


def test_a_recuperator_of_the_same_size_gives_the_same_without_its_tubes(case, model, z, stated, found):
    fluid = Fluid(model, z)
    sized = with_length(case, found.rating.length).as_sized(stated)
    assert sized.coil is None and sized.recuperator_conductance == stated.recuperator_conductance
    assert solve_circuit(fluid, sized).cooling_power == pytest.approx(stated.cooling_power, rel=1e-5)
    at_approach = with_length(case, found.rating.length).as_solved(stated)
    assert at_approach.recuperator_conductance is None
    assert solve_circuit(fluid, at_approach).cooling_power == pytest.approx(stated.cooling_power, rel=1e-5)


def test_too_short_a_tube_leaves_no_cooling(case, model, z):
    with pytest.raises(UnreachableError, match=r"\(2 m of its tubes\) leaves no cooling at 120 K"):
        solve_circuit(Fluid(model, z), with_length(case, 2.0))


def test_the_head_and_the_table_of_lengths_agree(result):
    (own,) = [point for point in result.lengths if point.length == pytest.approx(30.0, rel=1e-5)]
    assert own.cooling_power == result.solved.cooling_power
    assert own.smallest_approach == result.solved.pinch.smallest_approach


def test_the_band_encloses_the_answer(result):
    solved = result.solved
    assert result.strong.smallest_approach < solved.pinch.smallest_approach < result.weak.smallest_approach
    assert result.strong.cooling_power > solved.cooling_power > result.weak.cooling_power
    assert result.strong_length < solved.rating.length < result.weak_length


def test_other_lengths_trade_approach_for_pressure(result):
    lengths = result.lengths
    assert len(lengths) >= 5
    for shorter, longer in pairwise(lengths):
        assert longer.length > shorter.length and longer.conductance > shorter.conductance
        assert longer.smallest_approach < shorter.smallest_approach and longer.low_drop > shorter.low_drop
        assert longer.cooling_power > shorter.cooling_power


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


def without_length() -> str:
    text = CASE.read_text()
    assert 'length = "30 m"' in text
    return text.replace('length = "30 m"', "# ")


def shown(capsys, *arguments) -> dict:
    assert main([str(one) for one in arguments] + ["--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_recuperator_throttle_and_cycle_speak_of_one_machine(fast_commands, tmp_path, capsys, monkeypatch):
    """A blend by option, the length of tube found; then stated, and the capillary found and stated: nothing moves."""
    monkeypatch.setattr(recuperator_study, "LENGTH_RATIOS", (1.0,))
    first, second = tmp_path / "first.toml", tmp_path / "second.toml"
    blend = "nitrogen=0.15, methane=0.43, ethane=0.06, propane=0.048, isobutane=0.2, n-butane=0.112"
    text = re.sub(r"\[blend\].*?(?=\n\[)", "", without_length(), flags=re.DOTALL)
    text += '[throttle]\ndiameter = "0.8 mm"\n[insulation]\nconductance = "0.05 W/K"\n'
    text = text.replace("[recuperator_tubes]", '[recuperator_tubes]\ncells = 24\ntube_norm = "ASTM B280"')
    first.write_text(text + '[recuperator]\napproach = "4 K"\n')
    seen = shown(capsys, "recuperator", first, "--blend", blend)
    assert seen["length_found"] and seen["heat_leak_W"] > 1.0
    length, capillary = seen["recuperator_length_m"], seen["capillary_length_m"]
    text = text.replace("[recuperator_tubes]", f'[recuperator_tubes]\nlength = "{length!r} m"')
    second.write_text(text.replace('diameter = "0.8 mm"', f'diameter = "0.8 mm"\nlength = "{capillary!r} m"'))
    for command, case in (("cycle", first), ("recuperator", second), ("throttle", second), ("cycle", second)):
        record = shown(capsys, command, case, "--blend", blend)
        for key in MACHINE_KEYS:
            assert record[key] == pytest.approx(seen[key], rel=1e-5 if "drop" in key else 1e-6)
        if command == "throttle":
            assert record["found"] == "flow"
            assert record["mass_flow_g_per_s"] == pytest.approx(record["circuit_mass_flow_g_per_s"], rel=1e-5)


def test_pressures_settle_at_the_design_with_the_capillary_found_for_it(case, model, stated):
    """Against the balances of the settled machine, which has a grid of its own."""
    points, fluid = stated.points, stated.fluid
    tube = ThrottleRequest(diameter=8e-4)
    cut = solve_throttle(fluid, points[THROTTLE_INLET], points[THROTTLE_OUTLET].pressure, stated.mass_flow, tube)
    circuit = with_length(case, 20.0).as_sized(stated)
    machine = FixedMachine(circuit, cut.solved.tube, held_conductance(fluid, circuit))
    settled = settle_machine(fluid, machine, 120.0)
    assert settled.discharge_pressure == pytest.approx(15e5, rel=5e-3)


@pytest.fixture
def fast_commands(monkeypatch, model):
    monkeypatch.setattr(recuperator_study, "LENGTH_RATIOS", (1.0, 1.3))
    monkeypatch.setattr(cli_request, "chosen_model", lambda name, gases: model)


def test_command_writes_tables_and_plots(fast_commands, tmp_path, capsys):
    out = tmp_path / "run"
    text = CASE.read_text().replace('kind = "tube in tube"', 'kind = "tube in tube"\ntube_norm = "ASTM B280"')
    (tmp_path / "case.toml").write_text(text)
    assert main(["recuperator", str(tmp_path / "case.toml"), "--json", "--out", str(out)]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["recuperator_length_m"] == pytest.approx(30.0) and record["length_found"] is False
    assert record["recuperator_metal_kg"] == pytest.approx(13.48, abs=0.01) and record["capillary_length_m"] is None
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
    assert conductance == pytest.approx(record["recuperator_conductance_W_per_K"], rel=2e-5)


def test_command_prints_the_band_and_the_length_found(fast_commands, tmp_path, capsys):
    text = without_length().replace("[recuperator_tubes]", '[recuperator_tubes]\ncells = 24\ntube_norm = "ASTM B280"')
    (tmp_path / "case.toml").write_text(text + '[recuperator]\napproach = "5 K"\n[throttle]\ndiameter = "0.8 mm"\n')
    assert main(["recuperator", str(tmp_path / "case.toml")]) == 0
    printed = capsys.readouterr().out
    for expected in ("good to 20-30 %", " m, found", r"smallest approach +5\.000", "Capillary for it", "Tubes one can buy", "Flammable", "Local codes"):
        assert re.search(expected, printed)


@pytest.mark.parametrize(
    "before, after, complaint",
    [
        ('large_diameter = "12 mm"', 'large_diameter = "7 mm"', "does not fit into the bore"),
        ('small_wall = "1 mm"', 'small_wall = "3 mm"', "has no bore"),
        ('length = "30 m"', 'length = "0 m"', "[recuperator_tubes] length"),
        ('kind = "tube in tube"', 'kind = "tube in tub"', 'did you mean "tube in tube"?'),
        ('kind =', 'material = "coper"\nkind =', 'did you mean "copper"?'),
        ('kind =', "number = 3\nkind =", "one small tube"),
        ('kind =', 'heat_leak = "2 W"\nkind =', "there is no such key in [recuperator_tubes]"),
        ('[cold_end]', '[recuperator]\napproach = "4 K"\n[cold_end]', "follows from the tubes and their length"),
        ('[cold_end]', '[recuperator]\nconductance = "80 W/K"\n[cold_end]', "follows from the tubes and their length"),
        ('[cold_end]', '[recuperator]\npressure_drop_low = "0.1 bar"\n[cold_end]', "follows from the tubes in"),
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
