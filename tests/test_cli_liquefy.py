"""`mixjt liquefy`: what it prints and writes, and how it refuses."""

import csv
import json
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

import pytest
from cli_samples import edited, refusal

from mixjt.cli.app import main
from mixjt.studies.liquefier_study import pressure_curve

CASE = Path(__file__).parent.parent / "mixtures-demo" / "liquid-nitrogen.toml"


NO_CURVE = ('largest_feed_pressure = "40 bar"', "")


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """Text, record and folder of one run."""
    out, text = tmp_path_factory.mktemp("liquefy") / "out", StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(text):
        patch.setattr(pressure_curve, "__defaults__", (3,))  # points of the curve
        assert main(["liquefy", str(CASE), "--out", str(out)]) == 0
    return text.getvalue(), json.loads((out / "summary.json").read_text()), out


def test_without_a_largest_pressure_there_is_no_curve(capsys, tmp_path, monkeypatch):
    monkeypatch.setattr("mixjt.studies.liquefier_study.product_band", lambda *_: None)
    assert main(["liquefy", edited(tmp_path, CASE, NO_CURVE), "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["product_kg_per_day"] > 0.0
    assert record["feed_pressures"] is None and record["best_feed_pressure_Pa"] is None


def test_the_record_is_consistent(run):
    record = run[1]
    kilograms = record["product_kg_per_day"]
    assert record["product_L_per_day"] == pytest.approx(1e3 * kilograms / record["product_density_kg_per_m3"])
    assert record["specific_energy_kWh_per_kg"] == pytest.approx(
        record["compressor_power_W"] * 0.024 / kilograms
    )
    both = record["compressor_power_W"] + record["feed_compressor_power_W"]
    assert record["total_power_W"] == pytest.approx(both)
    assert record["specific_energy_with_feed_compressor_kWh_per_kg"] == pytest.approx(
        both * 0.024 / kilograms
    )
    lost = record["flash_vapour_kg_per_day"]
    assert kilograms + lost == pytest.approx(record["feed_kg_per_day"])
    assert (
        record["flash_vapour_oxygen_fraction"]
        < record["feed_oxygen_fraction"]
        < record["product_oxygen_fraction"]
    )
    assert record["energy_residual"] < 1e-6 and record["exergy_residual"] < 1e-6
    assert record["smallest_approach_K"] == pytest.approx(4.0, abs=1e-3)
    assert record["cooling_band_fraction"] > 0.0 and record["cooling_band_basis"]
    said = " ".join(record["warnings"] + record["cautions"])
    for word in ("Asphyxiation", "Oxygen enrichment", "water and carbon dioxide"):
        assert word in said


def test_terminal_and_files(run):
    text, record, out = run
    for word in (
        "kg/day",
        "L/day",
        "kWh/kg",
        "Asphyxiation",
        "Oxygen enrichment",
        "vented cold",
        "boils away",
    ):
        assert word in text
    with open(out / "feed_pressures.csv", newline="") as file:
        rows = [{key: float(value) if value else None for key, value in row.items()} for row in csv.DictReader(file)]
    assert rows == [pytest.approx(row) for row in record["feed_pressures"]]
    assert max(row["product_kg_per_day"] for row in rows) == pytest.approx(
        record["best_product_kg_per_day"], rel=2e-3
    )
    for name in ("feed_points.csv", "boil_off.csv", "pinch.csv", "exergy.csv", "state_points.csv"):
        assert (out / name).stat().st_size > 100
    for name in ("pinch", "feed_pressures", "boil_off"):
        assert (out / f"{name}.png").exists() and (out / f"{name}.svg").exists()
    page = (Path(__file__).parent.parent / "docs" / "liquefier.md").read_text()
    known = (Path(__file__).parent.parent / "docs" / "outputs.md").read_text() + page
    assert [key for key in record if f"`{key}`" not in known] == []


def test_a_feed_that_does_not_condense(capsys, tmp_path):
    out = tmp_path / "out"
    text = refusal(
        capsys,
        "liquefy",
        edited(tmp_path, CASE, ('feed_pressure = "10 bar"\n', 'feed_pressure = "5 bar"\n')),
        "--out",
        str(out),
    )
    assert "raise the feed pressure above" in text and "lower the cold end below" in text
    assert not out.exists()


@pytest.mark.parametrize(
    "change, words",
    [
        (('[liquefier]\nfeed_pressure = "10 bar"\n', "[liquefier]\n"), "lacks feed_pressure"),
        (
            ('largest_feed_pressure = "40 bar"', 'largest_feed_pressure = "4 bar"'),
            "is below the feed pressure",
        ),
        (("oxygen = 0.02", "oxygen = 0.4"), "its liquid explodes with oil and hydrocarbons"),
        (("argon = 0.01", "argon = 0.9"), "out of range"),
        (('approach = "2 K"\ncompressor', 'aproach = "2 K"\ncompressor'), "did you mean approach"),
        (('load = "2 W"', 'load = "500 W"'), "leaves nothing for the feed"),
        (
            ('feed_pressure = "10 bar"\n', 'feed_pressure = "10 bar"\npressure_drop = "9.5 bar"\n'),
            "not above the product",
        ),
    ],
)
def test_refusals(capsys, tmp_path, change, words):
    assert words in refusal(capsys, "liquefy", edited(tmp_path, CASE, change))


def test_a_case_without_liquefier(capsys):
    text = refusal(capsys, "liquefy", str(CASE.with_name("receiver-95K.toml")))
    assert "has no [liquefier]" in text


def test_a_blend_is_either_given_or_looked_for(capsys):
    text = refusal(capsys, "liquefy", str(CASE), "--best-blend", "--blend", "nitrogen=0.5, methane=0.5")
    assert "leave one of them out" in text


def test_an_unknown_model_is_not_blamed_on_a_key_of_the_case(capsys):
    assert refusal(capsys, "liquefy", str(CASE), "--model", "nonesuch").startswith("mixjt: there is no property model")
