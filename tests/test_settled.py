"""The settled machine against its two conditions, computed anew, and the plain circuit of the same conductance."""

from dataclasses import replace

import numpy as np
import pytest
from circuit_samples import TEXTBOOK, machine

from mixjt.circuit.fixed_machine import FixedMachine, held_conductance
from mixjt.circuit.held_recuperator import CooledMetal, Pressures, hold_recuperator
from mixjt.circuit.inventory import Volumes
from mixjt.circuit.settled import settle_machine
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.compressor.compression import Compressor, compress
from mixjt.parts.insulation import Insulation
from mixjt.parts.throttle.capillary import Capillary, flow_of_length
from mixjt.parts.throttle.expansion import expansion_line

GASES, Z = ("nitrogen", "methane", "propane"), np.array([0.15, 0.45, 0.40])
CIRCUIT = machine(
    discharge_pressure=14e5,
    cold_temperature=150.0,
    compressor=Compressor("rotary", 6.4e-6, 48.0, largest_discharge_temperature=480.0, largest_valve_temperature=480.0),
)
TUBE = Capillary(diameter=0.9e-3, length=1.5)
UA = 30.0  # W/K
VOLUMES = Volumes(hot=0.3e-3, high=0.1e-3, low=0.4e-3, evaporator=0.1e-3, buffer=3e-3, slip="none")
CHARGED = VOLUMES, None, 0.8 * Z  # no oil


@pytest.fixture(scope="module")
def model():
    return load_model("multi-fluid", GASES)


@pytest.fixture(scope="module")
def charged(model):
    return settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, TUBE, UA, *CHARGED), 150.0)


@pytest.fixture(scope="module")
def kept(model):
    return settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, TUBE, UA), 150.0)


@pytest.mark.parametrize("which", ["charged", "kept"])
def test_compressor_moves_what_the_throttle_passes(model, which, request):
    state = request.getfixturevalue(which)
    moved = compress(Fluid(model, Z), state.compressor_inlet, state.discharge_pressure, CIRCUIT.compressor, 295.0).mass_flow
    line = expansion_line(Fluid(model, Z), state.throttle_inlet, state.suction_pressure, points=96)
    assert flow_of_length(line, TUBE) == pytest.approx(moved, rel=0.02)  # the solver's line is coarser


@pytest.mark.parametrize("which", ["charged", "kept"])
def test_cooling_is_that_of_the_plain_circuit_at_these_pressures(model, which, request):
    state = request.getfixturevalue(which)
    circuit = replace(
        CIRCUIT, suction_pressure=state.suction_pressure, discharge_pressure=state.discharge_pressure,
        recuperator_conductance=UA,
    )  # fmt: skip
    plain = solve_circuit(Fluid(model, Z), circuit)
    assert state.cooling_power == pytest.approx(plain.cooling_power, rel=0.005)
    assert state.compression.electrical_power == pytest.approx(plain.compressor_power, rel=0.005)


def test_an_aftercooler_of_a_size_sees_what_the_compressor_sends_it(model):
    """Against the plain circuit of the same sizes at the same pressures; and it falls behind at higher ones."""
    circuit = replace(CIRCUIT, aftercooler=AirCoil(6.0), recuperator_conductance=UA)
    plain = solve_circuit(Fluid(model, Z), circuit)
    found = settle_machine(Fluid(model, Z), FixedMachine(circuit, None, UA), 150.0)
    assert found.contained.cooled.temperature - 295.0 == pytest.approx(plain.aftercooler_approach, abs=0.02)
    assert plain.aftercooler_approach != pytest.approx(circuit.aftercooler_approach, abs=0.5)
    assert found.cooling_power == pytest.approx(plain.cooling_power, rel=0.005)
    warm = settle_machine(Fluid(model, Z), FixedMachine(replace(circuit, suction_pressure=4e5, discharge_pressure=28e5), None, UA), 150.0)
    assert warm.contained.cooled.temperature > found.contained.cooled.temperature + 1.0


