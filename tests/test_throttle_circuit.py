"""The throttle circuit: whole circuits against outside values, balances, invariants."""

import dataclasses
import math

import CoolProp.CoolProp as coolprop
import numpy as np
import pytest
from circuit_samples import FILLED_IN as COMPRESSOR
from circuit_samples import TEXTBOOK
from circuit_samples import compact as circuit
from toy_model import IdealBlend, PureFluid

from mixjt.circuit.pinch import REACHING
from mixjt.circuit.solve import grid_cooling, solve_circuit
from mixjt.errors import UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts import places
from mixjt.parts.compressor.compression import Compressor

GASES = ("nitrogen", "methane", "ethane", "propane", "isobutane")
INNER_PINCH = np.array([0.29, 0.01, 0.07, 0.56, 0.07])  # of the ideal blend, between 150 and 200 K


DROPS = {"high_side_drop": 0.6e5, "low_side_drop": 0.15e5, "aftercooler_drop": 0.2e5}


@pytest.fixture(scope="module", params=["ideal blend", "multi-fluid"])
def kind(request):
    return request.param


@pytest.fixture(scope="module")
def make(kind):
    return IdealBlend if kind == "ideal blend" else lambda gases: load_model("multi-fluid", gases)


@pytest.fixture(scope="module")
def z(kind):
    """A blend whose pinch lies inside the recuperator, between 150 and 200 K."""
    return INNER_PINCH if kind == "ideal blend" else np.array([0.30, 0.16, 0.11, 0.18, 0.25])


@pytest.fixture(scope="module")
def blend(make):
    return make(GASES)


@pytest.fixture(scope="module")
def solved(blend, z):
    return solve_circuit(Fluid(blend, z), circuit(**DROPS), 32)


@pytest.fixture(scope="module")
def propane():
    return PureFluid("propane", "Propane")


# outside values


@pytest.mark.parametrize(
    "warm, fraction, tolerance",
    [(300.0, 0.045, 0.001), (200.0, 0.147, 0.001)],
)
def test_nitrogen_throttle_liquefier(warm, fraction, tolerance):
    # Schroeder, An Introduction to Thermal Physics (2000), problem 4.34: nitrogen from 100 bar to 1 bar.
    # All of the nitrogen evaporated at the cold end takes up h_low(warm) - h_high(warm) per mole; drawn
    # off as liquid instead, that is worth h_low(warm) - h(saturated liquid) for each mole liquefied.
    nitrogen = PureFluid("nitrogen", "Nitrogen")
    ideal = dataclasses.replace(COMPRESSOR, clearance=0.0, leakage=0.0, shell_conductance=20.0)
    result = solve_circuit(
        Fluid(nitrogen,
        [1.0]),
        circuit(
            ambient_temperature=warm,
            aftercooler_approach=0.0,
            suction_pressure=1e5,
            discharge_pressure=100e5,
            cold_temperature=77.6,
            recuperator_approach=0.0,
            compressor=ideal,
        ),
    )
    gas = coolprop.PropsSI("Hmolar", "T", warm, "P", 1e5, "Nitrogen")
    liquid = coolprop.PropsSI("Hmolar", "Q", 0, "P", 1e5, "Nitrogen")
    assert result.cooling_capacity / (gas - liquid) == pytest.approx(fraction, abs=tolerance)
    assert result.pinch.pinch_temperature == pytest.approx(warm, abs=1e-6)
    assert result.pinch.conductance == math.inf


