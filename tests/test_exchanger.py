"""Cells of the recuperator against analytic exchangers, and its ratings of a blend.

`constant_stream` has a constant heat capacity and a constant film, so that the exchanger has a closed-form answer.
"""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from blend_samples import SIX_FRACTIONS

from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.recuperator.march import TubeStream, Wall, march_to_conductance, march_to_length
from mixjt.parts.recuperator.stream_tables import FilmTable, IsobarTable
from mixjt.parts.recuperator.tube_rating import design_recuperator, rate_recuperator, stream_pair
from mixjt.parts.recuperator.tubes import TUBE_IN_TUBE, TUBES_IN_SHELL, Tube, exchanger_tubes

COLD, WARM, FLOW, CAPACITY = 100.0, 300.0, 0.02, 50.0  # K, K, mol/s, J/(mol K)
FILM, PERIMETER, LENGTH = 400.0, 0.02, 5.0


def constant_stream(inlet, capacity=CAPACITY, film=FILM, gradient=0.0):
    temperatures = np.tile(np.linspace(COLD - 50.0, WARM + 50.0, 11), (2, 1))
    enthalpies = capacity * temperatures
    ones = np.ones_like(temperatures)
    isobars = IsobarTable(np.array([10e5, 9e5]), enthalpies, temperatures, 1e-3 * ones)
    films = FilmTable(isobars.pressures, enthalpies, film * ones, gradient * ones, np.nan * ones, 1e4 * ones)
    return TubeStream(isobars, films, FLOW, capacity * inlet, 10e5, PERIMETER, 50.0, 0.03)


def effectiveness(march, least_capacity):
    return march.duty / (FLOW * least_capacity * (WARM - COLD))


@pytest.mark.parametrize("length", [0.2, 1.0, 3.0])
@pytest.mark.parametrize("ratio", [1.0, 0.75, 0.3])
@pytest.mark.parametrize("high_is_smaller", [True, False])
def test_effectiveness_of_a_counterflow_exchanger(length, ratio, high_is_smaller):
    """Kays & London, Compact Heat Exchangers: e = (1 - exp(-N (1 - C))) / (1 - C exp(-N (1 - C))), N/(1 + N) at C = 1."""
    least, most = CAPACITY, CAPACITY / ratio
    high_capacity, low_capacity = (least, most) if high_is_smaller else (most, least)
    high, low = constant_stream(WARM, high_capacity), constant_stream(COLD, low_capacity, film=2.0 * FILM)
    resistance = 1.0 / (FILM * PERIMETER) + 1.0 / (2.0 * FILM * PERIMETER) + 0.01
    units = length / resistance / (FLOW * least)
    fall = np.exp(-units * (1.0 - ratio))
    expected = units / (1.0 + units) if ratio == 1.0 else (1.0 - fall) / (1.0 - ratio * fall)
    march = march_to_length(high, low, Wall(0.01), length, 20)
    assert effectiveness(march, least) == pytest.approx(expected, rel=1e-6)
    assert march.position[-1] == pytest.approx(length, rel=1e-6)


@pytest.mark.parametrize("conduction, units", [(0.01, 20.0), (0.02, 20.0), (0.01, 50.0)])
def test_axial_conduction_of_a_balanced_exchanger(conduction, units):
    """P. G. Kroeger, Adv. Cryog. Eng. 12 (1967) 363, C = 1, as given in Barron, Cryogenic Heat Transfer (from memory):
    1 - e = 1 / (1 + N (1 + l F) / (1 + l N)), F = [l N/(1 + l N)]^(1/2) tanh(N / [l N/(1 + l N)]^(1/2))."""
    high, low = constant_stream(WARM), constant_stream(COLD)
    length = units * FLOW * CAPACITY * 2.0 / (FILM * PERIMETER)
    axial = conduction * FLOW * CAPACITY * length
    root = np.sqrt(conduction * units / (1.0 + conduction * units))
    factor = root * np.tanh(units / root)
    loss = 1.0 / (1.0 + units * (1.0 + conduction * factor) / (1.0 + conduction * units))
    march = march_to_length(high, low, Wall(0.0, axial), length, 400)
    taken = (march.low_temperature[-1] - COLD) / (WARM - COLD)
    assert 1.0 - taken == pytest.approx(loss, rel=0.01)
    assert 1.0 - taken > 1.02 * (1.0 - effectiveness(march_to_length(high, low, Wall(0.0), length, 400), CAPACITY))


