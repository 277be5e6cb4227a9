"""Roads compared: equal load on all, figures those of each road's own solver, crossing and advice on made-up roads."""

from dataclasses import replace

import numpy as np
import pytest

from mixjt.blend import pure_ingredient
from mixjt.components.compressor import Compressor
from mixjt.components.precooler import Precooler, precooling_stage
from mixjt.components.stage_fluid import pure_fluid
from mixjt.cycles.cascade import solve_cascade
from mixjt.cycles.cascade_records import Cascade, CascadeLimits
from mixjt.cycles.circuit import ThrottleCircuit
from mixjt.cycles.solve import PLAIN, PRECOOLED, SEPARATOR, solve_circuit, with_precooler, with_separator
from mixjt.errors import InputError, UnreachableError
from mixjt.properties.models import load_model
from mixjt.studies.cascade_design import CascadeRequest, design_cascade
from mixjt.studies.compare.advice import Option, advice, chosen
from mixjt.studies.compare.blend_roads import least_precooling
from mixjt.studies.compare.cascade_roads import spread
from mixjt.studies.compare.crossing import blends_and_cascades, cheapest, crossings, each_blend_and_cascades
from mixjt.studies.compare.figures import cascade_capacity
from mixjt.studies.compare.load_line import line_temperatures
from mixjt.studies.compare.names import DEFAULT_ROADS, Effort
from mixjt.studies.compare.records import Carried, Road
from mixjt.studies.compare.request import CompareRequest
from mixjt.studies.compare.run import compare
from mixjt.studies.search.request import Bottle, SearchRequest
from mixjt.studies.standstill import StandstillRequest, standstill_table

COLD, LOAD = 190.0, 15.0
GASES = ("methane", "ethane", "isobutane")
SMALL = Effort(32, 16, True, precooling=2, line_precooling=2, halvings=1, chosen_anew=2)
COMPRESSOR = Compressor("reciprocating", 5.0e-6, 48.0, isentropic_efficiency=0.6, motor_efficiency=0.8)
PLAIN_CIRCUIT = ThrottleCircuit(
    ambient_temperature=295.0,
    suction_pressure=1.2e5,
    discharge_pressure=13.0e5,
    cold_temperature=COLD,
    aftercooler_approach=8.0,
    recuperator_approach=3.0,
    high_side_drop=0.0,
    low_side_drop=0.0,
    compressor=COMPRESSOR,
)
CASCADE = Cascade(
    ambient_temperature=295.0,
    cold_temperature=COLD,
    load=LOAD,
    compressor=COMPRESSOR,
    heat_leaks=(1.0,),
    limits=CascadeLimits(pressure_ratio=12.0, discharge_temperature=393.15),
)


def request(**changes):
    stated = {
        "load": LOAD,
        "search": SearchRequest(
            PLAIN_CIRCUIT, tuple(Bottle(pure_ingredient(gas)) for gas in GASES), largest_number_of_gases=3
        ),
        "precooled": with_precooler(PLAIN_CIRCUIT, Precooler(260.0, compressor=COMPRESSOR)),
        "precooling_temperatures": (255.0, 270.0),
        "separator": with_separator(PLAIN_CIRCUIT),
        "cascade": CascadeRequest(CASCADE, available=("ethane", "propane", "R-134a")),
        "standstill": StandstillRequest(0.004, 0.12, 295.0, 318.15),
        "warmest": 215.0,
        "coldest": 175.0,
        "steps": 3,
        "effort": SMALL,
    }
    return CompareRequest(**(stated | changes))


@pytest.fixture(scope="module")
def model():
    return load_model("fast", GASES)


@pytest.fixture(scope="module")
def found(model):
    return compare(model, request())


def road(found, name) -> Road:
    return next(one for one in found.roads if one.name == name)


# --- equal terms


def test_every_road_carries_the_load_at_the_cold_end(found):
    assert [one.name for one in found.roads] == list(DEFAULT_ROADS)
    for one in found.roads:
        assert one.figures is not None, one.obstacle
        assert one.figures.power * one.figures.cop == pytest.approx(LOAD, rel=1e-9)
        assert one.figures.carnot_fraction == pytest.approx(one.figures.cop * (295.0 / COLD - 1.0), rel=1e-9)
        assert 0.0 < one.figures.carnot_fraction < 1.0


