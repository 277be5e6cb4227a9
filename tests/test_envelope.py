"""The phase envelope: critical points of an independent program, the curve's own shape, refusals."""

import numpy as np
import pytest
from library_mixture import library_state

from mixjt.errors import UnreachableError
from mixjt.fluid.envelope import trace_envelope
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.studies.envelopes import envelope_of, saturation_points, two_liquid_region

# Critical points (K, Pa) by CoolProp's own solver (all_critical_points) from the same multi-fluid equations.
PAIRS = {("methane", "propane"): 0.5, ("ethane", "n-butane"): 0.5}


@pytest.mark.parametrize("gases", PAIRS)
def test_critical_point_of_the_reference_model_is_the_librarys(gases):
    share = PAIRS[gases]
    state = library_state(gases)
    state.set_mole_fractions([share, 1.0 - share])
    expected = max((point for point in state.all_critical_points() if point.stable), key=lambda point: point.T)
    found = trace_envelope(Fluid(load_model("multi-fluid", gases), [share, 1.0 - share]), 5e5, points=10).critical
    assert found[0] == pytest.approx(expected.T, abs=0.3)
    assert found[1] == pytest.approx(expected.p, rel=5e-3)


@pytest.fixture(scope="module")
def traced():
    model = load_model("multi-fluid", ("nitrogen", "methane", "propane"))
    return model, np.array([0.2, 0.4, 0.4]), trace_envelope(Fluid(model, [0.2, 0.4, 0.4]), 1e5)


def test_curve_is_the_limit_of_coexistence(traced):
    model, z, envelope = traced
    for k in range(2, len(envelope.temperatures) - 2, 5):
        temperature, pressure = envelope.temperatures[k], envelope.pressures[k]
        outward = 1e-4 * temperature * (-1.0 if k < len(envelope.temperatures) / 2 else 1.0)
        outside = model.sweep(z, pressure, np.array([temperature + outward]), strict=False)
        inside = model.sweep(z, pressure, np.array([temperature - outward]), strict=False)
        if outside.phase_count[0, 0] and inside.phase_count[0, 0]:
            assert outside.vapour_fraction[0, 0] in (0.0, 1.0)
            assert 0.0 < inside.vapour_fraction[0, 0] < 1.0


def test_low_part_is_the_bubble_and_dew_points(traced):
    model, z, envelope = traced
    assert envelope.temperatures[0] == pytest.approx(model.bubble_temperature(z, 1e5), abs=1e-4)
    assert envelope.temperatures[-1] == pytest.approx(model.dew_temperature(z, 1e5), abs=1e-4)


def test_enthalpies_are_those_of_states_asked_for_one_by_one(traced):
    model, z, envelope = traced
    for k in range(0, len(envelope.temperatures), 7):
        state = Fluid(model, z).tp(float(envelope.temperatures[k]), float(envelope.pressures[k]))
        assert envelope.enthalpies[k] == pytest.approx(state.enthalpy, abs=1e-3)


def test_critical_point_parts_bubble_from_dew_curve(traced):
    _, _, envelope = traced
    assert not envelope.on_dew_side[0] and envelope.on_dew_side[-1]
    assert np.all(np.diff(envelope.on_dew_side.astype(int)) >= 0)
    assert envelope.critical[0] < envelope.cricondentherm[0] + 1e-6
    assert envelope.critical[1] < envelope.cricondenbar[1] * (1 + 1e-6)


def test_phases_meet_at_the_critical_point(traced):
    model, z, envelope = traced
    temperature, pressure = envelope.critical
    near = model.sweep(z, pressure * 0.995, np.linspace(temperature - 4.0, temperature + 4.0, 81), strict=False)
    jump = np.abs(np.diff(near.molar_volume[0])) / near.molar_volume[0, 1:]
    assert np.nanmax(jump) < 0.1  # no step in density where the phases are nearly one


def test_pure_gas_has_no_span():
    with pytest.raises(UnreachableError, match="do not coexist"):
        trace_envelope(Fluid(load_model("multi-fluid", ("propane",)), [1.0]), 1e5)
    envelope, obstacle = envelope_of(Fluid(load_model("multi-fluid", ("propane",)), [1.0]), 1e5, 8)
    assert envelope is None and "no phase envelope" in obstacle


def test_two_liquids_of_nitrogen_and_ethane():
    """Two liquids are measured at 90.69 K (J. Chem. Thermodyn. 34 (2002) 669, authors not verified); none is known at 170 K."""
    region = two_liquid_region(Fluid(load_model("multi-fluid", ("nitrogen", "ethane")), [0.5, 0.5]), 5e5, 20e5, 90.0)
    assert np.all(region.coldest == 90.0)
    assert np.all(region.warmest < 170.0)


def test_saturation_points_hold_the_pressures_asked_for(traced):
    model, z, _ = traced
    points = saturation_points(Fluid(model, z), [3.3e5])
    k = int(np.flatnonzero(points.pressures == 3.3e5)[0])
    assert points.bubble[k] == pytest.approx(model.bubble_temperature(z, 3.3e5))
    assert np.all(points.dew > points.bubble)


def test_an_envelope_that_does_not_close_has_no_cricondenbar(monkeypatch):
    """Cut off below its top, the curve must not pass its last pressure off as the greatest one."""
    model, z = load_model("multi-fluid", ("methane", "propane")), [0.5, 0.5]
    whole = trace_envelope(Fluid(model, z), 5e5, points=8)
    assert 40e5 < whole.cricondenbar[1] < 400e5
    monkeypatch.setattr("mixjt.fluid.envelope.HIGHEST_PRESSURE", 40e5)
    cut, obstacle = envelope_of(Fluid(model, z), 5e5, 8)
    assert cut.cricondenbar is None and cut.pressures.max() == pytest.approx(40e5)
    assert "still open at 40 bar" in obstacle
