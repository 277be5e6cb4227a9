"""The property model: states, phase boundaries, and what it says about itself."""

import numpy as np
import pytest
from CoolProp import CoolProp
from library_mixture import library_state

from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.models import load_model
from mixjt.fluid.multi_fluid import MultiFluidModel

SIX = ("nitrogen", "methane", "ethane", "propane", "isobutane", "n-butane")
Z = np.array([0.36, 0.20, 0.18, 0.16, 0.05, 0.05])
NITROGEN_BEARING = ("nitrogen", "methane", "ethane", "propane")
NITROGEN_BEARING_Z = np.array([0.40, 0.25, 0.20, 0.15])


@pytest.fixture(scope="module")
def model():
    return load_model("multi-fluid", SIX)


def library_answer(model, z, temperature, pressure):
    """Residual enthalpy [J/mol] and residual Gibbs energy over RT of CoolProp's blind flash.

    The Gibbs energy is that of the library's phases, each on its better density root.
    """
    state = library_state(model.gases)
    state.set_mole_fractions(list(z))
    state.update(CoolProp.PT_INPUTS, pressure, temperature)
    enthalpy, quality = state.hmolar(), state.Q()
    phases = [(1.0, z)]
    if 0.0 < quality < 1.0:
        phases = [
            (quality, np.array(state.mole_fractions_vapor())),
            (1.0 - quality, np.array(state.mole_fractions_liquid())),
        ]
    gibbs = sum(
        share * np.sum(x * (np.log(x) + model.log_fugacity_coefficients(x / x.sum(), temperature, pressure)))
        for share, x in phases
    )
    state.specify_phase(CoolProp.iphase_gas)
    state.update(CoolProp.DmolarT_INPUTS, 1e-9, temperature)  # the ideal-gas limit
    return enthalpy - state.hmolar(), gibbs


def our_answer(model, z, temperature, pressure):
    result = model.sweep(z, pressure, np.array([temperature]))
    at = np.array([temperature])
    ideal = model._in_units(np.zeros((1, 1, 8)), model._ideal.at(at), z[None], np.array([[pressure]]), at)
    return result.enthalpy[0, 0] - ideal.enthalpy[0, 0], result.gibbs[0, 0]


@pytest.mark.parametrize(("temperature", "pressure"), [(240.0, 2e5), (200.0, 15e5), (150.0, 15e5), (160.0, 3e5)])
def test_two_phase_states_agree_with_the_blind_flash(temperature, pressure):
    """On the same equations; the library holds no departure functions of EOS-LNG, so no butanes here."""
    model, z = MultiFluidModel(NITROGEN_BEARING), NITROGEN_BEARING_Z
    h, g = our_answer(model, z, temperature, pressure)
    library_h, library_g = library_answer(model, z, temperature, pressure)
    assert h == pytest.approx(library_h, abs=1e-2)
    assert g == pytest.approx(library_g, abs=1e-8)


@pytest.mark.parametrize(("temperature", "pressure"), [(115.0, 15e5), (90.0, 3e5), (80.0, 2e5)])
def test_two_liquids_have_equal_fugacities(temperature, pressure):
    model = MultiFluidModel(NITROGEN_BEARING)
    state = model.state_tp(NITROGEN_BEARING_Z, temperature, pressure)
    assert len(state.liquids) == 2
    logs = [np.log(each.composition) + each.log_fugacity_coefficients for each in state.phases]
    for other in logs[1:]:
        assert other == pytest.approx(logs[0], abs=1e-8)
    amounts = sum(each.fraction * each.composition for each in state.phases)
    assert amounts == pytest.approx(NITROGEN_BEARING_Z, abs=1e-10)


def test_never_the_higher_of_two_gibbs_energies():
    """The blind flash may stop at a metastable state; ours may not lie above it."""
    model = MultiFluidModel(NITROGEN_BEARING)
    for temperature, pressure in ((115.0, 15e5), (105.0, 3e5), (130.0, 15e5)):
        _, g = our_answer(model, NITROGEN_BEARING_Z, temperature, pressure)
        _, library_g = library_answer(model, NITROGEN_BEARING_Z, temperature, pressure)
        assert g <= library_g + 1e-8


def test_enthalpy_rises_along_isobars_and_does_not_depend_on_the_checks():
    temperatures = np.linspace(100.0, 300.0, 64)
    careful = MultiFluidModel(NITROGEN_BEARING, check_span=-1.0)
    plain = MultiFluidModel(NITROGEN_BEARING)
    for pressure in (2e5, 15e5):
        every = careful.sweep(NITROGEN_BEARING_Z, pressure, temperatures)
        assert np.all(np.diff(every.enthalpy[0]) > 0.0)
        some = plain.sweep(NITROGEN_BEARING_Z, pressure, temperatures)
        assert some.enthalpy == pytest.approx(every.enthalpy, abs=1e-3)


def test_ideal_gas_part_is_the_catalogues():
    """Heat capacity of thin methane: 35.69 J/(mol K) at 298.15 K, Setzmann and Wagner (1991), as CoolProp carries it."""
    model = MultiFluidModel(("methane",))
    low, high = (model.state_tp([1.0], t, 1.0).enthalpy for t in (297.15, 299.15))
    expected = CoolProp.PropsSI("Cp0molar", "T", 298.15, "P", 1.0, "Methane")
    assert 0.5 * (high - low) == pytest.approx(expected, rel=2e-4)