@pytest.mark.parametrize("name", [PLAIN, PRECOOLED, SEPARATOR])
def test_blends_have_the_figures_of_their_own_circuit_scaled_to_the_load(found, model, name):
    one = road(found, name)
    result = one.carried.result
    circuit = {
        PLAIN: PLAIN_CIRCUIT,
        PRECOOLED: request().precooled.at(getattr(result, "precooler_temperature", 260.0)),
        SEPARATOR: with_separator(PLAIN_CIRCUIT),
    }[name]
    z = np.array([one.carried.bottles.get(gas, 0.0) for gas in GASES])
    own = solve_circuit(model, z / z.sum(), circuit)
    assert one.figures.own_capacity == pytest.approx(own.cooling_power, rel=1e-6)
    assert one.figures.own_power == pytest.approx(own.total_power, rel=1e-6)
    assert one.figures.power == pytest.approx(own.total_power * LOAD / own.cooling_power, rel=1e-6)
    again = solve_circuit(model, z / z.sum(), _displaced(circuit, LOAD / own.cooling_power))
    assert again.cooling_power == pytest.approx(LOAD, rel=1e-6)
    assert one.figures.recuperator_conductance == pytest.approx(again.recuperator_conductance, rel=1e-6)
    blend_displacement = COMPRESSOR.displacement * LOAD / own.cooling_power
    precooler = 0.0
    if getattr(own, "stage", None) is not None:
        precooler = again.precooler_duty * own.stage.swept_per_heat / COMPRESSOR.speed
    assert one.figures.displacement == pytest.approx(blend_displacement + precooler, rel=1e-6)
    assert one.figures.swept_flow == pytest.approx(one.figures.displacement * 48.0, rel=1e-9)


def _displaced(circuit, scale):
    return replace(circuit, compressor=replace(COMPRESSOR, displacement=scale * COMPRESSOR.displacement))


@pytest.mark.parametrize("stages", [2, 3])
def test_cascades_are_those_of_their_own_design(found, stages):
    one = road(found, f"cascade-{stages}")
    design = design_cascade(CascadeRequest(CASCADE, available=("ethane", "propane", "R-134a"), stages=stages))
    assert one.figures.power == pytest.approx(design.total_power, rel=1e-6)
    assert one.figures.compressors == stages
    assert one.figures.displacement == pytest.approx(sum(design.displacements), rel=1e-4)
    assert one.figures.condenser_conductance == pytest.approx(design.condenser_conductance, rel=1e-4)
    assert one.figures.recuperator_conductance is None and one.band is None


def test_what_the_case_does_not_tell_is_not_known(found, model):
    plain, cascade = road(found, PLAIN), road(found, "cascade-2")
    rest = standstill_table(model, plain.carried.result.composition, request().standstill)[0]
    assert plain.figures.standing_pressure == pytest.approx(rest.ambient_pressure)
    assert plain.figures.hot_standing_pressure == pytest.approx(rest.hottest_pressure)
    assert plain.figures.flammable_mass == pytest.approx(0.12) and plain.figures.flammable_fraction == 1.0
    assert cascade.figures.standing_pressure is None and cascade.figures.flammable_mass is None
    without = compare(model, request(roads=(PLAIN,), steps=0, standstill=None))
    assert without.roads[0].figures.standing_pressure is None and without.roads[0].figures.flammable_mass is None
    assert without.roads[0].lowest_temperature is None and len(without.roads[0].line) == 1
    assert "standing not known" in without.advice


def test_the_load_line_spans_what_was_asked_for(found):
    for one in found.roads:
        temperatures = [point.temperature for point in one.line]
        assert temperatures == sorted(temperatures) and COLD in temperatures
        assert temperatures[-1] == 215.0 and one.lowest_temperature <= COLD
        powers = [point.power for point in one.line]
        assert powers == sorted(powers, reverse=True)  # colder costs more


def test_a_point_of_the_load_line_is_a_solved_circuit(found, model):
    point = road(found, PLAIN).line[-1]
    z = np.array([point.bottles.get(gas, 0.0) for gas in GASES])
    own = solve_circuit(model, z / z.sum(), replace(PLAIN_CIRCUIT, cold_temperature=point.temperature))
    assert point.cop == pytest.approx(own.cop, rel=1e-6)
    assert point.own_capacity == pytest.approx(own.cooling_power, rel=1e-6)


def test_capacity_of_a_cascade_with_one_compressor_size():
    result = solve_cascade(CASCADE, [pure_fluid("ethane"), pure_fluid("propane")], (243.0,))
    capacity = cascade_capacity(result, COMPRESSOR.displacement)
    full = solve_cascade(
        replace(CASCADE, load=capacity), [pure_fluid("ethane"), pure_fluid("propane")], (243.0,)
    )
    assert max(full.displacements) == pytest.approx(COMPRESSOR.displacement, rel=1e-6)


# --- what does not work


