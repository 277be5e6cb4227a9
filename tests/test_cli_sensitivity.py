"""`mixjt sensitivity` and `mixjt search --robust`: what they print and write, and how they refuse."""

import csv
import json
import re
from dataclasses import replace
from itertools import islice
from pathlib import Path

import pytest
from cli_samples import record_of, refusal

from mixjt.case.case import read_case
from mixjt.circuit.solve import solve_circuit
from mixjt.cli import solved_case as request
from mixjt.cli.app import main
from mixjt.fluid.fluid import Fluid
from mixjt.studies import robust, sensitivity, weighing

CASE = Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml"
BLEND = '[blend]\nnitrogen = 0.08\nmethane = 0.54\n"camping gas" = 0.38\n'  # nothing freezes at its lowest for 12 W
KEYS = 'charge = "60 g"\ndraws = 12\nfraction_steps = [0.01]'


pytestmark = pytest.mark.usefixtures("one_model")


@pytest.fixture(autouse=True)
def few_changes(monkeypatch):
    """One of the first bottle and one of the last inputs; the studies themselves are tested elsewhere."""
    every = sensitivity.changed_circuits

    def some(*arguments):
        listed = list(every(*arguments))
        return [*islice(listed, 1), listed[-6]]

    monkeypatch.setattr(sensitivity, "changed_circuits", some)
    monkeypatch.setattr(robust, "MOST_ROUNDS", 2)
    monkeypatch.setattr("mixjt.studies.size_study.RATIOS", (1.0,))


@pytest.fixture
def case(tmp_path):
    def write(keys: str, more: str = "", cut: str = "volumes") -> str:
        path = tmp_path / "case.toml"
        without = CASE.read_text()
        for table in ("sensitivity", "blend", cut):
            without = re.sub(rf"^\[{table}\].*\n(?:[\w\"].*\n)*", "", without, flags=re.MULTILINE)
        blend = "" if cut == "blend" else BLEND
        path.write_text(f"{without}\n{blend}\n[sensitivity]\n{keys}\n{more}\n")
        return str(path)

    return write


