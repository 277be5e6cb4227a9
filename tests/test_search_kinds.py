"""The blend search for precooled circuits and for circuits with a separator."""

import dataclasses
import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from circuit_samples import machine

from mixjt.blend import pure_ingredient
from mixjt.circuit.solve import solve_circuit, with_precooler, with_separator
from mixjt.errors import InputError, MissingDataError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.precooler import Precooler
from mixjt.studies.search.evaluate import Evaluator, Trials
from mixjt.studies.search.freezing_limit import FreezingConstraint
from mixjt.studies.search.grids import FINE, common_grid
from mixjt.studies.search.search import search
from mixjt.studies.search.search_request import COOLING_PER_CONDUCTANCE, COP, Bottle, SearchRequest
from mixjt.studies.search.separator_batch import SeparatorEvaluator

GASES = ("nitrogen", "methane", "ethane", "propane")
BLENDS = np.array([[0.22, 0.33, 0.25, 0.20], [0.20, 0.30, 0.30, 0.20], [0.30, 0.30, 0.35, 0.05]])  # dry at 255 K
CIRCUIT = machine(cold_temperature=110.0)
HEAVY = ("nitrogen", "methane", "ethane", "propane", "isobutane")
CONDENSING = np.array([[0.10, 0.35, 0.15, 0.15, 0.25], [0.06, 0.40, 0.20, 0.10, 0.24], [0.12, 0.30, 0.10, 0.18, 0.30]])


@pytest.fixture(scope="module")
def model(model_of):
    return model_of(GASES)


def request(circuit, **changes):
    bottles = [Bottle(pure_ingredient(gas)) for gas in GASES]
    return SearchRequest(
        circuit, bottles, largest_number_of_gases=4, smallest_fraction=0.02, samples=64, shortlist=3, **changes
    )


def heavy_request(circuit, **changes):
    bottles = [Bottle(pure_ingredient(gas)) for gas in HEAVY]
    stated = {"samples": 64, "shortlist": 2, "largest_number_of_gases": 4, "objective": COP}
    return SearchRequest(circuit, bottles, **(stated | changes))


def precooled(warm_section=True, temperature=255.0, **changes):
    return with_precooler(CIRCUIT, Precooler(temperature, **changes), warm_section)


@pytest.mark.parametrize("warm_section", [True, False])
@pytest.mark.parametrize("aim, condenser", [
    (COP, None), (COP, AirCoil(20.0)), (COOLING_PER_CONDUCTANCE, None), ("cooling power", None),
])  # fmt: skip
def test_evaluation_of_many_against_full_solutions(model, warm_section, aim, condenser):
    circuit = precooled(warm_section, capacity=1e4, condenser=condenser)
    asked = request(circuit, objective=aim)
    evaluator = Evaluator(model, asked)
    pressures = np.full(len(BLENDS), circuit.suction_pressure), np.full(len(BLENDS), circuit.discharge_pressure)
    samples = evaluator.sample(common_grid(asked, 2 * FINE), Trials(BLENDS, *pressures))
    judged = evaluator.judge(samples, samples.cooling)
    unused = judged.margins[:, evaluator.names.index("precooler duty")]
    for k, z in enumerate(BLENDS):
        result = solve_circuit(Fluid(model, z), circuit)
        assert samples.cooling[k] == pytest.approx(result.cooling_capacity, rel=0.01)
        assert samples.precooler_heat(samples.cooling)[k] == pytest.approx(result.precooler_heat, rel=0.01, abs=1.0)
        assert evaluator.precooling.capacity * (1.0 - unused[k]) == pytest.approx(result.precooler_duty, rel=0.02, abs=0.1)
        value = {COP: result.cop, "cooling power": result.cooling_power}.get(
            aim, result.cooling_capacity / result.pinch.conductance
        )
        assert samples.cooling[k] * np.exp(judged.log_gain[k]) == pytest.approx(value, rel=0.01)


def test_precooling_at_the_aftercooler_outlet_searches_as_the_plain_circuit(model):
    plain = search(model, request(CIRCUIT))
    same = search(model, request(precooled(temperature=CIRCUIT.warm_temperature)))
    assert same.values == plain.values and same.amounts == plain.amounts


def test_a_precooler_pays_and_its_capacity_holds(model):
    free = search(model, request(precooled(False)))
    duty = free.candidates[0].precooler_duty
    bound = search(model, request(precooled(False, capacity=0.8 * duty)))
    assert free.values[0] > bound.values[0]
    assert all(result.precooler_duty <= 0.8 * duty * (1.0 + 1e-9) for result in bound.candidates)
    deeper = search(model, request(precooled(False, 240.0)))
    assert deeper.values[0] > free.values[0]
    assert deeper.amounts[0]["propane"] < free.amounts[0]["propane"]  # fewer heavy gases


