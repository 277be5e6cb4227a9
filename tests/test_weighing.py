"""Weighing errors: the draws themselves, repetition, and the limit of small errors."""

import numpy as np
import pytest
from sensitivity_samples import AMOUNTS, BOTTLES, CHARGE, GASES, LOAD, MACHINE

from mixjt.circuit.solve import solve_circuit
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.studies.reach import lowest_temperature
from mixjt.studies.recipe import recipe_of, shifted
from mixjt.studies.sensitivity import FRACTION, Change, Effect
from mixjt.studies.weighing import WeighingRequest, draw_moles, weigh


@pytest.fixture(scope="module")
def model(model_of):
    return model_of(GASES, threads=2)


@pytest.fixture(scope="module")
def recipe():
    return recipe_of(BOTTLES, AMOUNTS, GASES)


@pytest.fixture(scope="module")
def effects(model, recipe):
    """Of 1 mol % up and down, each solved directly."""
    base = solve_circuit(Fluid(model, recipe.composition), MACHINE).cooling_power
    found = []
    for k, name in enumerate(recipe.names):
        for step in (-0.01, 0.01):
            z = recipe.mixed(shifted(recipe.amounts, k, step))
            power = solve_circuit(Fluid(model, z), MACHINE).cooling_power
            found.append(Effect(Change(name, step, FRACTION), None, None, power - base, None))
    return found


def test_draws_scatter_as_stated_and_add_up(model, recipe):
    grams = (0.5e-3, 1e-3, 0.25e-3, 2e-3)
    masses = draw_moles(recipe, model.molar_masses, WeighingRequest(CHARGE, grams, 20000, 3)) * (recipe.matrix @ model.molar_masses)
    assert masses.mean(axis=0) == pytest.approx(recipe.masses(CHARGE, model.molar_masses), rel=0.01)
    assert masses.std(axis=0) == pytest.approx(grams, rel=0.05)


def test_masses_are_never_negative(model, recipe):
    moles = draw_moles(recipe, model.molar_masses, WeighingRequest(0.01, (0.02,) * 4, 5000))
    assert np.all(moles >= 0.0) and np.all(np.isfinite(moles))


def test_the_seed_decides(model, recipe):
    first, again, other = (
        weigh(model, recipe, MACHINE, WeighingRequest(CHARGE, (1e-3,) * 4, 12, seed)) for seed in (1, 1, 2)
    )
    np.testing.assert_array_equal(first.cooling_power, again.cooling_power)
    assert np.all(first.cooling_power != other.cooling_power)


def test_without_error_there_is_no_spread(model, recipe):
    reach = lowest_temperature(Fluid(model, recipe.composition), MACHINE, LOAD)
    exact = weigh(model, recipe, MACHINE, WeighingRequest(CHARGE, (0.0,) * 4, 4), reach)
    assert exact.power_deviation == pytest.approx(0.0, abs=1e-10)
    np.testing.assert_allclose(exact.cooling_power, exact.target_power, rtol=1e-12)
    np.testing.assert_allclose(exact.lowest_temperature, exact.target_lowest, rtol=1e-12)
    solved = solve_circuit(Fluid(model, recipe.composition), MACHINE).cooling_power
    assert exact.target_power == pytest.approx(solved, rel=5e-4)
    assert exact.target_lowest == pytest.approx(reach.temperature, abs=0.3)


def from_slopes(recipe, model, request, effects):
    """Contributions (k,) [W] from full solutions: S_k (1 - x_k) s_k / (M_k n) with the slope S_k of the cooling, x_k changed and
    all others scaled alike, for an error s_k of a bottle of molar mass M_k among n moles.
    """
    heavy = recipe.matrix @ model.molar_masses
    moles = request.charge / float(recipe.amounts @ heavy)
    slopes = [
        np.mean([one.power_change / one.change.amount for one in effects if one.change.input == name]) for name in recipe.names
    ]
    return np.abs(slopes) * (1.0 - recipe.amounts) * np.array(request.errors) / (heavy * moles)


def test_small_errors_follow_the_linear_estimate(model, recipe, effects):
    """500 draws know a standard deviation to 1/sqrt(2 * 499) = 3 %; three times that is allowed."""
    request = WeighingRequest(CHARGE, (0.05e-3, 0.05e-3, 0.05e-3, 0.05e-3), 500)
    drawn = weigh(model, recipe, MACHINE, request)
    linear = np.sqrt(np.sum(from_slopes(recipe, model, request, effects) ** 2))
    assert np.sqrt(np.sum(drawn.contributions**2)) == pytest.approx(linear, rel=0.05)
    assert drawn.power_deviation == pytest.approx(linear, rel=0.10)
    assert drawn.power_percentiles[2] - drawn.power_percentiles[0] == pytest.approx(2 * 1.645 * linear, rel=0.15)


def test_one_bottle_off_is_its_own_contribution(model, recipe, effects):
    for k in (0, 3):
        errors = tuple(0.05e-3 if j == k else 0.0 for j in range(4))
        request = WeighingRequest(CHARGE, errors, 200)
        own, drawn = from_slopes(recipe, model, request, effects), weigh(model, recipe, MACHINE, request)
        assert np.flatnonzero(drawn.contributions).tolist() == [k]
        assert drawn.power_deviation == pytest.approx(own[k], rel=0.16)


def test_share_that_carries_the_load(model, recipe):
    reach = lowest_temperature(Fluid(model, recipe.composition), MACHINE, LOAD)
    drawn = weigh(model, recipe, MACHINE, WeighingRequest(CHARGE, (4e-3,) * 4, 40), reach)
    assert drawn.carrying_share == np.mean(drawn.cooling_power >= LOAD) and 0.0 < drawn.carrying_share < 1.0
    # a charge that carries the load at the cold end reaches at least down to it, and the other way round
    known = np.isfinite(drawn.lowest_temperature)
    carries, lowest = drawn.cooling_power >= LOAD, drawn.lowest_temperature
    near = np.abs(lowest - MACHINE.cold_temperature) < 0.3
    assert np.all(((lowest <= MACHINE.cold_temperature) == carries)[known] | near[known])
    assert not np.any(carries[np.isnan(lowest)])


def test_interruption_keeps_the_draws_done(model, recipe):
    def stop(done, total):
        if done >= 50:
            raise KeyboardInterrupt

    part = weigh(model, recipe, MACHINE, WeighingRequest(CHARGE, (1e-3,) * 4, 200), progress=stop)
    whole = weigh(model, recipe, MACHINE, WeighingRequest(CHARGE, (1e-3,) * 4, 50))
    assert part.interrupted and len(part.amounts) == 50
    assert part.power_percentiles is not None
    np.testing.assert_array_equal(part.amounts, whole.amounts)


@pytest.mark.parametrize("changed", [{"charge": 0.0}, {"errors": (-1e-3,) * 4}, {"draws": 0}, {"errors": (1e-3,)}])
def test_refuses(model, recipe, changed):
    with pytest.raises(InputError):
        draw_moles(recipe, model.molar_masses, WeighingRequest(**({"charge": CHARGE, "errors": (1e-3,) * 4} | changed)))
