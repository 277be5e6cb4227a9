"""Specific heats against Debye's model and handbook values, and what a mass gives off on its way down."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from mixjt.constants import GAS_CONSTANT
from mixjt.errors import InputError
from mixjt.parts.cold_mass import ColdMass, specific_heat

# Debye temperatures [K] of Kittel, Introduction to Solid State Physics, table of Debye temperatures (from
# memory), and molar masses [kg/mol]. Debye's model leaves out what is anharmonic and uses one temperature:
# within a few per cent below ambient for copper.
DEBYE = {"copper": (343.0, 0.063546)}
# Near 20 degC [J/(kg K)]: CRC Handbook of Chemistry and Physics, specific heats of the elements (from memory);
# stainless steel 304 and alloy 6061 from common tables, no source.
HANDBOOK = {"copper": 385.0, "aluminium": 897.0, "stainless steel": 477.0}


def debye(temperature, debye_temperature, molar_mass):
    integral = quad(lambda x: x**4 * math.exp(x) / (math.exp(x) - 1.0) ** 2, 0.0, debye_temperature / temperature)[0]
    return 9.0 * GAS_CONSTANT / molar_mass * (temperature / debye_temperature) ** 3 * integral


@pytest.mark.parametrize("temperature", [100.0, 150.0, 200.0, 280.0])
def test_copper_follows_debyes_model(temperature):
    expected = debye(temperature, *DEBYE["copper"])
    assert specific_heat("copper", temperature) == pytest.approx(expected, rel=0.10)


@pytest.mark.parametrize("metal", HANDBOOK)
def test_handbook_values_at_room_temperature(metal):
    assert specific_heat(metal, 293.0) == pytest.approx(HANDBOOK[metal], rel=0.07)


def test_specific_heat_rises_from_40_to_280_kelvin_for_every_metal():
    for metal in HANDBOOK:
        assert np.all(np.diff(specific_heat(metal, np.linspace(40.0, 280.0, 50))) > 0.0)


def test_cold_end_and_recuperator_are_two_masses():
    mass = ColdMass(copper=1.0, aluminium=0.5, recuperator_copper=2.0)
    assert mass.recuperator_capacity(200.0) == pytest.approx(2.0 * float(specific_heat("copper", 200.0)))
    at_the_end = float(specific_heat("copper", 150.0)) + 0.5 * float(specific_heat("aluminium", 150.0))
    assert mass.end_capacity(150.0) == pytest.approx(at_the_end)


def test_refusals():
    with pytest.raises(InputError, match="nothing is to be cooled"):
        ColdMass()
    with pytest.raises(InputError, match="at least 0"):
        ColdMass(copper=-1.0)
    with pytest.raises(InputError, match="unobtainium"):
        specific_heat("unobtainium", 100.0)
    with pytest.raises(InputError, match="20 K"):
        specific_heat("copper", 5.0)
