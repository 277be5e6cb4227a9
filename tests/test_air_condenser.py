"""Air-cooled condensers of stated size, of a precooler and of a cascade's warmest stage: where they condense."""

import dataclasses
import json
from pathlib import Path

import numpy as np
import pytest
from cascade_samples import LIMITS, sample_cascade
from circuit_samples import TEXTBOOK, machine
from cli_samples import edited, record_of, refusal, written
from CoolProp.CoolProp import PropsSI
from scipy.optimize import brentq

from mixjt.cascade.cascade_curves import power_curves
from mixjt.cascade.cascade_limits import stage_excesses
from mixjt.cascade.design import CascadeRequest, design_cascade
from mixjt.cascade.greatest_load import greatest_load, loaded_at
from mixjt.cascade.optimum import begun, best_cascade
from mixjt.cascade.stages import solve_cascade
from mixjt.case.case import read_case
from mixjt.case.compare_case import compare_request
from mixjt.circuit.solve import solve_circuit, with_precooler
from mixjt.errors import UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts.air_coil import CLOSEST, AirCoil
from mixjt.parts.air_condenser import condenser_conductance
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.precooler import Precooler, precooling_stage
from mixjt.parts.stage_fluid import pure_fluid
from mixjt.studies.compare.equal_terms import terms
from mixjt.studies.search.precooled_search import precooling
from mixjt.studies.size_study import cooling_by_size

AMBIENT = 295.0
DEMO = Path(__file__).parent.parent / "mixtures-demo"
PRECOOLED, CASCADE = DEMO / "receiver-precooled.toml", DEMO / "preamp-cascade.toml"
GASES, Z = ("nitrogen", "methane", "ethane", "propane", "isobutane"), np.array([0.22, 0.33, 0.25, 0.12, 0.08])
SIMPLE = Compressor("reciprocating", 1.0, 1.0, isentropic_efficiency=0.60, motor_efficiency=0.80, **TEXTBOOK)
FOUR_SECTIONS = 5e-4  # relative: what logarithmic means over four sections of hot gas leave of a heat capacity that varies
PAIR = tuple(pure_fluid(name) for name in ("ethane", "propane"))


def condensing_by_hand(heat, size, ambient, subcooling=0.0, evaporating=250.0):
    """Propane through CoolProp's high-level interface: heat taken up [W], 5 K superheat, states summed up in fine steps."""

    def h(T, p):
        return PropsSI("Hmolar", "T", T, "P", p, "Propane")

    def rejecting(condensing):
        low, high = (PropsSI("P", "T", T, "Q", 1, "Propane") for T in (evaporating, condensing))
        h1, s1 = (PropsSI(key, "T", evaporating + 5.0, "P", low, "Propane") for key in ("Hmolar", "Smolar"))
        h2 = h1 + (PropsSI("Hmolar", "P", high, "Smolar", s1, "Propane") - h1) / (0.60 * 0.80)
        dew, bubble = (PropsSI("Hmolar", "T", condensing, "Q", q, "Propane") for q in (1, 0))
        gas = np.linspace(dew, h2, 400)
        above = np.array([condensing, *(PropsSI("T", "Hmolar", one, "P", high, "Propane") for one in gas[1:])]) - ambient
        sized = np.trapezoid(1.0 / above, gas) + (dew - bubble) / (condensing - ambient)
        outlet = bubble
        if subcooling:
            outlet = h(condensing - subcooling, high)
            cold = np.linspace(condensing - subcooling, condensing, 400)
            liquid = np.array([*(h(T, high) for T in cold[:-1]), bubble])
            sized += np.trapezoid(1.0 / (cold - ambient), liquid)
        return heat / (h1 - outlet) * sized

    return brentq(lambda T: rejecting(T) - size, ambient + subcooling + 0.05, 365.0, xtol=1e-7)


