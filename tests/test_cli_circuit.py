"""`mixjt cycle`, `pinch` and `phases`: what they print and write, and how they refuse.

A closed-form blend stands in for the property engine: here only what the commands do with a result counts.
"""

import csv
import io
import json
import re
from pathlib import Path

import pytest
from cli_samples import refusal
from toy_model import IdealBlend

from mixjt.case.case import read_case
from mixjt.cli import solved_case as request
from mixjt.cli.app import main

CASE = str(Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml")
WRONG_KEY = str(Path(CASE).with_name("wrong-key.toml"))
BLEND = "nitrogen=0.3, methane=0.18, ethane=0.25, propane=0.12, isobutane=0.15"
COMMANDS = ("cycle", "pinch", "phases")
UNITS = {  # of figures and over the columns of tables
    "cycle": (r"^discharge temperature, line +[\d.]+ +K *$", r"^electrical power +[\d.]+ +W *$", r"^ place +K +bar abs +J/mol"),
    "pinch": (r"^conductance UA +[\d.]+ +W/K *$", r"^ +J/mol +K +K +K *$"),
    "phases": (r"^ side +bar abs +K +K +K *$", r"^ +K +suction +mol/mol +discharge +mol/mol *$"),
}
REQUIRED_KEYS = {
    "cooling_capacity_J_per_mol", "cooling_power_W", "min_enthalpy_difference_J_per_mol",
    "pinch_temperature_K", "smallest_approach_K", "dew_point_low_K", "bubble_point_low_K",
    "dew_point_high_K", "bubble_point_high_K", "suction_superheat_K", "throttle_outlet_K",
    "discharge_temperature_K", "molar_flow_mol_per_s", "mass_flow_g_per_s", "compressor_power_W",
    "supply_current_A", "cop", "carnot_fraction", "model", "warnings", "blend",
}  # fmt: skip
DRAWING = "mixjt: drawing the pictures; Ctrl-C leaves them out\n"


@pytest.fixture(autouse=True)
def toy_model(monkeypatch):
    monkeypatch.setattr(request, "chosen_model", lambda name, gases: IdealBlend(gases))
    monkeypatch.setattr("mixjt.fluid.envelope.HIGHEST_PRESSURE", 20e5)  # the toy knows no critical point
    monkeypatch.setattr("mixjt.studies.envelopes.ROUND_PRESSURES", (1e5, 5e5))
    monkeypatch.setattr("mixjt.fluid.envelope.HIGHEST_PRESSURE", 20e5)
    monkeypatch.setattr("mixjt.fluid.standstill.HIGHEST_PRESSURE", 60e5)


def stdout_of(capsys, *arguments):
    assert main(list(arguments)) == 0
    captured = capsys.readouterr()
    assert captured.err in ("", DRAWING)
    return captured.out


def rows_of(path):
    with open(path, newline="") as file:
        return list(csv.DictReader(file))


def test_cycle_json_has_the_required_keys_and_consistent_values(capsys):
    record = json.loads(stdout_of(capsys, "cycle", CASE, "--json", "--blend", BLEND))
    assert REQUIRED_KEYS <= record.keys()
    assert record["blend"] == pytest.approx(
        {"nitrogen": 0.3, "methane": 0.18, "ethane": 0.25, "propane": 0.12, "isobutane": 0.15}
    )
    flow = record["molar_flow_mol_per_s"]
    assert record["cooling_power_W"] == pytest.approx(record["cooling_capacity_J_per_mol"] * flow)
    assert record["cop"] == pytest.approx(record["cooling_power_W"] / record["compressor_power_W"])
    masses = {"nitrogen": 28.0134, "methane": 16.043, "ethane": 30.07, "propane": 44.097, "isobutane": 58.123}
    mean = sum(share * masses[gas] for gas, share in record["blend"].items())  # IUPAC atomic weights
    assert record["mass_flow_g_per_s"] == pytest.approx(flow * mean, rel=1e-3)
    places = [point["place"] for point in record["state_points"]]
    assert places[0] == "compressor_inlet" and places[-1] == "evaporator_outlet"
    assert record["state_points"][-2]["temperature_K"] == record["throttle_outlet_K"]


@pytest.mark.parametrize("command", ("cycle", "pinch"))
def test_one_model_is_loaded_and_the_band_stands_beside(capsys, monkeypatch, command):
    asked = []

    def model_of(name, gases):
        asked.append(name)
        return IdealBlend(gases)

    monkeypatch.setattr(request, "chosen_model", model_of)
    record = json.loads(stdout_of(capsys, command, CASE, "--json", "--blend", BLEND))
    assert asked == ["multi-fluid"]
    assert record["cooling_band_fraction"] == pytest.approx(15.0 / record["cooling_capacity_J_per_mol"])
    assert record["cooling_band_pair"] is None and "pure gases" in record["cooling_band_basis"]


def test_what_is_not_available_is_null(tmp_path, capsys):
    text = Path(CASE).read_text().replace('voltage = "230 V"', "").replace('load = "12 W"', "")
    (tmp_path / "case.toml").write_text(text)
    record = json.loads(stdout_of(capsys, "cycle", str(tmp_path / "case.toml"), "--json", "--blend", BLEND))
    assert record["supply_current_A"] is None and record["load_W"] is None


def test_a_load_beyond_the_cooling_power_is_a_warning(tmp_path, capsys):
    text = Path(CASE).read_text().replace('load = "12 W"', 'load = "500 W"')
    (tmp_path / "case.toml").write_text(text)
    record = json.loads(stdout_of(capsys, "cycle", str(tmp_path / "case.toml"), "--json", "--blend", BLEND))
    assert any("falls short of the load of 500 W" in warning for warning in record["warnings"])


@pytest.mark.parametrize("command", COMMANDS)
def test_text_names_model_units_and_cautions(capsys, command):
    text = stdout_of(capsys, command, CASE, "--blend", BLEND)
    for expected in (
        "ideal blend",
        "30 % nitrogen",
        "1.4 GHz receiver",
        "Cautions",
        "Flammable: methane",
    ):
        assert expected in text
    for units in UNITS[command]:
        assert re.search(units, text, re.MULTILINE)


def test_cycle_text_carries_the_warnings(capsys):
    warnings = json.loads(stdout_of(capsys, "cycle", CASE, "--json", "--blend", BLEND))["warnings"]
    text = " ".join(stdout_of(capsys, "cycle", CASE, "--blend", BLEND).split())
    assert warnings
    for warning in warnings:
        assert warning in text


def test_cycle_writes_tables_plots_and_summary(tmp_path, capsys):
    out = tmp_path / "run"
    printed = json.loads(stdout_of(capsys, "cycle", CASE, "--json", "--blend", BLEND, "--out", str(out)))
    names = {path.name for path in out.iterdir()}
    tables = {"state_points.csv", "exergy.csv", "pinch.csv", "enthalpy_difference.csv", "summary.json"}
    plots = {
        f"{stem}.{kind}" for stem in ("circuit", "pinch", "enthalpy_difference") for kind in ("png", "svg")
    }
    assert names == tables | plots
    assert json.loads((out / "summary.json").read_text()) == printed
    points = rows_of(out / "state_points.csv")
    assert [float(row["temperature_K"]) for row in points] == [
        point["temperature_K"] for point in printed["state_points"]
    ]
    exergy = sum(float(row["exergy_W"]) for row in rows_of(out / "exergy.csv"))
    assert exergy == pytest.approx(printed["compressor_power_W"], rel=1e-9)
    curve = rows_of(out / "pinch.csv")
    assert min(float(row["approach_K"]) for row in curve) == pytest.approx(
        printed["smallest_approach_K"], abs=1e-6
    )
    assert (out / "pinch.png").read_bytes().startswith(b"\x89PNG")


def test_pinch_json_has_both_curves(capsys):
    record = json.loads(stdout_of(capsys, "pinch", CASE, "--json", "--blend", BLEND))
    difference = [row["enthalpy_difference_J_per_mol"] for row in record["enthalpy_difference_curve"]]
    assert min(difference) == pytest.approx(record["min_enthalpy_difference_J_per_mol"])
    heat = [row["heat_J_per_mol"] for row in record["pinch_curve"]]
    assert heat == sorted(heat) and len(heat) >= 32


def test_phases_json_and_table(tmp_path, capsys):
    out = tmp_path / "run"
    record = json.loads(stdout_of(capsys, "phases", CASE, "--json", "--blend", BLEND, "--out", str(out)))
    assert record["bubble_point_low_K"] < record["bubble_point_high_K"] < record["dew_point_high_K"]
    assert record["glide_low_K"] == pytest.approx(record["dew_point_low_K"] - record["bubble_point_low_K"])
    for row in rows_of(out / "phases.csv"):
        side = "low" if float(row["pressure_Pa"]) == record["suction_pressure_Pa"] else "high"
        above_dew = float(row["temperature_K"]) > record[f"dew_point_{side}_K"]
        assert (row["phases"] == "vapour") == above_dew
        assert 0.0 <= float(row["vapour_fraction"]) <= 1.0
    for row in rows_of(out / "saturation.csv"):
        assert float(row["bubble_point_K"]) < float(row["dew_point_K"])
    envelope = rows_of(out / "envelope.csv")
    assert min(float(row["temperature_K"]) for row in envelope) < record["bubble_point_low_K"]
    assert {row["curve"] for row in envelope} == {"bubble", "dew"}
    assert (out / "envelope.svg").read_text().startswith("<?xml")


def test_phases_tells_the_pressure_at_rest(tmp_path, capsys):
    case = tmp_path / "case.toml"
    text = re.sub(r"\[volumes\].*?\n\n", "", Path(CASE).read_text(), flags=re.DOTALL)
    case.write_text(text.replace("[standstill]", "[standstill]\nvolume = '4 L'\ncharge = '60 g'") + "\n")
    record = json.loads(stdout_of(capsys, "phases", str(case), "--json", "--blend", BLEND))
    (row,) = record["standstill"]
    assert row["charge_g"] == pytest.approx(60.0)
    assert row["hottest_pressure_Pa"] > row["ambient_pressure_Pa"] > 1e5


def test_a_gas_with_fraction_nought_is_left_out(capsys):
    record = json.loads(stdout_of(capsys, "cycle", CASE, "--json", "--blend", BLEND + ", neon=0"))
    assert "neon" not in record["blend"]


def test_a_plot_that_fails_costs_neither_result_nor_tables(tmp_path, capsys, monkeypatch):
    def fails(*_):
        raise OSError(28, "No space left on device")

    (tmp_path / "pinch.png").write_text("of an earlier run")
    monkeypatch.setattr("mixjt.plots.save.save_figure", fails)
    assert main(["cycle", CASE, "--blend", BLEND, "--json", "--out", str(tmp_path)]) == 2
    captured = capsys.readouterr()
    assert json.loads(captured.out) == json.loads((tmp_path / "summary.json").read_text())
    assert captured.err.splitlines()[-1].endswith("No space left on device")
    assert (tmp_path / "pinch.csv").exists() and not list(tmp_path.glob("*.png"))


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    "arguments, complaint",
    [
        ([], "Missing argument"),
        ([CASE, "more"], "unexpected extra argument"),
        ([CASE, "--blend", "nitrogen=0.5, propane=0.6"], "sum to 1.1"),
        ([CASE, "--blend", "nitrogen=0.5, propan=0.5"], "unknown gas 'propan'"),
        ([CASE, "--blend", "nitrogen"], 'cannot read "nitrogen"'),
        ([WRONG_KEY], "line 9, [compressor] displacment: there is no such key; did you mean displacement?"),
        (["nowhere.toml"], "there is no such file"),
        (["/"], "is a directory"),
    ],
)
def test_refuses(capsys, command, arguments, complaint):
    assert complaint in refusal(capsys, command, *arguments)


