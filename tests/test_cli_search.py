"""`mixjt search` on a small machine: output, files, interruption and refusals."""

import csv
import json
from pathlib import Path

import pytest
from search_samples import BOTTLES

from mixjt.case.bottles import blend_from_text
from mixjt.case.case import read_case
from mixjt.cli.app import main
from mixjt.report.output import json_text
from mixjt.report.search_report import blend_option

DEMO = Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml"
SEARCH = """
[search]
largest_number_of_gases = 3
samples = 16
shortlist = 2
seed = 7
"""


@pytest.fixture
def case_file(tmp_path, monkeypatch):
    """The demo machine without a blend, with few bottles and the shortest search."""
    monkeypatch.setattr("mixjt.studies.size_study.RATIOS", (0.85, 1.0))
    head = DEMO.read_text().partition("[blend]")[0]
    shorter = SEARCH.replace("shortlist = 2", "shortlist = 1")
    (tmp_path / "case.toml").write_text(head + shorter + BOTTLES)
    return str(tmp_path / "case.toml")


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """One search, its JSON as printed and the directory it wrote."""
    folder = tmp_path_factory.mktemp("search")
    head = DEMO.read_text().partition("[blend]")[0]
    (folder / "case.toml").write_text(head + SEARCH + BOTTLES)
    with pytest.MonkeyPatch.context() as patch:
        printed = []
        patch.setattr("mixjt.report.terminal.print_json", printed.append)
        patch.setattr("mixjt.studies.size_study.RATIOS", (0.85, 1.0))
        assert main(["search", str(folder / "case.toml"), "--out", str(folder / "run"), "--json"]) == 0
    return json.loads((folder / "run" / "summary.json").read_text()), printed[0], folder / "run"


def test_candidates_are_ranked_and_keep_the_limits(run):
    record, _, _ = run
    candidates = record["candidates"]
    power = [candidate["cooling_power_W"] for candidate in candidates]
    assert 1 <= len(candidates) <= 2
    assert power == sorted(power, reverse=True)
    for candidate in candidates:
        assert sum(candidate["blend"].values()) == pytest.approx(1.0)
        assert sum(candidate["bottles"].values()) == pytest.approx(1.0)
        assert len(candidate["bottles"]) <= 3
        assert candidate["bottles"].get("nitrogen", 0.0) <= 0.3 + 1e-9
        assert candidate["suction_superheat_K"] >= 5.0 - 1e-2
        camping = candidate["bottles"].get("camping gas", 0.0)
        assert candidate["blend"].get("n-butane", 0.0) == pytest.approx(0.7 * camping)


def test_printed_and_written_records_agree(run):
    written, printed, _ = run
    assert json.loads(json_text(printed)) == written and len(written["candidates"]) > 0


def test_files(run):
    record, _, folder = run
    names = {path.name for path in folder.iterdir()}
    stems = ("search", "size", "circuit", "pinch", "enthalpy_difference")
    tables = {
        "candidates", "best_by_count", "cooling_by_size", "state_points", "exergy", "pinch", "enthalpy_difference",
    }  # fmt: skip
    assert names == {f"{stem}.{kind}" for stem in stems for kind in ("png", "svg")} | {
        f"{table}.csv" for table in tables
    } | {"summary.json"}
    with open(folder / "candidates.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [float(row["cooling_power_W"]) for row in rows] == [
        candidate["cooling_power_W"] for candidate in record["candidates"]
    ]
    fractions = [float(x) for key, x in rows[0].items() if key.startswith("mole_fraction_")]
    assert sum(fractions) == pytest.approx(1.0)


def test_each_further_bottle_never_makes_it_worse(run):
    best = run[0]["best_by_count"]
    power = [best[count]["cooling_power_W"] for count in sorted(best, key=int)]
    assert power == sorted(power)


def test_text_shows_units_gain_and_the_next_command(case_file, capsys):
    assert main(["search", case_file]) == 0
    text = capsys.readouterr().out
    for expected in (
        "Best blends",
        "What each further bottle buys",
        "bar abs",
        "multi-fluid",
        "Cautions",
    ):
        assert expected in text
    option = text.split('--blend "')[1].split('"')[0]
    blend = blend_from_text(option, read_case(case_file).bottles)
    assert sum(blend.fractions) == pytest.approx(1.0)


def test_rounded_amounts_still_add_up_to_one():
    amounts = {"nitrogen": 1 / 3, "methane": 1 / 3, "neon": 0.0, "camping gas": 1 / 3}
    text = blend_option(amounts)
    assert sum(float(part.split("=")[1]) for part in text.split(",")) == pytest.approx(1.0, abs=1e-12)
    assert "neon" not in text


def test_an_interruption_keeps_what_was_found(case_file, tmp_path, capsys, monkeypatch):
    import mixjt.studies.search.search as study

    full_search = study.search

    def cut_short(model, request, progress):
        def stop(stage, done, total, best):
            if stage == "polishing":
                raise KeyboardInterrupt

        return full_search(model, request, stop)

    monkeypatch.setattr(study, "search", cut_short)
    monkeypatch.setattr("mixjt.cli.deliver._draw", lambda *_: None)  # pictures of an interrupted search are drawn below
    assert main(["search", case_file, "--json", "--out", str(tmp_path / "run")]) == 130
    captured = capsys.readouterr()
    assert captured.err.endswith("mixjt: interrupted\n")
    record = json.loads(captured.out)
    assert record["interrupted"] and record["candidates"]
    assert json.loads((tmp_path / "run" / "summary.json").read_text()) == record


def test_an_interruption_before_the_bands_keeps_what_was_found(case_file, tmp_path, capsys, monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("mixjt.studies.band.grid_cooling", interrupted)
    assert main(["search", case_file, "--json", "--out", str(tmp_path / "run")]) == 130
    captured = capsys.readouterr()
    record = json.loads(captured.out)
    assert captured.err.endswith("mixjt: interrupted\n") and record["candidates"]
    assert all(one["cooling_band_fraction"] is None for one in record["candidates"])
    assert json.loads((tmp_path / "run" / "summary.json").read_text()) == record


def test_no_bottles(tmp_path, capsys):
    head = DEMO.read_text().partition("[blend]")[0]
    (tmp_path / "case.toml").write_text(head)
    assert main(["search", str(tmp_path / "case.toml")]) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and "has no [[bottle]]" in captured.err and captured.err.count("\n") == 1


def test_limits_that_no_blend_meets_are_one_line(case_file, capsys):
    text = (
        Path(case_file).read_text().replace("seed = 7", 'seed = 7\nlargest_discharge_temperature = "305 K"')
    )
    Path(case_file).write_text(text)
    assert main(["search", case_file]) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and captured.err.count("\n") == 1
    assert "none meets every constraint" in captured.err