@pytest.mark.parametrize("heat, size", [(60.0, 12.0), (150.0, 12.0), (150.0, 30.0)])
def test_a_precooler_condenses_where_a_hand_calculation_has_it(heat, size):
    stage = precooling_stage(Precooler(255.0, compressor=SIMPLE, condenser=AirCoil(size)), 255.0, AMBIENT, heat)
    approach = stage.stage.condensing_temperature - AMBIENT
    assert approach == pytest.approx(condensing_by_hand(heat, size, AMBIENT) - AMBIENT, rel=FOUR_SECTIONS)


def test_a_cascade_of_one_stage_condenses_where_a_hand_calculation_has_it():
    cascade = sample_cascade(
        cold_temperature=255.0, load=80.0, compressor=SIMPLE, condenser=AirCoil(9.0), exchanger_effectiveness=(0.0,),
        suction_drops=(0.0,), discharge_drops=(0.0,), heat_leaks=(0.0,), inventories=(),
    )  # fmt: skip
    result = solve_cascade(cascade, PAIR[1:], ())
    expected = condensing_by_hand(80.0, 9.0, cascade.ambient_temperature, subcooling=2.0) - cascade.ambient_temperature
    assert result.cascade.condenser_approach == pytest.approx(expected, rel=FOUR_SECTIONS)
    assert result.energy_residual < 1e-6 and result.exergy_residual < 1e-6


def test_air_that_warms_makes_the_face_of_a_coil_less_than_its_conductance():
    """Air of 1.1966 kg/m3 (ideal gas, by hand), 1006 J/(kg K), 0.1 m2, 1.5 m/s: 180.57 (1 - exp(-300/180.57)) W/K."""
    with_air, alone = (
        precooling_stage(Precooler(255.0, condenser=coil), 255.0, AMBIENT, 900.0)
        for coil in (AirCoil(300.0, 0.1, 1.5), AirCoil(180.57 * (1.0 - np.exp(-300.0 / 180.57))))
    )
    assert with_air.stage.condensing_temperature == pytest.approx(alone.stage.condensing_temperature, abs=1e-3)


def test_an_endless_condenser_condenses_at_ambient():
    endless, near = Precooler(255.0, condenser=AirCoil(1e6)), Precooler(255.0, condenser_approach=CLOSEST)
    stage = precooling_stage(endless, 255.0, AMBIENT, 100.0)
    assert stage.stage.condensing_temperature == pytest.approx(AMBIENT + CLOSEST)
    assert stage.power_per_heat == pytest.approx(precooling_stage(near, 255.0, AMBIENT).power_per_heat, rel=1e-9)
    cascade = solve_cascade(sample_cascade(condenser=AirCoil(1e6)), PAIR, (243.0,)).cascade
    assert cascade.condenser_approach == pytest.approx(cascade.subcooling + CLOSEST)


def test_more_heat_and_less_condenser_condense_warmer_until_they_cannot():
    def condensing(heat, size):
        stage = precooling_stage(Precooler(255.0, condenser=AirCoil(size)), 255.0, AMBIENT, heat)
        return stage.stage.condensing_temperature

    by_heat = [condensing(heat, 10.0) for heat in (1.0, 50.0, 150.0)]
    by_size = [condensing(50.0, size) for size in (10.0, 5.0, 2.5)]
    assert by_heat == sorted(by_heat) and by_size == sorted(by_size)
    with pytest.raises(UnreachableError, match="2 W/K to the air is too small.*above its critical.*larger condenser"):
        condensing(200.0, 2.0)
    with pytest.raises(UnreachableError, match="too small"):
        solve_cascade(sample_cascade(condenser=AirCoil(0.8)), PAIR, (243.0,))


# a size and the approach that belongs to it are one machine


@pytest.fixture(scope="module")
def fluid(model_of):
    return Fluid(model_of(GASES), Z)


