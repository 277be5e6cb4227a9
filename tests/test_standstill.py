"""The charge at rest: limits known from elsewhere, what a case asks, refusals."""

import dataclasses

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from mixjt.constants import GAS_CONSTANT
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.fluid.standstill import standstill_charge, standstill_state
from mixjt.gases import gas
from mixjt.studies.at_rest import StandstillRequest, standstill_table, standstill_warnings

GASES, Z = ("nitrogen", "methane", "propane"), np.array([0.3, 0.4, 0.3])


@pytest.fixture(scope="module")
def model():
    return load_model("multi-fluid", GASES)


def test_thin_gas_stands_at_the_ideal_gas_pressure(model):
    state = standstill_state(Fluid(model, Z), 300.0, 0.1)
    assert state.pressure == pytest.approx(GAS_CONSTANT * 300.0 / 0.1, rel=5e-3)


def test_state_fills_the_volume(model):
    state = standstill_state(Fluid(model, Z), 250.0, 5e-4)
    assert state.molar_volume == pytest.approx(5e-4, rel=1e-8)


def test_propane_bottle_stands_at_its_vapour_pressure():
    """30 g in 250 cm3 at 290 K stand at 7.691 bar, part liquid.

    Lemmon, McLinden and Wagner, J. Chem. Eng. Data 54 (2009) 3141, as CoolProp solves it; 0.5 % for
    the vapour pressure of the short equation of GERG-2008.
    """
    molar_volume = 250e-6 / (0.030 / gas("propane").molar_mass)
    state = standstill_state(Fluid(load_model("multi-fluid", ("propane",)), [1.0]), 290.0, molar_volume)
    assert 0.0 < PropsSI("Q", "T", 290.0, "D", 0.030 / 250e-6, "Propane") < 1.0
    assert state.pressure == pytest.approx(PropsSI("P", "T", 290.0, "Q", 0, "Propane"), rel=0.005)


def test_charge_and_pressure_are_inverse(model):
    volume, pressure = 3e-3, 8e5
    charge = standstill_charge(Fluid(model, Z), 295.0, pressure, volume)
    molar_volume = volume * float(Z @ model.molar_masses) / charge
    assert standstill_state(Fluid(model, Z), 295.0, molar_volume).pressure == pytest.approx(pressure, rel=1e-8)


def test_hotter_means_higher_and_the_limit_warns(model):
    request = StandstillRequest(3e-3, 0.05, 295.0, 323.0, largest_pressure=5e5)
    rows = standstill_table(Fluid(model, Z), request)
    assert rows[0].hottest_pressure > rows[0].ambient_pressure > 5e5
    assert "buffer" in standstill_warnings(rows, request)[0]


def test_without_a_charge_several_are_tabulated(model):
    rows = standstill_table(Fluid(model, Z), StandstillRequest(3e-3, None, 295.0, 323.0))
    assert [round(row.ambient_pressure / 1e5, 6) for row in rows] == [2.0, 5.0, 10.0, 15.0, 20.0]
    assert np.all(np.diff([row.charge for row in rows]) > 0.0)


def test_the_buffer_keeps_the_largest_pressure(model):
    """With the buffer added, and the gas in it that it holds while running, the hottest day stands at the rating."""
    request = StandstillRequest(3e-3, 0.05, 295.0, 323.0, largest_pressure=8e5, suction_pressure=2e5)
    (row,) = standstill_table(Fluid(model, Z), request)
    more = standstill_charge(Fluid(model, Z), 295.0, 2e5, row.buffer)
    larger = StandstillRequest(3e-3 + row.buffer, 0.05 + more, 295.0, 323.0, largest_pressure=8e5)
    assert standstill_table(Fluid(model, Z), larger)[0].hottest_pressure == pytest.approx(8e5, rel=1e-6)
    assert f"{1e3 * row.buffer:.2g} L" in standstill_warnings((row,), request)[0]


def test_no_buffer_where_none_is_needed_or_none_can(model):
    asked = StandstillRequest(3e-3, 0.05, 295.0, 323.0, largest_pressure=60e5, suction_pressure=2e5)
    assert standstill_table(Fluid(model, Z), asked)[0].buffer == 0.0
    close = dataclasses.replace(asked, largest_pressure=2e5)
    rows = standstill_table(Fluid(model, Z), close)
    assert rows[0].buffer is None and "no buffer" in standstill_warnings(rows, close)[0]
    assert standstill_table(Fluid(model, Z), dataclasses.replace(asked, largest_pressure=None))[0].buffer is None


def test_thin_gas_needs_the_buffer_of_the_ideal_gas():
    """p V = n R T in closed form: W = (n R - p V / T_hot) / (p / T_hot - p_low / T)."""
    blend = load_model("multi-fluid", ("nitrogen",))
    volume, amount, hot, ambient, limit, suction = 1e-3, 0.04, 320.0, 290.0, 0.8e5, 0.1e5
    charge = amount * gas("nitrogen").molar_mass
    request = StandstillRequest(volume, charge, ambient, hot, limit, suction)
    expected = (amount * GAS_CONSTANT - limit * volume / hot) / (limit / hot - suction / ambient)
    assert standstill_table(Fluid(blend, np.array([1.0])), request)[0].buffer == pytest.approx(expected, rel=5e-3)


def test_refusals(model):
    with pytest.raises(InputError):
        standstill_state(Fluid(model, Z), 300.0, 0.0)
    with pytest.raises(UnreachableError, match="above 400 bar"):
        standstill_state(Fluid(model, Z), 300.0, 3e-5)
