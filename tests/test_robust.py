"""Worst cases against neighbours solved one by one, and the search for the best one."""

import numpy as np
import pytest
from sensitivity_samples import AMOUNTS, BOTTLES, GASES, MACHINE

from mixjt.circuit.solve import solve_circuit
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.report.figure import record_of
from mixjt.report.sensitivity_report import ROBUST
from mixjt.studies.recipe import recipe_of
from mixjt.studies.robust import Bounds, robust_blend, worst_case
from mixjt.studies.robust_search import robust_search
from mixjt.studies.search.search import search
from mixjt.studies.search.search_request import Bottle, SearchRequest


@pytest.fixture(scope="module")
def model(model_of):
    return model_of(GASES, threads=2)


@pytest.fixture(scope="module")
def recipe():
    return recipe_of(BOTTLES, AMOUNTS, GASES)


@pytest.fixture(scope="module")
def robust(model, recipe):
    return robust_blend(model, recipe, MACHINE)


def neighbour_power(model, recipe, amounts, neighbour) -> float:
    """Cooling power of a neighbour such as "nitrogen +1 mol %", solved in full."""
    amounts = np.array(amounts)
    if neighbour:
        name, change, *_ = neighbour.rsplit(" ", 3)
        k, change = recipe.names.index(name), 0.01 * float(change)
        moved = amounts * (1.0 - amounts[k] - change) / (1.0 - amounts[k])
        moved[k] = amounts[k] + change
        amounts = moved
    return solve_circuit(Fluid(model, recipe.mixed(amounts)), MACHINE).cooling_power


def all_neighbours(recipe) -> list[str]:
    return ["", *(f"{name} {change} mol %" for name in recipe.names for change in ("+1", "-1"))]


def test_worst_case_is_that_of_the_neighbours(model, recipe):
    found = worst_case(model, recipe, AMOUNTS, MACHINE)
    powers = {name: neighbour_power(model, recipe, AMOUNTS, name) for name in all_neighbours(recipe)}
    worst = min(powers, key=powers.get)
    assert found.worst[0] == pytest.approx(powers[worst], rel=5e-4) and found.neighbour[0] == worst
    assert found.worst[0] <= found.nominal[0]


def test_a_bottle_with_less_than_the_step_is_left_out_at_worst(model):
    thin = recipe_of(BOTTLES[:3], (0.3, 0.695, 0.005), GASES)
    found = worst_case(model, thin, thin.amounts, MACHINE, step=0.01)
    assert np.isfinite(found.worst[0])


def test_the_robust_blend_is_no_worse_and_solves_as_said(model, recipe, robust):
    assert robust.worst > robust.start_worst
    assert robust.amounts.sum() == pytest.approx(1.0) and np.all(robust.amounts >= 0.01 - 1e-12)
    assert neighbour_power(model, recipe, robust.amounts, robust.neighbour) == pytest.approx(robust.worst, rel=1e-3)
    assert neighbour_power(model, recipe, AMOUNTS, robust.start_neighbour) < robust.worst


def test_no_move_by_a_quarter_percent_is_better(model, recipe, robust):
    for giver in range(4):
        for taker in range(4):
            moved = robust.amounts.copy()
            moved[giver] -= 0.0025
            moved[taker] += 0.0025
            tried = worst_case(model, recipe, moved, MACHINE)
            assert moved[giver] < 0.01 or tried.margin[0] < 0.0 or tried.worst[0] <= robust.worst * 1.0005


def test_bounds_are_kept(model, recipe):
    bounds = Bounds(np.array([0.15, 0.37, 0.12, 0.30]), np.array([0.16, 0.39, 0.12, 0.36]))
    found = robust_blend(model, recipe, MACHINE, bounds=bounds)
    assert np.all(found.amounts >= bounds.least - 1e-9) and np.all(found.amounts <= bounds.most + 1e-9)


def test_superheat_is_kept_in_every_neighbour(model, recipe, robust):
    """A superheat above what the free optimum leaves must push the blend elsewhere."""
    free = worst_case(model, recipe, robust.amounts, MACHINE, bounds=Bounds(np.zeros(4), np.ones(4))).margin[0]
    start = worst_case(model, recipe, AMOUNTS, MACHINE, bounds=Bounds(np.zeros(4), np.ones(4))).margin[0]
    wanted = 0.5 * (free + start) if free < start else start
    found = robust_blend(model, recipe, MACHINE, bounds=Bounds(np.full(4, 0.01), np.ones(4), wanted))
    assert worst_case(model, recipe, found.amounts, MACHINE, bounds=Bounds(np.zeros(4), np.ones(4), wanted)).margin[0] >= -1e-9


def test_interruption_keeps_the_best_so_far(model, recipe):
    def stop(done, total):
        if done == 1:
            raise KeyboardInterrupt

    found = robust_blend(model, recipe, MACHINE, progress=stop)
    assert found.interrupted and found.worst >= found.start_worst


def test_refuses_a_step_of_nothing(model, recipe):
    with pytest.raises(InputError, match="above 0"):
        robust_blend(model, recipe, MACHINE, step=0.0)


def test_candidates_of_a_search_by_their_worst_case(model):
    request = SearchRequest(
        MACHINE, tuple(Bottle(item) for item in (BOTTLES[0], BOTTLES[1], BOTTLES[3])), samples=32, shortlist=2, largest_number_of_gases=3,
        smallest_fraction=0.02,
    )  # fmt: skip
    found = search(model, request)
    worst = robust_search(model, request, found)
    ranked = [one.worst for one in worst.ranked]
    assert ranked == sorted(ranked, reverse=True) and {one.rank for one in worst.ranked} <= {1, 2}
    assert worst.blend.worst >= ranked[0] * (1.0 - 1e-9)
    assert worst.solution.cooling_power == pytest.approx(worst.blend.nominal, rel=2e-3)


def test_a_record_without_a_solution_says_so_with_null(robust):
    record = record_of(ROBUST, {"blend": robust, "solution": None, "problem": "no cooling"})
    assert record["solution"] is None and record["problem"] == "no cooling"
    assert record_of(ROBUST, {"blend": robust, "solution": None, "problem": ""})["problem"] is None