def test_the_conductance_that_a_precooled_circuit_takes_gives_its_approach_back(fluid):
    stated = Precooler(255.0, condenser_approach=12.0)
    by_approach = solve_circuit(fluid, with_precooler(machine(), stated), 32)
    sized = Precooler(255.0, condenser_approach=30.0, condenser=AirCoil(by_approach.condenser_conductance))
    by_size = solve_circuit(fluid, with_precooler(machine(), sized), 32)
    assert by_approach.condenser_approach == pytest.approx(12.0)
    assert by_size.condenser_approach == pytest.approx(12.0, abs=1e-6)
    for name in ("total_power", "precooler_power", "cop", "precooler_duty"):
        assert getattr(by_size, name) == pytest.approx(getattr(by_approach, name), rel=1e-6)
    assert by_size.energy_residual < 1e-6 and by_size.exergy_residual < 1e-6


def test_a_precooler_of_given_compressor_and_condenser_is_used_up(fluid):
    wide = solve_circuit(fluid, with_precooler(machine(), Precooler(255.0)), 32)
    swept = 0.5 * wide.precooler_duty * wide.stage.swept_per_heat
    compressor = dataclasses.replace(Precooler(255.0).compressor, displacement=swept, speed=1.0)
    size = AirCoil(wide.condenser_conductance)
    given = Precooler(255.0, compressor=compressor, limited_by_compressor=True, condenser=size)
    result = solve_circuit(fluid, with_precooler(machine(), given), 32)
    assert result.precooler_temperature > 255.0 and result.condenser_approach < wide.condenser_approach
    assert result.precooler_duty * result.stage.swept_per_heat == pytest.approx(swept, rel=2e-3)
    assert result.condenser_conductance == pytest.approx(wide.condenser_conductance, rel=1e-6)
    capacity = given.capacity_at(result.precooler_temperature, AMBIENT)
    assert capacity == pytest.approx(result.precooler_duty, rel=2e-3)
    assert given.excess(capacity, result.precooler_temperature, AMBIENT) == pytest.approx(0.0, abs=1e-6 * capacity)


def test_a_strong_compressor_before_a_weak_condenser_still_has_a_capacity():
    """At an endless condenser it would move far more than this one bears; warmer it moves less."""
    compressor = Compressor("reciprocating", 5e-6, 48.0)
    precooler = Precooler(285.0, compressor=compressor, limited_by_compressor=True, condenser=AirCoil(10.0))
    capacity = precooler.capacity_at(285.0, AMBIENT)
    stage = precooling_stage(precooler, 285.0, AMBIENT, capacity)
    assert capacity * stage.swept_per_heat == pytest.approx(compressor.swept_flow, rel=1e-6)
    assert condenser_conductance(stage, capacity, AMBIENT) == pytest.approx(10.0, rel=1e-6)


def test_the_conductance_that_a_cascade_takes_gives_its_approach_back():
    by_approach = solve_cascade(sample_cascade(condenser_approach=12.0), PAIR, (243.0,))
    sized = sample_cascade(condenser=AirCoil(by_approach.air_conductance))
    by_size = solve_cascade(sized, PAIR, (243.0,))
    assert by_size.cascade.condenser_approach == pytest.approx(12.0, abs=1e-6)
    assert by_size.total_power == pytest.approx(by_approach.total_power, rel=1e-6)
    assert by_size.displacements == pytest.approx(by_approach.displacements, rel=1e-6)
    assert by_size.air_conductance == pytest.approx(by_approach.air_conductance, rel=1e-6)


def keeps_limits(result):
    cycles = [(stage.cycle, result.cascade.limits, number) for number, stage in enumerate(result.stages)]
    return all(one.relative <= 1e-6 for cycle in cycles for one in stage_excesses(*cycle))


