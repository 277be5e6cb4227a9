"""Roads compared: equal load on all, figures those of each road's own solver, interruptions."""

from dataclasses import replace

import numpy as np
import pytest

from mixjt.blend import pure_ingredient
from mixjt.cascade.cascade_records import Cascade, CascadeLimits
from mixjt.cascade.design import CascadeRequest, design_cascade
from mixjt.cascade.stages import solve_cascade
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import FreezingReport
from mixjt.circuit.solve import PLAIN, PRECOOLED, SEPARATOR, solve_circuit, with_precooler, with_separator
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.places import COMPRESSOR_INLET
from mixjt.parts.precooler import Precooler, precooling_stage
from mixjt.parts.stage_fluid import pure_fluid
from mixjt.studies.at_rest import StandstillRequest, standstill_table
from mixjt.studies.compare.blend_roads import BlendRoads, least_precooling
from mixjt.studies.compare.cascade_roads import spread
from mixjt.studies.compare.compare import EQUAL_LEFT_OUT, compare
from mixjt.studies.compare.compare_request import CompareRequest
from mixjt.studies.compare.comparison import Road
from mixjt.studies.compare.equal_terms import terms
from mixjt.studies.compare.figures import _precooler_warnings, cascade_capacity
from mixjt.studies.compare.load_line import LoadLine, line_temperatures
from mixjt.studies.compare.roads import DEFAULT_ROADS, Effort
from mixjt.studies.compare.schedule import Job
from mixjt.studies.search.freezing_limit import FreezingConstraint
from mixjt.studies.search.search_request import Bottle, SearchRequest

pytestmark = pytest.mark.slow
RATING = 40e5  # Pa, of the parts at rest

COLD, LOAD, LEAK = 190.0, 15.0, 1.0  # every road carries load and leak
GASES = ("methane", "ethane", "isobutane")
SMALL = Effort(32, 16, halvings=1, chosen_anew=2)
COMPRESSOR = Compressor(
    "reciprocating", 5.0e-6, 48.0, isentropic_efficiency=0.8, motor_efficiency=0.8, largest_discharge_temperature=393.15,
    largest_valve_temperature=453.15,
)
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
    exchanger_effectiveness=(0.0,),
    heat_leaks=(LEAK,),
    desuperheater_approach=None,
    suction_temperature=None,
    limits=CascadeLimits(pressure_ratio=12.0, discharge_temperature=393.15),
)


def request(**changes):
    stated = {
        "load": LOAD,
        "search": SearchRequest(
            PLAIN_CIRCUIT, tuple(Bottle(pure_ingredient(gas)) for gas in GASES), largest_number_of_gases=3
        ),
        "precooled": tuple(
            with_precooler(PLAIN_CIRCUIT, Precooler(260.0, compressor=COMPRESSOR), warm_section=way)
            for way in (True, False)
        ),
        "precooling_temperatures": (255.0, 270.0),
        "separator": with_separator(PLAIN_CIRCUIT),
        "cascade": CascadeRequest(CASCADE, available=("ethane", "propane", "R-134a")),
        "standstill": StandstillRequest(0.004, 0.12, 295.0, 318.15, largest_pressure=RATING),
        "warmest": 215.0,
        "coldest": 175.0,
        "steps": 3,
        "effort": SMALL,
    }
    return CompareRequest(**(stated | changes))


@pytest.fixture(scope="module")
def model():
    return load_model("multi-fluid", GASES)


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
    ways = {circuit.warm_section: circuit for circuit in request().precooled}
    way = ways[getattr(one.carried.circuit, "warm_section", True)]
    circuit = {
        PLAIN: PLAIN_CIRCUIT,
        PRECOOLED: way.at(getattr(result, "precooler_temperature", 260.0)),
        SEPARATOR: with_separator(PLAIN_CIRCUIT),
    }[name]
    z = np.array([one.carried.bottles.get(gas, 0.0) for gas in GASES])
    own = solve_circuit(Fluid(model, z / z.sum()), circuit)
    assert one.figures.own_capacity == pytest.approx(own.cooling_power - LEAK, rel=1e-6)
    assert one.figures.own_power == pytest.approx(own.total_power, rel=1e-6)
    scale = (LOAD + LEAK) / own.cooling_power
    assert one.figures.power == pytest.approx(own.total_power * scale, rel=1e-6)
    again = solve_circuit(Fluid(model, z / z.sum()), _displaced(circuit, scale))
    assert again.cooling_power == pytest.approx(LOAD + LEAK, rel=1e-6)
    assert one.figures.recuperator_conductance == pytest.approx(again.recuperator_conductance, rel=1e-6)
    blend_displacement = COMPRESSOR.displacement * scale
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


