"""Single changes, lowest temperature and recipes against circuits solved directly with the changed input."""

import pickle
from dataclasses import replace
from types import SimpleNamespace

import cloudpickle
import numpy as np
import pytest
from sensitivity_samples import AMOUNTS, BOTTLES, GASES, LOAD, MACHINE

from mixjt.circuit.solve import solve_circuit
from mixjt.errors import ConvergenceError, InputError
from mixjt.fluid.fluid import Fluid
from mixjt.parts import places
from mixjt.parts.compressor.compression import compress
from mixjt.studies import reach as reach_module
from mixjt.studies import sensitivity
from mixjt.studies.batch import batch_cooling, batch_reach
from mixjt.studies.reach import frost_free_temperature, lowest_temperature
from mixjt.studies.recipe import recipe_of, shifted
from mixjt.studies.sensitivity import SensitivityRequest, changed_circuits, solve_sensitivity


@pytest.fixture(scope="module")
def model(model_of):
    return model_of(GASES)


@pytest.fixture(scope="module")
def recipe():
    return recipe_of(BOTTLES, AMOUNTS, GASES)


@pytest.fixture(scope="module")
def found(model, recipe):
    """Without lowest temperatures, which are looked at one by one below."""
    return solve_sensitivity(model, recipe, MACHINE, SensitivityRequest(fraction_steps=(0.01,)))


@pytest.fixture(scope="module")
def lowest(model, recipe):
    return lowest_temperature(Fluid(model, recipe.composition), MACHINE, LOAD)


def effect(found, name, amount):
    (one,) = [e for e in found.effects if e.change.input == name and e.change.amount == pytest.approx(amount)]
    return one


def direct(model, amounts, circuit) -> float:
    """Cooling power of bottles poured together by hand."""
    nitrogen, methane, ethane, lpg = amounts
    return solve_circuit(Fluid(model, np.array([nitrogen, methane, ethane, 0.3 * lpg, 0.7 * lpg])), circuit).cooling_power


def test_a_changed_fraction_leaves_the_others_their_ratio_and_the_sum():
    for k in range(4):
        for step in (-0.02, 0.01, 0.3):
            moved = shifted(np.array(AMOUNTS), k, step)
            if AMOUNTS[k] + step < 0.0:
                assert moved is None
                continue
            assert moved.sum() == pytest.approx(1.0, abs=1e-14) and moved[k] == pytest.approx(AMOUNTS[k] + step)
            others = [j for j in range(4) if j != k]
            np.testing.assert_allclose(moved[others] / moved[others].sum(), np.array(AMOUNTS)[others] / (1 - AMOUNTS[k]))
    assert shifted(np.array([0.5, 0.5]), 0, -0.6) is None
    assert shifted(np.array([1.0]), 0, -0.01) is None  # nothing there to take its place


def test_every_change_is_a_blend(recipe):
    listed = list(changed_circuits(recipe, MACHINE, SensitivityRequest()))
    assert len({change.input for change in listed}) == 4 + 7
    for change in listed:
        assert change.z.sum() == pytest.approx(1.0, abs=1e-14) and np.all(change.z >= 0.0)
        assert change.z[4] == pytest.approx(7.0 / 3.0 * change.z[3])  # the bottle's own composition is kept


def test_a_recipe_knows_its_masses_and_refuses_foreign_gases(model, recipe):
    masses = recipe.masses(0.06, model.molar_masses)
    moles = masses / (recipe.matrix @ model.molar_masses)
    assert masses.sum() == pytest.approx(0.06)
    np.testing.assert_allclose(moles / moles.sum(), AMOUNTS)
    with pytest.raises(InputError, match="lighter gas holds propane"):
        recipe_of(BOTTLES, AMOUNTS, ("nitrogen", "methane", "ethane"))


@pytest.mark.parametrize("step", [-0.01, 0.01])
def test_fraction_of_a_gas_and_of_a_bottle(model, found, step):
    for k, name in ((0, "nitrogen"), (3, "lighter gas")):
        amounts = np.array(AMOUNTS) * (1.0 - step / (1.0 - AMOUNTS[k]))
        amounts[k] = AMOUNTS[k] + step
        wanted = direct(model, amounts, MACHINE) - direct(model, AMOUNTS, MACHINE)
        assert effect(found, name, step).power_change == pytest.approx(wanted, abs=1e-6)


