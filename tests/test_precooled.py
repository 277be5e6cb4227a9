"""The precooled throttle circuit against the plain one, independent balances, rebuilt curves and limits."""

import dataclasses

import numpy as np
import pytest
from circuit_samples import DROPS, IDEAL, TEXTBOOK, enthalpies, machine, smallest_approach
from CoolProp.CoolProp import PropsSI

from mixjt.circuit.layouts.precooled import precooled_point
from mixjt.circuit.solve import grid_cooling, solve_circuit, with_precooler
from mixjt.errors import InputError, UnknownGasError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.precooler import Precooler, precooling_stage
from mixjt.studies.precooling import best_precooling, precooling_curve, precooling_gain

GASES = ("nitrogen", "methane", "ethane", "propane", "isobutane")
Z = np.array([0.22, 0.33, 0.25, 0.12, 0.08])  # too few heavy gases for the plain circuit: pinched at the warm end
TEMPERATURE = 255.0


@pytest.fixture(scope="module")
def model(model_of):
    return model_of(GASES)


def precooled(temperature=TEMPERATURE, warm_section=True, circuit=None, **changes):
    return with_precooler(circuit or machine(), Precooler(temperature, **changes), warm_section)


@pytest.fixture(scope="module")
def solved(model):
    return solve_circuit(Fluid(model, Z), precooled())


@pytest.fixture(scope="module")
def plain(model):
    return solve_circuit(Fluid(model, Z), machine())


# limits


@pytest.mark.parametrize("drops", [{}, DROPS], ids=["no drops", "drops"])
@pytest.mark.parametrize("warm_section", [True, False])
def test_precooling_to_the_aftercooler_outlet_is_the_plain_circuit(model, drops, warm_section):
    circuit = machine(**drops)
    plain = solve_circuit(Fluid(model, Z), circuit)
    result = solve_circuit(
        Fluid(model, Z), precooled(circuit.warm_temperature, warm_section, circuit)
    )
    assert result.precooler_heat == 0.0 and result.precooler_power == 0.0 and result.stage is None
    for name in ("cooling_capacity", "cooling_power", "total_power", "cop", "discharge_temperature"):
        assert getattr(result, name) == getattr(plain, name)
    assert result.recuperator_conductance == plain.recuperator_conductance


def test_precooling_lifts_the_warm_pinch(solved, plain):
    assert plain.pinch.pinch_temperature == pytest.approx(machine().warm_temperature)
    assert solved.cooling_capacity > 2.0 * plain.cooling_capacity
    gain = precooling_gain(solved, plain)
    assert gain.capacity == pytest.approx(solved.cooling_capacity / plain.cooling_capacity)
    assert gain.conductance_per_cooling < 1.0  # less recuperator for each watt of cooling
    assert precooling_gain(solved, None).cop is None


@pytest.mark.parametrize("warm_section", [True, False])
def test_even_the_best_machine_stays_below_carnot(model, warm_section):
    circuit = machine(recuperator_approach=0.0, aftercooler_approach=0.0, compressor=IDEAL)
    best = Compressor(
        "reciprocating", 1.0, 1.0, clearance=0.0, isentropic_efficiency=1.0, motor_efficiency=1.0,
        **TEXTBOOK,
    )  # fmt: skip
    result = solve_circuit(
        Fluid(model,
        Z),
        precooled(260.0, warm_section, circuit, approach=0.0, condenser_approach=0.0, superheat=0.0, compressor=best),
    )
    assert 0.2 < result.carnot_fraction < 1.0
    assert all(item.exergy > -1e-6 * result.compressor_work for item in result.exergy)


# balances, written out from the state points


@pytest.mark.parametrize("drops", [{}, DROPS], ids=["no drops", "drops"])
@pytest.mark.parametrize("warm_section", [True, False])
def test_energy_balances(model, drops, warm_section):
    result = solve_circuit(Fluid(model, Z), precooled(TEMPERATURE, warm_section, machine(**drops)))
    h = {name: state.enthalpy for name, state in result.points.items()}
    scale = 1e-6 * result.compressor_work
    q, q_pre = result.cooling_capacity, result.precooler_heat
    assert h["evaporator_outlet"] - h["throttle_outlet"] == pytest.approx(q, abs=scale)
    assert h["precooler_inlet"] - h["precooler_outlet"] == pytest.approx(q_pre, abs=scale)
    cold = h["precooler_outlet"] - h["throttle_inlet"]
    assert h["low_side_between_sections"] - h["evaporator_outlet"] == pytest.approx(cold, abs=scale)
    warm = h["aftercooler_outlet"] - h["precooler_inlet"]
    assert h["compressor_inlet"] - h["low_side_between_sections"] == pytest.approx(warm, abs=scale)
    flow = result.molar_flow
    into = result.compressor_power + flow * q
    out = flow * (result.aftercooler_heat + result.shell_heat + q_pre)
    assert into == pytest.approx(out, rel=1e-6)
    assert result.energy_residual < 1e-6 and result.exergy_residual < 1e-6


