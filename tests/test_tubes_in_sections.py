"""Tubes in circuits whose recuperator has two sections: cut from one length, each rated with its own streams."""

import csv
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from mixjt.case.case import read_case
from mixjt.case.circuit_case import case_circuit
from mixjt.circuit.layouts.precooled import precooled_point
from mixjt.circuit.liquefier_result import FeedPassage
from mixjt.circuit.rated import coil_rating
from mixjt.circuit.solve import (
    solve_circuit,
    solved_states,
    with_feed,
    with_precooler,
    with_separator,
)
from mixjt.cli import solved_case as cli_request
from mixjt.cli.app import main
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.parts import places
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.insulation import Insulation
from mixjt.parts.precooler import Precooler
from mixjt.parts.recuperator.tube_rating import rate_recuperator, stream_pair
from mixjt.plots.exchanger_plot import plot_temperatures
from mixjt.plots.style import new_figure
from mixjt.studies import recuperator_study

CASE = Path(__file__).parent.parent / "mixtures-demo" / "receiver-tubes.toml"
GASES = ("nitrogen", "methane", "ethane", "propane", "isobutane", "n-butane")
LIGHT = np.array([0.22, 0.33, 0.25, 0.12, 0.06, 0.02])  # too few heavy gases: pinched at the warm end without a precooler
CELLS, POINTS, BETWEEN = 24, 24, 255.0


@pytest.fixture(scope="module")
def case():
    return read_case(CASE)


@pytest.fixture(scope="module")
def model(case, model_of):
    return model_of(case.blend.gases)


@pytest.fixture(scope="module")
def light(model):
    return Fluid(model, LIGHT)


def plain(case, length=None, **values):
    coil = replace(case.circuit.coil, length=length, cells=CELLS)
    return replace(case.circuit, coil=coil, **({"recuperator_approach": 4.0} | values))


def precooled(case, length=None, temperature=BETWEEN, **values):
    return with_precooler(plain(case, length, **values), Precooler(temperature))


@pytest.fixture(scope="module", params=[None, Insulation(0.05)], ids=["no leak", "leak"])
def insulation(request):
    return request.param


@pytest.fixture(scope="module")
def found(case, light, insulation):
    """The lengths that 4 K need."""
    return solve_circuit(light, precooled(case, insulation=insulation))


@pytest.fixture(scope="module")
def stated(case, light, insulation, found):
    """Their sum stated."""
    return solved_states(light, precooled(case, found.rating.length, insulation=insulation))


def test_precooling_to_the_aftercooler_outlet_gives_the_tubes_of_the_plain_circuit(case, model):
    fluid, circuit = Fluid(model, np.array(case.blend.composition)), plain(case)
    without, rating = (
        solve_circuit(fluid, one).rating for one in (circuit, precooled(case, temperature=circuit.warm_temperature))
    )
    assert rating.sections == (rating,)
    for name in ("length", "conductance", "high_drop", "low_drop", "duty"):
        assert getattr(rating, name) == getattr(without, name)


def test_a_precooler_that_has_nothing_to_do_cuts_the_tubes_of_the_plain_circuit(case, model):
    """A cut changes nothing but where cells end, and the pressure there: on the straight line between the ends."""
    fluid = Fluid(model, np.array(case.blend.composition))
    without, result = (solve_circuit(fluid, one) for one in (plain(case), precooled(case)))
    assert result.precooler_heat == 0.0 and len(result.rating.sections) == 2
    assert result.cooling_power == pytest.approx(without.cooling_power, rel=1e-4)
    for name in ("length", "conductance", "high_drop", "low_drop", "duty"):
        assert getattr(result.rating, name) == pytest.approx(getattr(without.rating, name), rel=5e-3)


def test_a_total_length_that_was_found_is_cut_the_same_when_it_is_stated(found, stated):
    assert found.precooler_heat > 100.0  # J/mol
    again = stated.layout.circuit
    assert again.recuperator_approach == pytest.approx(4.0, rel=1e-6)
    assert stated.cooling_power == pytest.approx(found.cooling_power, rel=1e-6)
    assert stated.conductance == pytest.approx(found.recuperator_conductance, rel=1e-6)
    assert stated.choice.heat == pytest.approx(found.precooler_heat, rel=1e-6)
    for one, other in zip(stated.rating.sections, found.rating.sections, strict=True):
        assert one.length == pytest.approx(other.length, rel=1e-6)
    for drop in ("high_side_drop", "low_side_drop"):  # to 0.1 Pa
        assert getattr(again, drop) == pytest.approx(getattr(found.circuit, drop), rel=1e-5)