def test_circuit_inputs_against_direct_solutions(model, found):
    base = direct(model, AMOUNTS, MACHINE)
    for name, amount, circuit in (
        ("ambient temperature", 10.0, replace(MACHINE, ambient_temperature=305.0)),
        ("recuperator approach", -2.0, replace(MACHINE, recuperator_approach=1.0)),
        ("discharge pressure", -0.1, replace(MACHINE, discharge_pressure=13.5e5)),
        ("suction pressure", 0.1, replace(MACHINE, suction_pressure=2.2e5)),
    ):
        wanted = direct(model, AMOUNTS, circuit) - base
        assert effect(found, name, amount).power_change == pytest.approx(wanted, abs=1e-6), name


def test_signs_that_the_physics_fixes(found):
    """A warmer aftercooler and a poorer recuperator only shrink the least enthalpy difference."""
    assert effect(found, "ambient temperature", 10.0).power_change < 0.0 < effect(found, "ambient temperature", -10.0).power_change
    assert effect(found, "recuperator approach", 2.0).power_change < 0.0 < effect(found, "recuperator approach", -2.0).power_change


def test_the_compressor_changes_flow_and_power_only(found):
    base = found.base
    assert effect(found, "volumetric efficiency", 0.1).power_change == pytest.approx(0.1 * base.cooling_power, rel=1e-9)
    suction, machine = base.points[places.COMPRESSOR_INLET], MACHINE.compressor
    for name, changed in (("clearance", {"clearance": 0.022}), ("isentropic efficiency", {"isentropic_efficiency": 0.62 * 1.1})):
        moved = compress(base.fluid, suction, 15e5, replace(machine, **changed), MACHINE.ambient_temperature)
        one = effect(found, name, 0.1)
        assert one.power_change == pytest.approx((moved.molar_flow / base.molar_flow - 1.0) * base.cooling_power, rel=1e-6)
        assert one.result.compressor_power == pytest.approx(moved.electrical_power, rel=1e-9)
    # a pump that works better warms its shell, and with it the suction gas, less
    assert 0.0 < effect(found, "isentropic efficiency", 0.1).power_change < 0.02 * base.cooling_power


def test_no_change_has_no_effect(model, recipe, monkeypatch):
    none = SensitivityRequest((0.0,), 0.0, 0.0, 0.0, 0.0, 0.0, load=LOAD)
    listed = {change.input: change for change in changed_circuits(recipe, MACHINE, none)}
    some = [listed[name] for name in ("nitrogen", "suction pressure", "isentropic efficiency")]
    monkeypatch.setattr(sensitivity, "changed_circuits", lambda *_: some)
    found = solve_sensitivity(model, recipe, MACHINE, none)
    assert len(found.effects) == 3
    for one in found.effects:
        assert one.power_change == 0.0 and one.lowest_change == 0.0, one.change.input


def test_limits_of_a_change_are_said_or_kept(recipe):
    tight = replace(MACHINE, recuperator_approach=1.0)
    tight = replace(tight, compressor=replace(tight.compressor, isentropic_efficiency=0.95))
    listed = list(changed_circuits(recipe, tight, SensitivityRequest(fraction_steps=(0.14,), ambient_change=180.0)))
    by_text = {(change.input, change.amount): change for change in listed}
    assert by_text["recuperator approach", -2.0].circuit.recuperator_approach == 0.5
    assert by_text["isentropic efficiency", 0.1].circuit.compressor.isentropic_efficiency == 1.0
    assert "only 12 mol %" in by_text["ethane", -0.14].problem
    assert "below the ambient" in by_text["ambient temperature", -180.0].problem


def test_a_recuperator_of_stated_size_is_changed_by_its_size(recipe):
    sized = replace(MACHINE, recuperator_conductance=40.0)
    changes = {(one.input, one.amount): one for one in changed_circuits(recipe, sized, SensitivityRequest())}
    assert "recuperator approach" not in {name for name, _ in changes}
    for step in (-0.25, 0.25):
        assert changes["recuperator UA", step].circuit == replace(sized, recuperator_conductance=40.0 * (1.0 + step))


def test_the_greatest_effect_comes_first(found):
    sizes = [max(abs(e.power_change) for e in found.effects if e.change.input == name) for name in found.inputs]
    assert sizes == sorted(sizes, reverse=True)


def test_interruption_keeps_what_was_found(model, recipe):
    def stop(done, total):
        if done == 2:
            raise KeyboardInterrupt

    part = solve_sensitivity(model, recipe, MACHINE, SensitivityRequest(), stop)
    assert part.interrupted and len(part.effects) == 2 and part.base.cooling_power > 0.0


