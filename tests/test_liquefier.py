"""The liquefier: published yields and points, second law, its pinch rebuilt independently, limits, refusals."""

import dataclasses
import math

import CoolProp.CoolProp as coolprop
import numpy as np
import pytest
from circuit_samples import machine

from mixjt.blend import pure_ingredient
from mixjt.circuit.feed_states import feed_of, least_pressure
from mixjt.circuit.ideal_liquefier import carnot_work, least_work
from mixjt.circuit.liquefier_result import DAY, FeedPassage
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.solve import solve_circuit, with_feed
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.feed import nitrogen_feed, saturated_liquid
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts import places
from mixjt.parts.compressor.compression import Compressor
from mixjt.studies import liquefier_blend
from mixjt.studies.liquefier_study import LiquefierRequest, Rates, liquefier_report, pressure_curve
from mixjt.studies.search.search_request import Bottle, SearchRequest

GASES = ("nitrogen", "methane", "propane", "isobutane")
Z = np.array([0.22, 0.285, 0.325, 0.17])
COMPRESSOR = Compressor(
    "rotary", displacement=6.4e-6, speed=48.3, supply_voltage=230.0, largest_discharge_temperature=388.15
)
PASSAGE = FeedPassage(pressure=10e5, temperature=295.0, approach=2.0)
DROPS = {"high_side_drop": 0.2e5, "low_side_drop": 0.1e5}
POINTS = 32


def circuit(**changes) -> ThrottleCircuit:
    plain = machine(suction_pressure=2.2e5, cold_temperature=95.0, compressor=COMPRESSOR)
    return dataclasses.replace(plain, **changes)


def passage(**changes) -> FeedPassage:
    return dataclasses.replace(PASSAGE, **changes)

SHORT = 2e-3  # how far GERG-2008's short equation of nitrogen may lie from the reference equation that CoolProp solves

@pytest.fixture(scope="module")
def blend():
    return load_model("multi-fluid", GASES)


@pytest.fixture(scope="module")
def nitrogen():
    return nitrogen_feed()


@pytest.fixture(scope="module")
def impure():
    return nitrogen_feed(0.05, 0.01)


@pytest.fixture(scope="module")
def solved(blend, nitrogen):
    return solve_circuit(Fluid(blend, Z), with_feed(circuit(), nitrogen, PASSAGE), points=POINTS)


@pytest.fixture(scope="module")
def recovering(blend, impure):
    case = passage(recover_flash=True, pressure_drop=0.5e5)
    return solve_circuit(Fluid(blend, Z), with_feed(circuit(**DROPS), impure, case, load=2.0), points=POINTS)


# the textbook's liquefier and the second law


def test_normal_boiling_point(nitrogen):
    # Span et al., J. Phys. Chem. Ref. Data 29 (2000) 1361
    assert saturated_liquid(nitrogen, 101325.0).temperature == pytest.approx(77.355, abs=2e-3)  # by the short equation


def test_least_work_of_nitrogen_and_what_carnot_machines_need(nitrogen):
    # about 770 kJ/kg from 300 K and 1 bar: Barron, Cryogenic Systems (from memory)
    gas = nitrogen.model.state_tp(nitrogen.z, 300.0, 1e5)
    work = least_work(saturated_liquid(nitrogen, 1e5), gas, 300.0)
    assert work / nitrogen.molar_mass / 1e3 == pytest.approx(770.0, abs=5.0)
    assert carnot_work(nitrogen, 300.0, 1e5) == pytest.approx(work, rel=1e-6)


def test_carnot_machines_for_a_feed_that_condenses_over_a_range(impure):
    gas = impure.model.state_tp(impure.z, 300.0, 1e5)
    work = least_work(saturated_liquid(impure, 1e5), gas, 300.0)
    assert carnot_work(impure, 300.0, 1e5) == pytest.approx(work, rel=1e-5)


def test_air_boils_and_condenses_where_published():
    # 78.9 and 81.7 K at one atmosphere: Lemmon et al., J. Phys. Chem. Ref. Data 29 (2000) 331 (from memory)
    air = nitrogen_feed(0.2096, 0.0092)
    assert air.model.bubble_temperature(air.z, 101325.0) == pytest.approx(78.9, abs=0.15)
    assert air.model.dew_temperature(air.z, 101325.0) == pytest.approx(81.7, abs=0.15)


