"""Gas dissolved in the compressor's oil: limits in closed form, and published solubilities."""

import math
from pathlib import Path

import numpy as np
import pytest
from cli_samples import edited, written
from scipy.optimize import brentq
from thermo.eos_mix import PRMIX
from toy_model import IdealBlend

from mixjt.case.case import read_case
from mixjt.case.oil_case import case_oil
from mixjt.constants import GAS_CONSTANT
from mixjt.errors import InputError, MissingDataError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.liquid_fugacity import VOLUMES, liquid_volumes, log_liquid_fugacities
from mixjt.fluid.pure import PureModel, pure_model
from mixjt.parts import oil as module
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.oil import (
    IN_HEXADECANE,
    OIL_KINDS,
    Oil,
    dissolved,
    dissolved_under,
    oil_mass,
    shell_pressure,
    solution_volume,
    usual_oil,
    volume_ratios,
)

DEMO = Path(__file__).parents[1] / "mixtures-demo" / "receiver-120K.toml"
GASES = ("nitrogen", "methane", "ethane", "isobutane")
BLEND = Fluid(IdealBlend(GASES), np.array([0.1, 0.4, 0.1, 0.4]))
WARM, PRESSURE = 330.0, 2e5
OIL = Oil("mineral", 0.25)


def held(oil=OIL, fluid=BLEND, temperature=WARM, pressure=PRESSURE):
    return dissolved(oil, fluid, temperature, pressure)


# closed forms


def test_equal_volumes_without_interaction_are_ideal():
    """Raoult's law: the mole fractions in the solution are the activities."""
    activities = np.array([0.02, 0.3, 0.4])
    volumes = np.full(3, 1e-4)
    amounts = volume_ratios(np.log(activities), volumes, np.zeros(3), 1e-4)  # per amount of oil
    assert amounts / (1.0 + amounts.sum()) == pytest.approx(activities, rel=1e-10)


def test_dilute_gas_follows_henry():
    """phi = a exp(-(1 - V/V_oil + chi)): the limit of Flory's equation."""
    oil = Oil("alkylbenzene", 0.2, interaction=0.6)
    kind, pressure = OIL_KINDS["alkylbenzene"], 1.0
    volume = VOLUMES["propane"]
    activity = pressure / math.exp(log_liquid_fugacities(("propane",), WARM, pressure)[0])
    expected = activity * math.exp(-(1.0 - volume * kind.density / kind.molar_mass + 0.6)) * oil.volume / volume
    found = dissolved_under(oil, ("propane",), [math.log(pressure)], WARM, pressure)[0]
    assert found == pytest.approx(expected, rel=1e-5)
    assert dissolved_under(oil, ("propane",), [math.log(2.0 * pressure)], WARM, pressure)[0] == pytest.approx(2.0 * found, rel=1e-5)


def test_one_gas_satisfies_flory_and_huggins():
    oil = Oil("mineral", 0.3, interaction=0.7)
    volume, kind = VOLUMES["isobutane"], OIL_KINDS["mineral"]
    fugacity = 4e5
    ratio = dissolved_under(oil, ("isobutane",), [math.log(fugacity)], WARM, 5e5)[0] * volume / oil.volume
    phi = ratio / (1.0 + ratio)
    of_solution = 1.0 / (phi / volume + (1.0 - phi) * kind.density / kind.molar_mass)
    activity = phi * math.exp(1.0 - volume / of_solution + 0.7 * (1.0 - phi) ** 2)
    assert 0.2 < phi < 0.5
    assert activity == pytest.approx(fugacity / math.exp(log_liquid_fugacities(("isobutane",), WARM, 5e5)[0]), rel=1e-10)


def test_gibbs_duhem():
    """Activities follow from one Gibbs energy: d ln a_i/d n_k = d ln a_k/d n_i, by differences of the solution's inverse."""
    volumes, contrasts = np.array([52e-6, 105e-6]), np.array([-160.0, -70.0])
    logs, step = np.log([0.02, 0.5]), 1e-5

    def amounts(changed):
        return volume_ratios(changed, volumes, contrasts, 3e-4) / volumes

    slopes = np.array([(amounts(logs + d) - amounts(logs - d)) / (2.0 * step) for d in step * np.eye(2)])
    assert slopes[0, 1] == pytest.approx(slopes[1, 0], rel=1e-6)
    assert abs(slopes[0, 1]) > 1e-3 * abs(slopes[0, 0])


# published solubilities