@pytest.mark.parametrize("command", COMMANDS)
def test_no_blend_anywhere(tmp_path, capsys, command):
    head, _, tail = Path(CASE).read_text().partition("[blend]")
    (tmp_path / "case.toml").write_text(head + "[search]" + tail.partition("[search]")[2])
    assert read_case(tmp_path / "case.toml").blend is None
    assert "has no [blend]" in refusal(capsys, command, str(tmp_path / "case.toml"))


def test_a_blend_that_cannot_cool_is_an_unreachable_request(capsys):
    message = refusal(capsys, "cycle", CASE, "--blend", "propane=1")
    assert "no cooling at 120 K" in message


def test_a_title_beyond_the_terminal_encoding(tmp_path, monkeypatch):
    text = Path(CASE).read_text().replace("1.4 GHz receiver at 120 K", "Empfänger, 冷")
    (tmp_path / "case.toml").write_text(text, encoding="utf-8")
    screen = io.TextIOWrapper(io.BytesIO(), encoding="ascii", errors="strict")
    monkeypatch.setattr("sys.stdout", screen)
    assert main(["phases", str(tmp_path / "case.toml"), "--blend", BLEND]) == 0
    screen.seek(0)
    assert screen.readline() == "Empf?nger, ?\n"


def test_an_interruption_before_there_is_a_result_gives_130_and_leaves_nothing(tmp_path, capsys, monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("mixjt.cli.solved_case.solved_kind", interrupted)
    assert main(["cycle", CASE, "--blend", BLEND, "--out", str(tmp_path / "run")]) == 130
    assert list(tmp_path.iterdir()) == [] and capsys.readouterr().out == ""