def test_the_best_temperature_between_stages_of_a_cascade_with_that_size():
    sized = begun(sample_cascade(condenser=AirCoil(4.0)))
    best, _ = best_cascade(sized, PAIR, (243.0,))
    assert best.air_conductance == pytest.approx(4.0, rel=1e-6)
    grid = [solve_cascade(sized, PAIR, (float(at),)) for at in np.arange(242.0, 250.0, 0.5)]
    least = min(filter(keeps_limits, grid), key=lambda one: one.total_power)
    assert keeps_limits(best) and best.total_power <= least.total_power * (1.0 + 1e-6)
    assert best.intermediate_temperatures[0] == pytest.approx(least.intermediate_temperatures[0], abs=0.5)
    (curve,) = power_curves(best, 3)  # the middle of the range, and where the cascade stands
    at = float(curve.temperatures[2])
    assert at != best.intermediate_temperatures[0]
    assert curve.powers[2] == pytest.approx(solve_cascade(sized, PAIR, (at,)).total_power, rel=1e-6)


def test_fluids_are_chosen_with_the_size_as_with_the_approach_that_it_leads_to():
    asked = CascadeRequest(sample_cascade(), available=("ethane", "propane", "isobutane"), stages=2, kept=2)
    by_approach = design_cascade(asked)
    sized = dataclasses.replace(asked.cascade, condenser=AirCoil(by_approach.best.air_conductance))
    by_size = design_cascade(dataclasses.replace(asked, cascade=sized))
    assert by_size.best.fluids == by_approach.best.fluids
    # the machine by approach is one of those with this size, and the best of them may condense a little colder
    assert by_approach.total_power * (1.0 - 1e-3) < by_size.total_power <= by_approach.total_power * (1.0 + 1e-9)
    assert by_size.best.cascade.condenser_approach == pytest.approx(10.0, abs=0.1)
    for one in by_size.candidates:  # each at the condensing temperature of its own heat
        assert one.air_conductance == pytest.approx(by_approach.best.air_conductance, rel=1e-6) and keeps_limits(one)
    with pytest.raises(UnreachableError, match="state a larger condenser"):
        design_cascade(dataclasses.replace(asked, cascade=dataclasses.replace(sized, condenser=AirCoil(0.3))))


def test_the_greatest_load_of_given_compressors_before_that_condenser():
    given = sample_cascade(inventories=(), limits=dataclasses.replace(LIMITS, displacements=(5e-6, 8e-6)))
    by_approach = design_cascade(CascadeRequest(given, fluids=PAIR, greatest=True)).best
    sized = dataclasses.replace(given, condenser=AirCoil(by_approach.air_conductance))
    by_size = design_cascade(CascadeRequest(sized, fluids=PAIR, greatest=True)).best
    assert by_size.cascade.load == pytest.approx(by_approach.cascade.load, rel=1e-6)
    assert by_size.displacements == pytest.approx((5e-6, 8e-6), rel=1e-6)
    stated = loaded_at(sized, PAIR, by_size.intermediate_temperatures)
    assert stated.cascade.load == pytest.approx(by_size.cascade.load, rel=1e-5)
    smaller = dataclasses.replace(sized, condenser=AirCoil(8.0))
    small = design_cascade(CascadeRequest(smaller, fluids=PAIR, greatest=True)).best
    assert small.cascade.load < by_size.cascade.load and small.air_conductance == pytest.approx(8.0, rel=1e-6)


def test_a_small_condenser_leaves_a_greatest_load_or_is_told_to_be_too_small():
    """Where the compressors, used up at first, would bring far more than it gives off; 80 W are carried by a plain design."""
    given = sample_cascade(inventories=(), limits=dataclasses.replace(LIMITS, displacements=(5e-6, 8e-6)))
    small, tiny = (begun(dataclasses.replace(given, condenser=AirCoil(size), load=80.0)) for size in (6.0, 2.5))
    assert best_cascade(small, PAIR, (243.0,))[0].cascade.load == 80.0
    found = greatest_load(small, PAIR)[0]
    assert found.cascade.load > 80.0 and found.air_conductance == pytest.approx(6.0, rel=1e-5)
    with pytest.raises(UnreachableError, match="condenser of 2.5 W/K to the air is too small for these compressors"):
        greatest_load(tiny, PAIR)


