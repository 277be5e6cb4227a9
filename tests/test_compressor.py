"""Compressor: flow, work, heat of the shell, limits."""

import dataclasses
import math

import CoolProp.CoolProp as coolprop
import numpy as np
import pytest
from circuit_samples import TEXTBOOK
from scipy.optimize import brentq
from toy_model import IdealBlend, PureFluid

from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.compressor.compression import COMPRESSOR_KINDS, Compressor, compress
from mixjt.parts.compressor.shell import volumetric_efficiency
from mixjt.parts.compressor.sizing import fitted

ONE = np.ones(1)
ROOM = 295.0


@pytest.fixture(scope="module")
def propane():
    return PureFluid("propane", "Propane")


def machine(**changes) -> Compressor:
    return dataclasses.replace(Compressor("rotary", displacement=10e-6, speed=50.0), **changes)


def textbook(**changes) -> Compressor:
    return machine(**(TEXTBOOK | changes))


def test_textbook_refrigerant_134a_compressor():
    # Cengel & Boles, Thermodynamics, example "the actual vapor-compression refrigeration cycle" (from
    # memory): in at 0.14 MPa, -10 degC, out at 0.8 MPa, 50 degC, efficiency 93.9 %, 2.02 kW at 0.05 kg/s
    fluid = PureFluid("r-134a", "R134a")
    suction = fluid.state_tp(ONE, 263.15, 0.14e6)
    ideal = textbook(isentropic_efficiency=0.939, motor_efficiency=1.0, clearance=0.0)
    result = compress(Fluid(fluid, ONE), suction, 0.8e6, ideal, ROOM)
    assert result.discharge.temperature == pytest.approx(323.15, abs=0.3)
    assert result.work / fluid.molar_masses[0] == pytest.approx(2.02e3 / 0.05, rel=0.005)


def test_discharge_of_a_shell_that_loses_nothing_against_coolprop(propane):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    result = compress(Fluid(propane, ONE), suction, 12e5, textbook(isentropic_efficiency=0.6, motor_efficiency=0.8), ROOM)
    h1, s1 = (coolprop.PropsSI(what, "T", 280.0, "P", 1.5e5, "Propane") for what in ("Hmolar", "Smolar"))
    h2s = coolprop.PropsSI("Hmolar", "Smolar", s1, "P", 12e5, "Propane")
    h2 = h1 + (h2s - h1) / 0.6 / 0.8  # the motor's loss has no other way out
    expected = coolprop.PropsSI("T", "Hmolar", h2, "P", 12e5, "Propane")
    assert result.discharge.temperature == pytest.approx(expected, abs=1e-4)
    assert result.shell_temperature == pytest.approx(expected, abs=0.05)  # bathed in what leaves
    assert result.work == pytest.approx((h2s - h1) / 0.6, rel=1e-7)
    assert result.electrical_power == pytest.approx((h2s - h1) / 0.6 / 0.8 * result.molar_flow, rel=1e-7)


# --- the shell


def _surplus(shell: float, compressor: Compressor, t1: float, p1: float, p2: float) -> dict:
    """The equations of the shell written out once more, with propane by CoolProp alone."""

    def of(what, *given):
        return coolprop.PropsSI(what, *given, "Propane")

    flow_swept, ratio = 10e-6 * 50.0, p2 / p1
    t = t1 + compressor.suction_heating * (shell - t1)
    h, s, rho = (of(what, "T", t, "P", p1) for what in ("Hmolar", "Smolar", "Dmolar"))
    h2s, rho2s = (of(what, "Smolar", s, "P", p2) for what in ("Hmolar", "Dmolar"))
    exponent = math.log(ratio) / math.log(rho2s / rho)
    eta = 1.0 + compressor.clearance * (1.0 - ratio ** (1.0 / exponent)) - compressor.leakage * (ratio - 1.0)
    flow = eta * flow_swept * rho
    work = (h2s - h) * (1.0 + compressor.leakage * (ratio - 1.0) / eta) / compressor.isentropic_efficiency
    power = 20.0 + flow * work / compressor.motor_efficiency
    valve = of("T", "Hmolar", h + work, "P", p2)
    line = valve - compressor.discharge_cooling * (valve - shell)
    surplus = power + flow * (of("Hmolar", "T", t1, "P", p1) - of("Hmolar", "T", line, "P", p2)) - 2.0 * (shell - ROOM)
    return {"surplus": surplus, "flow": flow, "power": power, "valve": valve, "line": line, "entering": t}