def test_feed_next_to_saturation_has_both_phases(nitrogen):
    boiling = nitrogen.model.bubble_temperature(nitrogen.z, 8e5)
    sides = [
        nitrogen.model.state_tp(nitrogen.z, boiling * (1.0 + step), 8e5).enthalpy for step in (-1e-9, 1e-9)
    ]
    ends = [coolprop.PropsSI("Hmolar", "P", 8e5, "Q", quality, "Nitrogen") for quality in (0, 1)]
    assert sides[1] - sides[0] == pytest.approx(ends[1] - ends[0], rel=SHORT)


# the machine


@pytest.mark.parametrize("name", ["solved", "recovering"])
def test_balances_close(request, name):
    result = request.getfixturevalue(name)
    assert result.feed_ratio > 0.01
    assert result.energy_residual < 1e-6
    assert result.exergy_residual < 1e-6
    assert all(item.exergy >= 0.0 for item in result.exergy)


def test_energy_balance_of_the_whole_machine_by_another_library(solved):
    # what the compressor's shell, the aftercooler and the feed gave away is what the electrical work brought in
    def enthalpy(temperature, pressure):
        return coolprop.PropsSI("Hmolar", "T", temperature, "P", pressure, "Nitrogen")

    cooled = enthalpy(97.0, 10e5)
    quality = coolprop.PropsSI("Q", "P", 101325.0, "Hmolar", cooled, "Nitrogen")
    assert solved.flash_fraction == pytest.approx(quality, rel=2.0 * SHORT)
    taken = solved.feed_ratio * (enthalpy(295.0, 10e5) - cooled)
    rejected = solved.aftercooler_heat + solved.shell_heat
    work = solved.compressor_power / solved.molar_flow
    assert rejected == pytest.approx(work + taken, rel=1e-5)  # the feed by another equation
    density = coolprop.PropsSI("D", "P", 101325.0, "Q", 0, "Nitrogen")
    feed = solved.feed_ratio * solved.molar_flow * 28.0134e-3
    assert solved.mass_rate == pytest.approx(feed * (1.0 - quality), rel=SHORT)
    assert solved.volume_rate == pytest.approx(solved.mass_rate / density, rel=SHORT)


def composite_approach(model, result, ratio: float, count: int = 4000) -> float:
    """Smallest approach [K] of the composite curves at a feed ratio, rebuilt with CoolProp and interpolation.

    The cold end is where the low side has the cold temperature and the hot streams what the energy balance
    leaves them; heat is counted from there.
    """
    hot = np.linspace(98.0, 303.0, count)
    boiling = coolprop.PropsSI("T", "P", 10e5, "Q", 1, "Nitrogen")
    hot = np.sort(np.concatenate([hot, boiling * (1.0 + np.array([-1e-5, 1e-5]))]))
    cold = np.linspace(95.0, 302.9, count)
    feed = coolprop.PropsSI("Hmolar", "T", np.minimum(hot, 295.0), "P", 10e5, "Nitrogen")
    outlet = coolprop.PropsSI("Hmolar", "T", 97.0, "P", 10e5, "Nitrogen")
    hot_heat = model.sweep(Z[None], 16e5, hot).enthalpy[0] + ratio * (feed - outlet)
    cold_heat = model.sweep(Z[None], 2.2e5, cold).enthalpy[0]
    start = cold_heat[0] - result.load / result.molar_flow
    heat = np.linspace(start, hot_heat[-1], count)[1:]
    heat = np.sort(np.concatenate([heat, hot_heat[(hot_heat > start)]]))
    offset = cold_heat[0] - start
    return float(np.min(np.interp(heat, hot_heat, hot) - np.interp(heat + offset, cold_heat, cold)))


def test_composite_curves_rebuilt_keep_the_approach_and_no_more(blend, solved):
    assert solved.pinch.smallest_approach == pytest.approx(3.0, abs=1e-6)
    assert composite_approach(blend, solved, solved.feed_ratio) == pytest.approx(3.0, abs=5e-3)
    assert composite_approach(blend, solved, 1.02 * solved.feed_ratio) < 2.98


