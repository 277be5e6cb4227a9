"""`mixjt cycle` and `search` with --circuit: records, files, refusals; one parameter set stands in for both models."""

import csv
import json
from functools import partial
from pathlib import Path

import pytest
from cli_samples import edited, record_of, refusal

from mixjt.case.case import read_case
from mixjt.case.circuit_case import case_circuit, precooling_request
from mixjt.cli.app import main
from mixjt.studies.precooling import precooling_curve

CASE = Path(__file__).parent.parent / "mixtures-demo" / "receiver-precooled.toml"


pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("one_model")]


@pytest.fixture(autouse=True)
def short_curves(monkeypatch):
    """Fewer precooling temperatures of a curve."""
    monkeypatch.setattr(precooling_curve, "__defaults__", (5, 64))


@pytest.fixture
def variant(tmp_path):
    """The demo case with lines replaced, as a file."""
    return partial(edited, tmp_path, CASE)


def test_the_demo_machine_carries_its_load_only_with_the_precooler(capsys, tmp_path):
    out = tmp_path / "run"
    record = record_of(capsys, "cycle", str(CASE), "--circuit", "precooled", "--out", str(out))
    assert record["circuit"] == "precooled"
    assert record["cooling_power_W"] > record["load_W"] > record["plain_cooling_power_W"]
    assert record["total_power_W"] == pytest.approx(record["compressor_power_W"] + record["precooler_power_W"])
    assert record["cop"] == pytest.approx(record["cooling_power_W"] / record["total_power_W"])
    assert record["precooler_duty_W"] <= 140.0 and record["precooler_temperature_K"] == pytest.approx(250.15)
    assert record["freezing_margin_K"] > 3.0
    assert record["energy_residual"] < 1e-6 and record["exergy_residual"] < 1e-6
    names = {"precooling.csv", "precooling.png", "precooling.svg", "pinch.csv", "state_points.csv", "exergy.csv"}
    assert names <= {file.name for file in out.iterdir()}
    with open(out / "precooling.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    assert float(rows[0]["total_power_W"]) > float(rows[-1]["total_power_W"])
    assert json.loads((out / "summary.json").read_text()) == record


def test_the_best_temperature_is_looked_for(capsys, variant):
    case = variant(('temperature = "-23 degC"', 'temperature_range = ["-30 degC", "10 degC"]'))
    record = record_of(capsys, "cycle", case, "--circuit", "precooled")
    assert record["cop"] > 1.5 * record["plain_cop"]
    assert 243.15 <= record["precooler_temperature_K"] <= 283.15


def test_separator_record_and_view(capsys):
    blend = "nitrogen=0.2, methane=0.3, ethane=0.1, propane=0.1, isobutane=0.3"
    arguments = ("cycle", str(CASE), "--circuit", "separator", "--blend", blend)
    record = record_of(capsys, *arguments)
    assert record["circuit"] == "separator" and 0.0 < record["separator_vapour_fraction"] < 1.0
    assert record["separator_liquid"]["isobutane"] > record["separator_vapour"]["isobutane"]
    assert sum(record["separator_liquid"].values()) == pytest.approx(1.0)
    assert "junction_outlet" in [point["place"] for point in record["state_points"]]
    assert main(list(arguments)) == 0
    text = capsys.readouterr().out
    assert "liquid joins the return at" in text and "liquid throttle" in text


def test_a_plain_circuit_stays_as_it_was(capsys):
    record = record_of(capsys, "cycle", str(CASE))
    assert "circuit" not in record and "total_power_W" not in record


def test_search_with_a_precooler(capsys, variant, tmp_path, monkeypatch):
    monkeypatch.setattr("mixjt.studies.size_study.RATIOS", (0.85, 1.0))
    case = variant(
        ("largest_number_of_gases = 4", "largest_number_of_gases = 2\nsamples = 16\nshortlist = 1"),
        ('[[bottle]]\ngas = "isobutane"\n', ""),
    )
    assert main(["search", case, "--circuit", "precooled", "--out", str(tmp_path / "run")]) == 0
    assert "--circuit precooled --blend" in capsys.readouterr().out
    best = json.loads((tmp_path / "run" / "summary.json").read_text())["candidates"][0]
    assert best["circuit"] == "precooled" and best["precooler_duty_W"] <= 140.0
    with open(tmp_path / "run" / "candidates.csv", newline="") as file:
        assert float(next(csv.DictReader(file))["precooler_duty_W"]) == best["precooler_duty_W"]


@pytest.mark.parametrize(
    "verb, kind, changes, complaint",
    [
        ("cycle", "precool", (), 'there is no circuit "precool"; choose one of plain, precooled, separator; did you'),
        ("search", "precooled", (('temperature = "-23 degC"', ""),), "needs a precooling temperature"),
        ("cycle", "precooled", (('"-23 degC"', '"100 degC"'),), "[precooler] temperature: "),
        ("cycle", "precooled", (('"-23 degC"', '"60 degC"'),), "at most the aftercooler outlet"),
        ("cycle", "precooled", (('fluid = "propane"', 'fluid = "propan"'),), 'did you mean propane or'),
        ("cycle", "precooled", (('capacity = "140 W"', 'displacement = "5 cm3"'),), "give speed with it"),
        ("cycle", "separator", (("[search]", '[separator]\ntemperature = "0 degC"\n[search]'),), "below the ambient"),
        (
            "cycle",
            "separator",
            (("[search]", '[separator]\nintermediate_temperature = "80 K"\n[search]'),),
            "above the cold end",
        ),
    ],
)
def test_refuses(capsys, variant, verb, kind, changes, complaint):
    # a temperature that no circuit can have is refused by its key, or by the circuit with the key's place
    assert complaint in refusal(capsys, verb, variant(*changes), "--circuit", kind)


def test_case_to_circuit(variant):
    case = read_case(variant(('capacity = "140 W"', 'displacement = "5 cm3"\nspeed = "2900 rpm"')))
    asked = precooling_request(case)
    assert asked.stated and not asked.circuit.warm_section and asked.circuit.precooler.limited_by_compressor
    assert asked.circuit.precooler.compressor.swept_flow == pytest.approx(5e-6 * 2900 / 60)
    assert case_circuit(case, "plain") is case.circuit
    case = read_case(variant(("[search]", '[separator]\ntemperature = "35 degC"\n[search]')))
    assert case_circuit(case, "separator").warm_temperature == pytest.approx(308.15)