def test_each_section_has_its_conductance_and_its_balance(stated):
    """Duties to 0.1 % of the whole, as in the plain circuit; energy between the ends of each march."""
    rating, flow, h = stated.rating, stated.compression.molar_flow, {k: v.enthalpy for k, v in stated.states.items()}
    ends = (places.PRECOOLER_OUTLET, places.THROTTLE_INLET), (places.AFTERCOOLER_OUTLET, places.PRECOOLER_INLET)
    for section, curve, (start, end) in zip(rating.sections, stated.curves, ends, strict=True):
        assert section.conductance == pytest.approx(curve.conductance * flow, rel=1e-6)
        assert section.duty == pytest.approx((h[start] - h[end]) * flow, abs=1e-3 * rating.duty)
        assert section.high_enthalpy[-1] == pytest.approx(h[start], rel=1e-12)
        gained = (section.low_enthalpy[-1] - section.low_enthalpy[0]) * flow
        assert gained == pytest.approx(section.duty + section.heat_leak, rel=1e-9)


def test_sections_add_up(stated):
    rating, circuit = stated.rating, stated.layout.circuit
    cold, warm = rating.sections
    assert cold.length + warm.length == pytest.approx(circuit.coil.length, rel=1e-5)
    assert circuit.high_side_drop == pytest.approx(cold.high_drop + warm.high_drop, rel=1e-4)
    assert circuit.low_side_drop == pytest.approx(cold.low_drop + warm.low_drop, rel=1e-4)
    assert rating.mass == pytest.approx(circuit.coil.tubes.mass * circuit.coil.length, rel=1e-5)
    assert cold.position[0] == 0.0 and warm.position[0] == pytest.approx(cold.position[-1])
    assert warm.position[-1] == pytest.approx(rating.length)
    if circuit.insulation is not None:  # spread over even conductance there, and over even length in each section here
        along = (stated.leak.total - stated.leak.at_cold_end) * stated.compression.molar_flow
        assert rating.heat_leak == pytest.approx(along, rel=0.07)


def test_a_section_alone_is_the_same_recuperator(case, light):
    """Rated outside of any circuit, with tables between its own inlet temperatures only, which are finer: friction to 2 %."""
    solution = solved_states(light, precooled(case, 25.0))
    points, coil, flow = solution.states, solution.layout.circuit.coil, solution.compression.molar_flow
    inlets = (
        (places.PRECOOLER_OUTLET, places.EVAPORATOR_OUTLET), (places.AFTERCOOLER_OUTLET, places.LOW_SIDE_BETWEEN)
    )  # fmt: skip
    for section, (high, low) in zip(solution.rating.sections, inlets, strict=True):
        alone = rate_recuperator(stream_pair(light, flow, points[high], points[low]), coil.tubes, section.length, CELLS)
        for name, tolerance in (("duty", 1e-3), ("conductance", 3e-3), ("high_drop", 0.02), ("low_drop", 0.02)):
            assert getattr(alone, name) == pytest.approx(getattr(section, name), rel=tolerance)


def test_the_picture_shows_both_sections_and_the_cut(stated):
    axes = plot_temperatures(new_figure().subplots(), stated.rating)
    lines, (cold, warm) = [line.get_xdata() for line in axes.lines], stated.rating.sections
    assert sum(np.array_equal(line, cold.position) for line in lines) == 2
    assert sum(np.array_equal(line, warm.position) for line in lines) == 2
    assert [cold.length] * 2 == pytest.approx(lines[-1])


@pytest.mark.parametrize("guess", [-4.0, 0.0, 3.0])
def test_the_cut_does_not_depend_on_where_its_search_begins(stated, guess):
    asked, coil = stated.layout.asked_of_tubes(stated), stated.layout.circuit.coil
    found = coil_rating(coil, asked, guess)
    for one, other in zip(found.sections, stated.rating.sections, strict=True):
        assert one.length == pytest.approx(other.length, rel=1e-6)