def test_a_greatest_load_does_not_depend_on_where_its_condensing_temperature_begins():
    given = sample_cascade(inventories=(), limits=dataclasses.replace(LIMITS, displacements=(5e-6, 8e-6)))
    sized = dataclasses.replace(given, condenser=AirCoil(12.0))
    cool, warm = (loaded_at(dataclasses.replace(sized, condenser_approach=at), PAIR, (243.0,)) for at in (3.0, 25.0))
    assert warm.cascade.load == pytest.approx(cool.cascade.load, rel=1e-6)
    assert warm.cascade.condenser_approach == pytest.approx(cool.cascade.condenser_approach, abs=1e-4)


def test_without_a_size_the_stated_approach_is_never_left(monkeypatch):
    """Where the cascade of the load found is refused, that is told: no other approach is tried in its place."""
    given = sample_cascade(inventories=(), limits=dataclasses.replace(LIMITS, displacements=(5e-6, 8e-6)))
    tried = []

    def refuse(cascade, *_):
        tried.append(cascade.condenser_approach)
        raise UnreachableError("refused here")

    monkeypatch.setattr("mixjt.cascade.greatest_load.solve_cascade", refuse)
    with pytest.raises(UnreachableError, match="refused here"):
        loaded_at(given, PAIR, (243.0,))
    assert tried == [given.condenser_approach]


# studies


def test_a_search_knows_what_a_precooler_draws_at_any_duty():
    circuit = with_precooler(machine(), Precooler(255.0, condenser=AirCoil(10.0)))
    known = precooling(circuit)
    assert known.limited
    for duty in (5.0, 60.0, 150.0, 0.9 * known.capacity):
        stage = precooling_stage(circuit.precooler, 255.0, AMBIENT, duty)
        assert known.power_per_heat(duty) == pytest.approx(stage.power_per_heat, rel=2e-3)
    with pytest.raises(UnreachableError, match="too small"):
        precooling_stage(circuit.precooler, 255.0, AMBIENT, 1.1 * known.capacity)
    held = precooling(with_precooler(machine(), Precooler(255.0, capacity=80.0, condenser=AirCoil(10.0))))
    assert held.capacity == 80.0


def test_a_comparison_says_on_which_condensers_it_stands(tmp_path):
    case = edited(tmp_path, PRECOOLED, ('condenser_approach = "10 K"', 'condenser_conductance = "14 W/K"'))
    with open(case, "a", encoding="utf-8") as file:
        file.write('\n[cascade]\ncondenser_face_area = "100 cm2"\n[compare]\nroads = ["precooled", "cascade-2"]\n')
    asked = compare_request(read_case(case))
    said = " ".join(terms(asked))
    assert "with the stated condenser, scaled with the displacement" in said
    assert f"a condenser of {asked.cascade.cascade.condenser.to_ambient(AMBIENT):.3g} W/K to the air" in said


# case files


def test_a_case_states_the_condenser_of_its_precooler(capsys, tmp_path):
    lines = 'condenser_face_area = "300 cm2"\ncondenser_face_velocity = "1.5 m/s"'
    case = edited(tmp_path, PRECOOLED, ('condenser_approach = "10 K"', lines))
    record = record_of(capsys, "cycle", case, "--circuit", "precooled")
    room = AirCoil(face_area=0.03, face_velocity=1.5).to_ambient(295.15)
    assert record["precooler_condenser_conductance_W_per_K"] == pytest.approx(room, rel=1e-6)
    approach = record["precooler_condensing_temperature_K"] - 295.15
    assert record["precooler_condenser_approach_K"] == pytest.approx(approach) and approach > 5.0


