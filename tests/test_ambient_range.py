"""Blends that hold over a range of ambient temperatures: both ends keep the conditions, the worse one counts."""

import json
from dataclasses import replace

import numpy as np
import pytest
from test_limits import DEMO
from test_search import MACHINE, THREE, find, request

from mixjt.case.case import read_case
from mixjt.case.compare_case import compare_request
from mixjt.circuit.solve import solve_circuit, with_separator
from mixjt.cli.app import main
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.studies.search.search_request import POWER_AT_LOAD

MEAN = MACHINE.ambient_temperature
RANGE = (MEAN - 20.0, MEAN + 15.0)
SUPERHEAT = 5.0  # K


def at(result, ambient):
    """The blend of a result solved anew in another ambient."""
    model = load_model("multi-fluid", THREE)
    return solve_circuit(Fluid(model, result.composition), replace(MACHINE, ambient_temperature=ambient))


@pytest.fixture(scope="module")
def held():
    return find(request(THREE, ambient_range=RANGE))


def test_both_ends_keep_the_conditions_which_a_search_at_one_ambient_misses(held):
    assert len(held.ends) == len(held.candidates) > 0
    for candidate, ends in zip(held.candidates, held.ends, strict=True):
        assert tuple(end.ambient_temperature for end in ends) == RANGE
        assert min(end.suction_superheat for end in ends) >= SUPERHEAT - 0.05
        assert max(end.discharge_temperature for end in ends) <= MACHINE.compressor.largest_discharge_temperature + 0.05
        assert candidate.cooling_power == min(end.cooling_power for end in ends)
        for end in ends:
            again = at(candidate, end.ambient_temperature)
            assert again.cooling_power == pytest.approx(end.cooling_power, rel=1e-6)
            assert again.suction_superheat == pytest.approx(end.suction_superheat, abs=1e-3)
    alone = find(request(THREE)).candidates[0]
    assert at(alone, RANGE[0]).suction_superheat < SUPERHEAT - 1.0


def test_comes_to_the_best_of_a_grid_solved_at_both_ends(held):
    model, best = load_model("multi-fluid", THREE), 0.0
    for nitrogen in (0.0, 0.015, 0.03):
        for methane in np.arange(0.40, 0.465, 0.015):
            fluid = Fluid(model, np.array([nitrogen, methane, 1.0 - nitrogen - methane]))
            try:
                ends = [solve_circuit(fluid, replace(MACHINE, ambient_temperature=ambient)) for ambient in RANGE]
            except UnreachableError:  # no cooling at one end
                continue
            if min(end.suction_superheat for end in ends) >= SUPERHEAT:
                best = max(best, min(end.cooling_power for end in ends))
    assert held.values[0] >= 0.99 * best > 0.0


def test_a_load_is_carried_at_both_ends():
    found = find(request(THREE, objective=POWER_AT_LOAD, load=6.0, ambient_range=RANGE, discharge_pressure_range=(8e5, 20e5)))
    assert all(end.cooling_power >= 6.0 * (1.0 - 1e-6) for ends in found.ends for end in ends)
    assert found.values[0] == max(end.compressor_power for end in found.ends[0])


def test_a_range_of_no_width_changes_nothing_but_the_way():
    point, plain = (find(request(THREE, **changes)).values[0] for changes in ({"ambient_range": (MEAN, MEAN)}, {}))
    assert point == pytest.approx(plain, rel=1e-3)


def test_ranges_that_make_no_sense_are_refused():
    with pytest.raises(InputError, match="is not within its range of"):
        request(THREE, ambient_range=(MEAN + 1.0, MEAN + 5.0))
    with pytest.raises(InputError, match="plain circuit only"):
        replace(request(THREE, ambient_range=RANGE), circuit=with_separator(MACHINE, None, None))


def demo_with_range(tmp_path):
    text = DEMO.read_text().replace('temperature = "22 degC"', 'temperature = "22 degC"\ntemperature_range = ["5 degC", "32 degC"]')
    case = tmp_path / "case.toml"
    case.write_text(text)
    return case


def test_cycle_shows_both_ends_and_other_circuits_are_refused(tmp_path, capsys):
    case = str(demo_with_range(tmp_path))
    assert main(["cycle", case, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    cold, hot = record["ambient_ends"]
    assert (cold["ambient_temperature_K"], hot["ambient_temperature_K"]) == pytest.approx((278.15, 305.15))
    assert hot["cooling_power_W"] < record["cooling_power_W"] < cold["cooling_power_W"]
    assert cold["suction_superheat_K"] < record["suction_superheat_K"] < hot["suction_superheat_K"]
    assert main(["search", case, "--circuit", "separator"]) == 2
    assert "plain circuit only" in capsys.readouterr().err


def test_the_case_states_the_range_and_compare_holds_at_the_hottest(tmp_path):
    case = read_case(demo_with_range(tmp_path))
    assert case.search.ambients == pytest.approx((278.15, 305.15)) and case.circuit.ambient_temperature == pytest.approx(295.15)
    asked = compare_request(case)
    circuits = (asked.search.circuit, asked.separator, *asked.precooled)
    assert [one.ambient_temperature for one in circuits] + [asked.ambient] == pytest.approx([305.15] * 5)
    assert asked.blends_at(120.0).ambient_range == case.search.ambient_range
    assert asked.blends_at(120.0, asked.separator).ambient_range is None