def test_the_feed_is_the_closed_form_minimum(blend, solved):
    # r_max = min of (h_low(T - a) - h_high(T) - q) / (h_feed(T) - h_feed(T_f)), on a fine grid
    temperatures = np.linspace(98.0, 303.0, 6000)
    feed = coolprop.PropsSI("Hmolar", "T", np.minimum(temperatures, 295.0), "P", 10e5, "Nitrogen")
    need = feed - coolprop.PropsSI("Hmolar", "T", 97.0, "P", 10e5, "Nitrogen")
    low = blend.sweep(Z[None], 2.2e5, temperatures - 3.0).enthalpy[0]
    high = blend.sweep(Z[None], 16e5, temperatures).enthalpy[0]
    assert solved.feed_ratio == pytest.approx(np.min((low - high) / need), rel=SHORT)


def test_no_feed_is_the_plain_circuit(blend, nitrogen):
    plain = solve_circuit(Fluid(blend, Z), circuit(), POINTS)
    loaded = solve_circuit(Fluid(blend, Z), with_feed(circuit(), nitrogen, PASSAGE, load=plain.cooling_power), points=POINTS)
    assert loaded.feed_ratio == pytest.approx(0.0, abs=1e-9)
    assert loaded.cooling_power == pytest.approx(plain.cooling_power, rel=1e-8)
    assert loaded.compressor_power == pytest.approx(plain.compressor_power, rel=1e-8)
    for place, state in plain.points.items():
        assert loaded.points[place].temperature == pytest.approx(state.temperature, abs=1e-6)
    assert loaded.pinch.conductance == pytest.approx(plain.pinch.conductance, rel=1e-3)


def test_load_takes_from_the_feed(blend, nitrogen, solved):
    plain = solve_circuit(Fluid(blend, Z), circuit(), POINTS)
    loaded = solve_circuit(Fluid(blend, Z), with_feed(circuit(), nitrogen, PASSAGE, load=0.95 * plain.cooling_power), points=POINTS)
    assert 0.0 < loaded.feed_ratio < 0.2 * solved.feed_ratio
    assert loaded.evaporator_duty >= loaded.load
    with pytest.raises(UnreachableError, match="leaves nothing for the feed"):
        solve_circuit(Fluid(blend, Z), with_feed(circuit(), nitrogen, PASSAGE, load=1.1 * plain.cooling_power), points=POINTS)


def test_work_is_above_the_least(solved):
    least = solved.product_least_work / solved.product_molar_mass
    assert least == pytest.approx(770e3, rel=0.05)  # from 295 K and 1 atm instead of 300 K and 1 bar
    assert solved.total_power / solved.mass_rate > least
    assert solved.carnot_fraction == pytest.approx(least * solved.mass_rate / solved.total_power, rel=1e-9)


def test_recovered_flash_vapour_adds_product(blend, nitrogen, solved):
    recovering = solve_circuit(Fluid(blend, Z), with_feed(circuit(), nitrogen, passage(recover_flash=True)), points=POINTS)
    assert recovering.mass_rate > 1.05 * solved.mass_rate
    assert recovering.loss_duty < 0.1 * solved.loss_duty
    assert recovering.pinch.smallest_approach == pytest.approx(3.0, abs=1e-6)
    vented = solved.feed_flow * solved.flash_fraction
    cold = coolprop.PropsSI("Hmolar", "T", 295.0, "P", 101325.0, "Nitrogen") - coolprop.PropsSI(
        "Hmolar", "Q", 1, "P", 101325.0, "Nitrogen"
    )
    assert solved.loss_duty == pytest.approx(vented * cold, rel=SHORT)


def test_a_subcooled_feed_does_not_flash(blend, nitrogen):
    feed = feed_of(nitrogen, passage(approach=0.5), circuit(cold_temperature=76.0))
    assert feed.back is None and places.FLASH_VAPOUR not in feed.states
    assert feed.states[places.PRODUCT].temperature == pytest.approx(76.5, abs=0.5)


