"""Dew and bubble points: what the flash shows beside them, another solver's answers, and where there are none."""

import numpy as np
import pytest
from blend_samples import log_space, random_batch
from CoolProp import CoolProp
from library_mixture import library_state

from mixjt.fluid.multi_fluid import LOWEST_TEMPERATURE, MultiFluidModel

ONE = np.ones(1)
# Relative step across a boundary. Sweeps, between whose states a boundary is bisected, stop Newton's method at steps of
# 3e-4 and end with a first-order step, so that a phase comes or goes up to some 2e-7 of the temperature off its place.
BESIDE = 1e-6


INVERSE = 2e-6  # d ln p / d ln T is about 10


def blends(seed, count, low=1e5, high=15e5):
    """Random blends over the common gases, with a pressure each.

    Tetrafluoromethane is left out: where it parts from hydrocarbons below 110 K the engine often finds no answer,
    which tests/test_invariants.py counts.
    """
    rng = np.random.default_rng(seed)
    return list(zip(random_batch(rng, count, without="tetrafluoromethane"), log_space(low, high, rng, count), strict=True))


def has_vapour(state) -> bool:
    return state.vapour_fraction > 0.0


# --- what the flash shows beside the point


def test_first_liquid_at_the_dew_temperature(common):
    for z, pressure in blends(21, 25):
        dew = common.dew_temperature(z, pressure)
        above = common.state_tp(z, dew * (1.0 + BESIDE), pressure)
        below = common.state_tp(z, dew * (1.0 - BESIDE), pressure)
        assert above.phase_text == "vapour"
        assert below.phase_text == "vapour + liquid"
        assert below.liquids[0].fraction < 1e-3


def test_first_vapour_at_the_bubble_temperature(common):
    seen = 0
    for z, pressure in blends(22, 25):
        bubble = common.bubble_temperature(z, pressure)
        if np.isnan(bubble):  # it boils below the model's lowest temperature
            assert has_vapour(common.state_tp(z, LOWEST_TEMPERATURE + 1.0, pressure))
            continue
        seen += 1
        below = common.state_tp(z, bubble * (1.0 - BESIDE), pressure)
        above = common.state_tp(z, bubble * (1.0 + BESIDE), pressure)
        assert not has_vapour(below)
        assert above.vapour_fraction > 0.0
        # A single gas boils away at one temperature, and so may two liquids, by the phase rule.
        if len(below.phases) == 1 and np.count_nonzero(z) > 1:
            assert above.vapour_fraction < 1e-3
    assert seen > 20


def test_first_liquid_at_the_dew_pressure(common):
    for z, pressure in blends(23, 15):
        temperature = common.dew_temperature(z, pressure)
        dew = common.dew_pressure(z, temperature)
        assert common.state_tp(z, temperature, dew * (1.0 - BESIDE)).phase_text == "vapour"
        above = common.state_tp(z, temperature, dew * (1.0 + BESIDE))
        assert above.phase_text == "vapour + liquid"
        assert above.liquids[0].fraction < 1e-3


def test_first_vapour_at_the_bubble_pressure(common):
    for z, pressure in blends(24, 15):
        temperature = common.bubble_temperature(z, pressure)
        if np.isnan(temperature):
            continue
        bubble = common.bubble_pressure(z, temperature)
        assert not has_vapour(common.state_tp(z, temperature, bubble * (1.0 + BESIDE)))
        assert has_vapour(common.state_tp(z, temperature, bubble * (1.0 - BESIDE)))


def test_temperature_and_pressure_are_each_other_s_inverse(common):
    for z, pressure in blends(25, 15):
        bubble, dew = common.bubble_temperature(z, pressure), common.dew_temperature(z, pressure)
        assert common.dew_pressure(z, dew) == pytest.approx(pressure, rel=INVERSE)
        if np.isfinite(bubble):
            assert bubble <= dew  # equal for a blend that chance left with one gas
            assert common.bubble_pressure(z, bubble) == pytest.approx(pressure, rel=INVERSE)


