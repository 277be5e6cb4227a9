"""Recuperator: log-mean differences, enthalpy inversion, the search for the pinch."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from toy_model import IdealBlend, PureFluid

from mixjt.circuit.curves import SectionEnd, difference_curve, pinch_curve
from mixjt.circuit.pinch import REACHING, least_difference
from mixjt.errors import ConvergenceError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.fluid.states import PropertyModel, Sweep
from mixjt.parts.recuperator.side import (
    Ends,
    Side,
    Stream,
    conductance_per_flow,
    log_mean_difference,
    temperature_from_enthalpy,
)

HIGH, LOW = 18e5, 1.5e5


class PiecewiseModel(PropertyModel):
    """Enthalpies that are given functions of temperature, one a pressure."""

    gases, molar_masses, name = ("nitrogen",), np.array([0.028]), "piecewise"

    def __init__(self, high, low):
        self._functions = {HIGH: high, LOW: low}

    def sweep(self, z, pressures, temperatures, strict=True, gradients=False):
        pressures = np.broadcast_to(pressures, (len(z), len(temperatures)))
        h = np.array([[self._functions[p](t) for t, p in zip(temperatures, row)] for row in pressures])
        return Sweep(h, *[np.zeros_like(h)] * 7, np.zeros((*h.shape, 1)))


def side_of(model, z, ends) -> Side:
    return Side((Stream(Fluid(model, z), ends=ends),))


def flat_sides(model, z=(1.0,), span=(100.0, 300.0)) -> tuple[Side, Side]:
    """High and low side without pressure drop."""
    return tuple(side_of(model, z, Ends(*span, pressure, pressure)) for pressure in (HIGH, LOW))


# log-mean difference and conductance


def test_log_mean_against_its_definition():
    assert log_mean_difference(60.0, 20.0) == pytest.approx(40.0 / math.log(3.0), rel=1e-14)
    assert log_mean_difference(20.0, 60.0) == pytest.approx(40.0 / math.log(3.0), rel=1e-14)


def test_log_mean_of_nearly_equal_ends_keeps_its_digits():
    # with d1 = d2 (1 + e): d2 e / log1p(e), which does not cancel
    for e in (0.0, 1e-13, 1e-9, 1e-6, 0.99e-3, 1.01e-3, 1e-2):
        exact = 5.0 * e / math.log1p(e) if e else 5.0
        assert log_mean_difference(5.0 * (1.0 + e), 5.0) == pytest.approx(exact, rel=3e-13)


def test_streams_that_touch_need_an_infinite_exchanger():
    assert log_mean_difference(0.0, 5.0) == 0.0
    heat = np.array([0.0, 50.0, 100.0])
    assert (
        conductance_per_flow(heat, np.array([110.0, 150.0, 200.0]), np.array([100.0, 150.0, 190.0]))
        == math.inf
    )


def test_conductance_of_constant_heat_capacities_does_not_depend_on_the_segments():
    # exact for two straight lines: total heat over the one log-mean difference
    for segments in (1, 7, 200):
        heat = np.linspace(0.0, 5000.0, segments + 1)
        high, low = 110.0 + heat / 30.0, 100.0 + heat / 40.0
        ends = 10.0, high[-1] - low[-1]
        exact = 5000.0 / ((ends[1] - ends[0]) / math.log(ends[1] / ends[0]))
        assert conductance_per_flow(heat, high, low) == pytest.approx(exact, rel=1e-12)


# temperature from enthalpy


def test_side_pressure_is_linear_between_its_ends_and_constant_beyond():
    ends = Ends(100.0, 300.0, 1.6e5, 1.4e5)
    assert ends.pressure([50.0, 100.0, 200.0, 300.0, 350.0]) == pytest.approx(
        [1.6e5, 1.6e5, 1.5e5, 1.4e5, 1.4e5]
    )


def test_temperature_from_enthalpy_finds_kinks_and_pressure_drops():
    blend, z = IdealBlend(["nitrogen", "ethane", "isobutane"]), np.array([0.3, 0.3, 0.4])
    side = side_of(blend, z, Ends(110.0, 300.0, 16e5, 18e5))
    table = np.linspace(110.0, 300.0, 12)
    asked = np.sort(np.random.default_rng(3).uniform(110.0, 300.0, 40))
    targets = side.enthalpy(asked)
    found = temperature_from_enthalpy(side, targets, table, side.enthalpy(table))
    assert found == pytest.approx(asked, abs=1e-6)


def test_temperature_from_enthalpy_on_the_flat_stretch_of_a_pure_fluid():
    propane, one = PureFluid("propane", "Propane"), np.ones(1)
    boiling = propane.bubble_temperature(one, LOW)
    table = np.linspace(200.0, 300.0, 6)
    _, side = flat_sides(propane)
    enthalpies = side.enthalpy(table)
    middle = propane._two_phase(LOW, 0.4).enthalpy
    found = temperature_from_enthalpy(side, [middle], table, enthalpies)
    assert found[0] == pytest.approx(boiling, abs=1e-5)


def test_temperature_from_enthalpy_says_where_it_failed():
    model = PiecewiseModel(lambda t: math.nan, lambda t: math.nan)
    with pytest.raises(ConvergenceError, match="enthalpy = 50"):
        temperature_from_enthalpy(flat_sides(model)[1], [50.0], np.array([100.0, 300.0]), np.array([0.0, 100.0]))


# the pinch


@pytest.mark.parametrize("kink", [100.001, 137.123456789, 203.9, 299.99])
def test_a_kink_between_grid_points_is_found(kink):
    model = PiecewiseModel(lambda t: 40.0 * t, lambda t: 40.0 * t + 700.0 + 9.0 * abs(t - kink))
    least = least_difference(*flat_sides(model), 0.0, (100.0, 300.0), 16)
    assert least.minimum == pytest.approx(700.0, rel=REACHING)  # what the refinement says it reaches
    assert least.temperature == pytest.approx(kink, abs=700.0 * REACHING / 9.0)


def test_a_narrow_second_valley_that_goes_deeper_is_found():
    # the grid of 16 sees 700 J/mol at 180 K and 713 in the second valley, whose bottom is at 690
    def low(t):
        return 40.0 * t + min(700.0 + 2.0 * abs(t - 180.0), 690.0 + 4.0 * abs(t - 239.0))

    model = PiecewiseModel(lambda t: 40.0 * t, low)
    grid = np.linspace(100.0, 300.0, 16)
    assert min(low(t) - 40.0 * t for t in grid if t > 200.0) > 710.0
    least = least_difference(*flat_sides(model), 0.0, (100.0, 300.0), 16)
    assert least.minimum == pytest.approx(690.0, rel=REACHING)


def test_a_smooth_minimum_and_a_minimum_at_the_end():
    smooth = PiecewiseModel(lambda t: 40.0 * t, lambda t: 40.0 * t + 700.0 + 0.02 * (t - 211.7) ** 2)
    least = least_difference(*flat_sides(smooth), 0.0, (100.0, 300.0), 16)
    assert least.minimum == pytest.approx(700.0, rel=REACHING)
    falling = PiecewiseModel(lambda t: 41.0 * t, lambda t: 40.0 * t + 700.0)
    least = least_difference(*flat_sides(falling), 3.0, (103.0, 300.0), 16)
    assert least.temperature == 300.0
    assert least.minimum == pytest.approx(40.0 * 297.0 + 700.0 - 41.0 * 300.0, rel=1e-12)


def test_a_jump_is_taken_from_its_lower_side():
    # a pure fluid condensing at high pressure: the difference falls by the latent heat at 250 K
    def high(t):
        return 40.0 * t + (0.0 if t < 250.0 else 9000.0)

    model = PiecewiseModel(high, lambda t: 41.0 * t + 9800.0)
    least = least_difference(*flat_sides(model), 0.0, (100.0, 300.0), 16)
    assert least.minimum == pytest.approx(250.0 + 800.0, rel=1e-8)


def test_a_state_the_model_cannot_find_is_an_error():
    model = PiecewiseModel(lambda t: math.nan if t > 222.0 else t, lambda t: t)
    with pytest.raises(ConvergenceError, match="enthalpy along the recuperator"):
        least_difference(*flat_sides(model), 0.0, (100.0, 300.0), 16)


def test_difference_curve_contains_its_minimum():
    blend, z = IdealBlend(["nitrogen", "ethane", "propane"]), np.array([0.3, 0.07, 0.63])
    curve = difference_curve(Fluid(blend, z), LOW, HIGH, (110.0, 300.0), 20)
    assert len(curve.temperatures) == 21
    assert curve.minimum == curve.difference.min()
    at = np.argmin(curve.difference)
    assert curve.minimum_temperature == curve.temperatures[at]
    state = [blend.state_tp(z, curve.minimum_temperature, p).enthalpy for p in (LOW, HIGH)]
    assert curve.minimum == pytest.approx(state[0] - state[1], rel=1e-12)


def test_pinch_curve_of_constant_heat_capacities():
    model = PiecewiseModel(lambda t: 50.0 * t, lambda t: 40.0 * t)
    high_ends = SectionEnd(110.0, 5500.0), SectionEnd(206.0, 10300.0)
    low_ends = SectionEnd(80.0, 3200.0), SectionEnd(200.0, 8000.0)
    curve = pinch_curve(*flat_sides(model), high_ends, low_ends, 150.0, 9)
    assert curve.heat[0] == 0.0 and curve.heat[-1] == pytest.approx(4800.0)
    assert curve.high_temperature == pytest.approx(110.0 + curve.heat / 50.0, abs=1e-6)
    assert curve.low_temperature == pytest.approx(80.0 + curve.heat / 40.0, abs=1e-6)
    assert curve.smallest_approach == pytest.approx(6.0, abs=1e-6)
    assert curve.pinch_temperature == pytest.approx(206.0, abs=1e-6)
    assert curve.conductance == pytest.approx(4800.0 / (24.0 / math.log(30.0 / 6.0)), rel=1e-7)


# the pinch formula against a recuperator marched cell by cell


def bisected_temperatures(model, z, pressure, enthalpies, low, high) -> np.ndarray:
    """Temperatures of many enthalpies on one isobar, by nothing but bisection."""
    low, high = np.full(len(enthalpies), low), np.full(len(enthalpies), high)
    for _ in range(30):
        middle = 0.5 * (low + high)
        below = model.sweep(z[None, :], pressure, middle).enthalpy[0] < enthalpies
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return 0.5 * (low + high)


def marched_approach(model, z, throttle_inlet, cells, warm, cold) -> np.ndarray:
    """Temperature differences at the cell ends of a recuperator marched from its cold end.

    The throttle inlet temperature is the guess; every cell passes the same heat from the high side to the
    low side, until the high side has reached the aftercooler's enthalpy.
    """
    high, low = model.state_tp(z, throttle_inlet, HIGH).enthalpy, model.state_tp(z, cold, LOW).enthalpy
    heat = (model.state_tp(z, warm, HIGH).enthalpy - high) / cells * np.arange(cells + 1)
    high_temperatures = bisected_temperatures(model, z, HIGH, high + heat, throttle_inlet - 1.0, warm + 1.0)
    return high_temperatures - bisected_temperatures(model, z, LOW, low + heat, cold - 1.0, warm + 1.0)


def shot_cooling(model, z, approach, cells, warm, cold) -> float:
    """Greatest cooling by shooting on the throttle inlet until the smallest difference is the approach."""

    def miss(throttle_inlet):
        return marched_approach(model, z, throttle_inlet, cells, warm, cold).min() - approach

    start = cold + approach
    inlet = start if miss(start) >= 0.0 else brentq(miss, start, start + 60.0, xtol=1e-4)
    return model.state_tp(z, cold, LOW).enthalpy - model.state_tp(z, inlet, HIGH).enthalpy


@pytest.fixture(scope="module")
def blends_model():
    return load_model("multi-fluid", ("nitrogen", "methane", "ethane", "propane", "isobutane"))


@pytest.mark.parametrize(
    "z, approach, pinch, tolerance",
    [
        ([0.30, 0.16, 0.11, 0.18, 0.25], 3.0, 161.0, 1e-4),  # smooth
        ([0.30, 0.16, 0.11, 0.18, 0.25], 0.5, 159.0, 1e-4),
        ([0.27, 0.17, 0.24, 0.14, 0.18], 3.0, 118.6, 2e-3),  # a kink where two liquids part: cells miss it
        ([0.20, 0.25, 0.20, 0.20, 0.15], 3.0, 103.0, 1e-8),  # the cold end
    ],
)
def test_pinch_formula_against_a_marched_recuperator(blends_model, z, approach, pinch, tolerance):
    # no cell boundary undercuts the pinch itself, so the march allows a trifle more cooling than the formula
    z, warm, cold = np.array(z), 300.0, 100.0
    span = (cold + approach, warm)
    least = least_difference(*flat_sides(blends_model, z), approach, span)
    assert least.temperature == pytest.approx(pinch, abs=1.5)
    shot = shot_cooling(blends_model, z, approach, 300, warm, cold)
    assert least.minimum <= shot * (1.0 + 1e-6)
    assert least.minimum == pytest.approx(shot, rel=tolerance)