def test_oxygen_gathers_in_the_liquid(recovering, impure):
    assert recovering.oxygen(places.FEED_SUPPLY) == pytest.approx(0.05)
    liquid, vapour = recovering.oxygen(places.PRODUCT), recovering.oxygen(places.FLASH_VAPOUR)
    assert vapour < 0.05 < liquid
    share = recovering.flash_fraction
    assert share * vapour + (1.0 - share) * liquid == pytest.approx(0.05, abs=1e-9)
    assert any("more than the feed's 5 mol%" in text for text in recovering.warnings)
    (told,) = [text for text in recovering.warnings if "oxygen-rich remainder" in text]
    for duty in ("can explode", "without oil", "leak test", "analyse", "never boil it to dryness"):
        assert duty in told
    assert any("carbon dioxide" in text for text in recovering.warnings)


def test_boil_off_follows_rayleigh():
    from mixjt.circuit.boil_off import boil_off

    feed = nitrogen_feed(0.01)
    pressure, stored = 101325.0, np.array([0.999, 0.001])
    # a trace with a constant K-value: x/x0 = left^(K - 1); K from the fugacities of the boiling liquid
    boiling = feed.model.bubble_temperature(stored, pressure)
    state = feed.model.state_tp(stored, boiling + 1e-4, pressure)
    ratio = state.phases[0].composition[1] / state.phases[-1].composition[1]
    boiled = boil_off(feed, stored, pressure, shares=(1.0, 0.5), steps=8)
    assert boiled.oxygen[1] == pytest.approx(0.001 * 0.5 ** (ratio - 1.0), rel=2e-3)
    assert boiled.left_at(0.0005) == 1.0 and boiled.left_at(0.9) is None


def test_best_feed_pressure_beats_its_neighbours(blend, nitrogen):
    request = LiquefierRequest(circuit(), nitrogen, PASSAGE, largest_pressure=25e5)
    curve = pressure_curve(Fluid(blend, Z), request, count=3)
    assert [point.pressure for point in curve.points] == sorted(point.pressure for point in curve.points)
    assert curve.points[0].pressure > least_pressure(nitrogen, 97.0)
    assert curve.points[-1].pressure == pytest.approx(25e5)
    assert curve.best.mass_rate == pytest.approx(max(point.mass_rate for point in curve.points), rel=1e-3)
    one = solve_circuit(Fluid(blend, Z), with_feed(circuit(), nitrogen, PASSAGE), points=POINTS)
    same = next(point for point in curve.points if point.pressure == PASSAGE.pressure)
    assert same.mass_rate == pytest.approx(one.mass_rate, rel=1e-6)
    assert same.total_energy == pytest.approx(one.total_power / one.mass_rate, rel=1e-6)


def test_report_says_what_recovery_brings(blend, nitrogen, solved):
    report = liquefier_report(Fluid(blend, Z), LiquefierRequest(circuit(), nitrogen, PASSAGE))
    assert report.curve is None and report.boil_off is None
    assert 0.03 * solved.mass_rate < report.recovery_gain < 0.3 * solved.mass_rate
    assert report.result.mass_rate * DAY == pytest.approx(solved.mass_rate * DAY, rel=1e-6)


def test_best_blend_liquefies_more_within_its_bounds(blend, nitrogen, solved, monkeypatch):
    for name, value in {"START": 96, "ROUNDS": 4, "STEPS": 48, "SOLVED": 2}.items():
        monkeypatch.setattr(liquefier_blend, name, value)
    bottles = tuple(Bottle(pure_ingredient(name), most=0.35) for name in GASES)
    search = SearchRequest(circuit(), bottles, smallest_fraction=0.02, largest_discharge_temperature=420.0)
    request = LiquefierRequest(circuit(), nitrogen, PASSAGE)
    found = liquefier_blend.best_blend(blend, search, request)
    assert found.mass_rate > solved.mass_rate
    assert all(0.02 <= amount <= 0.35 + 1e-9 for amount in found.amounts.values())
    z = np.array([found.amounts.get(name, 0.0) for name in GASES])
    again = solve_circuit(Fluid(blend, z), with_feed(circuit(), nitrogen, PASSAGE), points=POINTS)
    assert again.mass_rate == pytest.approx(found.mass_rate, rel=1e-5)
    assert again.suction_superheat > 4.0
    assert liquefier_blend.best_blend(blend, search, request).amounts == found.amounts


