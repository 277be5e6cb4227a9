"""The blend search against an exhaustive grid, and what it promises about constraints and repetition."""

import numpy as np
import pytest
from circuit_samples import machine

from mixjt.blend import Ingredient, pure_ingredient
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts.compressor.compression import Compressor, compress
from mixjt.studies.search.evaluate import Evaluator, Trials
from mixjt.studies.search.grids import FINE, common_grid
from mixjt.studies.search.search import search
from mixjt.studies.search.search_request import Bottle, SearchRequest

SUPERHEAT = 5.0  # K
MACHINE = machine(
    discharge_pressure=15.0e5,
    cold_temperature=130.0,
    compressor=Compressor("rotary", 6.4e-6, 48.0, largest_discharge_temperature=480.0, largest_valve_temperature=480.0),
)
THREE = ("nitrogen", "methane", "propane")
LPG = Ingredient("lighter gas", ("propane", "n-butane"), (0.3, 0.7))


def request(names, **changes):
    bottles = tuple(Bottle(each if isinstance(each, Ingredient) else pure_ingredient(each)) for each in names)
    settings = {"samples": 128, "shortlist": 3, "suction_superheat": SUPERHEAT, "largest_number_of_gases": 3}
    return SearchRequest(MACHINE, bottles, **(settings | changes))


def find(wanted, progress=None, threads=None):
    return search(load_model("multi-fluid", wanted.gases, threads), wanted, progress)


@pytest.fixture(scope="module")
def three_gases():
    return find(request(THREE))


def grid_best():
    """Greatest cooling power of all blends of three gases in steps of 1 mol %, superheat and discharge limit kept."""
    model = load_model("multi-fluid", THREE)
    steps = np.arange(1, 99) / 100.0
    z = np.array([(a, b, 1.0 - a - b) for a in steps for b in steps if a + b < 0.995])
    for points, kept in ((16, 400), (64, 20)):  # a few temperatures tell which are far from the best
        warm = np.linspace(*MACHINE.span, points)
        high, low = (model.sweep(z, ends.pressure(t), t).enthalpy for ends, t in zip(MACHINE.ends(), (warm, warm - MACHINE.recuperator_approach)))
        z = z[np.argsort((high - low).max(axis=1))[:kept]]
    best = 0.0
    for k in range(len(z)):
        solved = solve_circuit(Fluid(model, z[k]), MACHINE)
        dry = solved.suction_superheat is not None and solved.suction_superheat >= SUPERHEAT
        if dry and solved.discharge_temperature <= MACHINE.compressor.largest_discharge_temperature:
            best = max(best, solved.cooling_power)
    return best


def test_reaches_the_best_of_a_fine_grid(three_gases):
    best = grid_best()
    assert best > 0.0
    assert three_gases.candidates[0].cooling_power >= 0.995 * best


def test_candidates_keep_the_constraints_when_solved_in_full(three_gases):
    assert list(three_gases.values) == sorted(three_gases.values, reverse=True)
    for candidate, amounts in zip(three_gases.candidates, three_gases.amounts, strict=True):
        assert candidate.suction_superheat >= SUPERHEAT - 0.05
        assert candidate.discharge_temperature <= MACHINE.compressor.largest_discharge_temperature + 0.05
        assert sum(amounts.values()) == pytest.approx(1.0, abs=1e-9)
        assert min(amounts.values()) >= 0.01 - 1e-9
        assert len(amounts) <= 3


def test_values_are_those_of_the_full_solution(three_gases):
    first = three_gases.candidates[0]
    again = solve_circuit(Fluid(load_model("multi-fluid", THREE), _fractions(three_gases.amounts[0])), MACHINE)
    assert first.cooling_power == pytest.approx(again.cooling_power, rel=1e-6)


def _fractions(amounts):
    return np.array([amounts.get(name, 0.0) for name in THREE])


def test_a_further_bottle_never_makes_it_worse(three_gases):
    powers = [three_gases.best_by_count[count].cooling_power for count in sorted(three_gases.best_by_count)]
    assert max(three_gases.best_by_count) == 3
    assert len(powers) == 2
    assert powers == sorted(powers)