def test_roads_that_do_not_get_there_say_why(model):
    cold = 100.0
    wanted = request(
        search=replace(request().search, circuit=replace(PLAIN_CIRCUIT, cold_temperature=cold)),
        cascade=CascadeRequest(replace(CASCADE, cold_temperature=cold), available=("ethane", "propane", "R-134a")),
        steps=0,
    )
    found = compare(model, wanted)
    for one in found.roads:
        assert one.figures is None and "\n" not in one.obstacle
    assert "no blend of these bottles cools at 100 K" in road(found, PLAIN).obstacle
    assert "no plain blend to start from" in road(found, SEPARATOR).obstacle
    assert "no cascade of 2 stages keeps every limit" in road(found, "cascade-2").obstacle
    assert found.advice.startswith("None of these roads carries the load at 100 K")


def test_lists_for_two_stages_serve_a_cascade_of_three():
    lists = replace(CASCADE, exchanger_effectiveness=(0.3, 0.5), heat_leaks=(1.0, 0.5))
    wanted = request(
        search=None, roads=("cascade-2", "cascade-3"), steps=0, cascade=replace(request().cascade, cascade=lists)
    )
    two, three = (one.carried.result.cascade for one in compare(None, wanted).roads)
    assert two.exchanger_effectiveness == (0.3, 0.5) and three.exchanger_effectiveness == (0.3, 0.5, 0.5)
    assert three.heat_leaks == (1.0, 0.5, 0.5)


def test_a_case_without_gases_still_has_cascades():
    found = compare(None, request(search=None, roads=(PLAIN, "cascade-2"), steps=0))
    assert "nothing to blend" in found.roads[0].obstacle
    assert found.roads[1].figures.power > 0.0
    assert found.crossing.sentence == "there is no load line of a blend to cross"


def test_an_interruption_keeps_the_roads_found(model):
    def stop(stage, done, total, least):
        if stage.startswith("precooled"):
            raise KeyboardInterrupt

    found = compare(model, request(roads=(PLAIN, PRECOOLED)), stop)
    assert found.interrupted and found.roads[0].figures is not None
    assert "interrupted" in found.roads[1].obstacle and found.messages[0].startswith("interrupted")


@pytest.mark.parametrize(
    "changes, complaint",
    [
        ({"load": 0.0}, "load above 0 W"),
        ({"roads": ()}, "at least one road"),
        ({"roads": ("ladder",)}, "there is no road 'ladder'"),
        ({"warmest": 200.0, "coldest": 200.0}, "cannot go from 200 K down to 200 K"),
        ({"warmest": 299.0}, "not below the ambient"),
    ],
)
def test_refuses(changes, complaint):
    with pytest.raises(InputError, match=complaint):
        request(**changes)


# --- parts


def test_line_temperatures_hold_the_cold_end_and_both_ends(model):
    found = line_temperatures(model, request(steps=5))
    assert found[0] == 175.0 and found[-1] == 215.0 and COLD in found and len(found) == 5
    assert np.all(np.diff(found) > 0.0)
    assert len(line_temperatures(model, request(steps=0))) == 0
    boiling = model.bubble_temperature(np.array([1.0, 0.0, 0.0]), 1.2e5)  # of methane
    assert line_temperatures(model, request(coldest=None))[0] == pytest.approx(boiling + 1.0)


def test_a_precooler_keeps_the_limits_of_a_cascade():
    free = Precooler(260.0, compressor=COMPRESSOR)
    least = least_precooling(free, CASCADE, 225.0, 290.0)
    # propane boils at 231.04 K under one atmosphere (CoolProp); its stage evaporates 5 K below what it cools
    boiling = pure_fluid("propane").dew_temperature(101325.0)
    assert boiling == pytest.approx(231.04, abs=0.05)
    at_a_limit = [
        precooling_stage(free, least, 295.0).pressure_ratio / 12.0,
        precooling_stage(free, least, 295.0).discharge_temperature / 393.15,
        boiling / (least - 5.0),
    ]
    assert max(at_a_limit) == pytest.approx(1.0, abs=0.01)
    assert least_precooling(free, CASCADE, 265.0, 290.0) == 265.0
    tight = replace(CASCADE, limits=CascadeLimits(pressure_ratio=1.1))
    with pytest.raises(UnreachableError, match="breaks a limit even at 290 K: propane's pressure ratio"):
        least_precooling(free, tight, 240.0, 290.0)


def test_values_for_single_stages_go_on_with_the_last():
    assert spread((0.3,), 3) == (0.3,) and spread((), 2) == ()
    assert spread((0.3, 0.5), 3) == (0.3, 0.5, 0.5) and spread((0.3, 0.5, 0.6), 2) == (0.3, 0.5)


def line(*points):
    return np.array([one[0] for one in points], dtype=float), np.array([one[1] for one in points], dtype=float)


