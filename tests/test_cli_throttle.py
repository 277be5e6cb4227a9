"""`mixjt throttle`: what it finds from what is stated, what it prints and writes, and how it refuses."""

import csv
import json
import re
from pathlib import Path

import pytest
from cli_samples import record_of, refusal

from mixjt.cli.app import main

CASE = Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml"


pytestmark = pytest.mark.usefixtures("one_model")


@pytest.fixture
def case(tmp_path):
    def write(keys: str) -> str:
        path = tmp_path / "case.toml"
        without = re.sub(r"^\[throttle\].*\n(?:\w.*\n)*", "", CASE.read_text(), flags=re.MULTILINE)
        path.write_text(f"{without}\n[throttle]\n{keys}\n")
        return str(path)

    return write


def test_length_diameter_and_flow_are_one_question(capsys, case):
    cut = record_of(capsys, "throttle", case('diameter = "0.66 mm"'))
    assert cut["found"] == "length" and cut["mass_flow_g_per_s"] == pytest.approx(cut["circuit_mass_flow_g_per_s"])
    bored = record_of(capsys, "throttle", case(f'length = "{cut["length_m"]!r} m"'))
    assert bored["found"] == "diameter" and bored["diameter_m"] == pytest.approx(0.66e-3, rel=1e-6)
    passed = record_of(capsys, "throttle", case(f'diameter = "0.66 mm"\nlength = "{cut["length_m"]!r} m"'))
    assert passed["found"] == "flow"
    assert passed["mass_flow_g_per_s"] == pytest.approx(cut["mass_flow_g_per_s"], rel=1e-6)
    assert passed["outlet_pressure_Pa"] == pytest.approx(3.15e5) and passed["outlet_temperature_K"] < 120.0


def test_text_states_the_band_and_the_cautions(capsys, case):
    assert main(["throttle", case('diameter = "0.66 mm"\nvalve_kv = 0.003')]) == 0
    text = capsys.readouterr().out
    for expected in ("within 25 %", "cut the tube long", "found: the length", "Other bores", "Cautions"):
        assert expected in text
    assert re.search(r"^Kv for the circuit's flow, homogeneous expansion +[\d.]+ +m3/h *$", text, re.MULTILINE)
    assert re.search(r"^temperature behind the throttle +[\d.]+ +K *$", text, re.MULTILINE)


def test_a_tube_of_another_flow_is_warned_of(capsys, case):
    record = record_of(capsys, "throttle", case('diameter = "1.2 mm"\nlength = "2 m"'))
    assert any("passes more than the compressor delivers" in warning for warning in record["warnings"])


def test_heat_to_the_return_line(capsys, case):
    # the inlet is only an approach warmer than the evaporator outlet here, so the end of the tube is colder
    record = record_of(capsys, "throttle", case('diameter = "0.66 mm"\nreturn_effectiveness = 0.2'))
    assert record["heat_to_return_J_per_mol"] > 0.0
    assert any("solder only the part before it" in warning for warning in record["warnings"])


def test_tables_plot_and_summary(tmp_path, capsys, case):
    out = tmp_path / "run"
    printed = record_of(capsys, "throttle", case('diameter = "0.66 mm"'), "--out", str(out))
    tables = {"summary.json", "throttle_profile.csv", "throttle_sensitivity.csv", "throttle_bores.csv"}
    assert {path.name for path in out.iterdir()} == tables | {"throttle.png", "throttle.svg"}
    assert json.loads((out / "summary.json").read_text()) == printed
    with open(out / "throttle_profile.csv", newline="") as file:
        rows = [{key: float(value) for key, value in row.items()} for row in csv.DictReader(file)]
    assert rows[-1]["position_m"] == pytest.approx(printed["length_m"])
    assert rows[-1]["pressure_Pa"] == pytest.approx(printed["tube_end_pressure_Pa"])
    velocity = printed["mass_flux_kg_per_m2_s"] * rows[-1]["volume_m3_per_kg"]
    assert rows[-1]["velocity_m_per_s"] == pytest.approx(velocity)


@pytest.mark.parametrize(
    "keys, complaint",
    [
        ("", "give the diameter of the capillary, its length, or both"),
        ('diameter = "0.66"', "a length needs its unit"),
        ('diametre = "0.66 mm"', "did you mean diameter?"),
        ('diameter = "0.25 mm"', "cannot pass"),
        ('diameter = "0.66 mm"\nparallel = 0', "out of range"),
        ('diameter = "0.66 mm"\nheat_to_return = "1 W/m"\nreturn_effectiveness = 0.1', "give either this or"),
        ('length = "2 m"\nheat_to_return = "1 W/m"', "needs a stated diameter"),
        ('diameter = "0.66 mm"\nheat_to_return = "300 W/m"', "more than brings the inlet to"),
        ('diameter = "0.1 mm"\nlength = "1 m"\ntolerance = "0.06 mm"', "less than half the diameter"),
    ],
)
def test_refuses(capsys, case, keys, complaint):
    assert complaint in refusal(capsys, "throttle", case(keys))
