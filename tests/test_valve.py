"""Needle valves: homogeneous expansion against Bernoulli and the ideal nozzle, IEC 60534 against its own examples."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.pure import pure_model
from mixjt.fluid.states import LIQUID, Phase, State
from mixjt.parts.throttle import valve
from mixjt.parts.throttle.expansion import expansion_line
from mixjt.parts.throttle.valve import chokes, kv_iec, kv_of_flow, valve_flow

ONE = [1.0]


def test_kv_of_cold_liquid_is_its_definition():
    # Kv: m3/h at 1 bar for a density of 1000 kg/m3, as Q sqrt(rho / 1000 / dp) (IEC 60534-1), nothing flashing
    model = pure_model("propane")
    inlet = model.state_tp(ONE, 250.0, 20e5)
    density = model.facts.molar_mass / inlet.molar_volume
    expected = 0.01 / density * 3600.0 * math.sqrt(density / 1000.0 / 10.0)
    assert kv_of_flow(expansion_line(Fluid(model, ONE), inlet, 10e5), 0.01) == pytest.approx(expected, rel=5e-3)
    assert kv_iec(Fluid(model, ONE), inlet, 10e5, 0.01) == pytest.approx(expected, rel=5e-3)


def test_iec_formula_on_the_standards_first_example(monkeypatch):
    """Water of IEC 60534-2-1, example 1, as `fluids` has it, pipe fittings left out as we do: C = 165."""
    water = SimpleNamespace(
        gases=("water",), molar_masses=np.array([0.018015]), facts=SimpleNamespace(critical_pressure=22120e3),
        bubble_pressure=lambda z, temperature: 70.1e3, transport=lambda state: (3.1472e-4, math.nan),
    )  # fmt: skip
    volume = 0.018015 / 965.4
    liquid = Phase(LIQUID, 1.0, np.ones(1), 0.0, 0.0, volume, np.array([math.nan]))
    inlet = State(363.0, 680e3, np.ones(1), 0.0, 0.0, volume, (liquid,))
    monkeypatch.setattr(valve, "NEEDLE_RECOVERY", 0.9)  # of the example's globe valve
    found = kv_iec(Fluid(water, ONE), inlet, 220e3, 360.0 / 3600.0 * 965.4)
    assert found == pytest.approx(165.0, rel=2e-3)  # 164.995 in the standard, whose valve is as wide as its pipe


def test_choked_vapour_by_both_ways():
    # a needle recovers little pressure and keeps gaining flow a little beyond the ideal nozzle's choking
    model = pure_model("nitrogen")
    inlet = model.state_tp(ONE, 300.0, 10e5)
    line = expansion_line(Fluid(model, ONE), inlet, 1e5)
    assert chokes(line)
    ratio = kv_iec(Fluid(model, ONE), inlet, 1e5, 1e-3) / kv_of_flow(line, 1e-3)
    assert 0.75 < ratio < 1.0


def test_a_flashing_liquid_needs_more_by_the_homogeneous_model():
    # IEC lets the liquid flash late, at FF times its vapour pressure
    model = pure_model("R-134a")
    inlet = model.state_tp(ONE, 303.15, 9e5)
    line = expansion_line(Fluid(model, ONE), inlet, 1.5e5)
    assert chokes(line)
    assert kv_of_flow(line, 1e-3) > kv_iec(Fluid(model, ONE), inlet, 1.5e5, 1e-3)


def test_flow_is_the_reverse_of_kv():
    model = pure_model("propane")
    line = expansion_line(Fluid(model, ONE), model.state_tp(ONE, 300.0, 15e5), 2e5)
    assert valve_flow(line, kv_of_flow(line, 2e-3)) == pytest.approx(2e-3, rel=1e-12)


def test_a_blend_all_liquid(model_of):
    model, z = model_of(("methane", "propane")), np.array([0.2, 0.8])
    inlet = model.state_tp(z, 180.0, 20e5)
    line = expansion_line(Fluid(model, z), inlet, 15e5)
    assert kv_iec(Fluid(model, z), inlet, 15e5, 1e-3) == pytest.approx(kv_of_flow(line, 1e-3), rel=0.01)


def test_refusals():
    model = pure_model("propane")
    inlet = model.state_hp(ONE, model.saturated_liquid(300.0).enthalpy + 2000.0, model.saturation_pressure(300.0))
    with pytest.raises(InputError, match="liquid or gas before the valve, not both"):
        kv_iec(Fluid(model, ONE), inlet, 1e5, 1e-3)
    with pytest.raises(InputError, match="must be below"):
        kv_iec(Fluid(model, ONE), inlet, 2.0 * inlet.pressure, 1e-3)
    line = expansion_line(Fluid(model, ONE), inlet, 2e5)
    with pytest.raises(InputError, match="Kv must be"):
        valve_flow(line, 0.0)
    with pytest.raises(InputError, match="mass flow must be"):
        kv_of_flow(line, math.nan)