def test_a_case_states_the_condenser_of_its_cascade(capsys, tmp_path):
    lines = 'fluids = ["ethane", "propane"]\nintermediate_temperatures = ["245 K"]\n'
    text = CASCADE.read_text(encoding="utf-8").replace("stages = 2\n", "")
    one = record_of(capsys, "cascade", written(tmp_path, text.replace("[cascade]\n", f"[cascade]\n{lines}")))
    size = f'condenser_conductance = "{one["condenser_conductance_W_per_K"]!r} W/K"\n'
    other = record_of(capsys, "cascade", written(tmp_path, text.replace("[cascade]\n", f"[cascade]\n{lines}{size}")))
    assert one["condenser_approach_K"] == 10.0 and other["condenser_approach_K"] == pytest.approx(10.0, abs=1e-6)
    assert other["total_power_W"] == pytest.approx(one["total_power_W"], rel=1e-6)
    json.dumps(other, allow_nan=False)


@pytest.mark.parametrize("case, table, command", [
    (PRECOOLED, "precooler", ("cycle", "--circuit", "precooled")), (CASCADE, "cascade", ("cascade",)),
])  # fmt: skip
@pytest.mark.parametrize("lines, complaint", [
    ('condenser_approach = "9 K"\ncondenser_conductance = "12 W/K"', "conductance: the approach follows from the condenser's size"),
    ('condenser_approach = "9 K"\ncondenser_face_area = "0.1 m2"', "condenser_face_area: the approach follows"),
    ('condenser_face_velocity = "2 m/s"', "its conductance or its face area"),
    ('condenser_conductance = "12 W/K"\ncondenser_face_velocity = "2 m/s"', "only with face_area"),
    ('condenser_conductance = "-1 W/K"', "condenser_conductance"),
])  # fmt: skip
def test_a_size_stated_by_half_or_twice_is_refused(capsys, tmp_path, case, table, command, lines, complaint):
    text = case.read_text(encoding="utf-8").replace('condenser_approach = "10 K"', "#")
    path = written(tmp_path, text.replace(f"[{table}]\n", f"[{table}]\n{lines}\n"))
    said = refusal(capsys, command[0], path, *command[1:])
    assert complaint in said and f"[{table}]" in said


def test_a_condenser_too_small_ends_a_command_in_one_line(capsys, tmp_path):
    case = edited(tmp_path, PRECOOLED, ('condenser_approach = "10 K"', 'condenser_conductance = "2 W/K"'))
    assert "a condenser of 2 W/K to the air is too small" in refusal(capsys, "cycle", case, "--circuit", "precooled")


def small_condenser(size: float, **limit):
    return with_precooler(machine(recuperator_conductance=35.0), Precooler(255.0, condenser=AirCoil(size), **limit))


def test_a_recuperator_that_a_small_condenser_cannot_follow_cools_nothing():
    circuit, fluid = small_condenser(0.8), Fluid(load_model("multi-fluid", GASES), Z)
    result = solve_circuit(fluid, circuit)
    sizes = {point.ratio: point for point in cooling_by_size(circuit, [result])}
    larger = dataclasses.replace(circuit, recuperator_conductance=1.5 * result.recuperator_conductance)
    with pytest.raises(UnreachableError, match="too small"):
        solve_circuit(fluid, larger)
    assert sizes[1.0].cooling_power == result.cooling_power and sizes[1.5].cooling_power is None


def test_a_precooler_of_given_compressor_cools_less_deep_where_its_condenser_is_too_small():
    fluid = Fluid(load_model("multi-fluid", GASES), Z)
    wide = solve_circuit(fluid, small_condenser(100.0))
    swept = 0.5 * wide.precooler_duty * wide.stage.swept_per_heat
    pump = dataclasses.replace(SIMPLE, displacement=swept, speed=1.0)
    found = solve_circuit(fluid, small_condenser(0.2 * wide.condenser_conductance, compressor=pump, limited_by_compressor=True))
    assert found.precooler_temperature > 256.0
    assert found.condenser_conductance == pytest.approx(0.2 * wide.condenser_conductance, rel=1e-4)
