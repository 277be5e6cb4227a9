"""Cool-down: the time integral against a closed form, the lowest temperature, the command and its refusals."""

import csv
import json
import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import trapezoid
from scipy.interpolate import PchipInterpolator

from mixjt.case.case import read_case
from mixjt.case.cooldown_case import case_capillary
from mixjt.circuit.fixed_machine import FixedMachine
from mixjt.cli.app import main
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts.cold_mass import ColdMass, specific_heat
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.insulation import Insulation
from mixjt.studies import cooldown as study
from mixjt.studies.cooldown import CooldownRequest, cool_down

CASE = Path(__file__).parent.parent / "mixtures-demo" / "receiver-cooldown.toml"
AMBIENT = 300.0


def toy_state(cold, cooling, from_copper=0.0, copper=AMBIENT):
    compression = SimpleNamespace(
        electrical_power=100.0, discharge_temperature=380.0, valve_temperature=420.0, suction_pressure=2e5,
        pressure_ratio=6.0, supply_current=0.5,
    )  # fmt: skip
    return SimpleNamespace(
        cold_temperature=cold, cooling_power=cooling, suction_pressure=2e5, discharge_pressure=12e5,
        compression=compression, compressor_inlet=SimpleNamespace(liquids=()), from_recuperator_metal=from_copper,
        recuperator=SimpleNamespace(metal_temperature=copper, profile=None),
    )  # fmt: skip


@pytest.fixture
def toy_machine(monkeypatch):
    """Cooling that falls linearly from 80 W at ambient to nothing at 100 K; a mass of constant heat capacity."""
    monkeypatch.setattr(
        study, "settle_machine", lambda fluid, machine, cold, start, metal: toy_state(cold, 0.4 * (cold - 100.0))
    )
    monkeypatch.setattr(ColdMass, "end_capacity", lambda self, temperature: np.full(np.shape(temperature), 400.0))
    compressor = Compressor("rotary", 6.4e-6, 48.0)
    circuit = SimpleNamespace(ambient_temperature=AMBIENT, compressor=compressor)
    return SimpleNamespace(circuit=circuit, volumes=None, charge=None)


def asked(**changes):
    return CooldownRequest(**{"mass": ColdMass(copper=1.0), "load": 0.0, "target": 150.0, "coldest": 120.0} | changes)


def test_time_is_that_of_the_closed_form(toy_machine):
    """400 dT/dt = -0.4 (T - 100): t = 1000 s ln((300 - 100) / (T - 100))."""
    found = cool_down(Fluid(None, [1.0]), toy_machine, asked())
    assert found.time_to_target == pytest.approx(1000.0 * math.log(200.0 / 50.0), rel=1e-3)
    assert found.lowest_temperature is None  # it still gains at the coldest


def test_copper_that_cools_half_as_far_adds_half_its_heat_capacity(toy_machine, monkeypatch):
    """(400 + 300/2) dT/dt = -0.4 (T - 100), whichever part of the cooling the copper takes."""

    def settle(fluid, machine, cold, start, metal):
        power, copper = 0.4 * (cold - 100.0), 0.5 * (cold + AMBIENT)
        taken = 0.0 if metal is None else power * 150.0 / 550.0
        return toy_state(cold, power - taken, taken, copper)

    monkeypatch.setattr(study, "settle_machine", settle)
    monkeypatch.setattr(ColdMass, "recuperator_capacity", lambda self, temperature: np.full(np.shape(temperature), 300.0))
    found = cool_down(Fluid(None, [1.0]), toy_machine, asked())
    assert found.time_to_target == pytest.approx(1375.0 * math.log(200.0 / 50.0), rel=1e-3)
    assert found.way.copper_temperatures[-1] == pytest.approx(225.0, abs=0.01)


def test_lowest_temperature_is_where_the_load_takes_it_all(toy_machine):
    """0.4 (T - 100) = 24 at T = 160 K."""
    found = cool_down(Fluid(None, [1.0]), toy_machine, asked(load=24.0, target=200.0, coldest=105.0))
    assert found.lowest_temperature == pytest.approx(160.0, abs=1e-6)
    assert cool_down(Fluid(None, [1.0]), toy_machine, asked(load=24.0, coldest=105.0)).time_to_target is None


def test_the_charge_at_rest_is_solved_once(toy_machine, monkeypatch):
    solved = []

    def at_rest(fluid, temperature, molar_volume):
        solved.append((fluid.z.tolist(), molar_volume))
        return 13e5

    monkeypatch.setattr(study, "standstill_pressure", at_rest)
    toy_machine.volumes, toy_machine.charge = SimpleNamespace(total=1e-3), np.array([1.5, 0.5])
    request = asked()
    found = cool_down(Fluid(None, [0.5, 0.5]), toy_machine, request)
    assert solved == [([0.75, 0.25], 5e-4)] and found.standstill_pressure == 13e5
    assert any("at standstill the charge stands at 13 bar" in warning for warning in found.warnings)


def test_a_load_line_that_ends_too_warm_names_its_key():
    with pytest.raises(InputError, match="coldest, 160 K, must not be above the target of 150 K"):
        asked(coldest=160.0)


def test_a_machine_that_never_starts_says_so(toy_machine):
    request = asked(load=100.0, target=200.0, coldest=105.0)
    with pytest.raises(UnreachableError, match="does not start"):
        cool_down(Fluid(None, [1.0]), toy_machine, request)