def test_both_rise_with_pressure(common):
    for z, _ in blends(26, 8):
        pressures = np.geomspace(1e5, 12e5, 6)
        for boundary in (common.bubble_temperature, common.dew_temperature):
            curve = np.array([boundary(z, p) for p in pressures])
            curve = curve[np.isfinite(curve)]
            assert np.all(np.diff(curve) > 0.0)


# --- against another solver


def test_against_the_library():
    """CoolProp's saturation calls on the same equations, for gases and pairs that it holds and that split into no two liquids."""
    rng, gases, seen = np.random.default_rng(27), ("methane", "ethane", "propane"), 0
    model, library = MultiFluidModel(gases), library_state(gases)
    for z in rng.dirichlet(np.ones(3), 12):
        pressure = float(log_space(1e5, 15e5, rng, 1)[0])
        library.set_mole_fractions(z.tolist())
        for quality, boundary in ((1.0, model.dew_temperature), (0.0, model.bubble_temperature)):
            try:
                library.update(CoolProp.PQ_INPUTS, pressure, quality)
            except ValueError:
                continue
            seen += 1
            assert boundary(z, pressure) == pytest.approx(library.T(), abs=1e-4)
    assert seen >= 16


# --- pure and nearly pure


@pytest.mark.parametrize("gas, pressure", [("nitrogen", 1e5), ("nitrogen", 20e5), ("propane", 9e5)])
def test_a_pure_gas_has_one_boiling_point(model_of, gas, pressure):
    model = model_of((gas,))
    boiling = model.bubble_temperature(ONE, pressure)
    assert model.dew_temperature(ONE, pressure) == pytest.approx(boiling, rel=1e-10)
    assert model.bubble_pressure(ONE, boiling) == pytest.approx(pressure, rel=1e-8)


def test_a_gas_left_out_of_a_larger_model(model_of, common):
    z = np.zeros(len(common.gases))
    z[common.gases.index("propane")] = 1.0
    assert common.dew_temperature(z, 5e5) == pytest.approx(
        model_of(("propane",)).dew_temperature(ONE, 5e5), rel=1e-10
    )


@pytest.mark.parametrize("trace", [1e-3, 1e-4])
def test_next_to_pure_nitrogen(model_of, trace):
    """A trace z of methane lifts the boiling point of nitrogen by z (1 - K) R T^2 / h_vap, the dew point by
    z (1/K - 1) R T^2 / h_vap, K its distribution at infinite dilution (the law of dilute solutions).
    """
    model, pure, pressure = model_of(("nitrogen", "methane")), model_of(("nitrogen",)), 5e5
    boiling = pure.bubble_temperature(ONE, pressure)
    ends = [pure.state_tp(ONE, boiling * (1.0 + sign * 1e-9), pressure) for sign in (-1.0, 1.0)]
    dilute = np.array([1.0 - 1e-12, 1e-12])
    log_phi = [
        model.log_fugacity_coefficients(dilute, boiling * (1.0 + sign * 1e-9), pressure)[1]
        for sign in (-1.0, 1.0)
    ]
    distribution = np.exp(log_phi[0] - log_phi[1])
    scale = trace * 8.31446261815324 * boiling**2 / (ends[1].enthalpy - ends[0].enthalpy)
    z = np.array([1.0 - trace, trace])
    bubble, dew = model.bubble_temperature(z, pressure), model.dew_temperature(z, pressure)
    assert bubble - boiling == pytest.approx(scale * (1.0 - distribution), rel=0.02, abs=1e-8)
    assert dew - boiling == pytest.approx(scale * (1.0 / distribution - 1.0), rel=0.02, abs=1e-8)


