"""The one-line functions: shapes, agreement with CoolProp where pure, refusals."""

import CoolProp.CoolProp as CP
import numpy as np
import pytest

import mixjt
from mixjt.errors import InputError, UnknownGasError

GASES = ["nitrogen", "methane", "propane"]
BLENDS = np.array([[0.4, 0.3, 0.3], [0.2, 0.3, 0.5]])
TEMPERATURES = np.array([120.0, 200.0, 290.0])


def test_shapes_follow_the_blends():
    many = mixjt.enthalpy_difference(GASES, BLENDS, 1.5e5, 15e5, TEMPERATURES)
    one = mixjt.enthalpy_difference(GASES, BLENDS[1], 1.5e5, 15e5, TEMPERATURES)
    assert many.shape == (2, 3) and one.shape == (3,)
    np.testing.assert_allclose(many[1], one, rtol=1e-9)


def test_difference_is_that_of_two_enthalpies():
    low = mixjt.enthalpy(GASES, BLENDS, 1.5e5, TEMPERATURES)
    high = mixjt.enthalpy(GASES, BLENDS, 15e5, TEMPERATURES)
    both = mixjt.enthalpy_difference(GASES, BLENDS, 1.5e5, 15e5, TEMPERATURES)
    np.testing.assert_array_equal(both, low - high)


def test_nitrogen_throttling_effect_against_its_reference_equation():
    """Span et al., J. Phys. Chem. Ref. Data 29 (2000) 1361, as CoolProp carries it.

    GERG-2008 states 0.2 % for the differences of enthalpy of natural-gas vapours (Kunz and Wagner 2012, from memory).
    """
    ours = mixjt.enthalpy_difference(["nitrogen"], [1.0], 1e5, 50e5, [300.0])[0]
    theirs = CP.PropsSI("HMOLAR", "T", 300, "P", 1e5, "Nitrogen") - CP.PropsSI(
        "HMOLAR", "T", 300, "P", 50e5, "Nitrogen"
    )
    assert ours == pytest.approx(theirs, rel=0.002)


@pytest.mark.parametrize("name", ["multi-fluid", "fast", "reference"])
def test_the_model_by_any_of_its_names(name):
    default = mixjt.enthalpy(GASES, BLENDS, 1.5e5, TEMPERATURES)
    np.testing.assert_array_equal(mixjt.enthalpy(GASES, BLENDS, 1.5e5, TEMPERATURES, model=name), default)


def test_saturation_functions_give_nan_where_there_is_no_such_point():
    pressures = mixjt.bubble_pressure(["propane"], [1.0], [231.0, 400.0])
    assert pressures[0] == pytest.approx(ATMOSPHERE_OF_PROPANE, rel=0.005) and np.isnan(pressures[1])
    temperatures = mixjt.dew_temperature(["propane"], [1.0], [1.01325e5, 60e5])
    assert temperatures[0] == pytest.approx(231.04, abs=0.1) and np.isnan(temperatures[1])
    assert mixjt.bubble_temperature(GASES, BLENDS, [2e5]).shape == (2, 1)
    assert np.all(mixjt.dew_pressure(GASES, BLENDS, [250.0]) > 0.0)


# Saturation pressure of propane at 231 K [Pa], from its reference equation in CoolProp.
ATMOSPHERE_OF_PROPANE = CP.PropsSI("P", "T", 231.0, "Q", 0, "n-Propane")


def test_refusals():
    with pytest.raises(InputError, match="must exceed"):
        mixjt.enthalpy_difference(GASES, BLENDS, 15e5, 1.5e5, TEMPERATURES)
    with pytest.raises(UnknownGasError):
        mixjt.enthalpy(["nitrogem"], [1.0], 1e5, [200.0])
    with pytest.raises(InputError, match="sum to 1"):
        mixjt.enthalpy(GASES, [0.5, 0.5, 0.5], 1e5, [200.0])
    with pytest.raises(InputError, match="no property model"):
        mixjt.enthalpy(GASES, BLENDS, 1e5, [200.0], model="guess")
    with pytest.raises(AttributeError):
        mixjt.no_such_function  # noqa: B018
