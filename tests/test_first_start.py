"""The first start: the charge kept, its end against both flows and the settled machine, the answer, the command."""

import json
from dataclasses import replace
from pathlib import Path

import CoolProp.CoolProp as coolprop
import numpy as np
import pytest
from toy_model import PureFluid

from mixjt.case.case import read_case
from mixjt.case.cooldown_case import fixed_machine
from mixjt.case.first_start_case import start_request
from mixjt.circuit.inventory import Charge, Volumes
from mixjt.circuit.settled import settle_machine
from mixjt.cli.app import main
from mixjt.errors import UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts.compressor.compression import Compressor, compress
from mixjt.parts.throttle.capillary import Capillary, flow_of_length
from mixjt.parts.throttle.expansion import expansion_line
from mixjt.studies.first_start import StartRequest, first_start, look_at_start, tripping
from mixjt.units import bar_text

CASE = Path(__file__).parent.parent / "mixtures-demo" / "receiver-cooldown.toml"
ROOM = 295.0
VOLUMES = Volumes(hot=0.8e-3, high=0.4e-3, low=1.5e-3, evaporator=0.1e-3, buffer=3e-3)
MACHINE = Compressor("rotary", 6.4e-6, 48.0, supply_voltage=230.0, largest_supply_current=3.0)
NITROGEN = Fluid(PureFluid("nitrogen", "Nitrogen"), [1.0])
REQUEST = StartRequest(NITROGEN, 2.4, MACHINE, ROOM, VOLUMES, Capillary(0.8e-3, 1.6), 15e5, "R-22", 15.0)


@pytest.fixture(scope="module")
def start():
    return first_start(REQUEST)


def test_the_charge_is_kept_on_the_way(start):
    """Densities from CoolProp's own interface."""

    def density(pressure):
        return coolprop.PropsSI("Dmolar", "T", ROOM, "P", pressure, "Nitrogen")

    assert 5.8e-3 * density(start.standing_pressure) == pytest.approx(2.4, rel=1e-6)
    for one in start.way:
        low, high = one.suction.pressure, one.discharge.pressure
        assert 4.6e-3 * density(low) + 1.2e-3 * density(high) == pytest.approx(2.4, rel=1e-6)
        assert low < start.standing_pressure < high
    lows = [one.suction.pressure for one in start.way]
    assert lows == sorted(lows, reverse=True)


def test_the_way_ends_where_the_throttle_passes_what_is_moved(start):
    end = start.settled
    line = expansion_line(NITROGEN, NITROGEN.tp(ROOM, end.discharge.pressure), end.suction.pressure, points=96)
    assert flow_of_length(line, REQUEST.tube) == pytest.approx(end.mass_flow, rel=0.02)
    assert start.greatest.electrical_power >= max(one.electrical_power for one in start.way)
    assert start.held is start.settled and start.greatest is not start.held


def test_it_ends_near_the_machine_settled_with_a_warm_cold_end():
    """Which counts pressure drops, the aftercooler's approach and the little that the recuperator does.

    The aftercooler is small here: a first start takes its gas as cold as the room.
    """
    case = read_case(CASE)
    blend = case.blend.without_absent()
    fluid = Fluid(load_model("multi-fluid", blend.gases), blend.composition)
    machine = fixed_machine(case, fluid)
    few = 0.09 / fluid.molar_mass * fluid.z  # 90 g, all gas while warm; a first start knows neither slip nor oil
    volumes = replace(machine.volumes, slip="none", hot=0.1e-3)
    machine = replace(machine, oil=None, volumes=volumes, charge=few)
    found = first_start(replace(start_request(case, Charge(fluid.model, few)), volumes=volumes))
    warm = settle_machine(fluid, machine, ROOM)
    assert found.settled.suction.pressure == pytest.approx(warm.suction_pressure, rel=0.1)
    assert found.settled.discharge.pressure == pytest.approx(warm.discharge_pressure, rel=0.1)
    assert found.settled.electrical_power == pytest.approx(warm.compression.electrical_power, rel=0.1)


@pytest.mark.parametrize(
    "held, greatest, answer",
    [(0.9, 1.2, "no"), (1.2, 1.55, "no"), (1.2, 1.7, "may"), (1.4, 1.5, "may"), (1.7, 1.8, "yes")],
)
def test_the_answer_for_currents_over_the_rated_one(held, greatest, answer):
    assert tripping(held, greatest) == answer


def test_a_small_motor_trips_and_a_large_one_does_not(start):
    held, greatest = start.held.supply_current, start.greatest.supply_current
    for rated, answer in ((held / 1.7, "yes"), (held / 1.4, "may"), (greatest / 1.1, "no")):
        machine = replace(MACHINE, largest_supply_current=rated)
        found = first_start(replace(REQUEST, compressor=machine, refrigerant=None))
        assert found.trips == answer and ("crankcase" in found.sentence) == (answer != "no")


def test_a_blend_that_stands_above_the_labels_refrigerant_may_not_start(start):
    machine = replace(MACHINE, largest_supply_current=100.0)
    for refrigerant, name, answer in (("R-134a", "R134a", "may"), ("R-410A", "R410A", "no")):
        found = first_start(replace(REQUEST, compressor=machine, refrigerant=refrigerant))
        own = coolprop.PropsSI("P", "T", ROOM, "Q", 1, name)
        assert found.refrigerant_pressure == pytest.approx(own, rel=1e-3)
        assert found.trips == answer and (start.standing_pressure > own) == (answer == "may")


def test_without_a_current_nothing_is_claimed():
    look = look_at_start(replace(REQUEST, compressor=replace(MACHINE, supply_voltage=None), refrigerant=None))
    assert look.found.trips is None and "is not known: no current tells" in look.warnings[0]


def test_a_wide_throttle_and_a_case_that_tells_too_little():
    wide = replace(REQUEST, tube=Capillary(8e-3, 0.1))
    with pytest.raises(UnreachableError, match="so wide that no pressure builds up"):
        first_start(wide)
    assert look_at_start(wide).warnings[0].startswith("whether the first start trips the motor is not known: the throttle")
    assert look_at_start(None).warnings == ()


def test_the_command_tells_of_it(capsys):
    assert main(["cycle", str(CASE), "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    first = record["first_start"]
    assert first["locked_rotor_current_A"] == 11.0
    assert first["standing_pressure_Pa"] == pytest.approx(record["standing_pressure_Pa"], rel=1e-9)
    assert first["least_trip_current_A"] == pytest.approx(1.3 * 2.2) and first["trips"] == "may"
    assert np.isclose(first["greatest_current_A"] / first["greatest_power_W"], first["held_current_A"] / first["held_power_W"])
    said = " ".join(record["warnings"])
    assert "the first start may trip the motor" in said and "the discharge rises to" in said
    assert main(["cycle", str(CASE)]) == 0
    assert "First start, all warm" in capsys.readouterr().out


def test_a_discharge_that_is_highest_later_is_the_one_told(start):
    highest = max(start.way, key=lambda one: one.discharge.pressure)
    later = compress(NITROGEN, highest.suction, 1.5 * highest.discharge.pressure, MACHINE, ROOM)
    (told,) = [one for one in look_at_start(replace(REQUEST, discharge_pressure=1e5), [later]).warnings if "rises to" in one]
    assert f"rises to {bar_text(later.discharge.pressure)}," in told