@pytest.mark.parametrize("trace", [1e-2, 1e-3, 1e-4, 1e-5])
def test_a_trace_of_propane_freezes_no_solver(model_of, trace):
    # nitrogen with a trace of something that hardly dissolves: the dew point belongs to a propane-rich liquid
    model, pressure = model_of(("nitrogen", "propane")), 2e5
    z = np.array([1.0 - trace, trace])
    bubble, dew = model.bubble_temperature(z, pressure), model.dew_temperature(z, pressure)
    liquid = model.state_tp(z, dew - 1e-5, pressure).liquids[0]
    assert liquid.composition[1] > 0.9
    boiling = model_of(("nitrogen",)).bubble_temperature(ONE, pressure)
    assert bubble == pytest.approx(boiling, abs=0.3)
    assert dew > boiling + 5.0


# --- two liquids


def test_bubble_point_of_two_liquids(model_of):
    """Nitrogen + ethane boil at one temperature over the whole gap between their two liquids."""
    model, pressure = model_of(("nitrogen", "ethane")), 6e5
    points = [model.bubble_temperature(np.array([x, 1.0 - x]), pressure) for x in (0.3, 0.6, 0.9)]
    assert points == pytest.approx([points[0]] * 3, rel=1e-8)
    below = model.state_tp(np.array([0.6, 0.4]), points[0] * (1.0 - BESIDE), pressure)
    assert below.phase_text == "liquid + liquid"


# --- no such point


@pytest.mark.parametrize("pressure", [200e5, 400e5])
def test_no_point_above_the_cricondenbar(model_of, pressure):
    # methane + propane: the highest pressure of two phases is about 100 bar
    model, z = model_of(("methane", "propane")), np.array([0.6, 0.4])
    assert np.isnan(model.bubble_temperature(z, pressure))
    assert np.isnan(model.dew_temperature(z, pressure))


def test_no_point_above_the_critical_point_of_a_pure_gas(model_of):
    model = model_of(("nitrogen",))
    for value in (
        model.bubble_temperature(ONE, 40e5),
        model.dew_temperature(ONE, 40e5),
        model.bubble_pressure(ONE, 130.0),
        model.dew_pressure(ONE, 130.0),
    ):
        assert np.isnan(value)


def test_no_dew_pressure_above_the_cricondentherm(model_of):
    model, z = model_of(("methane", "propane")), np.array([0.6, 0.4])
    assert np.isfinite(model.dew_pressure(z, 290.0))
    assert np.isnan(model.dew_pressure(z, 360.0))
    assert np.isnan(model.bubble_pressure(z, 360.0))


def test_bubble_points_up_to_the_cricondenbar(model_of):
    """Near its critical point a vapour is as dense as a liquid; the bubble point must not become the place
    where a label changes.
    """
    model, z = model_of(("methane", "n-butane")), np.array([0.9, 0.1])
    for pressure in (50e5, 60e5, 75e5):
        bubble = model.bubble_temperature(z, pressure)
        assert len(model.state_tp(z, bubble * (1.0 - BESIDE), pressure).phases) == 1
        inside = model.state_tp(z, bubble * (1.0 + BESIDE), pressure)
        assert len(inside.phases) == 2
        assert inside.phases[0].fraction < 1e-2
    assert model.bubble_temperature(z, 75e5) == pytest.approx(216.475, abs=0.01)  # regression value


def test_retrograde_pressure_has_no_bubble_point(model_of):
    """Between the critical pressure and the cricondenbar both limits of the two-phase region are dew points."""
    model, z, pressure = model_of(("methane", "n-butane")), np.array([0.9, 0.1]), 123e5
    cold, middle, warm = (model.state_tp(z, t, pressure).phases[-1].fraction for t in (265.5, 269.5, 276.0))
    assert 0.0 < cold < middle > warm > 0.0  # less liquid at either end
    assert np.isnan(model.bubble_temperature(z, pressure))
    dew = model.dew_temperature(z, pressure)
    assert model.state_tp(z, dew * (1.0 - BESIDE), pressure).phase_text == "vapour + liquid"
    assert len(model.state_tp(z, dew * (1.0 + BESIDE), pressure).phases) == 1
    assert np.isnan(model.dew_temperature(z, 125e5))
