"""Pure fluids: against the library's own high-level interface, and the errors."""

import math

import pytest

from mixjt.errors import InputError, UnknownGasError, UnreachableError
from mixjt.fluid.pure import fluid_names, pure_model, resolve_fluid

# Vapour pressures [Pa]. Propane, R-134a and isobutane at 0 degC and 25 degC: CoolProp's equations through
# its separate high-level interface; propane at 25 degC also 9.5 bar, common practice, no source.
FLUIDS = ("propane", "isobutane", "R-134a", "ethylene", "R-404A")


@pytest.mark.parametrize("fluid", FLUIDS)
def test_states_match_the_librarys_other_interface(fluid):
    from CoolProp.CoolProp import PropsSI

    name = fluid.replace("R-", "R") if fluid.startswith("R-") else fluid.replace("isobutane", "IsoButane")
    model = pure_model(fluid)
    cold, warm = 240.0, 320.0
    a, b = model.state_tp([1.0], cold, 5e4), model.state_tp([1.0], warm, 5e4)
    expected = PropsSI("HMOLAR", "T", warm, "P", 5e4, name) - PropsSI("HMOLAR", "T", cold, "P", 5e4, name)
    assert b.enthalpy - a.enthalpy == pytest.approx(expected, rel=1e-9)
    assert model.saturation_pressure(260.0) == pytest.approx(PropsSI("P", "T", 260.0, "Q", 1, name), rel=1e-9)


def test_propane_saturation_pressure_of_the_trade():
    assert pure_model("propane").saturation_pressure(298.15) / 1e5 == pytest.approx(9.5, abs=0.1)


def test_zero_of_enthalpy_is_the_ideal_gas_at_ambient():
    assert abs(pure_model("nitrogen").state_tp([1.0], 298.15, 1e3).enthalpy) < 0.1


def test_inversions_return_the_state_they_came_from():
    model = pure_model("R-134a")
    state = model.state_tp([1.0], 330.0, 8e5)
    assert model.state_hp([1.0], state.enthalpy, 8e5).temperature == pytest.approx(330.0, abs=1e-6)
    assert model.state_sp([1.0], state.entropy, 8e5).temperature == pytest.approx(330.0, abs=1e-6)


def test_two_phase_state_splits_as_the_lever_rule_says():
    model = pure_model("propane")
    liquid, vapour = model.saturated_liquid(250.0), model.saturated_vapour(250.0)
    mixed = model.state_hp([1.0], 0.7 * liquid.enthalpy + 0.3 * vapour.enthalpy, liquid.pressure)
    assert mixed.vapour_fraction == pytest.approx(0.3, abs=1e-6)
    assert mixed.phase_text == "vapour + liquid"
    assert mixed.temperature == pytest.approx(250.0, abs=1e-6)


def test_refusals_name_the_limit():
    with pytest.raises(UnreachableError, match="critical point at 305.3"):
        pure_model("ethane").saturated_vapour(310.0)
    with pytest.raises(UnreachableError, match="triple point"):
        pure_model("ethane").saturated_vapour(80.0)
    with pytest.raises(InputError, match="positive"):
        pure_model("ethane").state_tp([1.0], math.nan, 1e5)
    with pytest.raises(UnknownGasError):
        resolve_fluid("unobtainium")


@pytest.mark.parametrize("written", ["R134a", "r-134A", "R 134a"])
def test_refrigerants_are_known_by_their_usual_spellings(written):
    assert resolve_fluid(written) == "R-134a"


def test_every_fluid_has_its_bounds():
    for name in fluid_names():
        facts = pure_model(name).facts
        assert 0.0 < facts.triple_temperature < facts.critical_temperature