@pytest.mark.parametrize("gas", IN_HEXADECANE)
def test_hexadecane_is_met(gas, monkeypatch):
    """Moles a volume of n-hexadecane over moles a volume of gas at 298.15 K: what the interaction is fitted to."""
    monkeypatch.setitem(OIL_KINDS, "hexadecane", module.HEXADECANE)
    oil = Oil("hexadecane", 1.0)
    pressure = 101325.0 * 1e-4
    found = dissolved_under(oil, (gas,), [math.log(pressure)], 298.15, 101325.0)[0] / oil.volume
    assert math.log10(found * GAS_CONSTANT * 298.15 / pressure) == pytest.approx(IN_HEXADECANE[gas], abs=1e-3)


@pytest.mark.parametrize("temperature", [283.15, 303.15, 323.15, 343.15])
@pytest.mark.parametrize("fraction", [0.1, 0.3, 0.5, 0.7])
def test_isobutane_in_an_ester_of_iso_7(temperature, fraction):
    """The Peng-Robinson equation of M. A. Marcelino Neto & J. R. Barbosa, Int. J. Refrigeration 31 (2008) 34, by `thermo`.

    Its constants as an open library of sorption properties lists them, which finds it 2.4 % from the measured pressures.
    The ester's cohesion is fitted to this, so that it checks the form of the solution, and that the fit is kept. One
    parameter fits all of it within 15 % of the amount, most within 8 %; near saturation amounts are steep in pressure.
    Molar mass of the oil: our 345 g/mol, which turns the paper's mole fractions and our volumes into each other.
    """
    constants = {"Tcs": [407.81, 743.05], "Pcs": [3.629e6, 1.127e6], "omegas": [0.184, 0.7915], "kijs": [[0, 0.01749], [0.01749, 0]]}

    def excess(log_pressure):
        pressure = math.exp(log_pressure)
        liquid = PRMIX(T=temperature, P=pressure, zs=[fraction, 1.0 - fraction], **constants)
        gas = PRMIX(T=temperature, P=pressure, zs=[1.0 - 1e-12, 1e-12], **constants)
        return math.log(liquid.fugacities_l[0] / gas.fugacities_g[0])

    pressure = math.exp(brentq(excess, math.log(1e4), math.log(0.95 * saturation(temperature)), xtol=1e-6))
    kind = OIL_KINDS["polyolester"]
    gas = math.exp(log_fugacity("isobutane", temperature, pressure))
    amount = dissolved_under(Oil("polyolester", kind.molar_mass), ("isobutane",), [math.log(gas)], temperature, pressure)[0]
    assert amount == pytest.approx(fraction / (1.0 - fraction), rel=0.15)


def saturation(temperature):
    return pure_model("isobutane").saturation_pressure(temperature)


def log_fugacity(gas, temperature, pressure):
    """ln(f/Pa) by the gas's reference equation, from Gibbs energies at that pressure and at next to none."""
    model = pure_model(gas)
    at, dilute = (model.state_tp(None, temperature, each) for each in (pressure, 1.0))
    return (at.enthalpy - dilute.enthalpy - temperature * (at.entropy - dilute.entropy)) / (GAS_CONSTANT * temperature)


@pytest.mark.parametrize("gas", ["ethane", "propane", "isobutane", "n-pentane"])
@pytest.mark.parametrize("reduced", [0.65, 0.75, 0.85, 0.92])
def test_liquid_fugacity_meets_the_saturated_vapour(gas, reduced):
    """Where a gas condenses its fugacity is that of its liquid; by the reference equation."""
    temperature = reduced * pure_model(gas).facts.critical_temperature
    pressure = pure_model(gas).saturation_pressure(temperature)
    vapour = log_fugacity(gas, temperature, pressure * (1.0 - 1e-5))
    assert log_liquid_fugacities((gas,), temperature, pressure)[0] == pytest.approx(vapour, abs=0.012)


@pytest.mark.parametrize("gas", ["propane", "isobutane", "n-butane", "n-pentane"])
def test_volumes_of_liquids(gas):
    """Saturated liquid at 25 degC by the reference equation."""
    assert VOLUMES[gas] == pytest.approx(pure_model(gas).saturated_liquid(298.15).molar_volume, rel=2e-3)


# behaviour


def test_heavy_gas_stays_in_the_oil():
    amounts = held()
    assert amounts[3] > 10.0 * amounts[0]
    assert np.all(amounts > 0.0)


def test_order_of_gases_does_not_matter():
    order = [2, 0, 3, 1]
    turned = Fluid(IdealBlend([GASES[i] for i in order]), BLEND.z[order])
    assert held(fluid=turned) == pytest.approx(held()[order], rel=1e-10)