def test_a_precooler_that_stands_above_the_rating_is_named():
    """Propane at 50 degC has 17.1 bar (Lemmon, McLinden, Wagner 2009); a buffer of the blend does not lower that."""
    (text,) = _precooler_warnings(17.1e5, 16e5)
    assert "17.1 bar" in text and "16 bar" in text
    assert _precooler_warnings(15e5, 16e5) == _precooler_warnings(17.1e5, None) == []


def test_what_the_case_does_not_tell_is_not_known(found, model):
    plain, cascade = road(found, PLAIN), road(found, "cascade-2")
    rest = standstill_table(Fluid(model, plain.carried.result.composition), request().standstill)[0]
    assert plain.figures.standing_pressure == pytest.approx(rest.ambient_pressure)
    assert plain.figures.hot_standing_pressure == pytest.approx(rest.hottest_pressure)
    assert plain.figures.standing_limit == request().standstill.largest_pressure == RATING
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
    own = solve_circuit(Fluid(model, z / z.sum()), replace(PLAIN_CIRCUIT, cold_temperature=point.temperature))
    assert point.cop == pytest.approx(own.cop * LOAD / (LOAD + LEAK), rel=1e-6)
    assert point.own_capacity == pytest.approx(own.cooling_power - LEAK, rel=1e-6)


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
    for name in (PLAIN, SEPARATOR):
        assert "no blend of these bottles cools at 100 K" in road(found, name).obstacle
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


def test_a_blend_that_freezes_or_gas_too_cold_for_the_compressor_does_not_count(model):
    wanted = request().blends_at(COLD)
    (constraint,) = [item for item in wanted.constraints if isinstance(item, FreezingConstraint)]
    assert constraint.smallest == 0.0 and constraint.circuit.cold_temperature == COLD
    kept = replace(request().search, constraints=(FreezingConstraint(PLAIN_CIRCUIT, 7.0),))
    assert [item.smallest for item in request(search=kept).blends_at(COLD).constraints] == [7.0]
    circuit = replace(PLAIN_CIRCUIT, cold_temperature=123.0)
    result = solve_circuit(Fluid(model, np.array([0.5, 0.15, 0.35])), circuit)
    roads, amounts = BlendRoads(model, request()), {"methane": 0.5, "ethane": 0.15, "isobutane": 0.35}
    assert roads._carried(123.0, circuit, result, amounts).power > 0.0
    with pytest.raises(UnreachableError, match="the best blend freezes: isobutane would have to be 5 K warmer"):
        roads._carried(123.0, circuit, replace(result, freezing=FreezingReport((), "isobutane", -5.0, "throttle_outlet", ())), amounts)
    hot = replace(CASCADE, suction_temperature=result.points[COMPRESSOR_INLET].temperature + 1.0, ambient_temperature=320.0)
    picky = BlendRoads(model, request(cascade=CascadeRequest(hot, available=("ethane", "propane"))))
    with pytest.raises(UnreachableError, match="would draw in gas of .* colder than"):
        picky._carried(123.0, circuit, result, amounts)


def test_precooling_takes_the_better_of_both_suctions(found, model):
    both = road(found, PRECOOLED).figures.power
    alone = {}
    for circuit in request().precooled:
        one = compare(model, request(precooled=(circuit,), roads=(PRECOOLED,), steps=0))
        alone[circuit.warm_section] = road(one, PRECOOLED).figures.power
    assert both == pytest.approx(min(alone.values()), rel=1e-3)
    assert alone[False] < 0.97 * alone[True]  # cold gas takes less work: here it matters
    assert f"suction {'warm' if alone[True] < alone[False] else 'cold'}" in road(found, PRECOOLED).figures.contents
    assert any("suction warm and cold are both tried" in text for text in found.messages)