def test_propane_circuit_state_by_state(propane):
    # the circuit worked out by hand with CoolProp's high-level interface; its pinch is at the warm end,
    # where the liquid from the aftercooler meets the superheated suction gas
    case = circuit(
        compressor=dataclasses.replace(COMPRESSOR, **TEXTBOOK),
        suction_pressure=1.3e5,
        discharge_pressure=12e5,
        cold_temperature=250.0,
        high_side_drop=0.5e5,
        low_side_drop=0.1e5,
    )
    result = solve_circuit(Fluid(propane, [1.0]), case)

    def value(what, *given):
        return coolprop.PropsSI(what, *given, "Propane")

    warm_low = value("Hmolar", "T", 297.0, "P", 1.3e5)
    cooling = warm_low - value("Hmolar", "T", 300.0, "P", 12e5)
    evaporated = value("Hmolar", "T", 250.0, "P", 1.4e5)
    before = value("T", "Hmolar", evaporated - cooling, "P", 11.5e5)
    after = value("T", "Hmolar", evaporated - cooling, "P", 1.4e5)
    after_quality = value("Q", "Hmolar", evaporated - cooling, "P", 1.4e5)
    entropy = value("Smolar", "T", 297.0, "P", 1.3e5)
    isentropic = value("Hmolar", "Smolar", entropy, "P", 12e5)
    work = (isentropic - warm_low) / COMPRESSOR.isentropic_efficiency
    hot = value("T", "Hmolar", warm_low + work / COMPRESSOR.motor_efficiency, "P", 12e5)
    exponent = math.log(12 / 1.3) / math.log(
        value("Dmolar", "Smolar", entropy, "P", 12e5) / value("Dmolar", "T", 297.0, "P", 1.3e5)
    )
    filling = 1.0 - COMPRESSOR.clearance * ((12 / 1.3) ** (1 / exponent) - 1.0)
    flow = filling * 10e-6 * 50.0 * value("Dmolar", "T", 297.0, "P", 1.3e5)

    assert result.cooling_capacity == pytest.approx(cooling, rel=1e-8)
    assert result.compressor_work == pytest.approx(work, rel=1e-7)
    assert result.molar_flow == pytest.approx(flow, rel=1e-7)
    assert result.cooling_power == pytest.approx(cooling * flow, rel=1e-7)
    assert result.cop == pytest.approx(cooling / (work / COMPRESSOR.motor_efficiency), rel=1e-7)
    assert result.carnot_fraction == pytest.approx(result.cop * (295.0 - 250.0) / 250.0, rel=1e-12)
    temperatures = [state.temperature for state in result.points.values()]
    assert temperatures == pytest.approx([297.0, hot, 300.0, before, after, 250.0], abs=1e-4)
    assert result.points[places.THROTTLE_OUTLET].vapour_fraction == pytest.approx(after_quality, abs=1e-7)
    boiling = value("T", "Q", 1, "P", 1.3e5)
    assert result.suction_superheat == pytest.approx(297.0 - boiling, abs=1e-4)
    assert result.dew_point_low == pytest.approx(boiling, abs=1e-6)


def test_pressures_of_the_places(solved):
    assert [state.pressure for state in solved.points.values()] == pytest.approx(
        [1.5e5, 18e5, 17.8e5, 17.2e5, 1.65e5, 1.65e5]
    )


# the recuperator inside the circuit


def test_inner_pinch_keeps_the_approach(blend, z):
    for approach in (0.5, 1.5, 3.0):
        result = solve_circuit(Fluid(blend, z), circuit(recuperator_approach=approach), 32)
        assert 150.0 < result.pinch.pinch_temperature < 200.0
        assert result.pinch.smallest_approach == pytest.approx(approach, abs=1e-6)


def test_every_section_of_the_recuperator_balances(blend, z, solved):
    # the pinch formula's premise, checked section by section with states at the local pressures
    drop = np.polyfit([solved.points[places.THROTTLE_INLET].temperature, 300.0], [17.2e5, 17.8e5], 1)
    rise = np.polyfit([110.0, solved.points[places.COMPRESSOR_INLET].temperature], [1.65e5, 1.5e5], 1)
    for warm, cold in list(zip(solved.pinch.high_temperature, solved.pinch.low_temperature))[::5]:
        low = blend.state_tp(z, cold, np.polyval(rise, cold)).enthalpy
        high = blend.state_tp(z, warm, np.polyval(drop, warm)).enthalpy
        assert low - high == pytest.approx(solved.cooling_capacity, abs=1e-4)
    assert solved.pinch.smallest_approach == pytest.approx(3.0, abs=1e-6)


def test_without_approach_and_drops_capacity_is_the_least_enthalpy_difference(blend, z):
    result = solve_circuit(Fluid(blend, z), circuit(recuperator_approach=0.0), 32)
    assert result.cooling_capacity == pytest.approx(result.difference.minimum, rel=1e-9)
    assert result.pinch.conductance == math.inf


def test_cooling_falls_with_the_approach_and_with_the_drops(blend, z):
    capacities = [
        solve_circuit(Fluid(blend, z), circuit(recuperator_approach=a), 16).cooling_capacity
        for a in (0.0, 1.0, 2.0, 4.0, 8.0)
    ]
    assert np.all(np.diff(capacities) < 0.0)
    assert solve_circuit(Fluid(blend, z), circuit(**DROPS), 16).cooling_capacity < capacities[2]


def test_capacity_does_not_depend_on_the_grid_and_conductance_converges(blend, z):
    results = [solve_circuit(Fluid(blend, z), circuit(), points) for points in (9, 17, 33, 65)]
    capacities = [result.cooling_capacity for result in results]
    assert capacities[:-1] == pytest.approx([capacities[-1]] * 3, rel=REACHING)  # what the refinement says it reaches
    conductances = [result.pinch.conductance for result in results]
    assert conductances == pytest.approx([conductances[-1]] * 4, rel=2e-3)