def test_without_a_settled_start_there_are_no_times(toy_machine, monkeypatch):
    def settle_below(fluid, machine, cold, start, metal):
        if cold > AMBIENT - 1.0:
            raise UnreachableError("too tight")
        return toy_state(cold, 50.0)

    monkeypatch.setattr(study, "settle_machine", settle_below)
    request = asked()
    found = cool_down(Fluid(None, [1.0]), toy_machine, request)
    assert found.time_to_target is None and found.way.times.size == 0 and len(found.lost) == 1
    assert any("no times" in warning for warning in found.warnings)


def test_interruption_keeps_what_was_settled(toy_machine, monkeypatch):
    def settle_until(fluid, machine, cold, start, metal):
        if cold < 200.0:
            raise KeyboardInterrupt
        return toy_state(cold, 50.0)

    monkeypatch.setattr(study, "settle_machine", settle_until)
    request = asked()
    found = cool_down(Fluid(None, [1.0]), toy_machine, request)
    assert found.interrupted and len(found.states) > 3


def test_energy_closes_over_a_cool_down():
    """What the blend carries from the cold box to the compressor is what metal, load and leak gave, added up over time.

    Sources: the balance of the box alone, h after the recuperator less h before it, integrated over the states.
    """
    case = read_case(CASE)
    fluid = Fluid(load_model("multi-fluid", case.blend.gases), case.blend.composition)
    circuit = replace(case.circuit, insulation=Insulation(0.03), coil=None)
    machine = FixedMachine(circuit, case_capillary(case), 60.0)
    mass, load = ColdMass(copper=1.0, recuperator_copper=6.0), 5.0
    found = cool_down(fluid, machine, CooldownRequest(mass=mass, load=load, target=200.0, coldest=185.0))
    way = found.way
    carried, leaks = [], []
    for moment in way.moments:
        state = moment.settled
        before = fluid.tp(circuit.warm_temperature, machine.warm_share * state.discharge_pressure)
        carried.append(state.molar_flow * (state.compressor_inlet.enthalpy - before.enthalpy))
        leaks.append(state.molar_flow * state.recuperator.taken_up.total - state.from_recuperator_metal)

    def over_time(values):
        from_warm = PchipInterpolator([-one.settled.cold_temperature for one in way.moments], values)
        return trapezoid(from_warm(-way.cold_temperatures), way.times)

    def given(metal, start, end):
        at = np.linspace(end, start, 400)
        return trapezoid(specific_heat(metal, at), at)

    metal = given("copper", way.cold_temperatures[0], way.cold_temperatures[-1])
    metal += 6.0 * given("copper", way.copper_temperatures[0], way.copper_temperatures[-1])
    assert way.copper_temperatures[-1] < 250.0 and found.time_to_target == way.times[-1]
    assert over_time(carried) == pytest.approx(metal + load * way.times[-1] + over_time(leaks), rel=2e-3)


def test_requests_that_make_no_sense():
    with pytest.raises(InputError, match="at least 0"):
        asked(load=-1.0)
    with pytest.raises(InputError, match="target"):
        asked(target=120.0, coldest=150.0)


# --- the command


def test_command_writes_load_line_and_way(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(study, "STEPS", 3)
    monkeypatch.setattr(study, "NARROWED", 2)
    out = tmp_path / "run"
    assert main(["cooldown", str(CASE), "--json", "--out", str(out)]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["charge_mass_g"] == pytest.approx(sum(row["mass_g"] for row in record["charge_by_gas"]), rel=1e-9)
    assert record["hot_standing_pressure_Pa"] > record["standing_pressure_Pa"] > 2e5
    assert 90.0 < record["lowest_temperature_K"] < 120.0
    with open(out / "load_line.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    pressures = [float(row["discharge_pressure_Pa"]) for row in rows]
    way = record["cool_down"]
    assert [row["time_s"] for row in way] == sorted(row["time_s"] for row in way) and len(way) > 2
    assert way[-1]["cold_temperature_K"] == pytest.approx(120.0) and way[-1]["time_s"] == pytest.approx(record["time_to_target_s"])
    assert pressures[0] == max(pressures)  # start-up is the hardest
    assert way[-1]["circulating_nitrogen"] > way[0]["circulating_nitrogen"]  # heavy gases stay behind in the cold
    assert way[-1]["recuperator_g"] > way[0]["recuperator_g"]
    assert {"load_line.png", "cooldown.png", "cooldown.csv", "summary.json"} <= {p.name for p in out.iterdir()}


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('copper = "1.0 kg"', 'copper = "1.0 kg"\nheat_leak = "0.05 W/K"', "heat_leak"),
        ('length = "1.6 m"', "", "needs length"),
        ('buffer = "6 L"', "", "lacks buffer"),
        ('buffer = "6 L"', 'buffer = "5"', "unit"),
        ('buffer = "6 L"', 'buffer = "6 L"\ncharge = "90 g"', "it belongs to [charge], gas by gas"),
        ("[volumes]", '[charge]\nargon = "5"\n\n[volumes]', "unit"),
        ("[volumes]", '[charge]\nargom = "5 g"\n\n[volumes]', "argon"),
        ("[volumes]", "[charge]\n\n[volumes]", "holds nothing"),
        ("[cold_mass]", "[cold_mas]", "did you mean [cold_mass]"),
        ('copper = "1.0 kg"', 'coper = "1.0 kg"', "did you mean copper"),
    ],
)
def test_command_refuses_in_one_line(tmp_path, capsys, old, new, told):
    text = CASE.read_text()
    assert old in text
    case = tmp_path / "case.toml"
    case.write_text(text.replace(old, new))
    assert main(["cooldown", str(case)]) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and captured.err.count("\n") == 1
    assert told in captured.err