def test_exergy_of_both_powers_is_accounted_for(solved):
    total = sum(item.exergy for item in solved.exergy) * solved.molar_flow
    assert total == pytest.approx(solved.compressor_power + solved.precooler_power, rel=1e-6)
    assert solved.total_power == solved.compressor_power + solved.precooler_power
    assert solved.cop == pytest.approx(solved.cooling_power / solved.total_power)


def test_stage_power_against_a_cycle_of_the_reference_equation():
    # Propane between 250 and 305 K, state by state from CoolProp: 5 K superheat, saturated liquid.
    p_low, p_high = PropsSI("P", "T", 250.0, "Q", 1, "Propane"), PropsSI("P", "T", 305.0, "Q", 0, "Propane")
    h1, s1 = (PropsSI(key, "T", 255.0, "P", p_low, "Propane") for key in ("Hmolar", "Smolar"))
    h2s = PropsSI("Hmolar", "P", p_high, "Smolar", s1, "Propane")
    h3 = PropsSI("Hmolar", "T", 305.0, "Q", 0, "Propane")
    work = (h2s - h1) / (0.60 * 0.80)
    machine = Compressor("reciprocating", 1.0, 1.0, isentropic_efficiency=0.60, motor_efficiency=0.80, **TEXTBOOK)
    stage = precooling_stage(Precooler(255.0, compressor=machine), 255.0, 295.0)
    assert stage.power_per_heat == pytest.approx(work / (h1 - h3), rel=1e-6)


# recuperator sections on a grid of their own


def test_approach_of_both_sections_rebuilt(model, solved):
    at = solved.points
    cold = smallest_approach(
        enthalpies(model, Z, 16e5, at["throttle_inlet"].temperature, at["precooler_outlet"].temperature),
        enthalpies(model, Z, 2e5, 120.0, at["low_side_between_sections"].temperature),
    )
    warm = smallest_approach(
        enthalpies(model, Z, 16e5, at["precooler_inlet"].temperature, 303.0),
        enthalpies(model, Z, 2e5, at["low_side_between_sections"].temperature, at["compressor_inlet"].temperature),
    )
    assert cold == pytest.approx(3.0, abs=0.02)
    assert warm == pytest.approx(3.0, abs=0.02)
    assert [section.smallest_approach for section in solved.sections] == pytest.approx([3.0, 3.0], abs=1e-3)
    total = sum(section.conductance for section in solved.sections) * solved.molar_flow
    assert solved.recuperator_conductance == pytest.approx(total)


def test_the_precooler_takes_up_no_more_than_it_must(model, solved):
    # with one percent less heat the warm section's low side would come too close to the high side
    at = solved.points
    less = 0.01 * solved.precooler_heat
    inlet = model.state_hp(Z, at["precooler_inlet"].enthalpy - less, 16e5).temperature
    warmest = model.state_hp(Z, at["compressor_inlet"].enthalpy + less, 2e5).temperature
    hot = enthalpies(model, Z, 16e5, inlet, 303.0)
    cold = enthalpies(model, Z, 2e5, at["low_side_between_sections"].temperature, warmest)
    assert smallest_approach(hot, cold) < 2.9


def test_cold_suction_leaves_all_to_the_precooler(model, solved):
    result = solve_circuit(Fluid(model, Z), precooled(warm_section=False))
    at = result.points
    assert at["compressor_inlet"] is at["low_side_between_sections"]
    assert at["compressor_inlet"].temperature <= TEMPERATURE - 3.0 + 1e-6
    whole = enthalpies(model, Z, 16e5, TEMPERATURE, 303.0, 2)[1]
    assert result.precooler_heat == pytest.approx(whole[1] - whole[0], rel=1e-9)
    assert len(result.sections) == 1
    assert result.cooling_capacity == pytest.approx(solved.cooling_capacity, rel=1e-9)
    assert result.precooler_heat > solved.precooler_heat
    assert result.molar_flow > solved.molar_flow  # the suction is denser
    assert result.discharge_temperature < solved.discharge_temperature


# a stage that is too weak


def test_a_weak_precooler_is_used_up(model, solved, plain):
    capacity = 0.5 * solved.precooler_duty
    result = solve_circuit(Fluid(model, Z), precooled(capacity=capacity))
    assert result.precooler_duty == pytest.approx(capacity, rel=2e-3)
    assert result.precooler_duty <= capacity
    assert TEMPERATURE < result.precooler_temperature < machine().warm_temperature
    assert plain.cooling_capacity < result.cooling_capacity < solved.cooling_capacity
    warmer = precooled_point(Fluid(model, Z), precooled(result.precooler_temperature + 0.5))
    assert warmer.solution.cooling < result.cooling_capacity


