"""`mixjt cascade`: what it prints and writes, interruption, and how it refuses."""

import csv
import json
import math
from pathlib import Path

import pytest
from cli_samples import refusal, written

from mixjt.case.cascade_case import cascade_request
from mixjt.case.case import read_case
from mixjt.cli.app import main

DEMO = Path(__file__).parent.parent / "mixtures-demo"
HEAD = (DEMO / "preamp-cascade.toml").read_text().partition("[cascade]")[0]
FIXED = '\n[cascade]\nfluids = ["ethane", "R134a"]\nintermediate_temperatures = ["-28 degC"]\n'


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """The demo case, its record and the directory it wrote."""
    folder = tmp_path_factory.mktemp("cascade") / "run"
    assert main(["cascade", str(DEMO / "preamp-cascade.toml"), "--out", str(folder), "--json"]) == 0
    return json.loads((folder / "summary.json").read_text()), folder


def test_the_demo_carries_its_load_within_its_limits(run):
    record, _ = run
    assert record["load_W"] == 15.0 and record["number_of_compressors"] == 2
    assert record["cold_temperature_K"] == pytest.approx(193.15)
    for stage in record["stages"]:
        assert stage["suction_pressure_gauge_Pa"] >= -1.0
        assert stage["suction_pressure_gauge_Pa"] == pytest.approx(stage["suction_pressure_Pa"] - 101325.0)
        assert stage["pressure_ratio"] <= 12.0 + 1e-6
        assert stage["discharge_temperature_K"] <= 380.15 + 1e-3 and stage["valve_temperature_K"] <= 423.15
        assert stage["displacement_m3_per_rev"] <= 5.1e-6
    assert record["total_power_W"] == pytest.approx(sum(stage["compressor_power_W"] for stage in record["stages"]))
    assert record["cop"] == pytest.approx(15.0 / record["total_power_W"])
    assert record["energy_residual"] < 1e-6 and record["exergy_residual"] < 1e-6
    assert sum(item["exergy_W"] for item in record["exergy"]) == pytest.approx(record["total_power_W"])
    assert any("expansion vessel" in text for text in record["warnings"])
    assert record["flammable_mass_kg"] > 0.0 and record["lowest_temperature_K"] < 193.15


def test_keys_end_in_their_unit_and_nothing_is_nan(run):
    record, _ = run
    assert list(record["best_by_stages"]) == ["2"] and record["candidates"][0]["fluids"] == record["fluids"]
    assert not record["interrupted"]
    assert all(one["reason"] and one["fluids"] for one in record["ruled_out"])
    assert not any(isinstance(value, float) and not math.isfinite(value) for value in record.values())