def test_crossing_of_constructed_lines():
    # ln P linear in T: 100 exp(-0.01 (T - 100)) and 200 exp(-0.02 (T - 100)) meet where exp(0.01 (T - 100)) = 2
    one = line(*((t, 100.0 * np.exp(-0.01 * (t - 100.0))) for t in (100, 140, 200)))
    other = line(*((t, 200.0 * np.exp(-0.02 * (t - 100.0))) for t in (110, 150, 190)))
    assert crossings(one, other) == pytest.approx((100.0 + 100.0 * np.log(2.0),))
    assert crossings(other, one) == pytest.approx(crossings(one, other))
    assert crossings(one, line((100, 300), (200, 200))) == ()
    assert crossings(one, line((300, 1), (310, 2))) == ()
    assert crossings(one, one) == ()


def test_the_cheapest_of_several_lines():
    temperatures, powers = cheapest([line((100, 10), (200, 10)), line((150, 5), (250, 5)), line()])
    assert list(temperatures) == [100.0, 150.0, 200.0, 250.0]
    assert list(powers) == pytest.approx([10.0, 5.0, 5.0, 5.0])


def made_up(name, *points):
    kept = tuple(Carried(float(t), float(p), 1.0, 1.0, "", None) for t, p in points)
    return Road(name, None, None, "", kept, None, ())


def test_crossing_in_words():
    blend = made_up(PLAIN, (90, 200), (150, 60), (230, 20))
    cascade = made_up("cascade-2", (130, 200), (150, 90), (230, 10))
    found = blends_and_cascades([blend, cascade])
    # between 150 K and 230 K the logarithms of the ratio go from ln(90/60) to ln(10/20)
    expected = 150.0 + 80.0 * np.log(1.5) / (np.log(1.5) + np.log(2.0))
    assert found.temperatures == pytest.approx((expected,))
    assert "the cascade is cheaper above, the blend below" in found.sentence
    assert "below 130.0 K (-143 degC) only blends carry the load, down to 90.0 K" in found.sentence
    assert each_blend_and_cascades([blend, made_up(PRECOOLED), cascade]) == {PLAIN: found.temperatures}
    dear = blends_and_cascades([blend, made_up("cascade-3", (150, 190), (230, 100))])
    assert dear.temperatures == () and "the best blend draws less power throughout" in dear.sentence
    apart = blends_and_cascades([made_up(PLAIN, (90, 200), (100, 100)), cascade])
    assert "no temperature of the load line is reached both" in apart.sentence


# --- advice

BLEND = Option(PLAIN, "plain blend", 100.0, 1, 15e5, 9e5, 86.0, 0.05)
PARTED = Option(SEPARATOR, "blend with separator", 96.0, 1, 15e5, 9e5, 85.0, 0.05)
TWO = Option("cascade-2", "cascade of 2", 90.0, 2, 20e5, 30e5, 118.0)


@pytest.mark.parametrize(
    "options, best",
    [
        ([BLEND, TWO], BLEND),  # a tenth more power spares a compressor
        ([BLEND, replace(TWO, power=79.0)], replace(TWO, power=79.0)),  # more than a quarter does not
        ([BLEND, PARTED], BLEND),  # a separator must save more than a tenth
        ([BLEND, replace(PARTED, power=90.0)], replace(PARTED, power=90.0)),
        ([replace(BLEND, power=None), TWO], TWO),
        ([TWO, Option("cascade-3", "cascade of 3", 80.0, 3)], TWO),
        ([Option(PRECOOLED, "precooled blend", 99.0, 2, 15e5, 9e5, 80.0), BLEND], BLEND),
        ([replace(BLEND, power=None)], None),
    ],
)
def test_choice(options, best):
    assert chosen(options) == best
    assert chosen(options[::-1]) == best


def test_advice_gives_reasons():
    text = advice([BLEND, TWO, Option("cascade-3", "cascade of 3", None, obstacle="freezes")], 120.0)
    assert text.startswith("Build the plain blend: 100 W with 1 compressor; the cascade of 2 needs 10 % less (90 W)")
    assert "which does not pay for its further parts" in text
    assert "15 bar running and 9 bar standing on the hottest day" in text
    assert "it reaches 86 K" in text and "cascade of 3 does not get there" in text
    assert text.endswith(".") and text.count(".") == 1


def test_advice_admits_doubt_and_little_reserve():
    close = advice([BLEND, replace(TWO, power=103.0)], 88.0)
    assert "gap to the cascade of 2 is within what the property model is good for" in close
    assert "hardly colder than the load needs" in close
    assert "within what" not in advice([BLEND, replace(TWO, power=120.0)], 120.0)
    assert "standing not known" in advice([replace(BLEND, standing=None)], 120.0)


def test_advice_where_nothing_works():
    text = advice([replace(BLEND, power=None, obstacle="too cold")], 60.0)
    assert text == "None of these roads carries the load at 60 K (plain blend: too cold)."