def test_terms_say_how_both_roads_are_treated(found):
    said = " ".join(found.messages)
    assert "15 W at 190 K and a heat leak of 1 W there" in said and "a blend that freezes does not count" in said
    assert "draws the gas in as cold as it comes" in said  # this cascade states no suction temperature
    hot = replace(CASCADE, suction_temperature=233.15, suction_warming="hot gas", suction_loss=0.05, heat_leaks=(1.0, 0.5))
    said = " ".join(terms(request(cascade=CascadeRequest(hot))))
    assert "its own hot gas warms to that" in said and "lost 5 % in suction lines" in said
    assert "the warmer stages carry heat leaks of 0.5 W besides" in said


def test_cascades_are_quoted_with_and_without_warming_their_suction_gas():
    warm = replace(CASCADE, suction_temperature=233.15, suction_warming="hot gas")
    wanted = request(
        search=None, roads=("cascade-2",), steps=0, cascade=replace(request().cascade, cascade=warm)
    )
    (one,) = compare(None, wanted).roads
    power = {each.by: each.result.total_power for each in one.warmings}
    assert power["hot gas"] == pytest.approx(one.figures.power, rel=1e-6)
    assert power["hot gas"] < power["surroundings"]
    bare = design_cascade(replace(wanted.cascade, stages=2, cascade=replace(warm, suction_temperature=None)))
    assert power["nothing"] == pytest.approx(bare.total_power, rel=1e-6)


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
    assert "not looked for" in found.roads[1].obstacle and found.messages[0].startswith("interrupted")


@pytest.mark.parametrize(
    "stopped_at, left",
    [
        ("cascade-2", [PRECOOLED, "cascade-2", "cascade-3"]),  # precooled blends come after the cascades
        ("cascade-3", [PRECOOLED, "cascade-3"]),
        ("plain at 175", []),
    ],
)
def test_an_interruption_states_nothing_that_was_not_looked_at(model, stopped_at, left):
    def stop(stage, done, total, least):
        if stage.startswith(stopped_at):
            raise KeyboardInterrupt

    found = compare(model, request(roads=(PLAIN, PRECOOLED, "cascade-2", "cascade-3")), stop)
    assert found.interrupted
    unknown = [one for one in found.roads if not one.looked_for]
    assert [one.name for one in unknown] == left
    assert all("not looked for" in one.obstacle and one.figures is None for one in unknown)
    assert "does not get there" not in found.advice and "do not get there" not in found.advice
    for one in unknown:
        assert f"{one.label}" in found.advice and "not looked for" in found.advice
    assert found.advice.startswith("Of what was found before the interruption, build the ")
    assert "no crossing" not in found.crossing.sentence and "only" not in found.crossing.sentence
    assert found.road_crossings == {} and all(one.lowest_temperature is None for one in found.roads)


def test_an_interruption_before_anything_was_found_gives_no_advice(model):
    def stop(stage, done, total, least):
        raise KeyboardInterrupt

    found = compare(model, request(roads=(PLAIN, "cascade-2")), stop)
    assert found.advice == "No advice: plain blend and cascade of 2 were not looked for to the end."
    assert found.crossing.sentence.startswith("not known: the comparison was interrupted")


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


def test_a_point_of_the_load_line_tried_in_vain_says_why():
    line = LoadLine(request(roads=(PLAIN,)), np.array([180.0]), {PLAIN: []}, lambda: False)

    def tried(answer):
        chain = line._try(PLAIN, 180.0, Job("blends.near", ()))
        assert next(chain) == Job("blends.near", ())
        with pytest.raises(StopIteration) as end:
            answer(chain)
        return end.value.value

    assert not tried(lambda chain: chain.throw(UnreachableError("the blend of a test")))
    assert line.lost == {(PLAIN, 180.0): "the blend of a test"}
    assert tried(lambda chain: chain.send("found")) and not line.lost


def test_plain_blends_are_looked_for_anew_where_none_is_known(model):
    """As where the plain road fails at the cold end: then no point of its line has a neighbour to start from."""
    roads = BlendRoads(model, request())
    assert roads.known == []
    assert roads.near("plain", 205.0, []).power > 0.0


def test_an_interruption_of_the_last_part_leaves_out_that_alone(model, monkeypatch):
    def press(self, asked):
        raise KeyboardInterrupt

    monkeypatch.setattr(BlendRoads, "power_at", press)
    found = compare(model, request(roads=(PLAIN,), steps=2))
    (road,) = found.roads
    assert not found.interrupted and found.messages[0] == EQUAL_LEFT_OUT
    assert road.figures is not None and len(road.line) > 1 and road.equal_power is None
