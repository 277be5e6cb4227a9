"""Compressor: flow, work, heat, limits."""

import dataclasses
import math

import CoolProp.CoolProp as coolprop
import numpy as np
import pytest
from toy_model import IdealBlend, PureFluid

from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.compressor.compression import COMPRESSOR_KINDS, Compressor, compress, volumetric_efficiency

ONE = np.ones(1)


@pytest.fixture(scope="module")
def propane():
    return PureFluid("propane", "Propane")


def machine(**changes) -> Compressor:
    return dataclasses.replace(Compressor("rotary", displacement=10e-6, speed=50.0), **changes)


def test_textbook_refrigerant_134a_compressor():
    # Cengel & Boles, Thermodynamics, example "the actual vapor-compression refrigeration cycle" (from
    # memory): in at 0.14 MPa, -10 degC, out at 0.8 MPa, 50 degC, efficiency 93.9 %, 2.02 kW at 0.05 kg/s
    fluid = PureFluid("r-134a", "R134a")
    suction = fluid.state_tp(ONE, 263.15, 0.14e6)
    result = compress(Fluid(fluid, ONE), suction, 0.8e6, machine(isentropic_efficiency=0.939, clearance=0.0))
    assert result.discharge.temperature == pytest.approx(323.15, abs=0.3)
    assert result.work / fluid.molar_masses[0] == pytest.approx(2.02e3 / 0.05, rel=0.005)


def test_discharge_against_coolprop(propane):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    compressor = machine(isentropic_efficiency=0.6, motor_efficiency=0.8, shell_heat_loss=0.2)
    result = compress(Fluid(propane, ONE), suction, 12e5, compressor)
    h1, s1 = (coolprop.PropsSI(what, "T", 280.0, "P", 1.5e5, "Propane") for what in ("Hmolar", "Smolar"))
    h2s = coolprop.PropsSI("Hmolar", "Smolar", s1, "P", 12e5, "Propane")
    h2 = h1 + (h2s - h1) / 0.6
    expected = coolprop.PropsSI("T", "Hmolar", h2, "P", 12e5, "Propane")
    assert result.discharge.temperature == pytest.approx(expected, abs=1e-4)
    assert result.work == pytest.approx((h2s - h1) / 0.6, rel=1e-7)
    assert result.electrical_power == pytest.approx((h2s - h1) / 0.6 / 0.8 * result.molar_flow, rel=1e-7)


@pytest.mark.parametrize("kind", list(COMPRESSOR_KINDS))
def test_electrical_input_leaves_with_gas_or_through_shell(propane, kind):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    result = compress(Fluid(propane, ONE), suction, 9e5, Compressor(kind, 10e-6, 50.0, shell_heat_loss=0.31))
    carried = result.discharge.enthalpy - suction.enthalpy
    assert carried + result.shell_heat == pytest.approx(result.electrical_work, rel=1e-9)
    assert result.shell_heat == pytest.approx(0.31 * result.electrical_work, rel=1e-12)


def test_default_shell_loss_is_the_motor_loss(propane):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    result = compress(Fluid(propane, ONE), suction, 9e5, machine(motor_efficiency=0.7))
    assert result.discharge.enthalpy - suction.enthalpy == pytest.approx(result.work, rel=1e-9)
    assert result.shell_heat == pytest.approx(0.3 / 0.7 * result.work, rel=1e-12)


def test_shell_loss_cannot_cool_below_isentropic(propane):
    most = 1.0 - 0.6 * 0.8
    compressor = machine(isentropic_efficiency=0.6, motor_efficiency=0.8, shell_heat_loss=most)
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    result = compress(Fluid(propane, ONE), suction, 9e5, compressor)
    assert result.discharge.temperature == pytest.approx(result.isentropic.temperature, abs=1e-6)
    with pytest.raises(InputError, match="at most 0.52"):
        dataclasses.replace(compressor, shell_heat_loss=most + 0.01)


def test_isentropic_exponent_of_dilute_nitrogen_is_its_heat_capacity_ratio():
    # 1.400 for a rigid linear molecule, 7/5 by the equipartition theorem
    nitrogen = PureFluid("nitrogen", "Nitrogen")
    suction = nitrogen.state_tp(ONE, 300.0, 1e3)
    result = compress(Fluid(nitrogen, ONE), suction, 1.2e3, machine())
    assert result.isentropic_exponent == pytest.approx(1.4, abs=1e-3)


def test_clearance_gas_re_expands_along_the_isentrope(propane):
    # the flow found by letting the clearance gas expand state by state, not through the exponent's formula
    suction = propane.state_tp(ONE, 290.0, 1.5e5)
    result = compress(Fluid(propane, ONE), suction, 9e5, machine(clearance=0.05))
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
        compress(Fluid(nitrogen, ONE), suction, 40e5, machine(clearance=0.1))


def test_supply_current(propane):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    single = compress(Fluid(propane, ONE), suction, 9e5, machine(supply_voltage=230.0, power_factor=0.8))
    assert single.supply_current * 230.0 * 0.8 == pytest.approx(single.electrical_power, rel=1e-12)
    three = compress(
        Fluid(propane, ONE), suction, 9e5, machine(supply_voltage=400.0, power_factor=0.8, supply_phases=3)
    )
    assert three.supply_current * 400.0 * 0.8 * math.sqrt(3.0) == pytest.approx(three.electrical_power, rel=1e-12)
    assert compress(Fluid(propane, ONE), suction, 9e5, machine()).supply_current is None


def test_wet_suction_is_computed_as_it_stands():
    blend = IdealBlend(["nitrogen", "propane"])
    z = np.array([0.5, 0.5])
    suction = blend.state_tp(z, 210.0, 1.5e5)
    assert 0.0 < suction.vapour_fraction < 1.0
    result = compress(Fluid(blend, z), suction, 9e5, machine())
    assert result.molar_flow * suction.molar_volume == pytest.approx(
        result.volumetric_efficiency * 10e-6 * 50.0, rel=1e-12
    )


def test_kind_fills_in_what_is_not_stated():
    compressor = Compressor("scroll", 10e-6, 50.0, isentropic_efficiency=0.7)
    assert compressor.isentropic_efficiency == 0.7
    assert compressor.motor_efficiency == COMPRESSOR_KINDS["scroll"].motor_efficiency
    assert compressor.shell_fraction == 1.0 - compressor.motor_efficiency
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
        compress(Fluid(propane, ONE), suction, 1.5e5, machine())