@pytest.mark.parametrize("kind", list(COMPRESSOR_KINDS))
@pytest.mark.parametrize(("inlet", "low", "high"), [(280.0, 1.5e5, 9e5), (250.0, 1.2e5, 9e5), (300.0, 4e5, 15e5)])
def test_shell_against_the_same_equations_solved_by_coolprop_and_scipy(propane, kind, inlet, low, high):
    compressor = Compressor(kind, 10e-6, 50.0, idle_power=20.0, shell_conductance=2.0)
    found = compress(Fluid(propane, ONE), propane.state_tp(ONE, inlet, low), high, compressor, ROOM)
    shell = brentq(lambda t: _surplus(t, compressor, inlet, low, high)["surplus"], 250.0, 500.0)
    there = _surplus(shell, compressor, inlet, low, high)
    assert found.shell_temperature == pytest.approx(shell, abs=0.03)
    assert found.entering.temperature == pytest.approx(there["entering"], abs=0.03)
    assert found.molar_flow == pytest.approx(there["flow"], rel=1e-4)
    assert found.electrical_power == pytest.approx(there["power"], rel=1e-4)
    assert found.valve_temperature == pytest.approx(there["valve"], abs=0.03)
    assert found.discharge_temperature == pytest.approx(there["line"], abs=0.1)


@pytest.mark.parametrize("kind", list(COMPRESSOR_KINDS))
def test_electrical_input_leaves_with_gas_or_through_shell(propane, kind):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    compressor = Compressor(kind, 10e-6, 50.0)
    result = compress(Fluid(propane, ONE), suction, 9e5, compressor, ROOM)
    carried = result.discharge.enthalpy - suction.enthalpy
    assert carried + result.shell_heat == pytest.approx(result.electrical_work, rel=1e-10)
    lost = compressor.conductance_at(compressor.swept_flow) * (result.shell_temperature - ROOM)
    assert result.shell_heat * result.molar_flow == pytest.approx(lost, rel=1e-12)


@pytest.mark.parametrize("kind", list(COMPRESSOR_KINDS))
def test_without_shell_and_losses_it_is_the_textbook_compressor(propane, kind):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    plain = Compressor(kind, 10e-6, 50.0, clearance=0.03, isentropic_efficiency=0.7, motor_efficiency=0.8)
    expected = compress(Fluid(propane, ONE), suction, 9e5, dataclasses.replace(plain, **TEXTBOOK), ROOM)
    nearly = {name: 1e-6 for name in ("suction_heating", "leakage", "idle_power", "shell_conductance")}
    result = compress(Fluid(propane, ONE), suction, 9e5, dataclasses.replace(plain, discharge_cooling=1.0, **nearly), ROOM)
    for found in (expected, result):
        assert found.discharge.enthalpy == pytest.approx(suction.enthalpy + found.electrical_work, abs=1e-4 * found.work)
        by_clearance = volumetric_efficiency(0.03, 6.0, found.isentropic_exponent)
        assert found.volumetric_efficiency == pytest.approx(by_clearance, rel=1e-5)
        assert found.work == pytest.approx((found.isentropic.enthalpy - suction.enthalpy) / 0.7, rel=1e-4)
        assert found.electrical_work == pytest.approx(found.work / 0.8, rel=1e-4)


@pytest.mark.parametrize("kind", list(COMPRESSOR_KINDS))
def test_a_hotter_room_makes_a_hotter_shell_and_less_flow(propane, kind):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    found = [
        compress(Fluid(propane, ONE), suction, 9e5, Compressor(kind, 10e-6, 50.0), room) for room in (270.0, 290.0, 310.0, 330.0)
    ]
    for quantity, sign in (("shell_temperature", 1.0), ("valve_temperature", 1.0), ("discharge_temperature", 1.0),
                           ("molar_flow", -1.0), ("shell_heat", -1.0)):  # fmt: skip
        assert np.all(sign * np.diff([getattr(one, quantity) for one in found]) > 0.0), quantity


def test_cooling_the_shell_helps_flow_line_and_valve(propane):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    bare, fanned = (
        compress(Fluid(propane, ONE), suction, 9e5, Compressor("reciprocating", 10e-6, 50.0, shell_conductance=ua), ROOM)
        for ua in (1.0, 4.0)
    )
    assert fanned.molar_flow > bare.molar_flow and fanned.valve_temperature < bare.valve_temperature
    assert bare.discharge_temperature - fanned.discharge_temperature > bare.valve_temperature - fanned.valve_temperature


