"""Viscosity, conductivity and surface tension of blends against pure reference fluids and other methods."""

import numpy as np
import pytest

from mixjt.errors import InputError
from mixjt.fluid.pure import pure_model
from mixjt.fluid.transport import surface_tension, transport, transport_arrays

LIQUID, VAPOUR = "saturated_liquid", "saturated_vapour"
# Largest deviation from CoolProp's reference transport equations in percent that docs/transport.md states,
# viscosity and conductivity, at 0.5, 0.6, 0.7 and 0.8 of the critical temperature above the triple point
BANDS = {
    "nitrogen": {LIQUID: (25, 19), VAPOUR: (8, 21)},
    "methane": {LIQUID: (12, 9), VAPOUR: (4, 15)},
    "ethane": {LIQUID: (6, 7), VAPOUR: (3, 9)},
    "propane": {LIQUID: (8, 3), VAPOUR: (4, 8)},
    "isobutane": {LIQUID: (28, 9), VAPOUR: (4, 8)},
    "n-butane": {LIQUID: (8, 3), VAPOUR: (3, 8)},
    "propylene": {LIQUID: (4, 15), VAPOUR: (4, 9)},
    "tetrafluoromethane": {LIQUID: (5, 6), VAPOUR: (6, 11)},
    "trifluoromethane": {LIQUID: (20, 35), VAPOUR: (5, 16)},
    "carbon dioxide": {LIQUID: (6, 20), VAPOUR: (6, 16)},
    "argon": {LIQUID: (32, 11), VAPOUR: (3, 24)},
}


def saturated(name, side, temperature):
    state = getattr(pure_model(name), side)(temperature)
    return state, state.phases[0]


def reduced_temperatures(name, reduced=(0.5, 0.6, 0.7, 0.8)):
    facts = pure_model(name).facts
    return [t * facts.critical_temperature for t in reduced if t * facts.critical_temperature > facts.triple_temperature]


@pytest.mark.parametrize("side", (LIQUID, VAPOUR))
@pytest.mark.parametrize("name", BANDS)
def test_pure_gases_stay_within_the_stated_band(name, side):
    for temperature in reduced_temperatures(name):
        state, phase = saturated(name, side, temperature)
        expected = np.array(pure_model(name).transport(state))
        deviation = 100.0 * np.abs(np.array(transport((name,), phase, temperature, state.pressure)) / expected - 1.0)
        assert np.all(deviation <= BANDS[name][side]), (temperature, deviation)


@pytest.mark.parametrize("side", (LIQUID, VAPOUR))
def test_viscosity_is_the_method_of_chung_et_al_that_coolprop_uses_for_isopentane(side):
    # CoolProp has no fitted equation for isopentane and takes Chung et al. (1988): confirms every coefficient
    for temperature in reduced_temperatures("isopentane", (0.5, 0.6, 0.8, 0.95)):
        state, phase = saturated("isopentane", side, temperature)
        found = transport(("isopentane",), phase, temperature, state.pressure)[0]
        assert found == pytest.approx(pure_model("isopentane").transport(state)[0], rel=2e-3)


def test_conductivity_is_that_of_the_library_function():
    import chemicals
    from chemicals.critical import Vc

    from mixjt.fluid.transport import _ideal_cv
    from mixjt.gases import gas

    entry, temperature, volume = gas("propane"), 300.0, 1.2e-4
    dilute = float(transport_arrays(("propane",), np.ones(1), 300.0, 1e3)[0][0])
    cv = float(_ideal_cv(("propane",), np.ones((1, 1)), np.array([300.0]))[0])
    expected = chemicals.Chung_dense(
        T=temperature, MW=1e3 * entry.molar_mass, Tc=entry.critical_temperature, Vc=Vc(entry.cas),
        omega=entry.acentric_factor, Cvm=cv, Vm=volume, mu=dilute, dipole=0.0,
    )  # fmt: skip
    assert transport_arrays(("propane",), np.ones(1), temperature, volume)[1][0] == pytest.approx(expected, rel=1e-7)