def test_a_strong_precooler_is_not_limited(model, solved):
    result = solve_circuit(Fluid(model, Z), precooled(capacity=2.0 * solved.precooler_duty))
    assert result.precooler_temperature == TEMPERATURE
    assert result.cooling_power == solved.cooling_power


def test_displacement_limits_the_stage(model, solved):
    swept = solved.precooler_duty * solved.stage.swept_per_heat
    for share, limited in ((0.5, True), (1.5, False)):
        stage = dataclasses.replace(Precooler(TEMPERATURE).compressor, displacement=share * swept, speed=1.0)
        circuit = precooled(compressor=stage, limited_by_compressor=True)
        result = solve_circuit(Fluid(model, Z), circuit)
        assert (result.precooler_temperature > TEMPERATURE) == limited
        needed = result.precooler_duty * result.stage.swept_per_heat
        assert needed <= share * swept * (1.0 + 1e-9)


# the best temperature


@pytest.fixture(scope="module")
def scan(model):
    return precooling_curve(Fluid(model, Z), precooled(warm_section=False), (240.0, 300.0), count=31, points=24)


@pytest.mark.parametrize("aim", ["cop", "cooling power"])
def test_best_temperature_against_a_dense_scan(model, scan, aim):
    circuit = precooled(warm_section=False)
    result, curve = best_precooling(Fluid(model, Z), circuit, (240.0, 300.0), aim, points=24)
    best = np.nanmax(scan.cop if aim == "cop" else scan.cooling_power)
    found = result.cop if aim == "cop" else result.cooling_power
    assert found >= best * (1.0 - 1e-4)
    assert curve.temperatures[0] == 240.0 and len(curve.temperatures) == len(curve.total_power)


def test_a_limited_curve_begins_where_the_stage_is_used_up(model, solved):
    circuit = precooled(capacity=0.5 * solved.precooler_duty)
    curve = precooling_curve(Fluid(model, Z), circuit, (250.0, 300.0), count=3, points=24)
    assert curve.lowest == curve.temperatures[0] > 250.0
    assert curve.precooler_duty[0] == pytest.approx(0.5 * solved.precooler_duty, rel=5e-3)


def test_a_blend_pinched_at_its_cold_end_needs_no_precooler(model):
    z = np.array([0.13, 0.43, 0.10, 0.04, 0.30])
    result = solve_circuit(Fluid(model, z), precooled())
    assert result.precooler_heat == 0.0 and result.total_power == result.compressor_power
    assert any("nothing to do" in warning for warning in result.warnings)


# comparing models, refusals


def test_grid_cooling_of_a_result(model, solved):
    assert grid_cooling(Fluid(model, Z), precooled(240.0).as_solved(solved), 96) == pytest.approx(
        solved.cooling_capacity, rel=0.01
    )


@pytest.mark.parametrize(
    "build, complaint",
    [
        (lambda: precooled(310.0), "at most the aftercooler outlet"),
        (lambda: precooled(123.0), "above the cold end"),
        (lambda: precooled(capacity=-1.0), "capacity must be a number above 0"),
        (lambda: precooled(float("nan")), "temperature must be a number above 0"),
        (lambda: precooled(approach=-1.0), "approach must be a number at least 0"),
    ],
)
def test_refuses_at_once(build, complaint):
    with pytest.raises(InputError, match=complaint):
        build()


@pytest.mark.parametrize(
    "changes, error, complaint",
    [
        ({"fluid": "methane"}, UnreachableError, "above its critical temperature"),
        ({"fluid": "waterr"}, UnknownGasError, "waterr"),
    ],
)
def test_refuses_when_the_stage_cannot_work(model, changes, error, complaint):
    with pytest.raises(error, match=complaint):
        solve_circuit(Fluid(model, Z), precooled(**changes))


def test_refuses_an_empty_range_and_an_unknown_aim(model):
    with pytest.raises(InputError, match="no precooling temperature to try"):
        precooling_curve(Fluid(model, Z), precooled(), (310.0, 320.0))
    with pytest.raises(InputError, match="cannot precool for"):
        best_precooling(Fluid(model, Z), precooled(), (250.0, 300.0), "speed")


def test_no_cooling_is_said(model):
    z = np.array([0.9, 0.1, 0.0, 0.0, 0.0])
    with pytest.raises(UnreachableError, match="no cooling at 90 K: at the pinch of the cold section"):
        solve_circuit(Fluid(model, z), precooled(circuit=machine(cold_temperature=90.0, recuperator_approach=15.0)))


def test_warnings_of_the_stage(model):
    result = solve_circuit(Fluid(model, Z), precooled(235.0, fluid="isobutane"))
    assert any("below atmospheric pressure" in warning for warning in result.warnings)