@pytest.mark.parametrize("between", [None, 235.0])
def test_evaluation_of_many_with_a_separator_against_full_solutions(model_of, between):
    model = model_of(HEAVY)
    circuit = with_separator(machine(), intermediate=between)
    asked = heavy_request(circuit)
    evaluator = SeparatorEvaluator(model, asked)
    pressures = np.full(len(CONDENSING), circuit.suction_pressure), np.full(len(CONDENSING), circuit.discharge_pressure)
    samples = evaluator.sample(common_grid(asked, 4 * FINE), Trials(CONDENSING, *pressures))
    judged = evaluator.judge(samples, samples.cooling)
    for k, z in enumerate(CONDENSING):
        result = solve_circuit(Fluid(model, z), circuit)
        assert samples.flow[k] == pytest.approx(result.vapour_fraction)
        assert samples.coldest[k] == pytest.approx(result.vapour_composition)
        assert samples.cooling[k] == pytest.approx(result.cooling_capacity, rel=0.01)
        assert samples.cooling[k] * np.exp(judged.log_gain[k]) == pytest.approx(result.cop, rel=0.01)
        limit = FreezingConstraint(circuit, 3.0)  # judged by the vapour, the only part of the blend that gets so cold
        judging = SeparatorEvaluator(model, heavy_request(circuit, constraints=(limit,)))
        freezing = judging.judge(samples, samples.cooling).margins[k, len(evaluator.names) :]
        cold = result.cooling_capacity / result.vapour_fraction
        wanted = limit.margins(model, result.vapour_composition[None], *(np.full(1, p) for p in (2e5, 16e5)), np.array([cold]))
        assert freezing == pytest.approx(wanted[0], abs=0.2)


def test_neighbours_of_a_blend_with_a_separator_are_those_swept_anew(model_of):
    asked = heavy_request(with_separator(machine()))
    evaluator, grid = SeparatorEvaluator(model_of(HEAVY), asked), common_grid(asked, FINE)
    trials = Trials(CONDENSING[:1], np.array([2e5]), np.array([16e5]))
    steps = 1e-4 * np.array([[[1.0, -1.0, 0.0, 0.0, 0.0], [0.0, 0.0, -1.0, 0.0, 1.0]]])
    near, anew = evaluator.sample_around(grid, trials, steps), evaluator.sample(grid, trials.around(steps))
    change, wanted = near.difference[1:] - near.difference[0], anew.difference[1:] - anew.difference[0]
    assert np.median(np.abs(change - wanted)) < 0.02 * np.median(np.abs(wanted))


def test_a_search_with_a_separator_beats_the_plain_blends_with_one(model_of):
    model = model_of(HEAVY)
    asked, circuit = heavy_request(machine()), with_separator(machine())
    plain, found = search(model, asked), search(model, dataclasses.replace(asked, circuit=circuit))
    starts = [solve_circuit(Fluid(model, each.composition), circuit) for each in plain.candidates]
    allowed = [each.cop for each in starts if each.suction_superheat >= 5.0]
    assert found.values[0] > max([*allowed, starts[0].cop])
    for result, amounts in zip(found.candidates, found.amounts, strict=True):
        assert result.suction_superheat >= 5.0 - 1e-5 and result.discharge_temperature < 388.15 + 1e-5
        assert sum(amounts.values()) == pytest.approx(1.0)


def test_a_separator_search_does_not_know_conductance(model):
    asked = request(with_separator(CIRCUIT), objective=COOLING_PER_CONDUCTANCE)
    with pytest.raises(InputError, match='does not know the objective "cooling per conductance"'):
        search(model, asked)


def test_a_precooler_that_cannot_work_is_said(model):
    with pytest.raises(UnreachableError, match="above its critical temperature"):
        search(model, request(precooled(fluid="methane")))


@pytest.mark.parametrize("error", [InputError("bad"), MissingDataError("no pair")])
def test_a_separator_search_tells_bad_input_and_missing_data(model, monkeypatch, error):
    def fails(*_):
        raise error

    monkeypatch.setattr("mixjt.studies.search.separator_batch.separated", fails)
    with pytest.raises(type(error), match=str(error)):
        search(model, request(with_separator(CIRCUIT)))


def test_evaluations_in_several_threads_are_all_counted(model):
    class Slow(np.ndarray):
        """Blends whose number takes a while to tell, so that counts from other threads come in between."""

        def __len__(self):
            time.sleep(0.02)
            return super().__len__()

    evaluator = Evaluator(model, request(CIRCUIT))
    pressures = np.full(len(BLENDS), CIRCUIT.suction_pressure), np.full(len(BLENDS), CIRCUIT.discharge_pressure)
    grid, trials = common_grid(evaluator.request, 12), Trials(BLENDS.view(Slow), *pressures)
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda _: evaluator.sample(grid, trials), range(8)))
    assert evaluator.evaluations == 8 * len(BLENDS)
