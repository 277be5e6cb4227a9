"""The settled machine against its two conditions, computed anew, and the plain circuit at the same pressures."""

from dataclasses import replace

import numpy as np
import pytest
from circuit_samples import TEXTBOOK, machine

from mixjt.circuit.settled import FixedMachine, Volumes, settle_machine
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts.compressor.compression import Compressor, compress
from mixjt.parts.throttle.capillary import Capillary, flow_of_length
from mixjt.parts.throttle.expansion import expansion_line

GASES, Z = ("nitrogen", "methane", "propane"), np.array([0.15, 0.45, 0.40])
CIRCUIT = machine(
    discharge_pressure=14e5,
    cold_temperature=150.0,
    compressor=Compressor("rotary", 6.4e-6, 48.0, largest_discharge_temperature=480.0, largest_valve_temperature=480.0),
)
TUBE = Capillary(diameter=0.9e-3, length=1.5)
VOLUMES = Volumes(hot=0.3e-3, high=0.1e-3, low=0.4e-3, evaporator=0.1e-3, buffer=3e-3, charge=0.8)


@pytest.fixture(scope="module")
def model():
    return load_model("multi-fluid", GASES)


@pytest.fixture(scope="module")
def charged(model):
    return settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, TUBE, VOLUMES), 150.0)


@pytest.fixture(scope="module")
def kept(model):
    return settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, TUBE), 150.0)


@pytest.mark.parametrize("which", ["charged", "kept"])
def test_compressor_moves_what_the_throttle_passes(model, which, request):
    state = request.getfixturevalue(which)
    moved = compress(Fluid(model, Z), state.compressor_inlet, state.discharge_pressure, CIRCUIT.compressor, 295.0).mass_flow
    line = expansion_line(Fluid(model, Z), state.throttle_inlet, state.suction_pressure, points=96)
    assert flow_of_length(line, TUBE) == pytest.approx(moved, rel=0.02)  # the solver's line has 24 points


@pytest.mark.parametrize("which", ["charged", "kept"])
def test_cooling_is_that_of_the_plain_circuit_at_these_pressures(model, which, request):
    state = request.getfixturevalue(which)
    circuit = replace(
        CIRCUIT, suction_pressure=state.suction_pressure, discharge_pressure=state.discharge_pressure
    )
    plain = solve_circuit(Fluid(model, Z), circuit)
    assert state.cooling_power == pytest.approx(plain.cooling_power, rel=0.01)  # a fixed grid misses kinks
    assert state.compression.electrical_power == pytest.approx(plain.compressor_power, rel=0.01)


def test_without_volumes_the_suction_pressure_is_kept(kept):
    assert kept.suction_pressure == CIRCUIT.suction_pressure and kept.stored is None


def test_charge_fits(charged):
    assert charged.stored == pytest.approx(VOLUMES.charge, rel=2e-3)


def test_start_from_a_neighbour_gives_the_same(model, charged):
    machine = FixedMachine(CIRCUIT, TUBE, VOLUMES)
    neighbour = settle_machine(Fluid(model, Z), machine, 170.0)
    again = settle_machine(Fluid(model, Z), machine, 150.0, neighbour)
    assert again.suction_pressure == pytest.approx(charged.suction_pressure, rel=5e-3)
    assert again.discharge_pressure == pytest.approx(charged.discharge_pressure, rel=5e-3)


def test_a_wider_tube_lowers_the_discharge_and_a_larger_charge_raises_it(model, kept, charged):
    wider = settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, replace(TUBE, diameter=1.0e-3)), 150.0)
    assert wider.discharge_pressure < kept.discharge_pressure
    more = settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, TUBE, replace(VOLUMES, charge=0.9)), 150.0)
    assert more.discharge_pressure > charged.discharge_pressure


def test_at_ambient_the_inlet_is_the_aftercoolers_outlet(model):
    state = settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, TUBE), 303.0)
    low = model.state_tp(Z, 303.0, state.suction_pressure).enthalpy
    high = model.state_tp(Z, 303.0, state.discharge_pressure).enthalpy
    assert state.cooling_capacity == pytest.approx(low - high, rel=1e-9)


def test_the_high_side_begins_behind_the_aftercoolers_drop(model):
    circuit = replace(CIRCUIT, aftercooler_drop=1.4e5)  # a tenth of the discharge pressure
    state = settle_machine(Fluid(model, Z), FixedMachine(circuit, TUBE), 303.0)
    low = model.state_tp(Z, 303.0, state.suction_pressure).enthalpy
    high = model.state_tp(Z, 303.0, 0.9 * state.discharge_pressure).enthalpy
    assert state.cooling_capacity == pytest.approx(low - high, rel=1e-9)


def test_flows_that_do_not_meet_are_no_answer(model):
    """The compressor's gas is too hot for the model before the tube passes enough: a jump, not a balance."""
    hot = replace(CIRCUIT, compressor=replace(CIRCUIT.compressor, isentropic_efficiency=0.1))
    with pytest.raises(UnreachableError, match="stops delivering"):
        settle_machine(Fluid(model, Z), FixedMachine(hot, replace(TUBE, diameter=0.4e-3)), 150.0)


def test_refusals(model):
    with pytest.raises(UnreachableError, match="too tight"):
        tight = replace(CIRCUIT, compressor=replace(CIRCUIT.compressor, **TEXTBOOK))  # no leak ends its flow at high pressure
        settle_machine(Fluid(model, Z), FixedMachine(tight, Capillary(diameter=0.1e-3, length=5.0)), 150.0)
    with pytest.raises(UnreachableError, match="too wide"):
        settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, Capillary(diameter=15e-3, length=0.1)), 150.0)
    with pytest.raises(InputError, match="aftercooler"):
        settle_machine(Fluid(model, Z), FixedMachine(CIRCUIT, TUBE), 350.0)
    with pytest.raises(InputError, match="charge"):
        replace(VOLUMES, charge=0.0)
    with pytest.raises(InputError, match="buffer"):
        replace(VOLUMES, buffer=float("nan"))