def test_amounts_are_brought_within_bounds():
    bottles = (
        Bottle(pure_ingredient("nitrogen"), least=0.2),
        *(Bottle(pure_ingredient(name), most=0.5) for name in GASES[1:]),
    )
    search = SearchRequest(circuit(), bottles, largest_number_of_gases=3, smallest_fraction=0.05)
    rows = liquefier_blend.allowed(np.random.default_rng(1).dirichlet(np.ones(4), 200), search)
    assert len(rows) > 100
    assert rows.sum(axis=1) == pytest.approx(1.0)
    assert np.all(rows[:, 0] >= 0.2 - 1e-9) and np.all(rows[:, 1:] <= 0.5 + 1e-9)
    assert np.all((rows > 0.0).sum(axis=1) <= 3)
    assert np.all((rows == 0.0) | (rows >= 0.05 - 1e-9))


# refusals


def test_a_feed_that_does_not_condense_is_refused_with_the_remedy(blend, nitrogen):
    with pytest.raises(UnreachableError, match="condenses completely only at 94 K") as refused:
        solve_circuit(Fluid(blend, Z), with_feed(circuit(), nitrogen, passage(pressure=5e5)))
    needed = coolprop.PropsSI("P", "T", 97.0, "Q", 0, "Nitrogen") / 1e5
    assert f"above {needed:.3g} bar" in str(refused.value)
    boiling = coolprop.PropsSI("T", "P", 5e5, "Q", 0, "Nitrogen")
    assert f"below {boiling - 2.0:.4g} K" in str(refused.value)


@pytest.mark.parametrize(
    "changes, cold, error, words",
    [
        ({"temperature": 320.0}, 95.0, InputError, "warmer than the blend"),
        ({"temperature": 90.0}, 95.0, InputError, "colder than it is to leave"),
        ({"approach": 1.0}, 61.0, UnreachableError, "freezes"),
        ({"pressure": 60e5, "approach": 2.0}, 200.0, UnreachableError, "as gas"),
    ],
)
def test_other_refusals(blend, nitrogen, changes, cold, error, words):
    with pytest.raises(error, match=words):
        solve_circuit(Fluid(blend, Z), with_feed(circuit(cold_temperature=cold), nitrogen, passage(**changes)))


@pytest.mark.parametrize(
    "changes",
    [
        {"pressure": 0.9e5},
        {"pressure_drop": 9.5e5},
        {"approach": -1.0},
        {"temperature": math.nan},
        {"isothermal_efficiency": 0.0},
    ],
)
def test_impossible_passages(changes):
    with pytest.raises(InputError):
        passage(**changes)


def test_feed_that_is_no_nitrogen():
    with pytest.raises(InputError, match="is no nitrogen"):
        nitrogen_feed(0.0, 0.6)


def test_places_in_flow_order(solved, recovering):
    assert list(solved.points)[:2] == [places.COMPRESSOR_INLET, places.COMPRESSOR_OUTLET]
    assert list(solved.feed_points)[:3] == [
        places.FEED_SUPPLY,
        places.FEED_INLET,
        places.FEED_RECUPERATOR_OUTLET,
    ]
    assert list(recovering.feed_points)[-1] == places.FLASH_VAPOUR_OUTLET


def test_a_feed_pressure_that_fails_says_why(blend, nitrogen, monkeypatch):
    def fails(*_):
        raise ConvergenceError("the machine of a test")

    monkeypatch.setattr("mixjt.studies.liquefier_study.settled_solution", fails)
    request = LiquefierRequest(circuit(), nitrogen, PASSAGE, largest_pressure=25e5)
    assert "the machine of a test" in Rates(Fluid(blend, Z), request).at_pressure(20e5).problem
    with pytest.raises(UnreachableError, match="no feed pressure up to 25 bar works: the machine of a test"):
        pressure_curve(Fluid(blend, Z), request, count=3)
    with pytest.raises(UnreachableError, match="the feed condenses from"):
        pressure_curve(Fluid(blend, Z), dataclasses.replace(request, largest_pressure=1e5))