def held(model, circuit, conductance, **others):
    """The recuperator at a circuit's own pressures."""
    fluid = Fluid(model, Z)
    pressures = Pressures(
        circuit.throttle_pressure, circuit.aftercooler_pressure, circuit.evaporator_pressure, circuit.suction_pressure
    )

    def compressed(suction):
        return compress(fluid, suction, circuit.discharge_pressure, circuit.compressor, circuit.ambient_temperature)

    return hold_recuperator(fluid, circuit, pressures, circuit.cold_temperature, conductance, compressed, **others)


DROPS = {"high_side_drop": 0.3e5, "low_side_drop": 0.15e5, "aftercooler_drop": 0.1e5}


@pytest.mark.parametrize("changes", [
    {}, DROPS, {"insulation": Insulation(0.1)}, {**DROPS, "insulation": Insulation(0.1, cold_end_share=0.5)},
])  # fmt: skip
def test_at_the_design_s_pressures_the_recuperator_does_what_the_circuit_does(model, changes):
    circuit = replace(CIRCUIT, discharge_pressure=20e5, **changes)
    plain = solve_circuit(Fluid(model, Z), circuit)
    found = held(model, circuit, held_conductance(Fluid(model, Z), circuit))
    assert found.cooling * found.flow == pytest.approx(plain.cooling_power, rel=0.005)
    assert found.flow == pytest.approx(plain.molar_flow, rel=0.001)
    assert found.throttle_inlet.temperature == pytest.approx(plain.points["throttle_inlet"].temperature, abs=0.3)


def test_a_stated_conductance_is_held_as_it_is(model):
    assert held_conductance(Fluid(model, Z), replace(CIRCUIT, recuperator_conductance=12.0)) == 12.0


@pytest.mark.parametrize("conductance", [1e4, float("inf")])
def test_a_very_large_recuperator_is_limited_by_its_pinch(model, conductance):
    """The least isothermal enthalpy difference, which another module finds."""
    plain = solve_circuit(Fluid(model, Z), replace(CIRCUIT, recuperator_approach=0.0))
    assert held(model, CIRCUIT, conductance).cooling == pytest.approx(plain.cooling_capacity, rel=0.005)


def test_hardly_any_recuperator_leaves_the_throttle_s_inlet_warm(model):
    """Without exchange q = h_low(T_cold) - h_high(T_warm)."""
    found = held(model, CIRCUIT, 1e-4)
    fluid, warm = Fluid(model, Z), CIRCUIT.warm_temperature
    nothing = fluid.tp(150.0, CIRCUIT.suction_pressure).enthalpy - fluid.tp(warm, CIRCUIT.discharge_pressure).enthalpy
    assert found.cooling < 0.0 and found.cooling == pytest.approx(nothing, rel=1e-3)
    assert found.throttle_inlet.temperature == pytest.approx(warm, abs=0.1)


@pytest.mark.parametrize("cold", [290.0, 250.0, 200.0, 170.0])
def test_metal_that_cools_keeps_the_energy_balance(model, cold):
    """Between aftercooler and compressor the blend takes up what evaporator, leak and copper give, at one ratio."""
    circuit = replace(CIRCUIT, cold_temperature=cold - 5.0, insulation=Insulation(0.05))
    before = held(model, circuit, UA)
    metal = CooledMetal(2.0, 2000.0, 1500.0, before.profile.mean_temperature + 4.0, before.profile)
    found = held(model, circuit, UA, metal=metal)
    fluid = Fluid(model, Z)
    taken = found.compressor_inlet.enthalpy - fluid.tp(circuit.warm_temperature, circuit.discharge_pressure).enthalpy
    leak = found.taken_up.total - found.from_metal
    assert taken == pytest.approx(found.cooling + leak + found.from_metal, abs=1e-3)
    given = metal.capacity * (metal.temperature - found.metal_temperature)
    assert given > 0.0
    drawn_at_end = found.cooling - metal.load / found.flow
    assert found.from_metal / drawn_at_end == pytest.approx(given / metal.end_heat, rel=1e-2)
    above = found.from_metal * found.flow / (4.0 * UA)
    assert found.metal_temperature == pytest.approx(found.profile.mean_temperature + above, abs=0.05)