def test_streams_that_touch_in_a_round_leave_the_cut_where_it_was(stated):
    cold, warm = stated.layout.asked_of_tubes(stated)
    found = coil_rating(stated.layout.circuit.coil, (cold, replace(warm, conductance=math.inf)), 0.0)
    assert found.sections[0].length == pytest.approx(found.sections[1].length, rel=1e-4)


@pytest.mark.parametrize("insulation", [None], indirect=True)
def test_a_section_that_cannot_be_rated_is_too_long(stated):
    """In 130 m the streams of either section become as good as equally warm, in its own part of 140 m they do not."""
    asked, coil = stated.layout.asked_of_tubes(stated), replace(stated.layout.circuit.coil, length=140.0)
    for one in asked:
        with pytest.raises((UnreachableError, ConvergenceError)):
            rate_recuperator(one.pair, coil.tubes, 130.0, CELLS)
    for guess in (-2.6, 2.6):  # 130 m of 140
        parts = [
            section.conductance / one.conductance
            for section, one in zip(coil_rating(coil, asked, guess).sections, asked, strict=True)
        ]
        assert parts[0] > 2.0 and parts[0] == pytest.approx(parts[1], rel=0.01)


def test_a_precooling_temperature_nearby_is_only_where_its_search_begins(case, light):
    near = precooled_point(light, precooled(case, 25.0, 260.0), POINTS)
    found, alone = (precooled_point(light, precooled(case, 25.0), POINTS, one) for one in (near, None))
    assert found.precooler_heat == pytest.approx(alone.precooler_heat, rel=1e-5)
    assert found.solution.cooling_power == pytest.approx(alone.solution.cooling_power, rel=1e-6)
    for one, other in zip(found.solution.rating.sections, alone.solution.rating.sections, strict=True):
        assert one.length == pytest.approx(other.length, rel=1e-5)


def test_without_a_warm_section_all_of_the_tubes_are_cold(case, light):
    circuit = replace(precooled(case, 15.0), warm_section=False)
    result = solve_circuit(light, circuit)
    assert result.rating.sections == (result.rating,) and result.rating.length == pytest.approx(15.0, rel=1e-5)
    assert result.rating.high_enthalpy[-1] == pytest.approx(result.points[places.PRECOOLER_OUTLET].enthalpy, rel=1e-12)
    assert result.recuperator_conductance == pytest.approx(result.rating.conductance, rel=2e-5)


def test_an_aftercooler_of_a_size_hands_the_tubes_the_gas_that_leaves_it(case, model):
    fluid = Fluid(model, np.array(case.blend.composition))
    result = solve_circuit(fluid, plain(case, 25.0, aftercooler=AirCoil(conductance=6.0)))
    assert result.rating.high_enthalpy[-1] == pytest.approx(result.points[places.AFTERCOOLER_OUTLET].enthalpy, rel=1e-9)


def test_too_short_a_tube_leaves_no_cooling(case, light):
    with pytest.raises(UnreachableError, match=r"\(5 m of its tubes\) leaves no cooling at 120 K"):
        solve_circuit(light, precooled(case, 5.0), POINTS)


@pytest.mark.parametrize("length", [None, 30.0])
def test_three_streams_side_by_side_are_refused_in_words(case, model, length):
    gas = Fluid(model, np.eye(len(LIGHT))[0])
    for three, what in (
        (lambda circuit: with_separator(circuit), "vapour, liquid and the return"),
        (lambda circuit: with_feed(circuit, gas, FeedPassage(2e5, 295.15)), "the gas to be liquefied"),
    ):
        with pytest.raises(InputError, match=what):
            three(plain(case, length))
        assert three(replace(plain(case), coil=None)).coil is None


# commands