def test_tables_plots_and_summary(tmp_path, capsys, case):
    out = tmp_path / "run"
    printed = record_of(capsys, "sensitivity", case(KEYS), "--robust", "--out", str(out))
    tables = {"summary.json", "sensitivity.csv", "weighing.csv", "weighing_masses.csv"}
    plots = {f"{name}.{kind}" for name in ("sensitivity", "weighing") for kind in ("png", "svg")}
    assert {path.name for path in out.iterdir()} == tables | plots
    assert json.loads((out / "summary.json").read_text()) == printed
    with open(out / "sensitivity.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 2 and {row["input"] for row in rows} == {"nitrogen", "volumetric efficiency"}
    for row in rows:
        moved = float(row["cooling_power_W"]) - printed["cooling_power_W"]
        assert float(row["cooling_power_change_W"]) == pytest.approx(moved, abs=1e-9)
    weighed = printed["weighing"]
    assert sum(bottle["mass_g"] for bottle in weighed["bottles"]) == pytest.approx(60.0)
    assert [bottle["bottle"] for bottle in weighed["bottles"]][-1] == "camping gas"
    low, middle, high = (weighed[f"cooling_power_percentile_{p}_W"] for p in (5, 50, 95))
    assert low < middle < high and weighed["draws"] == 12
    with open(out / "weighing.csv", newline="") as file:
        assert len(list(csv.DictReader(file))) == 12
    best, start = printed["robust"]["best"], printed["robust"]["start"]
    assert best["worst_cooling_power_W"] >= start["worst_cooling_power_W"]
    assert printed["robust"]["solution"]["cooling_power_W"] == pytest.approx(best["cooling_power_W"], rel=2e-3)


def test_the_lowest_temperature_of_the_record_carries_the_load(capsys, case):
    record = record_of(capsys, "sensitivity", case('load = "15 W"'))
    assert record["lowest_temperature_load_W"] == 15.0 and record["weighing"] is None
    read = read_case(case(""))
    circuit = replace(read.circuit, cold_temperature=record["lowest_temperature_K"])
    model = request.chosen_model("multi-fluid", read.blend.gases)
    assert solve_circuit(Fluid(model, read.blend.composition), circuit).cooling_power == pytest.approx(15.0, rel=2e-3)
    assert any("in [volumes], or the charge in [sensitivity]" in warning for warning in record["warnings"])


def test_text_has_the_tables_and_the_cautions(capsys, case):
    blend = "nitrogen=0.06, methane=0.55, camping gas=0.39"
    assert main(["sensitivity", case(KEYS), "--blend", blend, "--robust"]) == 0
    text = capsys.readouterr().out
    for expected in ("One input changed", "-1 mol %", "What to weigh in", "camping gas", "--blend", "Cautions", "60 g"):
        assert expected in text


def test_charge_of_the_circuit_at_rest_and_errors_one_by_one(capsys, case):
    keys = 'draws = 3\nweighing_errors = ["1 g", "2 g", "0 g"]\nload = "500 W"'
    record = record_of(capsys, "sensitivity", case(keys, cut="sensitivity"))
    assert record["weighing"]["charge_g"] == pytest.approx(record["charge_mass_g"]) and record["charge_mass_g"] > 100.0
    assert [bottle["error_g"] for bottle in record["weighing"]["bottles"]] == pytest.approx([1.0, 2.0, 0.0])
    assert record["lowest_temperature_K"] is None and record["weighing"]["lowest_temperature_percentile_50_K"] is None
    assert record["weighing"]["carrying_share"] == 0.0
    assert any("at no temperature" in warning for warning in record["warnings"])


def test_interruption_writes_what_was_found(tmp_path, capsys, monkeypatch, case):
    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(weighing, "batch_reach", stop)
    monkeypatch.setattr(weighing, "batch_cooling", stop)
    out = tmp_path / "run"
    assert main(["sensitivity", case(KEYS), "--json", "--out", str(out)]) == 130
    record = json.loads(capsys.readouterr().out)
    assert record["interrupted"] and len(record["effects"]) == 2 and record["weighing"] is None
    assert (out / "sensitivity.csv").exists() and not (out / "weighing.csv").exists()


@pytest.mark.parametrize(
    "keys, complaint",
    [
        ('charge = "60"', "a mass needs its unit"),
        ("fraction_step = [0.01]", "did you mean fraction_steps?"),
        ("fraction_steps = [0.5]", "out of range"),
        ("fraction_steps = 0.01", "needs a list of values"),
        ('weighing_errors = ["1 g", "2 g"]', "the blend has 3 entries, but 2 errors are given"),
        ("draws = 0", "out of range"),
        ('ambient_change = "5 degC"', "temperature difference"),
        ("worst_case_step = 0", "out of range"),
    ],
)
def test_refuses(capsys, case, keys, complaint):
    assert complaint in refusal(capsys, "sensitivity", case(keys))


def test_a_charge_beside_volumes_is_refused(capsys, case):
    assert "follows from [volumes] already" in refusal(capsys, "sensitivity", case(KEYS, cut="sensitivity"))


def test_refuses_what_other_tables_lack(tmp_path, capsys, case):
    assert "has no [blend]" in refusal(capsys, "sensitivity", case("", cut="blend"))
    assert "cannot read" in refusal(capsys, "sensitivity", case(KEYS), "--blend", "nitrogen")
    assert "plain circuits only" in refusal(capsys, "search", case(KEYS), "--robust", "--circuit", "separator")
    (tmp_path / "file").write_text("")
    assert "cannot write" in refusal(capsys, "sensitivity", case(KEYS), "--out", str(tmp_path / "file"))


def test_search_ranks_by_the_worst_case(capsys, case):
    text = Path(case(KEYS)).read_text()
    quick = "[search]\nsamples = 32\nshortlist = 2\n"
    path = Path(case(KEYS))
    path.write_text(text.replace("[search]\n", quick).replace("largest_number_of_gases = 5", "largest_number_of_gases = 3"))
    assert main(["search", str(path), "--robust", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["robust"]
    worst = [one["worst_cooling_power_W"] for one in found["ranked"]]
    assert worst == sorted(worst, reverse=True)
    assert found["best"]["worst_cooling_power_W"] >= worst[0] * (1 - 1e-9)
