"""Recuperators of stated conductance and heat leaking in, against exchangers of constant capacities and a march."""

import dataclasses
import math

import numpy as np
import pytest
from circuit_samples import DROPS, enthalpies, machine
from scipy.integrate import solve_ivp
from scipy.linalg import expm
from scipy.optimize import brentq
from toy_model import _Toy

from mixjt.circuit.rounds import settled_solution
from mixjt.circuit.solve import layout_of, solve_circuit, with_precooler
from mixjt.constants import GAS_CONSTANT
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import VAPOUR, Phase, State
from mixjt.parts import places
from mixjt.parts.insulation import Insulation
from mixjt.parts.precooler import Precooler

GASES, Z = ("nitrogen", "methane", "propane", "isobutane"), np.array([0.22, 0.285, 0.325, 0.17])


class TwoCapacities(_Toy):
    """A gas whose heat capacity is one number at high and another at low pressure; not consistent, but easy to check."""

    name, gases = "two capacities", ("nitrogen",)
    temperature_span, molar_masses = (20.0, 1000.0), np.array([0.028])

    def __init__(self, high: float, low: float, gain: float):
        self.high, self.low, self.gain = high, low, gain

    def capacity(self, pressure):
        return self.high if pressure > 5e5 else self.low

    def state_tp(self, z, temperature, pressure):
        capacity, one = self.capacity(pressure), np.ones(1)
        h = capacity * (temperature - 300.0) + (0.0 if pressure > 5e5 else self.gain)
        s = 30.0 * math.log(max(temperature, 1.0) / 300.0) - GAS_CONSTANT * math.log(pressure / 1e5)
        v = GAS_CONSTANT * temperature / pressure
        return State(temperature, pressure, one, h, s, v, (Phase(VAPOUR, 1.0, one, h, s, v, np.zeros(1)),))

    def state_hp(self, z, enthalpy, pressure):
        gain = 0.0 if pressure > 5e5 else self.gain
        return self.state_tp(z, 300.0 + (enthalpy - gain) / self.capacity(pressure), pressure)

    def state_sp(self, z, entropy, pressure):
        return self.state_tp(z, 300.0 * math.exp((entropy + GAS_CONSTANT * math.log(pressure / 1e5)) / 30.0), pressure)


def constant(high, low, **changes):
    fluid = Fluid(TwoCapacities(high, low, 6000.0), np.ones(1))
    return settled_solution(layout_of(fluid, machine(**changes)), 64)


@pytest.mark.parametrize("high, low", [(30.0, 36.0), (36.0, 30.0), (33.0, 33.0)])
@pytest.mark.parametrize("transfer_units", [3.0, 12.0])
def test_effectiveness_of_constant_capacities(high, low, transfer_units):
    """Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, effectiveness of a counterflow exchanger (from memory)."""
    flow = constant(high, low).compression.molar_flow
    least, ratio = min(high, low), min(high, low) / max(high, low)
    found = constant(high, low, recuperator_conductance=transfer_units * least * flow)
    units = found.conductance / (least * found.compression.molar_flow)
    loss = math.exp(-units * (1.0 - ratio))
    effectiveness = units / (1.0 + units) if ratio == 1.0 else (1.0 - loss) / (1.0 - ratio * loss)
    given = found.states[places.AFTERCOOLER_OUTLET].temperature - found.states[places.THROTTLE_INLET].temperature
    most = least / high * (found.states[places.AFTERCOOLER_OUTLET].temperature - 120.0)
    assert found.conductance == pytest.approx(transfer_units * least * flow, rel=1e-6)
    assert given / most == pytest.approx(effectiveness, rel=1e-3)


@pytest.mark.parametrize("high, low", [(30.0, 36.0), (36.0, 30.0)])
def test_leak_into_constant_capacities(high, low):
    """Both streams' linear equations with even UA and leak along the length, by the matrix exponential."""
    box = Insulation(0.15, 0.25)
    found = constant(high, low, recuperator_conductance=12.0, insulation=box)
    flow, ambient, warm = found.compression.molar_flow, 295.0, 303.0
    exchange, leak = 12.0 / flow, box.conductance * 0.75 / flow
    slopes = np.array(
        [
            [exchange / high, -exchange / high, 0.0],
            [exchange / low, -(exchange + leak) / low, leak * ambient / low],
            [0.0, 0.0, 0.0],
        ]
    )  # of high-side temperature, low-side temperature, 1 along the length from the cold end
    through = expm(slopes)
    coldest = (warm - through[0, 1] * 120.0 - through[0, 2]) / through[0, 0]
    suction = through[1] @ [coldest, 120.0, 1.0]
    at_end = box.conductance * 0.25 / flow * (ambient - 120.0)
    cooling = low * (120.0 - 300.0) + 6000.0 - high * (coldest - 300.0) - at_end
    assert found.states[places.THROTTLE_INLET].temperature == pytest.approx(coldest, abs=0.02)
    assert found.states[places.COMPRESSOR_INLET].temperature == pytest.approx(suction, abs=0.02)
    assert found.cooling == pytest.approx(cooling, rel=1e-3)