def test_a_copy_in_another_process_would_find_the_same_effect(model, recipe, found):
    change = next(one for one in changed_circuits(recipe, MACHINE, SensitivityRequest()) if one.input == "discharge pressure")
    study, copied = pickle.loads(cloudpickle.dumps((sensitivity._Unchanged(model, found.base.cooling_power, None), change)))
    there = pickle.loads(pickle.dumps(study.effect(copied)))
    assert there.power_change == pytest.approx(effect(found, change.input, change.amount).power_change, rel=1e-9)


def test_batch_agrees_with_full_solutions(model, recipe):
    z = recipe.mixed([shifted(recipe.amounts, k, step) for k, step in ((0, 0.01), (2, -0.01), (3, 0.01))])
    batch = batch_cooling(model, z, MACHINE)
    for k, one in enumerate(z):
        solved = solve_circuit(Fluid(model, one), MACHINE)
        assert batch.cooling_power[k] == pytest.approx(solved.cooling_power, rel=5e-4)
        assert batch.margins[k, 0] == pytest.approx(solved.suction_superheat, abs=0.3)


def test_lowest_temperature_against_bisection(model, recipe, lowest):
    def power(cold):
        return solve_circuit(Fluid(model, recipe.composition), replace(MACHINE, cold_temperature=cold)).cooling_power

    low, high = lowest.temperature - 2.0, lowest.temperature + 2.0
    assert power(low) < LOAD < power(high)
    for _ in range(7):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if power(middle) < LOAD else (low, middle)
    assert lowest.temperature == pytest.approx(0.5 * (low + high), abs=0.05)


def test_a_flat_stretch_above_the_lowest_temperature_is_walked_over(model, recipe, monkeypatch):
    """A secant on it points far below all that the model reaches. By hand: 12 W at 97 K."""

    def solved(fluid, circuit, near=None):
        if circuit.cold_temperature < model.temperature_span[0]:
            raise InputError("outside the model")
        above = circuit.cold_temperature - 98.0
        return SimpleNamespace(cooling_power=12.2 + (0.004 if above > 0.0 else 0.2) * above)

    guess = SimpleNamespace(below_floor=[False], solved=[True], carried=[True], temperature=[118.0], slope=[1.0])
    monkeypatch.setattr(reach_module, "batch_reach", lambda *_: guess)
    monkeypatch.setattr(reach_module, "solved_states", solved)
    monkeypatch.setattr(reach_module, "circuit_outcome", lambda solution: None)
    found = lowest_temperature(Fluid(model, recipe.composition), MACHINE, 12.0)
    assert found.temperature == pytest.approx(97.0, abs=0.02)


def test_lowest_temperature_of_many_at_once(model, recipe):
    amounts = [recipe.amounts, shifted(recipe.amounts, 0, 0.005), shifted(recipe.amounts, 2, -0.005)]
    many = batch_reach(model, recipe.mixed(amounts), MACHINE, LOAD, 85.0)
    for z, temperature in zip(recipe.mixed(amounts), many.temperature):
        assert temperature == pytest.approx(lowest_temperature(Fluid(model, z), MACHINE, LOAD).temperature, abs=0.3)


def test_where_a_load_is_carried_nowhere_or_down_to_the_end_of_the_model(model, recipe, monkeypatch):
    assert "at no temperature" in lowest_temperature(Fluid(model, recipe.composition), MACHINE, 500.0).sentence
    monkeypatch.setattr(reach_module, "coldest_of", lambda model: 118.0)
    reach = lowest_temperature(Fluid(model, recipe.composition), MACHINE, LOAD)
    assert reach.temperature is None and "still carried at 118 K" in reach.sentence


def test_a_lowest_temperature_behind_a_solid_says_so(model, recipe, lowest):
    assert lowest.frozen and "n-butane freezes out before" in lowest.sentence
    free = frost_free_temperature(Fluid(model, recipe.composition), MACHINE, lowest.temperature)
    margins = [
        solve_circuit(Fluid(model, recipe.composition), replace(MACHINE, cold_temperature=cold)).freezing_margin
        for cold in (free - 0.5, free + 0.5)
    ]
    assert margins[0] < 0.0 < margins[1]


def test_why_no_frost_free_temperature_is_found_is_told(model, recipe, lowest, monkeypatch):
    def fails(*_):
        raise ConvergenceError("the flash of a test")

    monkeypatch.setattr(reach_module, "solve_circuit", fails)
    with pytest.raises(ConvergenceError, match="the flash of a test"):
        frost_free_temperature(Fluid(model, recipe.composition), MACHINE, lowest.temperature)