# balances


@pytest.mark.parametrize(
    "changes", [{}, DROPS, {"compressor": Compressor("scroll", 1e-5, 50.0, isentropic_efficiency=0.65)}]
)
def test_energy_and_exergy_balance(blend, z, changes):
    result = solve_circuit(Fluid(blend, z), circuit(**changes), 16)
    assert result.energy_residual < 1e-6
    assert result.exergy_residual < 1e-6
    electrical = result.compressor_power / result.molar_flow
    rejected = result.aftercooler_heat + result.shell_heat
    assert rejected == pytest.approx(electrical + result.cooling_capacity, rel=1e-9)
    assert sum(item.exergy for item in result.exergy) == pytest.approx(electrical, rel=1e-9)
    assert result.carnot_fraction == pytest.approx(result.exergy[-1].exergy / electrical, rel=1e-9)
    assert all(item.exergy > 0.0 for item in result.exergy)


class CarelessModel(IdealBlend):
    """Finds states at given enthalpy only to 2 J/mol, yet says it found them exactly."""

    def state_hp(self, z, enthalpy, pressure):
        state = super().state_hp(z, enthalpy + 2.0, pressure)
        return dataclasses.replace(state, enthalpy=enthalpy)


def test_the_balances_notice_a_model_that_misses_its_enthalpies():
    result = solve_circuit(Fluid(CarelessModel(GASES), INNER_PINCH), circuit(), 16)
    assert result.energy_residual > 1e-4
    assert result.exergy_residual > 1e-4


def test_exergy_destroyed_in_the_recuperator_from_its_temperature_differences(blend, z):
    # without pressure drops it is T0 times the integral of dq (1/T_low - 1/T_high), which needs no entropy
    result = solve_circuit(Fluid(blend, z), circuit(), 200)
    curve = result.pinch
    integrand = 1.0 / curve.low_temperature - 1.0 / curve.high_temperature
    destroyed = {item.component: item.exergy for item in result.exergy}
    assert 295.0 * np.trapezoid(integrand, curve.heat) == pytest.approx(destroyed["recuperator"], rel=1e-4)


# invariants


def test_permuting_the_gases_changes_nothing(make, z, solved):
    order = [3, 0, 4, 2, 1]
    other = make([GASES[i] for i in order])
    result = solve_circuit(Fluid(other, z[order]), circuit(**DROPS), 32)
    for name in ("cooling_capacity", "cooling_power", "cop", "mass_flow", "discharge_temperature"):
        assert getattr(result, name) == pytest.approx(getattr(solved, name), rel=1e-9)
    assert result.pinch.conductance == pytest.approx(solved.pinch.conductance, rel=1e-6)


def test_a_gas_left_out_is_as_if_never_named(make):
    z = np.array([0.30, 0.16, 0.29, 0.0, 0.25])
    with_zero = solve_circuit(Fluid(make(GASES), z), circuit(), 16)
    without = solve_circuit(Fluid(make([g for g in GASES if g != "propane"]), z[z > 0.0]), circuit(), 16)
    assert with_zero.cooling_capacity == pytest.approx(without.cooling_capacity, rel=1e-9)
    assert with_zero.mass_flow == pytest.approx(without.mass_flow, rel=1e-9)
    assert with_zero.warnings == without.warnings


# on a fixed grid


def test_cooling_on_a_grid_is_the_solved_one_but_for_the_refinement(blend, z):
    for each in (z, [0.2] * 5, [0.3, 0.2, 0.15, 0.15, 0.2]):
        fluid = Fluid(blend, each)
        solved = solve_circuit(fluid, circuit(), 16).cooling_capacity
        found = grid_cooling(fluid, circuit(), 256)  # close enough to see the kink where a second liquid appears
        assert found >= solved * (1.0 - REACHING)
        assert found == pytest.approx(solved, rel=0.03)


def test_a_blend_that_cannot_cool(blend):
    z = np.array([0.9, 0.1, 0.0, 0.0, 0.0])
    case = circuit(recuperator_approach=10.0)
    short = grid_cooling(Fluid(blend, z), case, 64)
    assert short < 0.0
    with pytest.raises(UnreachableError, match="no cooling at 110 K.*falls short by") as failure:
        solve_circuit(Fluid(blend, z), case)
    assert f"{-short:.4g} J/mol" in str(failure.value)
