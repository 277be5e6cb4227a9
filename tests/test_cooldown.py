"""Cool-down: the time integral against a closed form, the lowest temperature, the command and its refusals."""

import csv
import json
import math
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from mixjt.cli.app import main
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.cold_mass import ColdMass
from mixjt.parts.compressor.compression import Compressor
from mixjt.studies import cooldown as study
from mixjt.studies.cooldown import CooldownRequest, cool_down

CASE = Path(__file__).parent.parent / "mixtures-demo" / "receiver-cooldown.toml"
AMBIENT = 300.0


def toy_state(cold, cooling):
    compression = SimpleNamespace(
        electrical_power=100.0, discharge_temperature=380.0, valve_temperature=420.0, suction_pressure=2e5,
        pressure_ratio=6.0, supply_current=0.5,
    )  # fmt: skip
    return SimpleNamespace(
        cold_temperature=cold, cooling_power=cooling, suction_pressure=2e5, discharge_pressure=12e5,
        compression=compression, compressor_inlet=SimpleNamespace(liquids=()),
    )  # fmt: skip


@pytest.fixture
def toy_machine(monkeypatch):
    """Cooling that falls linearly from 80 W at ambient to nothing at 100 K; a mass of constant heat capacity."""
    monkeypatch.setattr(study, "settle_machine", lambda fluid, machine, cold, start: toy_state(cold, 0.4 * (cold - 100.0)))
    monkeypatch.setattr(ColdMass, "heat_capacity", lambda self, temperature, ambient: np.full(np.shape(temperature), 400.0))
    compressor = Compressor("rotary", 6.4e-6, 48.0)
    circuit = SimpleNamespace(ambient_temperature=AMBIENT, compressor=compressor)
    return SimpleNamespace(circuit=circuit, volumes=None)


def test_time_is_that_of_the_closed_form(toy_machine):
    """400 dT/dt = -0.4 (T - 100): t = 1000 s ln((300 - 100) / (T - 100))."""
    request = CooldownRequest(mass=ColdMass(copper=1.0), leak=0.0, load=0.0, target=150.0, coldest=120.0)
    found = cool_down(Fluid(None, [1.0]), toy_machine, request)
    assert found.time_to_target == pytest.approx(1000.0 * math.log(200.0 / 50.0), rel=1e-3)
    assert found.lowest_temperature is None  # it still gains at the coldest


def test_lowest_temperature_is_where_leak_and_load_take_it_all(toy_machine):
    """0.4 (T - 100) = 0.1 (300 - T) + 10 at T = 160 K."""
    request = CooldownRequest(mass=ColdMass(copper=1.0), leak=0.1, load=10.0, target=200.0, coldest=105.0)
    found = cool_down(Fluid(None, [1.0]), toy_machine, request)
    assert found.lowest_temperature == pytest.approx(160.0, abs=1e-6)
    colder = CooldownRequest(mass=ColdMass(copper=1.0), leak=0.1, load=10.0, target=150.0, coldest=105.0)
    assert cool_down(Fluid(None, [1.0]), toy_machine, colder).time_to_target is None


def test_the_charge_at_rest_is_solved_once(toy_machine, monkeypatch):
    solved = []

    def at_rest(fluid, temperature, molar_volume):
        solved.append(molar_volume)
        return SimpleNamespace(pressure=13e5)

    monkeypatch.setattr(study, "standstill_state", at_rest)
    toy_machine.volumes = SimpleNamespace(total=1e-3, charge=2.0)
    request = CooldownRequest(mass=ColdMass(copper=1.0), leak=0.0, load=0.0, target=150.0, coldest=120.0)
    found = cool_down(Fluid(None, [1.0]), toy_machine, request)
    assert solved == [5e-4] and found.standstill_pressure == 13e5
    assert any("at standstill the charge stands at 13 bar" in warning for warning in found.warnings)


def test_a_load_line_that_ends_too_warm_names_its_key():
    with pytest.raises(InputError, match="coldest, 160 K, must not be above the target of 150 K"):
        CooldownRequest(mass=ColdMass(copper=1.0), leak=0.0, load=0.0, target=150.0, coldest=160.0)


def test_a_machine_that_never_starts_says_so(toy_machine):
    request = CooldownRequest(mass=ColdMass(copper=1.0), leak=0.0, load=100.0, target=200.0, coldest=105.0)
    with pytest.raises(UnreachableError, match="does not start"):
        cool_down(Fluid(None, [1.0]), toy_machine, request)


def test_without_a_settled_start_there_are_no_times(toy_machine, monkeypatch):
    def settle_below(fluid, machine, cold, start):
        if cold > AMBIENT - 1.0:
            raise UnreachableError("too tight")
        return toy_state(cold, 50.0)

    monkeypatch.setattr(study, "settle_machine", settle_below)
    request = CooldownRequest(mass=ColdMass(copper=1.0), leak=0.0, load=0.0, target=150.0, coldest=120.0)
    found = cool_down(Fluid(None, [1.0]), toy_machine, request)
    assert found.time_to_target is None and found.times.size == 0 and len(found.lost) == 1
    assert any("no times" in warning for warning in found.warnings)


def test_interruption_keeps_what_was_settled(toy_machine, monkeypatch):
    def settle_until(fluid, machine, cold, start):
        if cold < 200.0:
            raise KeyboardInterrupt
        return toy_state(cold, 50.0)

    monkeypatch.setattr(study, "settle_machine", settle_until)
    request = CooldownRequest(mass=ColdMass(copper=1.0), leak=0.0, load=0.0, target=150.0, coldest=120.0)
    found = cool_down(Fluid(None, [1.0]), toy_machine, request)
    assert found.interrupted and len(found.states) > 3


def test_requests_that_make_no_sense():
    with pytest.raises(InputError, match="at least 0"):
        CooldownRequest(mass=ColdMass(copper=1.0), leak=-1.0, load=0.0, target=150.0, coldest=120.0)
    with pytest.raises(InputError, match="target"):
        CooldownRequest(mass=ColdMass(copper=1.0), leak=0.0, load=0.0, target=120.0, coldest=150.0)


# --- the command


def test_command_writes_load_line_and_way(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(study, "STEPS", 3)
    monkeypatch.setattr(study, "NARROWED", 5)
    out = tmp_path / "run"
    assert main(["cooldown", str(CASE), "--json", "--out", str(out)]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["hot_standing_pressure_Pa"] > record["standing_pressure_Pa"] > 2e5
    assert 90.0 < record["lowest_temperature_K"] < 120.0
    with open(out / "load_line.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    pressures = [float(row["discharge_pressure_Pa"]) for row in rows]
    assert pressures[0] == max(pressures)  # start-up is the hardest
    assert {"load_line.png", "cooldown.png", "cooldown.csv", "summary.json"} <= {p.name for p in out.iterdir()}


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('length = "1.6 m"', "", "needs length"),
        ('charge = "90 g"', "", "lacks charge"),
        ('charge = "90 g"', 'charge = "90"', "unit"),
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
