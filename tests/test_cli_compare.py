"""`mixjt compare`: what it prints and writes, interruption, and how it refuses."""

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest
from cli_samples import refusal, written

from mixjt.case.case import read_case
from mixjt.case.compare_case import compare_request
from mixjt.cli.app import main
from mixjt.plots.compare_plot import compare_figure
from mixjt.studies.compare.roads import EFFORTS, Effort

DEMO = Path(__file__).parent.parent / "mixtures-demo"
HEAD = (DEMO / "preamp-cascade.toml").read_text().partition("[standstill]")[0]
HEAD = HEAD.replace("= 0.74", "= 0.78")  # of the efficiency: valves cold enough on every road
HEAD = HEAD.replace("[circuit]", 'largest_discharge_temperature = "120 degC"\n[circuit]') + """
[search]
samples = 32
largest_number_of_gases = 3

[cascade]
available = ["ethane", "propane", "R-134a"]

[[bottle]]
gas = "methane"

[[bottle]]
gas = "ethane"

[[bottle]]
gas = "isobutane"

"""
SMALL = """[compare]
roads = ["plain", "precooled", "cascade-2"]
effort = "quick"
steps = 2
coldest = "-80 degC"
"""


@pytest.fixture(scope="module", autouse=True)
def small_comparisons():
    """Fewer blends are looked at, cascades chosen anew at fewer temperatures; no further process, which takes long to start."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("loky.cpu_count", lambda: 1)
        patch.setitem(EFFORTS, "quick", Effort(32, 0, halvings=1, chosen_anew=2))
        yield


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """The record of a small comparison, what it wrote, and its case."""
    folder = tmp_path_factory.mktemp("compare")
    case = written(folder, HEAD + SMALL)
    assert main(["compare", case, "--out", str(folder / "run"), "--json"]) == 0
    return json.loads((folder / "run" / "summary.json").read_text()), folder / "run", case


def test_all_roads_carry_the_load_of_the_case(run):
    record, _, _ = run
    assert [one["road"] for one in record["roads"]] == ["plain", "precooled", "cascade-2"]
    for one in record["roads"]:
        assert one["obstacle"] is None
        assert one["total_power_W"] * one["cop"] == pytest.approx(15.0)
        assert one["total_swept_flow_m3_per_h"] == pytest.approx(
            one["total_displacement_cm3_per_rev"] * 1e-6 * 2900.0 * 60.0
        )
        assert one["leaves_out"] and one["hot_standing_pressure_Pa"] is None
        assert one["highest_discharge_temperature_K"] == max(one["discharge_temperatures_K"])
    assert record["advice"].startswith("Build the ") and record["crossing"]
    assert record["model"] == "multi-fluid" and not record["interrupted"]


def test_the_plain_road_is_what_the_cycle_command_says_of_its_blend(run, capsys):
    record, _, case = run
    plain = record["roads"][0]
    blend = ", ".join(f"{name}={share!r}" for name, share in plain["bottles"].items())
    assert main(["cycle", case, "--blend", blend, "--json"]) == 0
    own = json.loads(capsys.readouterr().out)
    assert plain["cop"] == pytest.approx(own["cop"], rel=1e-5)
    assert plain["own_compressor_cooling_power_W"] == pytest.approx(own["cooling_power_W"], rel=1e-5)
    scale = 15.0 / own["cooling_power_W"]
    assert plain["total_power_W"] == pytest.approx(own["compressor_power_W"] * scale, rel=1e-5)
    assert plain["recuperator_conductance_W_per_K"] == pytest.approx(
        own["recuperator_conductance_W_per_K"] * scale, rel=1e-4
    )


def test_the_cascade_road_is_what_the_cascade_command_designs(run, capsys):
    record, _, case = run
    assert main(["cascade", case, "--json"]) == 0
    own = json.loads(capsys.readouterr().out)["best_by_stages"]["2"]
    assert record["roads"][2]["total_power_W"] == pytest.approx(own["total_power_W"], rel=1e-6)
    assert record["roads"][2]["lowest_temperature_K"] == pytest.approx(own["lowest_temperature_K"])


def test_files(run):
    record, folder, _ = run
    names = {"summary.json", "roads.csv", "load_line.csv", "suction_warming.csv", "compare.png", "compare.svg"}
    assert {path.name for path in folder.iterdir()} == names
    with open(folder / "roads.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [float(row["total_power_W"]) for row in rows] == [one["total_power_W"] for one in record["roads"]]
    with open(folder / "load_line.csv", newline="") as file:
        points = list(csv.DictReader(file))
    assert {point["road"] for point in points} == {"plain", "precooled", "cascade-2"}
    assert {round(float(point["cold_temperature_K"]), 2) for point in points} >= {193.15, 233.15}


def test_text_ends_with_crossing_and_advice(tmp_path, capsys):
    small = SMALL.replace('"precooled", "cascade-2"', '"cascade-1"').replace("steps = 2", "steps = 0")
    assert main(["compare", written(tmp_path, HEAD + small)]) == 0
    text = capsys.readouterr().out
    for expected in ("bar abs", "cm3/rev", "Terms", "What this leaves out", "Do not carry the load", "Flammable: plain"):
        assert expected in text
    assert "  - cascade of 1: no cascade of 1 stage keeps every limit" in text
    lines = [line for line in text.splitlines() if not line.startswith(" ")]  # a long sentence goes on below, indented
    assert lines[-2].startswith("Crossing: ") and lines[-1].startswith("Advice: Build the plain")


def test_an_interruption_keeps_what_was_found(tmp_path, capsys, monkeypatch):
    from mixjt.studies.compare import compare as study

    compare = study.compare

    def cut_short(model, request, progress, processes):
        def stop(stage, done, total, least):
            if stage.startswith("precooled"):
                raise KeyboardInterrupt

        return compare(model, request, stop)

    monkeypatch.setattr(study, "compare", cut_short)
    assert main(["compare", written(tmp_path, HEAD + SMALL), "--json", "--out", str(tmp_path / "run")]) == 130
    captured = capsys.readouterr()
    assert captured.err.endswith("mixjt: interrupted\n")
    record = json.loads(captured.out)
    assert record["interrupted"] and record["roads"][0]["total_power_W"] > 0.0
    # cascades come before precooled blends, which were not looked for: nothing is said of where they get or of a crossing
    assert [one["looked_for"] for one in record["roads"]] == [True, False, True]
    assert "not looked for" in record["roads"][1]["obstacle"]
    assert "not get there" not in record["advice"] and "not looked for" in record["advice"]
    assert record["crossing"].startswith("not known") and record["crossing_temperatures_K"] == []
    assert json.loads((tmp_path / "run" / "summary.json").read_text()) == record


def test_the_text_of_an_interrupted_comparison_states_no_falsehood(tmp_path, capsys, monkeypatch):
    from mixjt.studies.compare import compare as study

    compare = study.compare

    def stop(stage, done, total, least):
        if stage.startswith("cascade-2"):
            raise KeyboardInterrupt

    monkeypatch.setattr(study, "compare", lambda model, request, progress, processes: compare(model, request, stop))
    small = SMALL.replace('"precooled", ', "")
    assert main(["compare", written(tmp_path, HEAD + small)]) == 130
    text = " ".join(capsys.readouterr().out.split())
    known, _, unknown = text.partition("Not known")
    assert "Do not carry the load" not in text
    assert "cascade of 2: not looked for: the comparison was interrupted" in unknown
    assert "no crossing" not in text and "nowhere on the load line" not in text
    assert "Crossing: not known" in text and "cascade of 2 was not looked for to the end" in text


@pytest.mark.parametrize(
    "table, complaint",
    [
        ("rodes = []", "did you mean roads?"),
        ('roads = ["plane"]', '"plane" is not one of'),
        ("roads = []", "[compare] roads: needs a list"),
        ("steps = -1", "[compare] steps: -1 is out of range"),
        ('effort = "some"', '"some" is not one of "quick", "usual", "thorough"'),
        ('coldest = "250 K"\nwarmest = "240 K"', "[compare]: the load line cannot go from 240 K down to 250 K"),
        ('warmest = "299 K"', "not below the ambient"),
        ('suction_pressure_range = ["3 bar", "1 bar"]', "the lower value comes first"),
        ('discharge_pressure_range = ["1 bar", "2 bar"]', "is not above the highest suction pressure"),
    ],
)
def test_refuses_with_one_line(tmp_path, capsys, table, complaint):
    out = tmp_path / "run"
    case = written(tmp_path, f"{HEAD}\n[compare]\n{table}\n")
    assert complaint in refusal(capsys, "compare", case, "--out", str(out))
    assert not out.exists()


def test_a_case_without_load_is_refused(tmp_path, capsys):
    assert "[cold_end] lacks a load above 0" in refusal(capsys, "compare", written(tmp_path, HEAD.replace('load = "15 W"', "")))


def test_the_demos_as_they_stand():
    receiver = compare_request(read_case(DEMO / "receiver-120K.toml"))
    assert receiver.load == 12.0 and len(receiver.search.bottles) == 6 and receiver.search.objective == "cop"
    assert receiver.precooling_temperatures == pytest.approx((233.15, 298.15))
    assert [circuit.warm_section for circuit in receiver.precooled] == [True, False]
    preamp = compare_request(read_case(DEMO / "preamp-cascade.toml"))
    assert preamp.search.names == ("methane", "ethane", "propane", "isobutane")
    assert preamp.search.pressure_ranges == pytest.approx(np.array([[1.1e5, 4.0e5], [8.0e5, 18.0e5]]))
    owned = compare_request(read_case(DEMO / "receiver-precooled.toml"))
    assert owned.precooler_capacity == 140.0 and not owned.precooled[0].precooler.limited
    assert owned.precooling_temperatures == pytest.approx((250.15, 250.15))
    assert [circuit.warm_section for circuit in owned.precooled] == [False]  # as it states
    (constraint,) = owned.blends_at(110.0).constraints
    assert constraint.circuit.cold_temperature == 110.0


def test_without_bottles_the_gases_of_the_blend_are_blended(tmp_path):
    text = HEAD.partition("[[bottle]]")[0] + "[blend]\nethane = 0.6\nisobutane = 0.4\npropane = 0.0\n"
    assert compare_request(read_case(written(tmp_path, text))).search.names == ("ethane", "isobutane")


def test_plot_has_a_line_for_every_road_and_marks_the_crossing():
    from mixjt.studies.compare.comparison import Carried, Comparison, Crossing, Road

    def road(name, powers):
        line = tuple(Carried(t, p, 0.1, 2.0 * p, "", None) for t, p in zip((150.0, 200.0), powers))
        return Road(name, None, None, "", line, None, ())

    roads = (road("plain", (50.0, 20.0)), road("cascade-2", (90.0, 10.0)))
    crossing = Crossing((177.0,), "", ((150.0, 200.0),), (True,))
    found = Comparison(12.0, 150.0, 295.0, roads, crossing, "", (), 1.0)
    figure = compare_figure(found)
    upper, lower = figure.axes
    lines = {one.get_label(): one for one in upper.get_lines()}
    assert list(lines["plain blend"].get_ydata()) == [50.0, 20.0]
    assert list(lines["blend and cascade take the same power"].get_xdata()) == [177.0, 177.0]
    capacity = {one.get_label(): one for one in lower.get_lines()}
    assert list(capacity["cascade of 2"].get_ydata()) == [180.0, 20.0]
    legend = [text.get_text() for text in figure.legends[0].get_texts()]
    assert legend == [
        "plain blend", "cascade of 2", "cold end of the case, 150 K", "blend and cascade take the same power", "load, 12 W",
    ]  # fmt: skip
    assert math.isclose(upper.get_xlim()[0], lower.get_xlim()[0])


def test_plot_joins_no_points_across_a_change_of_fluid():
    from mixjt.studies.compare.comparison import Carried, Comparison, Crossing, Road

    def road(name, fluids):
        points = zip((150.0, 170.0, 200.0), fluids)
        return Road(name, None, None, "", tuple(Carried(t, 50.0, 0.1, 9.0, "", None, fluids=(f,)) for t, f in points), None, ())

    crossing = Crossing((160.0,), "", ((150.0, 170.0),), (False,))
    found = Comparison(12.0, 150.0, 295.0, (road("plain", "abb"), road("cascade-2", "xxx")), crossing, "", (), 1.0)
    upper = compare_figure(found).axes[0]
    drawn = [list(one.get_xdata()) for one in upper.get_lines() if len(one.get_xdata()) and one.get_marker() != "None"]
    assert drawn == [[150.0], [170.0, 200.0], [150.0, 170.0, 200.0]]
    (band,) = upper.patches  # where the crossing lies, instead of a line
    assert band.get_extents().width > 0.0 and not any(list(one.get_xdata()) == [160.0, 160.0] for one in upper.get_lines())