def test_same_request_same_result_on_any_number_of_threads(three_gases):
    assert find(request(THREE), threads=1) == three_gases


def test_bounds_of_bottles_and_mixtures_hold():
    bottles = (
        Bottle(pure_ingredient("nitrogen"), most=0.10),
        Bottle(pure_ingredient("methane")),
        Bottle(LPG, least=0.30),
    )
    wanted = SearchRequest(
        MACHINE, bottles, samples=128, shortlist=3, suction_superheat=SUPERHEAT, largest_number_of_gases=3
    )
    found = find(wanted)
    for amounts, candidate in zip(found.amounts, found.candidates, strict=True):
        assert amounts["lighter gas"] >= 0.30 - 1e-9
        assert amounts.get("nitrogen", 0.0) <= 0.10 + 1e-9
        shares = dict(zip(candidate.gases, candidate.composition, strict=True))
        assert shares["n-butane"] / shares["propane"] == pytest.approx(7.0 / 3.0, rel=1e-9)


def test_interruption_keeps_what_was_found():
    def stop(stage, done, total, best):
        if best is not None:
            raise KeyboardInterrupt

    found = find(request(THREE), progress=stop)
    assert found.interrupted
    assert found.candidates and found.candidates[0].cooling_power > 0.0
    assert "interrupted" in found.messages[0]


def test_the_discharge_limit_binds():
    """The best blend of this machine leaves the compressor above 366 K; that limit costs cooling."""
    limited = find(request(THREE, largest_discharge_temperature=366.0))
    free = find(request(THREE))
    assert free.candidates[0].discharge_temperature > 366.0
    assert all(each.discharge_temperature <= 366.05 for each in limited.candidates)
    assert 0.0 < limited.candidates[0].cooling_power < free.candidates[0].cooling_power


def test_what_no_blend_can_meet_is_said():
    with pytest.raises(UnreachableError, match="discharge temperature by"):
        find(request(THREE, largest_discharge_temperature=310.0))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"objective": "beauty"}, "cannot search for"),
        ({"samples": 0}, "samples must be"),
        ({"suction_pressure_range": (3e5, 2e5)}, "pressure range"),
        ({"suction_pressure_range": (1e5, 20e5)}, "discharge pressure"),
    ],
)
def test_contradictory_requests_are_refused(changes, said):
    with pytest.raises(InputError, match=said):
        request(THREE, **changes)


def test_the_compressor_of_the_batch_is_that_of_a_circuit_solved_in_full():
    """Flow, work, line and valve of `Compressions.settled` on swept isobars against `compress` with states of its own."""
    asked = request(THREE)
    evaluator = Evaluator(load_model("multi-fluid", THREE), asked)
    grid = common_grid(asked, FINE)
    z = np.array([[0.15, 0.45, 0.40], [0.25, 0.35, 0.40], [0.10, 0.60, 0.30]])
    count = np.ones(len(z))
    trials = Trials(z, count * asked.circuit.suction_pressure, count * asked.circuit.discharge_pressure)
    samples = evaluator.sample(grid, trials)
    fluids = [Fluid(evaluator.model, one) for one in z]
    suction = [fluid.tp(285.0, asked.circuit.suction_pressure) for fluid in fluids]
    cooling = np.array([state.enthalpy for state in suction]) - samples.high[:, -1]  # which leads to that inlet
    inlet, done = evaluator._compressed(samples, cooling)
    assert inlet == pytest.approx(285.0, abs=0.01)
    for row, (fluid, state) in enumerate(zip(fluids, suction, strict=True)):
        full = compress(fluid, state, trials.discharge[row], asked.compressor, asked.circuit.ambient_temperature)
        assert done.flow[row] == pytest.approx(full.molar_flow, rel=5e-4)
        assert done.electrical_work[row] == pytest.approx(full.electrical_work, rel=5e-4)
        assert done.outlet[row] == pytest.approx(full.discharge_temperature, abs=0.1)
        assert done.valve[row] == pytest.approx(full.valve_temperature, abs=0.1)
