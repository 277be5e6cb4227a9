"""A search for the least power that carries the load: against a grid of full solutions, its conditions, refusals."""

from dataclasses import replace

import numpy as np
import pytest
from test_search import MACHINE, THREE, find, request

from mixjt.case.case import read_case
from mixjt.circuit.solve import solve_circuit, solved_states
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.studies.search.evaluate import Evaluator, Trials
from mixjt.studies.search.grids import FINE, common_grid
from mixjt.studies.search.search_request import POWER_AT_LOAD

LOAD = 8.5  # W
DISCHARGE = (8.0e5, 20.0e5)


def wanted(**changes):
    return request(THREE, **({"objective": POWER_AT_LOAD, "load": LOAD} | changes))


@pytest.fixture(scope="module")
def found():
    return find(wanted(discharge_pressure_range=DISCHARGE))


def least_of_a_grid():
    """Least power of full solutions: blends in steps of 2 and 4 mole %, the discharge pressure that just carries the load."""
    model = load_model("multi-fluid", THREE)
    blends = [(a, b, 1.0 - a - b) for a in np.arange(0.01, 0.10, 0.02) for b in np.arange(0.20, 0.46, 0.04)]
    least = np.inf
    for z in blends:
        before = None
        for discharge in np.arange(8.0e5, 11.1e5, 1.0e5):
            try:
                solved = solved_states(Fluid(model, np.array(z)), replace(MACHINE, discharge_pressure=discharge))
            except UnreachableError:  # no cooling yet
                continue
            here = solved.cooling_power, solved.compression.electrical_power
            if here[0] >= LOAD:
                before = before or here
                share = (LOAD - before[0]) / max(here[0] - before[0], 1e-9)
                least = min(least, before[1] + max(share, 0.0) * (here[1] - before[1]))
                break
            before = here
    return least


def test_comes_to_the_least_of_a_grid_and_carries_the_load(found):
    assert found.candidates[0].compressor_power <= 1.01 * least_of_a_grid()
    assert list(found.values) == sorted(found.values) == [one.total_power for one in found.candidates]
    for candidate in found.candidates:
        assert LOAD * (1.0 - 1e-6) <= candidate.cooling_power <= 1.01 * LOAD
        assert candidate.suction_superheat >= 5.0 - 0.05
    powers = [found.best_by_count[count].total_power for count in sorted(found.best_by_count)]
    assert powers == sorted(powers, reverse=True)


def test_the_greatest_cooling_draws_more(found):
    free = find(request(THREE, discharge_pressure_range=DISCHARGE)).candidates[0]
    assert free.cooling_power > 1.5 * LOAD and free.compressor_power > 1.3 * found.candidates[0].compressor_power


def test_at_stated_pressures_the_blend_alone_saves_power():
    least, greatest = find(wanted()).candidates[0], find(request(THREE)).candidates[0]
    assert least.discharge_pressure == greatest.discharge_pressure
    assert least.cooling_power >= LOAD * (1.0 - 1e-6) and least.compressor_power < greatest.compressor_power


def test_the_cooling_itself_gains_nothing_in_the_batch():
    asked = wanted()
    model = load_model("multi-fluid", asked.gases)
    evaluator = Evaluator(model, asked)
    z = np.array([[0.05, 0.33, 0.62]])
    trials = Trials(z, np.array([MACHINE.suction_pressure]), np.array([MACHINE.discharge_pressure]))
    samples = evaluator.sample(common_grid(asked, FINE), trials)
    judged = evaluator.judge(samples, samples.cooling)
    solved = solve_circuit(Fluid(model, z[0]), MACHINE)
    assert np.exp(-judged.log_gain[0] - np.log(samples.cooling[0])) == pytest.approx(solved.compressor_power, rel=2e-3)
    told = judged.margins[0, evaluator.names.index("load")]
    assert told == pytest.approx(100.0 * np.log(solved.cooling_power / LOAD), abs=2.0)


def test_a_load_that_no_blend_carries_is_said():
    with pytest.raises(UnreachableError, match=r"misses the load by [\d.]+ %; use a larger compressor"):
        find(wanted(load=100.0))


@pytest.mark.parametrize("load", [None, 0.0])
def test_without_a_load_it_is_refused(load):
    with pytest.raises(InputError, match='"power at the load" needs a load above 0 W: state load in \\[cold_end\\]'):
        wanted(load=load)


def test_the_case_says_so_in_one_line(tmp_path):
    from test_limits import DEMO

    text = DEMO.read_text().replace('objective = "cooling power"', 'objective = "power at the load"')
    case = tmp_path / "case.toml"
    case.write_text(text)
    assert read_case(case).search.load == pytest.approx(12.0)
    case.write_text("".join(line for line in text.splitlines(keepends=True) if not line.startswith("load = ")))
    with pytest.raises(InputError, match="state load in") as refused:
        read_case(case)
    assert "\n" not in str(refused.value)