def test_conductance_against_a_march(model_of):
    """400 cells of even UA, shooting on the cold end; states from a table of the model's own enthalpies."""
    fluid, circuit = Fluid(model_of(GASES), Z), machine(recuperator_conductance=40.0)
    found = solve_circuit(fluid, circuit)
    flow, warm = found.molar_flow, circuit.warm_temperature
    high, low = (enthalpies(fluid.model, Z, p, 85.0, 310.0) for p in (circuit.discharge_pressure, circuit.suction_pressure))
    evaporated = np.interp(120.0, *low)

    def slope(_, h):
        apart = np.interp(h[0], high[1], high[0]) - np.interp(h[1], low[1], low[0])
        return np.full(2, 40.0 / flow * apart)

    def reached(cooling):
        way = solve_ivp(slope, (0.0, 1.0), [evaporated - cooling, evaporated], max_step=1.0 / 400.0, rtol=1e-8)
        return np.interp(way.y[0, -1], high[1], high[0]) - warm

    shot = brentq(reached, 0.7 * found.cooling_capacity, 1.3 * found.cooling_capacity, rtol=1e-7)
    assert found.cooling_capacity == pytest.approx(shot, rel=2e-3)
    assert found.recuperator_conductance == pytest.approx(40.0, rel=1e-6)


def test_endless_conductance_reaches_the_pinch_limit(model_of):
    fluid = Fluid(model_of(GASES), Z)
    limit = solve_circuit(fluid, machine(recuperator_approach=0.0, **DROPS))
    endless = solve_circuit(fluid, machine(recuperator_conductance=1e5, **DROPS))
    assert endless.cooling_capacity == pytest.approx(limit.cooling_capacity, rel=1e-4)
    assert any("larger than its streams can use" in one and "1e+05 W/K" in one for one in endless.warnings)
    assert not any("larger than its streams" in one for one in limit.warnings)


@pytest.mark.parametrize(
    "z, cold, drops, conductance",
    [
        ([0.3485, 0.2563, 0.2393, 0.0699, 0.086], 175.58987, {}, 211.6),
        ([0.1704, 0.2817, 0.3111, 0.0671, 0.1698], 143.52357, DROPS, 183.54),
    ],
)
def test_recuperators_that_leave_less_than_a_millikelvin(model_of, z, cold, drops, conductance):
    """Where steps foreseen on a round's own curves lead to and fro."""
    fluid = Fluid(model_of(("nitrogen", "methane", "ethane", "propane", "isobutane")), np.array(z) / sum(z))
    found = solve_circuit(fluid, machine(cold_temperature=cold, recuperator_conductance=conductance, **drops))
    assert found.recuperator_conductance == pytest.approx(conductance, rel=1e-6)
    assert found.circuit.recuperator_approach < 1e-3


def test_cooling_rises_smoothly_with_conductance(model_of):
    fluid = Fluid(model_of(GASES), Z)
    cooling = [solve_circuit(fluid, machine(recuperator_conductance=each)).cooling_power for each in (40, 45, 50, 55, 60)]
    assert np.all(np.diff(cooling) > 0.0) and np.all(np.diff(cooling, 2) < 0.0)


def test_too_small_a_recuperator_is_told_with_what_it_takes(model_of):
    with pytest.raises(UnreachableError, match="leaves no cooling at 120 K; it takes"):
        solve_circuit(Fluid(model_of(GASES), Z), machine(recuperator_conductance=1.0))


def test_an_approach_too_wide_for_the_circuit_is_never_tried(model_of):
    """A precooler leaves its cold section less room than the whole span: a small recuperator ends in words, not in a refusal."""
    circuit = with_precooler(machine(cold_temperature=240.0, recuperator_conductance=0.5), Precooler(255.0))
    with pytest.raises(UnreachableError, match="leaves no cooling at 240 K; it takes"):
        solve_circuit(Fluid(model_of(GASES), Z), circuit)


@pytest.mark.parametrize("conductance", [0.0, -1.0, math.nan, "5"])
def test_conductance_that_cannot_be(conductance):
    with pytest.raises(InputError, match="recuperator conductance"):
        machine(recuperator_conductance=conductance)


def test_no_conductance_of_the_insulation_is_no_leak(model_of):
    fluid = Fluid(model_of(GASES), Z)
    tight, none = (solve_circuit(fluid, machine(insulation=one, **DROPS)) for one in (Insulation(0.0), None))
    assert tight.cooling_power == none.cooling_power


def test_a_leak_warmer_than_the_pinch_costs_nothing(model_of):
    """All of it warmer than the pinch: only the suction gets warmer."""
    fluid, circuit = Fluid(model_of(GASES), Z), machine()
    alone = settled_solution(layout_of(fluid, circuit), 64)
    (pinch,) = alone.choice.pinches
    (section,) = alone.sections
    warm = np.array([pinch + 5.0, circuit.warm_temperature])
    assert pinch < 250.0
    leaking = dataclasses.replace(section, leak=type(section.leak)(warm, np.array([0.0, 40.0])))
    assert leaking.least(3.0, 64).minimum == pytest.approx(alone.cooling, rel=1e-6)


def test_a_leak_at_the_cold_end_is_lost_in_full(model_of):
    fluid, kept = Fluid(model_of(GASES), Z), machine()
    lost = solve_circuit(fluid, machine(insulation=Insulation(0.05, 1.0)))
    tight = solve_circuit(fluid, kept)
    assert tight.cooling_power - lost.cooling_power == pytest.approx(0.05 * (295.0 - 120.0), rel=2e-3)
    assert lost.compressor_power == pytest.approx(tight.compressor_power, rel=1e-6)


@pytest.mark.parametrize("changes", [{"conductance": -0.1}, {"conductance": math.nan}, {"conductance": 1.0, "cold_end_share": 1.5}])
def test_insulation_that_cannot_be(changes):
    with pytest.raises(InputError, match="insulation"):
        Insulation(**changes)