def test_cold_suction_may_cool_the_shell_below_the_room(propane):
    suction = propane.state_tp(ONE, 235.0, 1.0e5)
    cold = Compressor("reciprocating", 10e-6, 50.0, motor_efficiency=1.0, idle_power=0.0, discharge_cooling=0.0)
    result = compress(Fluid(propane, ONE), suction, 3e5, cold, 320.0)
    assert 235.0 < result.shell_temperature < 320.0 and result.shell_heat < 0.0


def test_a_shell_without_a_way_out_for_its_heat_is_unreachable(propane):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    with pytest.raises(UnreachableError, match="hotter than 590 K"):
        compress(Fluid(propane, ONE), suction, 9e5, textbook(discharge_cooling=0.0), ROOM)


def test_size_scales_flow_power_and_heat(propane):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    for small in (machine(), machine(idle_power=12.0, shell_conductance=2.0)):
        one, two = (compress(Fluid(propane, ONE), suction, 9e5, size, ROOM) for size in (small, small.of_size(20e-6, 75.0)))
        assert two.molar_flow == pytest.approx(3.0 * one.molar_flow, rel=1e-9)
        assert two.electrical_power == pytest.approx(3.0 * one.electrical_power, rel=1e-9)
        assert two.shell_temperature == pytest.approx(one.shell_temperature, abs=1e-6)


def test_a_measured_point_is_met(propane):
    suction, fluid = propane.state_tp(ONE, 285.0, 2e5), Fluid(propane, ONE)
    true = Compressor("reciprocating", 7.3e-6, 48.0, shell_conductance=2.6, isentropic_efficiency=0.66)
    seen = compress(fluid, suction, 11e5, true, 300.0)
    guess = Compressor("reciprocating", 5e-6, 48.0)
    point = (fluid, suction, 11e5, 300.0)
    every = fitted(guess, *point, molar_flow=seen.molar_flow, power=seen.electrical_power, shell=seen.shell_temperature)
    assert every.displacement == pytest.approx(7.3e-6, rel=1e-5)
    assert every.isentropic_efficiency == pytest.approx(0.66, rel=1e-5)
    assert every.shell_conductance == pytest.approx(2.6, rel=1e-3)
    by_shell = compress(fluid, suction, 11e5, fitted(guess, *point, shell=seen.shell_temperature), 300.0)
    assert by_shell.shell_temperature == pytest.approx(seen.shell_temperature, abs=0.05)
    by_flow = compress(fluid, suction, 11e5, fitted(guess, *point, molar_flow=seen.molar_flow), 300.0)
    assert by_flow.molar_flow == pytest.approx(seen.molar_flow, rel=1e-5)
    with pytest.raises(InputError, match="warmer than the room"):
        fitted(guess, *point, shell=290.0)
    with pytest.raises(InputError, match="needs a flow"):
        fitted(guess, *point, power=100.0)
    with pytest.raises(UnreachableError, match="does not fit"):
        fitted(guess, *point, shell=430.0)
    with pytest.raises(UnreachableError, match="less than an ideal machine needs"):
        fitted(guess, *point, molar_flow=seen.molar_flow, power=0.4 * seen.electrical_power)


# --- flow, current, refusals


def test_isentropic_exponent_of_dilute_nitrogen_is_its_heat_capacity_ratio():
    # 1.400 for a rigid linear molecule, 7/5 by the equipartition theorem
    nitrogen = PureFluid("nitrogen", "Nitrogen")
    suction = nitrogen.state_tp(ONE, 300.0, 1e3)
    result = compress(Fluid(nitrogen, ONE), suction, 1.2e3, textbook(), ROOM)
    assert result.isentropic_exponent == pytest.approx(1.4, abs=1e-3)


def test_clearance_gas_re_expands_along_the_isentrope(propane):
    # the flow found by letting the clearance gas expand state by state, not through the exponent's formula
    suction = propane.state_tp(ONE, 290.0, 1.5e5)
    result = compress(Fluid(propane, ONE), suction, 9e5, textbook(clearance=0.05), ROOM)
    moles_left = 0.05 / result.isentropic.molar_volume  # per unit of swept volume
    expanded = propane.state_sp(ONE, result.isentropic.entropy, 1.5e5)
    drawn_in = 1.05 - moles_left * expanded.molar_volume
    assert result.volumetric_efficiency == pytest.approx(drawn_in, rel=1e-6)
    assert result.molar_flow == pytest.approx(drawn_in * 10e-6 * 50.0 / suction.molar_volume, rel=1e-6)
    assert result.mass_flow == pytest.approx(result.molar_flow * 44.09562e-3, rel=1e-6)  # CoolProp's propane


