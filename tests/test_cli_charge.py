"""`mixjt charge`: what it prints, its record and files, and what it refuses."""

import csv
import json
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

import pytest
from cli_samples import edited, refusal

from mixjt.case.case import read_case
from mixjt.cli.app import main

DEMO = Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml"
WIDTH = 100


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """Text on the terminal and folder of files, and the record, of one run at 80 kPa and 10 °C on the bench."""
    folder, text = tmp_path_factory.mktemp("charge"), StringIO()
    case = edited(
        folder, DEMO, ('temperature = "22 degC"', 'temperature = "22 degC"\npressure = "0.8 bar"'),
        ("[bench] ", '[bench]\nbench_temperature = "10 degC" '),
    )  # fmt: skip
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(text):
        patch.setenv("COLUMNS", str(WIDTH))
        assert main(["charge", case, "--out", str(folder / "out")]) == 0
    return text.getvalue(), folder / "out", json.loads((folder / "out" / "summary.json").read_text())


def test_the_charge_is_that_of_the_case_in_filling_order(run):
    _, _, record = run
    names = [row["bottle"] for row in record["charge"]]
    assert names == ["isobutane", "camping gas", "ethane", "methane", "nitrogen"]
    total = sum(row["mass_g"] for row in record["charge"])
    assert total == pytest.approx(record["charge_mass_g"]) == pytest.approx(record["charge"][-1]["total_mass_g"])
    assert record["circulating_blend"] == pytest.approx(record["blend"])
    assert record["charged_blend"]["nitrogen"] < record["blend"]["nitrogen"]
    assert record["charged_blend"]["isobutane"] > record["blend"]["isobutane"]
    assert sum(row["mass_g"] for row in record["charge_by_part"]) == pytest.approx(total, rel=0.01)  # camping gas fits not quite
    assert record["charge"][1]["drawn"] == pytest.approx({"propane": 0.3, "n-butane": 0.7})


def test_slip_and_oil_other_than_counted_are_told(run):
    _, _, record = run
    counted, without, half, double = record["hold_up_doubts"]
    assert counted["charge_mass_g"] == pytest.approx(record["charge_mass_g"], rel=0.01)
    assert without["charge_mass_g"] < half["charge_mass_g"] < counted["charge_mass_g"] < double["charge_mass_g"]
    assert counted["circulating_blend"]["nitrogen"] == pytest.approx(record["blend"]["nitrogen"], rel=0.05)
    assert without["circulating_blend"]["nitrogen"] < counted["circulating_blend"]["nitrogen"]


def test_pressures_count_from_the_local_atmosphere_at_the_bench(run):
    """From the evacuated circuit up by the rises; the bench is colder than the room, so that it ends lower."""
    _, _, record = run
    rises = sum(row["pressure_rise_Pa"] for row in record["charge"])
    last = record["charge"][-1]["gauge_pressure_after_Pa"]
    assert record["atmosphere_Pa"] == 8e4 and last == pytest.approx(rises - 8e4)
    assert last + 8e4 < record["standing_pressure_Pa"] < record["hot_standing_pressure_Pa"]
    assert record["buffer_volume_m3"] == 0.0


def test_the_terminal_shows_it_within_its_width(run):
    text, _, record = run
    assert max(map(len, text.splitlines())) <= WIDTH
    assert "Let in, in this order" in text and "continued" not in text
    for caution in ("never heat a bottle with a flame", "regulator", "Local codes", "Flammable"):
        assert caution in " ".join(text.split())
    assert record["warnings"] and all(isinstance(one, str) for one in record["warnings"])


def test_files_say_the_same(run):
    _, folder, record = run
    assert {path.name for path in folder.iterdir()} == {
        "charge.csv", "filling.csv", "top_ups.csv", "hold_up_doubts.csv", "filling.png", "filling.svg", "summary.json",
    }  # fmt: skip
    with open(folder / "charge.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [float(row["mass_g"]) for row in rows] == [row["mass_g"] for row in record["charge"]]
    with open(folder / "filling.csv", newline="", encoding="utf-8") as file:
        *_, last = csv.DictReader(file)
    assert float(last["gauge_pressure_Pa"]) == pytest.approx(record["charge"][-1]["gauge_pressure_after_Pa"], rel=1e-6)


@pytest.mark.parametrize(("changes", "said"), [
    ([("[bench] ", '[bench]\nbench_temperatur = "20 degC" ')], "did you mean bench_temperature?"),
    ([('"0.05 bar"', '"0 bar"')], "must be above 0 bar"),
    ([('"30 m3"', '"30 m"')], '"m" is not a unit of volume'),
    ([('"30 m3"', "30")], "needs its unit"),
    ([('name = "camping gas"', 'name = "camping gas"\ndrawn = "gas"')], '"liquid", "vapour"'),
    ([('gas = "propane"', 'gas = "propane"\ngross_mass = "0 kg"')], "must be above 0"),
])  # fmt: skip
def test_bad_entries_are_refused_in_a_line(capsys, tmp_path, changes, said):
    assert said in refusal(capsys, "charge", edited(tmp_path, DEMO, *changes))


def test_a_charge_that_is_not_known_is_asked_for(capsys, tmp_path):
    text = DEMO.read_text()
    volumes = text[text.index("[volumes]") : text.index("[standstill]")]
    assert "state all volumes in [volumes]" in refusal(capsys, "charge", edited(tmp_path, DEMO, (volumes, "")))


def test_what_circulates_of_grams_is_found_told_and_saved(capsys, tmp_path):
    """Back from the grams of the design to its blend, in a circuit held at its size, which takes less time."""
    text = "\n".join(line for line in DEMO.read_text().splitlines() if not line.startswith("approach = \"4 K\""))
    text = text[: text.index("[insulation]")] + text[text.index("[cold_end]") :]
    case = tmp_path / "case.toml"
    case.write_text(text.replace("[recuperator]\n", '[recuperator]\nconductance = "60 W/K"\n'))
    assert main(["cycle", str(case), "--json"]) == 0
    design = json.loads(capsys.readouterr().out)
    grams = "\n".join(f'{row["gas"]} = "{row["mass_g"]:.9f} g"' for row in design["charge_by_gas"])
    filled, new = tmp_path / "filled.toml", tmp_path / "new.toml"
    filled.write_text(case.read_text() + f"\n[charge]\n{grams}\n")
    assert main(["cycle", str(filled), "--json", "--save", str(new)]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["charge_residual"] < 1e-6
    assert found["blend"] == pytest.approx(design["blend"], abs=1e-6)
    assert found["suction_pressure_Pa"] == pytest.approx(design["suction_pressure_Pa"], rel=1e-6)
    assert found["cooling_power_W"] == pytest.approx(design["cooling_power_W"], rel=1e-4)
    assert read_case(new).blend.to_dict() == pytest.approx(found["blend"], abs=1e-9)
    assert main(["cycle", str(filled), "--circuit", "separator"]) == 2
    assert "plain circuit only" in capsys.readouterr().err