def test_files(run):
    record, folder = run
    tables = {"stages", "state_points", "exergy", "candidates", "ruled_out", "power"}
    names = {f"{name}.csv" for name in tables} | {"summary.json"}
    assert {path.name for path in folder.iterdir()} == names | {
        f"{stem}.{kind}" for stem in ("stages", "power") for kind in ("png", "svg")
    }
    with open(folder / "stages.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["fluid"] for row in rows] == record["fluids"]
    assert float(rows[1]["compressor_power_W"]) == record["stages"][1]["compressor_power_W"]


def test_text_names_units_reasons_and_cautions(tmp_path, capsys):
    assert main(["cascade", written(tmp_path, HEAD + FIXED)]) == 0
    text = capsys.readouterr().out
    for expected in ("bar abs", "bar gauge", "ethane + R-134a", "COP", "Exergy", "Warnings", "Flammable: ethane."):
        assert expected in text
    assert "above its critical temperature when it stands warm" in text


def test_the_cascade_is_printed_with_and_without_warming(run, tmp_path, capsys):
    record, _ = run
    ways = {one["suction_warming"]: one["total_power_W"] for one in record["suction_warmings"]}
    assert list(ways) == ["hot gas", "surroundings", "nothing"]
    assert ways["hot gas"] == pytest.approx(record["total_power_W"], rel=1e-6)
    assert ways["nothing"] < ways["hot gas"] < ways["surroundings"]
    assert main(["cascade", written(tmp_path, HEAD + FIXED)]) == 0
    text = capsys.readouterr().out
    assert "What warming colder suction gas to 233.1 K costs" in text and "surroundings" in text


def test_stated_temperatures_are_kept(tmp_path, capsys):
    assert main(["cascade", written(tmp_path, HEAD + FIXED), "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["intermediate_temperatures_K"] == [pytest.approx(245.15)]
    assert record["fluids"] == ["ethane", "R-134a"]
    assert record["highest_standing_pressure_Pa"] is None and record["flammable_mass_kg"] is None


def test_a_bottle_of_a_mixture_may_be_a_stage(tmp_path):
    bottle = '\n[[bottle]]\nname = "camping gas"\ncomposition = {propane = 0.7, isobutane = 0.3}\n'
    text = HEAD + '\n[cascade]\nfluids = ["ethane", "camping gas"]\n' + bottle
    request = cascade_request(read_case(written(tmp_path, text)))
    assert [fluid.name for fluid in request.fluids] == ["ethane", "camping gas"]
    assert request.fluids[1].model.gases == ("propane", "isobutane")


def test_a_case_without_the_table_takes_the_defaults():
    request = cascade_request(read_case(DEMO / "receiver-120K.toml"))
    machine = request.cascade
    assert request.counts == (1, 2, 3, 4) and request.fluids is None
    assert (machine.approach, machine.condenser_approach, machine.evaporator_approach) == (5.0, 10.0, 5.0)
    assert machine.limits.suction_pressure == 101325.0 and machine.limits.displacements is None
    assert machine.limits.pressure_ratio == machine.compressor.largest_pressure_ratio
    assert machine.desuperheater_approach == 10.0 and machine.inventories == ()
    assert machine.suction_temperature == pytest.approx(233.15) and machine.suction_warming == "hot gas"
    assert machine.exchanger_effectiveness == (0.5,)
    # lines lose the shares that the recuperator of the case states: 0.15 bar of 3.15 bar, 0.25 bar on 14.75 bar
    assert machine.suction_loss == pytest.approx(0.15 / 3.15) and machine.discharge_loss == pytest.approx(0.25 / 14.75)
    stated = cascade_request(read_case(DEMO / "preamp-cascade.toml")).cascade
    assert (stated.suction_loss, stated.discharge_loss) == (0.0, 0.0) and stated.suction_drops == (3e3,)


def test_an_interruption_keeps_what_was_found(tmp_path, capsys, monkeypatch):
    import mixjt.cascade.design as study

    design_cascade = study.design_cascade

    def cut_short(request, progress):
        def stop(stage, done, total, least):
            if least is not None:
                raise KeyboardInterrupt

        return design_cascade(request, stop)

    monkeypatch.setattr(study, "design_cascade", cut_short)
    fair = 'evaporator_approach = "3 K"\nsuperheat = "3 K"\nexchanger_effectiveness = [0]\n'
    case = written(tmp_path, f'{HEAD}\n[cascade]\nstages = 2\n{fair}available = ["ethane", "ethylene", "propane", "R-134a"]\n')
    assert main(["cascade", case, "--json", "--out", str(tmp_path / "run")]) == 130
    captured = capsys.readouterr()
    assert captured.err.endswith("mixjt: interrupted\n")
    record = json.loads(captured.out)
    assert record["interrupted"] and len(record["candidates"]) == 1
    assert json.loads((tmp_path / "run" / "summary.json").read_text()) == record


@pytest.mark.parametrize(
    "table, complaint",
    [
        ("stagges = 2", "did you mean stages?"),
        ("stages = 5", "[cascade] stages: 5 is out of range"),
        ("stages = 0", "[cascade] stages: 0 is out of range"),
        ('fluids = ["ethane", "propain"]', "[cascade] fluids: unknown gas 'propain': did you mean propane"),
        ('fluids = ["ethane", "ethylene", "R-32", "propane", "isobutane"]', "at most 4 stages, got 5 fluids"),
        ('fluids = ["ethane", "propane"]\nstages = 3', "2 fluids are given for 3 stages"),
        ('available = ["ethane", "unobtainium"]', "[cascade] available: unknown gas 'unobtainium'"),
        ('intermediate_temperatures = ["240 K"]', "stated temperatures need fluids too"),
        ('fluids = ["ethane", "propane"]\nintermediate_temperatures = ["240 K", "250 K"]', "2 stages need 1 of them"),
        ('fluids = ["ethane", "propane"]\nintermediate_temperatures = ["150 K"]', "ascend from the cold end"),
        ('fluids = ["ethane", "propane"]\nintermediate_temperatures = ["302 K"]', "ethane is above its critical"),
        ('fluids = ["ethane", "propane"]\nheat_leak = ["1 W", "1 W", "1 W"]', "[cascade] heat_leak: 3 values for 2 stages"),
        ('stages = 3\nsystem_volume = ["1 L", "1 L"]\ncharge = ["20 g"]', "[cascade] system_volume: 2 values for 3 stages"),
        ('fluids = ["ethane", "isobutane"]', "degC) at the lowest within the limits: ethane's"),
        ('fluids = ["propane", "isobutane"]', "propane's suction of"),
        ("stages = 1", "no cascade of 1 stage keeps every limit"),
        ('superheat = "9 K"', "leave warmer than what it cools"),
        ('approach = "5"', "[cascade] approach"),
        ('desuperheater = "perhaps"', '"perhaps" is not one of "yes", "no"'),
        ('charge = ["50 g"]', "the standstill needs system_volume too"),
        ('system_volume = ["1 L"]', "give either liquid_volume or charge"),
        ('system_volume = ["1 L"]\nliquid_volume = ["2 L"]', "liquid fills 2000 cm3, more than"),
        ('system_volume = ["1 L", "1 L"]\ncharge = ["20 g", "20 g", "20 g"]', "as many volumes as charges"),
    ],
)
def test_refuses_with_one_line(tmp_path, capsys, table, complaint):
    out = tmp_path / "run"
    case = written(tmp_path, f"{HEAD}\n[cascade]\n{table}\n")
    assert complaint in refusal(capsys, "cascade", case, "--out", str(out))
    assert not out.exists() or not any(out.iterdir())


def test_a_case_without_load_is_refused(tmp_path, capsys):
    assert "[cold_end] lacks load" in refusal(capsys, "cascade", written(tmp_path, HEAD.replace('load = "15 W"', "")))


def test_an_unknown_model_is_refused_even_where_no_stage_holds_a_blend(capsys):
    found = refusal(capsys, "cascade", str(DEMO / "preamp-cascade.toml"), "--model", "nonesuch")
    assert "there is no property model 'nonesuch'" in found