def test_liquid_pentane_at_room_temperature():
    # CRC Handbook of Chemistry and Physics, from memory: 0.224 mPa s at 25 degC
    state, phase = saturated("n-pentane", LIQUID, 298.15)
    assert transport(("n-pentane",), phase, 298.15, state.pressure)[0] == pytest.approx(0.224e-3, rel=0.05)


def test_thin_gas_mixture_against_wilke():
    # C. R. Wilke, J. Chem. Phys. 18 (1950) 517, on CoolProp's pure viscosities; both are good to a few percent
    from chemicals.viscosity import Wilke

    names = ("nitrogen", "methane", "ethane", "propane")
    x = np.array([0.3, 0.3, 0.2, 0.2])
    pure = [pure_model(name).transport(pure_model(name).state_tp([1.0], 300.0, 1e5))[0] for name in names]
    masses = [pure_model(name).facts.molar_mass * 1e3 for name in names]
    expected = Wilke(list(x), pure, masses)
    found = transport_arrays(names, x, 300.0, 8.314 * 300.0 / 1e5)[0][0]
    assert found == pytest.approx(expected, rel=0.03)


def test_an_absent_gas_changes_nothing():
    alone = transport_arrays(("methane", "propane"), np.array([0.4, 0.6]), 200.0, 6e-5)
    more = transport_arrays(("methane", "argon", "propane"), np.array([0.4, 0.0, 0.6]), 200.0, 6e-5)
    assert np.array(more) == pytest.approx(np.array(alone), rel=1e-12)


def test_arrays_agree_with_single_states():
    names, x = ("nitrogen", "ethane"), np.array([[0.2, 0.8], [0.9, 0.1]])
    temperatures, volumes = np.array([150.0, 220.0]), np.array([5.2e-5, 9e-4])
    together = np.array(transport_arrays(names, x, temperatures, volumes))
    for k in range(2):
        alone = np.array(transport_arrays(names, x[k], temperatures[k], volumes[k]))[:, 0]
        assert together[:, k] == pytest.approx(alone, rel=1e-12)


@pytest.mark.parametrize("name", ["nitrogen", "methane", "ethylene", "propane", "isobutane", "trifluoromethane"])
@pytest.mark.parametrize("reduced", [0.55, 0.8])
def test_surface_tension_of_pure_gases(name, reduced):
    # fitted at 0.7 of the critical temperature, tested below and above it: Mulero et al., J. Phys. Chem. Ref. Data 41 (2012) 043105, by CoolProp
    import CoolProp

    from mixjt.gases import gas

    temperature = reduced * pure_model(name).facts.critical_temperature
    library = CoolProp.AbstractState("HEOS", gas(name).cas)
    library.update(CoolProp.QT_INPUTS, 0.0, temperature)
    (_, liquid), (_, vapour) = saturated(name, LIQUID, temperature), saturated(name, VAPOUR, temperature)
    assert surface_tension((name,), liquid, vapour) == pytest.approx(library.surface_tension(), rel=0.05)


def test_surface_tension_of_methane_and_propane(model_of):
    # falls steadily with the share of the lighter gas: no value for the pair was at hand
    model = model_of(("methane", "propane"))
    found = []
    for share in (0.02, 0.2, 0.4):
        z = np.array([share, 1.0 - share])
        state = model.state_tp(z, 240.0, 0.9 * model.bubble_pressure(z, 240.0))
        found.append(surface_tension(model.gases, state.liquids[-1], state.phases[0]))
    assert 0.02 > found[0] > found[1] > found[2] > 0.0


def test_refusals():
    _, liquid = saturated("propane", LIQUID, 250.0)
    _, vapour = saturated("propane", VAPOUR, 250.0)
    with pytest.raises(InputError, match="denser"):
        surface_tension(("propane",), vapour, liquid)
    with pytest.raises(InputError, match="positive temperature"):
        transport(("propane",), liquid, -3.0, 1e5)
    with pytest.raises(InputError, match="molar volume above"):
        transport_arrays(("propane",), np.ones(1), 250.0, 2e-5)
    with pytest.raises(InputError, match="molar volume above"):
        transport_arrays(("propane",), np.ones(1), 250.0, np.nan)