def test_without_clearance_the_whole_stroke_fills():
    assert volumetric_efficiency(0.0, 40.0, 1.1) == 1.0
    assert np.all(np.diff(volumetric_efficiency(0.04, np.array([2.0, 4.0, 8.0]), 1.2)) < 0.0)


def test_clearance_that_fills_the_stroke_is_unreachable():
    nitrogen = PureFluid("nitrogen", "Nitrogen")
    suction = nitrogen.state_tp(ONE, 300.0, 1e5)
    with pytest.raises(UnreachableError, match="moves no gas"):
        compress(Fluid(nitrogen, ONE), suction, 40e5, machine(clearance=0.1), ROOM)


def test_supply_current(propane):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    single = compress(Fluid(propane, ONE), suction, 9e5, machine(supply_voltage=230.0, power_factor=0.8), ROOM)
    assert single.supply_current * 230.0 * 0.8 == pytest.approx(single.electrical_power, rel=1e-12)
    three = compress(
        Fluid(propane, ONE), suction, 9e5, machine(supply_voltage=400.0, power_factor=0.8, supply_phases=3), ROOM
    )
    assert three.supply_current * 400.0 * 0.8 * math.sqrt(3.0) == pytest.approx(three.electrical_power, rel=1e-12)
    assert compress(Fluid(propane, ONE), suction, 9e5, machine(), ROOM).supply_current is None


def test_wet_suction_is_computed_as_it_stands():
    blend = IdealBlend(["nitrogen", "propane"])
    z = np.array([0.5, 0.5])
    suction = blend.state_tp(z, 210.0, 1.5e5)
    assert 0.0 < suction.vapour_fraction < 1.0
    result = compress(Fluid(blend, z), suction, 9e5, machine(), ROOM)
    assert result.molar_flow * suction.molar_volume == pytest.approx(
        result.volumetric_efficiency * 10e-6 * 50.0, rel=1e-12
    )


def test_kind_fills_in_what_is_not_stated():
    compressor = Compressor("scroll", 10e-6, 50.0, isentropic_efficiency=0.7)
    assert compressor.isentropic_efficiency == 0.7
    assert compressor.motor_efficiency == COMPRESSOR_KINDS["scroll"].motor_efficiency
    assert compressor.suction_heating == COMPRESSOR_KINDS["scroll"].suction_heating
    assert compressor.idle_at(2e-4) == 2e-4 * COMPRESSOR_KINDS["scroll"].idle_power
    assert compressor.conductance_at(2e-4) == 2e-4 * COMPRESSOR_KINDS["scroll"].shell_conductance
    assert compressor.largest_pressure_ratio == COMPRESSOR_KINDS["scroll"].largest_pressure_ratio


@pytest.mark.parametrize(
    "changes, text",
    [
        ({"kind": "turbo"}, "kind 'turbo'"),
        ({"displacement": 0.0}, "displacement must be a number above 0"),
        ({"speed": math.nan}, "speed must be a number above 0, got nan"),
        ({"speed": "50"}, "speed must be a number"),
        ({"clearance": -0.01}, "clearance must be a number at least 0"),
        ({"isentropic_efficiency": 1.2}, "isentropic efficiency must be"),
        ({"motor_efficiency": 0.0}, "motor efficiency must be"),
        ({"suction_heating": 1.1}, "suction heating must be"),
        ({"leakage": -0.1}, "leakage must be"),
        ({"shell_conductance": math.nan}, "shell conductance must be"),
        ({"power_factor": math.inf}, "power factor must be"),
        ({"supply_voltage": 0.0}, "supply voltage must be"),
        ({"supply_phases": 2}, "supply_phases must be 1 or 3"),
        ({"largest_pressure_ratio": 1.0}, "largest pressure ratio must be"),
    ],
)
def test_impossible_machines_are_refused(changes, text):
    with pytest.raises(InputError, match=text):
        machine(**changes)


def test_discharge_below_suction_is_refused(propane):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    with pytest.raises(InputError, match="not above the suction pressure"):
        compress(Fluid(propane, ONE), suction, 1.5e5, machine(), ROOM)