def test_heat_leak_warms_the_low_side_and_keeps_the_balance():
    high, low = constant_stream(WARM), constant_stream(COLD)
    march = march_to_length(high, low, Wall(0.0, leak_conductance=0.05, ambient=WARM), LENGTH, 40)
    taken = FLOW * (march.low_enthalpy[-1] - march.low_enthalpy[0])
    assert march.leak[-1] > 2.0 and taken - march.duty == pytest.approx(march.leak[-1], rel=1e-9)
    outside = march_to_length(high, low, Wall(0.0, leak_conductance=0.05, ambient=WARM, low_leak_share=0.0), LENGTH, 40)
    kept = FLOW * (outside.high_enthalpy[-1] - outside.high_enthalpy[0])
    assert outside.leak[-1] < march.leak[-1] and outside.duty - kept == pytest.approx(outside.leak[-1], rel=1e-9)


@pytest.mark.parametrize("leaking", [0.02, 0.1])
def test_heat_leak_along_constant_capacities(leaking):
    """The two linear equations of the streams, C dT/dx each, solved by scipy.integrate.solve_bvp."""
    from scipy.integrate import solve_bvp

    conductance, flow = FILM * PERIMETER / 2.0, FLOW * CAPACITY

    def along(x, y):
        passed = conductance * (y[0] - y[1])
        return np.array([passed, passed + leaking / LENGTH * (WARM - y[1])]) / flow

    guess = np.linspace(0.0, LENGTH, 51)
    exact = solve_bvp(along, lambda a, b: np.array([b[0] - WARM, a[1] - COLD]), guess,
                      np.tile(np.linspace(COLD, WARM, 51), (2, 1)), tol=1e-8)  # fmt: skip
    wall = Wall(0.0, leak_conductance=leaking, ambient=WARM)
    march = march_to_length(constant_stream(WARM), constant_stream(COLD), wall, LENGTH, 200)
    assert exact.success
    assert march.high_temperature[0] == pytest.approx(exact.y[0, 0], abs=0.01)
    assert march.low_temperature[-1] == pytest.approx(exact.y[1, -1], abs=0.01)


def test_constant_friction_takes_the_pressure_linearly():
    high, low = constant_stream(WARM, gradient=1e3), constant_stream(COLD, gradient=2e3)
    march = march_to_length(high, low, Wall(0.0), LENGTH, 10)
    assert march.high_pressure[0] == pytest.approx(10e5 - 1e3 * LENGTH)
    assert march.low_pressure[-1] == pytest.approx(10e5 - 2e3 * LENGTH)


def test_a_stream_that_loses_its_pressure_is_refused():
    with pytest.raises(UnreachableError, match="low-pressure stream loses more than 70 %"):
        march_to_length(constant_stream(WARM), constant_stream(COLD, gradient=2e5), Wall(0.0), LENGTH, 10)


def test_a_tube_far_longer_than_of_use_is_refused():
    high, low = constant_stream(WARM, CAPACITY), constant_stream(COLD, 3.0 * CAPACITY)
    with pytest.raises(UnreachableError, match="state a shorter one"):
        march_to_length(high, low, Wall(0.0), 100.0, 20)


def test_streams_without_a_difference_are_refused():
    with pytest.raises(UnreachableError, match="too small a temperature difference"):
        march_to_length(constant_stream(COLD), constant_stream(WARM), Wall(0.0), LENGTH, 10)
    with pytest.raises(UnreachableError, match="too small a temperature difference"):
        march_to_conductance(constant_stream(COLD), constant_stream(WARM), Wall(0.0), 10.0, 10)


def test_second_order_in_the_number_of_cells():
    """A heat capacity that rises along the low side: the error against many cells falls with the square of them."""

    def bent(stream, exponent):
        t = np.linspace(COLD - 50.0, WARM + 50.0, 4001)
        h = np.tile(CAPACITY * t * (t / WARM) ** exponent, (2, 1))
        isobars = replace(stream.isobars, enthalpies=h, temperatures=np.tile(t, (2, 1)), volumes=np.full(h.shape, 1e-3))
        rows = [h[:, ::400]] + [column[:, :: 1][:, : h[:, ::400].shape[1]] for column in
                                (stream.films.coefficients, stream.films.gradients, stream.films.qualities,
                                 stream.films.reynolds)]  # fmt: skip
        inlet = WARM if stream.enthalpy > CAPACITY * 200.0 else COLD
        films = FilmTable(stream.films.pressures, *rows)
        return replace(stream, isobars=isobars, films=films, enthalpy=CAPACITY * inlet * (inlet / WARM) ** exponent)

    high, low = bent(constant_stream(WARM), 0.1), bent(constant_stream(COLD), 0.4)
    duties = [march_to_length(high, low, Wall(0.0), LENGTH, cells).duty for cells in (4, 8, 16, 512)]
    errors = [abs(duty - duties[-1]) for duty in duties[:-1]]
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert np.all(orders > 1.7) and np.all(orders < 2.3)


@pytest.fixture(scope="module")
def pair(six):
    z = np.array(SIX_FRACTIONS)
    warm, cold = six.state_tp(z, 300.0, 15e5), six.state_tp(z, 115.0, 2e5)
    return stream_pair(Fluid(six, z), 0.02, warm, cold)