@pytest.fixture
def file(tmp_path):
    """The demo's tubes and machine with lighter gases and a precooler."""
    text = CASE.read_text()
    head, tail = text.split("[blend]")[0], text.split("[recuperator_tubes]")[1]
    blend = "\n".join(f"{gas} = {x}" for gas, x in zip(GASES, LIGHT, strict=True))
    text = f"{head}[blend]\n{blend}\n[precooler]\ntemperature = \"255 K\"\n[recuperator_tubes]\ncells = {CELLS}{tail}"
    path = tmp_path / "case.toml"
    path.write_text(text.replace('kind = "tube in tube"', 'kind = "tube in tube"\ntube_norm = "ASTM B280"'))
    return path


@pytest.fixture
def fast_commands(monkeypatch, model):
    monkeypatch.setattr(recuperator_study, "LENGTH_RATIOS", (1.0,))
    monkeypatch.setattr(recuperator_study, "TRIED_SUCTION", (5.0, 5.5))  # which leaves few tubes to offer
    monkeypatch.setattr(cli_request, "chosen_model", lambda name, gases: model)
    monkeypatch.setattr("mixjt.cli.deliver._draw", lambda *_: None)


def shown(capsys, *arguments) -> dict:
    assert main([str(one) for one in arguments] + ["--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_recuperator_tells_the_cut_and_saves_a_length_that_is_cut_the_same(fast_commands, file, light, tmp_path, capsys):
    saved, out = tmp_path / "saved.toml", tmp_path / "run"
    file.write_text(file.read_text().replace('length = "30 m"', "# ") + '[recuperator]\napproach = "4 K"\n')
    assert main(["recuperator", str(file), "--circuit", "precooled", "--save", str(saved), "--out", str(out)]) == 0
    printed, record = " ".join(capsys.readouterr().out.split()), json.loads((out / "summary.json").read_text())
    cold, warm = record["cold_section_length_m"], record["warm_section_length_m"]
    assert f"found: cut {cold:.4g} m for the cold section, {warm:.4g} m for the warm one" in printed
    assert record["cooling_power_with_weak_films_W"] < record["cooling_power_W"] < record["cooling_power_with_strong_films_W"]
    assert record["length_with_strong_films_m"] < cold + warm < record["length_with_weak_films_m"]
    assert record["circuit"] == "precooled" and cold + warm == pytest.approx(record["recuperator_length_m"])
    with open(out / "recuperator_cells.csv", newline="") as table:
        rows = list(csv.DictReader(table))
    assert len(rows) == 2 * CELLS
    assert sum(float(row["length_m"]) for row in rows[:CELLS]) == pytest.approx(cold)
    positions = [float(row["position_m"]) for row in rows]
    assert positions == sorted(positions) and cold < positions[CELLS] < cold + warm
    again = solve_circuit(light, case_circuit(read_case(saved), "precooled"))
    assert [one.length for one in again.rating.sections] == pytest.approx([cold, warm], rel=1e-6)
    assert again.cooling_power == pytest.approx(record["cooling_power_W"], rel=1e-6)


def test_without_tubes_there_is_no_cut(fast_commands, file, capsys):
    file.write_text(file.read_text().split("[recuperator_tubes]")[0])
    record = shown(capsys, "cycle", file, "--circuit", "precooled")
    assert record["cold_section_length_m"] is None and record["warm_section_length_m"] is None


@pytest.mark.parametrize(
    "command, before, after, complaint",
    [
        ("cycle --circuit separator", "", "", "three run side by side in the warm section: vapour, liquid"),
        ("recuperator --circuit separator", 'length = "30 m"', "", "three run side by side in the warm section"),
        ("recuperator --circuit precooled", 'temperature = "255 K"', "", "needs a precooling temperature"),
        ("recuperator --circuit precooled", 'length = "30 m"', 'length = "5 m"', "(5 m of its tubes) leaves no cooling"),
        ("recuperator --circuit precoold", "", "", "did you mean precooled?"),
        ("liquefy", "[blend]", '[liquefier]\nfeed_pressure = "20 bar"\n[blend]', "and the gas to be liquefied"),
    ],
)
def test_commands_refuse_in_one_line(fast_commands, file, capsys, command, before, after, complaint):
    file.write_text(file.read_text().replace(before, after))
    verb, *options = command.split()
    assert main([verb, str(file), *options]) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and captured.err.count("\n") == 1 and complaint in captured.err