def test_an_absent_gas_changes_nothing():
    less = Fluid(IdealBlend(GASES[1:]), BLEND.z[1:] / 0.9)
    more = Fluid(BLEND.model, np.array([0.0, *less.z]))
    assert held(fluid=more) == pytest.approx([0.0, *held(fluid=less)], rel=1e-12)


@pytest.mark.parametrize("factor", [0.0, 0.5, 2.0])
def test_amounts_go_with_the_oil(factor):
    assert held(OIL.times(factor)) == pytest.approx(factor * held(), rel=1e-12)


def test_more_at_higher_pressure_and_less_when_warm():
    assert np.all(held(pressure=2.0 * PRESSURE) > held())
    assert np.all(held(temperature=WARM + 30.0)[2:] < held()[2:])


def test_smooth_in_temperature_through_a_critical_point():
    """Ethane at its critical temperature: no kink, each second difference close to the next."""
    temperatures = 305.3 + np.arange(-4.0, 5.0)
    curve = np.log([held(temperature=t, pressure=1e5)[2] for t in temperatures])
    second = np.diff(curve, 2)
    assert np.abs(np.diff(second)).max() < 0.05 * np.abs(second).max()


def test_solution_swells():
    amounts = held()
    assert solution_volume(OIL, GASES, amounts) == pytest.approx(OIL.volume + liquid_volumes(GASES) @ amounts)


def test_condensing_blend_is_refused():
    with pytest.raises(UnreachableError, match="condenses in the compressor's shell"):
        held(temperature=270.0, pressure=8e5)


@pytest.mark.parametrize("activity", [0.99, 1.2, 5.0])
def test_no_end_of_dissolving_is_refused(activity):
    logs = log_liquid_fugacities(("isobutane",), WARM, PRESSURE) + math.log(activity)
    with pytest.raises(UnreachableError, match="shell warmer"):
        dissolved_under(OIL, ("isobutane",), logs, WARM, PRESSURE)


def test_what_is_not_known_is_refused():
    with pytest.raises(InputError, match="R-134a"):
        dissolved_under(OIL, ("R-134a",), [11.0], WARM, PRESSURE)
    with pytest.raises(MissingDataError, match="fugacities"):
        dissolved(OIL, Fluid(PureModel("propane"), np.ones(1)), WARM, PRESSURE)
    for wrong in (("olive", 0.1), ("mineral", -0.1), ("mineral", 0.1, -1.0)):
        with pytest.raises(InputError):
            Oil(*wrong)


def test_usual_oil():
    compressor = Compressor("reciprocating", 7e-6, 48.0)
    usual = usual_oil(compressor)
    assert usual.kind == "mineral"
    assert 200e-6 < usual.volume < 350e-6
    assert usual_oil(compressor, "R-134a").kind == "polyolester"
    assert usual.mass == pytest.approx(oil_mass("mineral", usual.volume))


@pytest.mark.parametrize(("kind", "expected"), [("reciprocating", 1e5), ("rotary", 15e5), ("scroll", 1e5)])
def test_pressure_of_the_shell(kind, expected):
    assert shell_pressure(Compressor(kind, 7e-6, 48.0), 1e5, 15e5) == expected


# the case file


def oil_of(folder, *lines, case=DEMO):
    return case_oil(read_case(written(folder, case.read_text() + "\n[oil]\n" + "\n".join(lines))))


def test_case_without_oil_has_the_usual(tmp_path):
    """A rotary machine of 6.4 cm3 labelled for R-22."""
    usual = usual_oil(Compressor("rotary", 6.4e-6, 48.0))
    found = oil_of(tmp_path)
    assert (found.kind, found.mass) == (usual.kind, pytest.approx(usual.mass))


def test_case_states_kind_and_amount(tmp_path):
    stated = oil_of(tmp_path, 'kind = "alkylbenzene"', 'volume = "280 cm3"', "interaction = 0.5")
    assert (stated.kind, stated.interaction) == ("alkylbenzene", 0.5)
    assert stated.volume == pytest.approx(280e-6)
    assert oil_of(tmp_path, 'mass = "0 g"').mass == 0.0
    assert oil_of(tmp_path, 'mass = "200 g"').mass == pytest.approx(0.2)


def test_label_tells_the_kind(tmp_path):
    path = edited(tmp_path, DEMO, ('refrigerant = "R-22"', 'refrigerant = "R-410A"'))
    assert case_oil(read_case(path)).kind == "polyolester"


def test_mass_beside_volume_is_refused(tmp_path):
    with pytest.raises(InputError, match="either the mass"):
        oil_of(tmp_path, 'mass = "200 g"', 'volume = "200 cm3"')