TUBES = exchanger_tubes(TUBE_IN_TUBE, Tube(6e-3, 1e-3), Tube(12e-3, 1e-3))


def test_the_grid_has_converged_on_a_blend(pair):
    coarse, usual, fine = (rate_recuperator(pair, TUBES, 15.0, cells=cells) for cells in (50, 100, 800))
    assert usual.duty == pytest.approx(fine.duty, rel=2e-4)
    assert usual.smallest_approach == pytest.approx(fine.smallest_approach, abs=0.05)
    assert usual.low_drop == pytest.approx(fine.low_drop, rel=5e-3)
    assert abs(usual.duty - fine.duty) < abs(coarse.duty - fine.duty) or usual.duty == pytest.approx(fine.duty, rel=2e-5)


def test_outlets_are_states_of_the_model(pair, six):
    """The outlets by flashes of their own; between tables and model stands the interpolation along 320 points."""
    rating = rate_recuperator(replace(pair, leak_conductance=0.03, ambient=295.0), TUBES, 15.0)
    z = np.array(SIX_FRACTIONS)
    throttle_inlet = six.state_tp(z, rating.high_outlet_temperature, 15e5 - rating.high_drop)
    suction = six.state_tp(z, rating.low_outlet_temperature, 2e5 - rating.low_drop)
    given = pair.molar_flow * (pair.high_enthalpy - throttle_inlet.enthalpy)
    taken = pair.molar_flow * (suction.enthalpy - pair.low_enthalpy)
    assert given == pytest.approx(rating.duty, rel=5e-4)
    assert taken - rating.heat_leak == pytest.approx(rating.duty, rel=5e-4) and rating.heat_leak > 2.0


def test_a_longer_tube_approaches_closer_and_loses_more(pair):
    ratings = [rate_recuperator(pair, TUBES, length) for length in (3.0, 8.0, 20.0, 40.0)]
    for shorter, longer in pairwise(ratings):
        assert longer.smallest_approach < shorter.smallest_approach
        assert longer.duty > shorter.duty and longer.conductance > shorter.conductance
        assert longer.high_drop > shorter.high_drop and longer.low_drop > shorter.low_drop


def test_design_is_the_inverse_of_rating(pair):
    leaking = replace(pair, leak_conductance=0.02, ambient=295.0)
    rating = rate_recuperator(leaking, TUBES, 18.0)
    found = design_recuperator(leaking, TUBES, rating.conductance)
    assert found.length == pytest.approx(18.0, rel=1e-6)
    assert found.duty == pytest.approx(rating.duty, rel=1e-7)
    assert found.low_drop == pytest.approx(rating.low_drop, rel=1e-6)


def test_several_small_tubes_do_more_than_one(pair):
    single = exchanger_tubes(TUBES_IN_SHELL, Tube(4e-3, 0.5e-3), Tube(15e-3, 1e-3), count=1)
    several = exchanger_tubes(TUBES_IN_SHELL, Tube(4e-3, 0.5e-3), Tube(15e-3, 1e-3), count=4)
    one, four = (rate_recuperator(pair, tubes, 10.0) for tubes in (single, several))
    assert four.smallest_approach < one.smallest_approach and four.high_drop < one.high_drop


def test_better_films_shorten_it(pair):
    lengths = [design_recuperator(pair, TUBES, 60.0, film_factor=f).length for f in (0.75, 1.0, 1.25)]
    assert lengths[0] > 1.2 * lengths[1] and lengths[1] > 1.1 * lengths[2]


@pytest.mark.parametrize("length", [0.0, -1.0, float("nan")])
def test_a_length_that_cannot_be_is_refused(pair, length):
    with pytest.raises(InputError, match="length of the recuperator"):
        rate_recuperator(pair, TUBES, length)


def test_other_refusals(pair, six):
    with pytest.raises(InputError, match="at least 4 cells"):
        rate_recuperator(pair, TUBES, 5.0, cells=2)
    with pytest.raises(InputError, match="heat leak"):
        rate_recuperator(replace(pair, leak_conductance=-1.0), TUBES, 5.0)
    with pytest.raises(InputError, match="conductance of the recuperator"):
        design_recuperator(pair, TUBES, 0.0)
    z = np.array(SIX_FRACTIONS)
    warm, cold = six.state_tp(z, 300.0, 15e5), six.state_tp(z, 115.0, 2e5)
    with pytest.raises(InputError, match="must enter warmer"):
        stream_pair(Fluid(six, z), 0.02, cold, warm)


def test_a_fluid_that_evaporates_at_one_temperature_is_refused(model_of):
    pure = model_of(("propane",))
    z = np.ones(1)
    warm, cold = pure.state_tp(z, 300.0, 5e5), pure.state_tp(z, 200.0, 1.0e5)
    with pytest.raises(InputError, match="evaporates or condenses at one temperature"):
        stream_pair(Fluid(pure, z), 0.02, warm, cold)