def test_states_at_enthalpy_and_entropy(model):
    state = model.state_tp(Z, 130.0, 15e5)
    assert model.state_hp(Z, state.enthalpy, 15e5).temperature == pytest.approx(130.0, abs=1e-7)
    assert model.state_sp(Z, state.entropy, 15e5).temperature == pytest.approx(130.0, abs=1e-7)
    with pytest.raises(UnreachableError):
        model.state_hp(Z, 1e6, 15e5)


def test_boiling_nitrogen():
    """Normal boiling point and enthalpy of vaporisation of CoolProp's equation (Span et al. 2000).

    GERG-2008's short equation is stated to hold 0.05 % in vapour pressure: some 5 mK (Kunz and Wagner 2012).
    """
    model = MultiFluidModel(("nitrogen", "methane"))
    z = np.array([1.0, 0.0])
    boiling = CoolProp.PropsSI("T", "P", 101325.0, "Q", 0, "Nitrogen")
    assert model.bubble_temperature(z, 101325.0) == pytest.approx(boiling, abs=5e-3)
    assert model.dew_temperature(z, 101325.0) == pytest.approx(model.bubble_temperature(z, 101325.0), abs=1e-6)
    boiling = model.bubble_temperature(z, 101325.0)
    liquid = model.state_tp(z, boiling - 1e-5, 101325.0)
    vapour = model.state_tp(z, boiling + 1e-5, 101325.0)
    heat = [CoolProp.PropsSI("Hmolar", "P", 101325.0, "Q", q, "Nitrogen") for q in (0, 1)]
    assert vapour.enthalpy - liquid.enthalpy == pytest.approx(heat[1] - heat[0], rel=2e-3)
    half = model.state_hp(z, 0.5 * (liquid.enthalpy + vapour.enthalpy), 101325.0)
    assert half.vapour_fraction == pytest.approx(0.5, abs=1e-4)


def test_phase_boundaries_of_a_binary():
    """Bubble and dew pressure of methane + ethane at 180 K against CoolProp's saturation calls."""
    model, z = MultiFluidModel(("methane", "ethane")), np.array([0.5, 0.5])
    state = library_state(("methane", "ethane"))
    state.set_mole_fractions([0.5, 0.5])
    for quality, found in ((0, model.bubble_pressure(z, 180.0)), (1, model.dew_pressure(z, 180.0))):
        state.update(CoolProp.QT_INPUTS, quality, 180.0)
        assert found == pytest.approx(state.p(), rel=1e-6)


def test_boundaries_where_the_coldest_states_have_no_solution(model):
    """At 60 K this blend has none; the boundaries lie far above and are limits of coexistence."""
    bubble, dew = model.bubble_temperature(Z, 15e5), model.dew_temperature(Z, 15e5)
    for temperature, inside in ((bubble, 1.0), (dew, -1.0)):
        assert model.state_tp(Z, temperature + inside * 1e-4, 15e5).phase_text.startswith("vapour + liquid")
        assert "vapour + liquid" not in model.state_tp(Z, temperature - inside * 1e-4, 15e5).phase_text


def test_a_gas_left_out_changes_nothing(model):
    z = np.array([0.4, 0.35, 0.25, 0.0, 0.0, 0.0])
    small = MultiFluidModel(SIX[:3])
    for temperature in (110.0, 180.0, 290.0):
        expected = small.state_tp(z[:3], temperature, 15e5).enthalpy
        assert model.state_tp(z, temperature, 15e5).enthalpy == pytest.approx(expected, abs=1e-9)  # order of sums


def test_a_pair_without_parameters_is_estimated_and_named():
    model = MultiFluidModel(("methane", "ethylene", "isopentane"))
    assert model.state_tp(np.array([0.4, 0.3, 0.3]), 250.0, 5e5).enthalpy < 0.0
    (note,) = [note for note in model.notes if "estimated" in note]
    assert "ethylene + isopentane" in note
    assert not any("estimated" in note for note in MultiFluidModel(("methane", "isopentane")).notes)


def test_pairs_without_departure_function_are_named(model):
    assert len(model.notes) == 1
    assert "nitrogen + propane" in model.notes[0]
    assert "methane + ethane" not in model.notes[0]


def test_sound_range(model):
    """Methane and the butanes mix in all proportions; the model splits them in the cold."""
    z = np.array([0.0, 0.6, 0.0, 0.0, 0.0, 0.4])
    limit = model.sound_from(z)
    assert 0.0 < limit <= 100.0  # the fit of this pair held it stable from 95 K
    mask = model.soundness(z, np.array([limit - 20.0, limit + 20.0]))
    assert mask.tolist() == [[False, True]]
    assert any("n-butane" in text for text in model.warnings(z, limit - 20.0))
    assert not any("outside" in text for text in model.warnings(z, limit + 20.0))
    assert model.sound_from(np.array([0.5, 0.5, 0.0, 0.0, 0.0, 0.0])) == 0.0


def test_bad_requests(model):
    with pytest.raises(InputError):
        model.state_tp(np.full(6, 0.3), 200.0, 1e5)
    with pytest.raises(InputError):
        model.state_tp(Z, 20.0, 1e5)
    with pytest.raises(InputError):
        model.sweep(Z, -1.0, np.array([200.0]))


def test_an_unsolved_state_raises_or_is_nan():
    """Trifluoromethane's equation has no liquid below about 95 K at low pressure."""
    model, z = MultiFluidModel(("trifluoromethane",)), np.ones(1)
    with pytest.raises(ConvergenceError, match="70"):
        model.state_tp(z, 70.0, 2e5)
    assert np.isnan(model.sweep(z, 2e5, np.array([70.0]), strict=False).enthalpy).all()