def test_without_volumes_the_suction_pressure_is_kept(kept):
    assert kept.suction_pressure == CIRCUIT.suction_pressure and kept.inventory is None


def test_charge_fits(charged):
    assert charged.inventory.amounts == pytest.approx(0.8 * Z, rel=2e-3)


def test_start_from_a_neighbour_gives_the_same(model, charged):
    machine = FixedMachine(CIRCUIT, TUBE, UA, *CHARGED)
    neighbour = settle_machine(Fluid(model, Z), machine, 170.0)
    again = settle_machine(Fluid(model, Z), machine, 150.0, neighbour)
    assert again.suction_pressure == pytest.approx(charged.suction_pressure, rel=5e-3)
    assert again.discharge_pressure == pytest.approx(charged.discharge_pressure, rel=5e-3)


def test_a_wider_tube_lowers_the_discharge_and_a_larger_charge_raises_it(model, kept, charged):
    wider = settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, replace(TUBE, diameter=1.0e-3), UA), 150.0)
    assert wider.discharge_pressure < kept.discharge_pressure
    more = settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, TUBE, UA, VOLUMES, None, 0.9 * Z), 150.0)
    assert more.discharge_pressure > charged.discharge_pressure


def test_at_ambient_the_inlet_is_the_aftercoolers_outlet(model):
    state = settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, TUBE, UA), 303.0)
    low = model.state_tp(Z, 303.0, state.suction_pressure).enthalpy
    high = model.state_tp(Z, 303.0, state.discharge_pressure).enthalpy
    assert state.cooling_capacity == pytest.approx(low - high, rel=1e-9)


def test_the_high_side_begins_behind_the_aftercoolers_drop(model):
    circuit = replace(CIRCUIT, aftercooler_drop=1.4e5)  # a tenth of the discharge pressure
    state = settle_machine(Fluid(model, Z), FixedMachine(circuit, TUBE, UA), 303.0)
    low = model.state_tp(Z, 303.0, state.suction_pressure).enthalpy
    high = model.state_tp(Z, 303.0, 0.9 * state.discharge_pressure).enthalpy
    assert state.cooling_capacity == pytest.approx(low - high, rel=1e-9)


def test_flows_that_do_not_meet_are_no_answer(model):
    """The compressor's gas is too hot for the model before the tube passes enough: a jump, not a balance."""
    hot = replace(CIRCUIT, compressor=replace(CIRCUIT.compressor, isentropic_efficiency=0.1))
    with pytest.raises(UnreachableError, match="stops delivering"):
        settle_machine(Fluid(model, Z), FixedMachine(hot, replace(TUBE, diameter=0.4e-3), UA), 150.0)


def test_refusals(model):
    with pytest.raises(UnreachableError, match="too tight"):
        tight = replace(CIRCUIT, compressor=replace(CIRCUIT.compressor, **TEXTBOOK))  # no leak ends its flow at high pressure
        settle_machine(Fluid(model, Z), FixedMachine(tight, Capillary(diameter=0.1e-3, length=5.0), UA), 150.0)
    with pytest.raises(UnreachableError, match="too wide"):
        settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, Capillary(diameter=15e-3, length=0.1), UA), 150.0)
    with pytest.raises(InputError, match="aftercooler"):
        settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, TUBE, UA), 350.0)
    with pytest.raises(InputError, match="charge"):
        FixedMachine(CIRCUIT, TUBE, UA, VOLUMES, None, 0.0 * Z)
    with pytest.raises(InputError, match="buffer"):
        replace(VOLUMES, buffer=float("nan"))
