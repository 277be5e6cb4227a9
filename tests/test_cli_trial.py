"""`mixjt trial`: one real run from log to saved case, what is put into cases, and what is refused."""

import json
import math
import signal
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

import loky
import pytest
from cli_samples import refusal
from trial_samples import CASE, HEATERS, HIDDEN, machine, trial, write_run

from mixjt.case.case import case_of, read_case
from mixjt.case.read import case_file
from mixjt.case.saved_case import saved_text
from mixjt.case.trial_answer import not_kept, trial_answer, trial_before
from mixjt.cli.app import main
from mixjt.studies.trial import fit
from mixjt.studies.trial.built import (
    AFTERCOOLER,
    AFTERCOOLER_SIZE,
    CONDUCTANCE,
    COOLING,
    EFFICIENCY,
    FLOW,
    LEAK,
    SHELL,
    THROTTLE,
    departures,
)
from mixjt.studies.trial.run import Imposed, Stretched, run_on

WIDTH = 100
UA = "conductance = \"40 W/K\"          # hoped for"
PACKAGE = """
[insulation]
kind = "polyurethane foam"
thickness = "60 mm"
diameter = "20 cm"
height = "30 cm"
"""
SIZED = "conductance = \"60 W/K\""
LABEL = """
[rating]
refrigerant = "R-22"
capacity = "4000 BTU/h"
point = "air conditioning"
power = "400 W"
"""
TUBES = """
[recuperator_tubes]
kind = "tube in tube"
small_diameter = "6 mm"
small_wall = "1 mm"
large_diameter = "12 mm"
large_wall = "1 mm"
length = "12 m"
"""


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """Case and log."""
    return write_run(tmp_path_factory.mktemp("trial"))


@pytest.fixture(scope="module")
def run(files, tmp_path_factory):
    """Text on the terminal, folder of files, record and saved case of one run."""
    folder, text = tmp_path_factory.mktemp("out"), StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(text):
        patch.setenv("COLUMNS", str(WIDTH))
        patch.setattr(loky, "cpu_count", lambda: 1)
        patch.setattr(fit, "MOST_TRIALS", 4)  # few gases, and far from a corner
        assert main(["trial", *map(str, files), "--out", str(folder / "out"), "--save", str(folder / "new.toml")]) == 0
    record = json.loads((folder / "out" / "summary.json").read_text())
    return text.getvalue(), folder / "out", record, folder / "new.toml"


def test_the_hidden_recuperator_is_found_within_its_error(run):
    """40 W/K in the case, four fifths of it in the machine that wrote the log."""
    row = next(one for one in run[2]["parameters"] if one["name"] == CONDUCTANCE)
    assert row["prior"] == 40.0 and row["told_by_the_data"]
    assert abs(row["value"] - 40.0 * math.exp(HIDDEN)) < 2.0 * row["standard_error"]
    after = [abs(one["fitted_residual"]) for one in run[2]["residuals"]]
    assert max(after) < 1.0 < max(abs(one["predicted_residual"]) for one in run[2]["residuals"])


def test_stretches_and_columns_of_the_log_are_told(run):
    """By hand: two settings of the heater for 15 min each, pressures 3 and 15 bar absolute, 0.8 bar outside."""
    first, second = (one for one in run[2]["steady_stretches"] if one["kind"] == "steady")
    assert [first["heater_W"], second["heater_W"]] == pytest.approx(HEATERS)
    assert first["suction_Pa"] == pytest.approx(3e5, rel=2e-3) and first["discharge_Pa"] == pytest.approx(15e5, rel=2e-3)
    assert first["shell_K"] is None
    taken = {one["header"]: one["place"] for one in run[2]["columns"]}
    assert taken["t [s]"] == "time" and taken["T before capillary [degC]"] == "throttle inlet"


def test_the_record_has_the_keys_of_a_trial(run):
    causes = run[2]["causes"]
    assert {"name", "score", "evidence_for", "evidence_against", "next_step"} <= causes[0].keys()
    assert [one["score"] for one in causes] == sorted((one["score"] for one in causes), reverse=True)
    assert sum(run[2]["circulating_blend"].values()) == pytest.approx(1.0)
    assert run[2]["model"] == "multi-fluid" and run[2]["warnings"] is not None and run[2]["cautions"]


def test_text_fits_and_files_are_written(run):
    text, folder, _, _ = run
    assert max(map(len, text.splitlines())) <= WIDTH
    assert {one.name for one in folder.iterdir()} == {
        "summary.json", *(f"{name}.csv" for name in ("parameters", "causes", "residuals", "stretches")),
        *(f"{name}.{kind}" for name in ("run", "residuals", "pinch") for kind in ("png", "svg")),
    }  # fmt: skip


def test_the_machine_of_the_saved_case_is_that_of_the_log(run, files):
    """Most of what was predicted wrongly is gone; the rest is what the log has not told, which stays as it was."""
    saved, before = run[3], run[2]["residuals"]
    built = machine(saved)
    known = departures(built, {})
    imposed = Imposed(295.15, HEATERS[0], cold=170.0, suction=3e5, discharge=15e5)
    shown = run_on(Stretched(built, known, [0.0] * len(known), imposed)).shown
    for place in ("evaporator", "throttle inlet"):
        row = next(one for one in before if one["place"] == place)
        assert abs(row["measured"] - shown[place]) < 0.5 * abs(row["measured"] - row["predicted"])


def test_the_saved_case_tells_the_old_values_beside_the_new(run, files):
    text = run[3].read_text()
    line = next(one for one in text.splitlines() if one.startswith("conductance"))
    assert "hoped for; set by mixjt trial, was 40 W/K" in line
    assert case_of(case_file("new", text)).circuit.recuperator_conductance == pytest.approx(
        next(one["value"] for one in run[2]["parameters"] if one["name"] == CONDUCTANCE), rel=1e-8
    )


# --- what goes into a case


def saved(folder: Path, *changes: tuple[str, str], told=()) -> tuple[str, object, object]:
    """A case with other lines, with a trial that has told something; its text, the case that it makes, and the trial."""
    text = CASE
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    path = folder / "case.toml"
    path.write_text(text)
    case, found = read_case(path), trial(machine(path), told=dict(told))
    new = saved_text(case, trial_answer(case, found), "mixjt trial", before=trial_before(case, found))
    return new, case_of(case_file("new", new)), found


def test_a_package_and_a_size_make_way_for_what_was_found(tmp_path):
    text, case, found = saved(
        tmp_path, ("[blend]", f"{PACKAGE}\n[blend]"), ('approach = "8 K"', SIZED),
        told={LEAK: 0.07, AFTERCOOLER_SIZE: -0.1, CONDUCTANCE: -0.2},
    )  # fmt: skip
    old = found.built.machine.circuit
    assert case.circuit.insulation.conductance == pytest.approx(old.insulation.conductance + 0.07)
    size = old.aftercooler.to_ambient(old.ambient_temperature)
    assert case.circuit.aftercooler.conductance == pytest.approx(size * math.exp(-0.1)) and case.circuit.aftercooler.face_area is None
    assert case.circuit.recuperator_conductance == pytest.approx(40.0 * math.exp(-0.2))
    assert "# [insulation] thickness = 60 mm left out by mixjt trial" in text


def test_a_label_makes_way_for_the_fitted_compressor(tmp_path):
    _, case, found = saved(
        tmp_path, ("[circuit]", f"{LABEL}\n[circuit]"), ('displacement = "6.4 cm3"\nspeed = "2900 rpm"\n', ""),
        told={FLOW: -0.1, EFFICIENCY: -0.08, SHELL: 0.3},
    )  # fmt: skip
    old, new = found.built.machine.circuit.compressor, case.circuit.compressor
    assert new.swept_flow == pytest.approx(math.exp(-0.1) * old.swept_flow)
    assert new.isentropic_efficiency == pytest.approx(math.exp(-0.08) * old.isentropic_efficiency)
    assert new.shell_conductance == pytest.approx(math.exp(0.3) * old.conductance_at(old.swept_flow))
    assert new.clearance == old.clearance and new.motor_efficiency == pytest.approx(old.motor_efficiency)
    assert case.tables["rating"]["power"] is None


def test_the_length_of_tubes_makes_way_for_their_conductance(tmp_path):
    text, case, found = saved(tmp_path, (UA, ""), ("[blend]", f"{TUBES}\n[blend]"), told={CONDUCTANCE: -0.3})
    assert case.circuit.recuperator_conductance == pytest.approx(math.exp(-0.3) * found.built.machine.conductance)
    assert not case.circuit.of_stated_length and "[recuperator_tubes] length = 12 m left out" in text


def test_a_blend_that_circulates_is_put_right_without_a_charge(tmp_path):
    """6:4 with a tenth more methane by its logarithm."""
    _, case, _ = saved(tmp_path, told={"charge of methane": 0.1})
    share = 0.6 * math.exp(0.1)
    assert case.blend.to_dict() == pytest.approx({"methane": share / (share + 0.4), "isobutane": 0.4 / (share + 0.4)})


def test_what_the_log_has_not_told_stays_and_what_no_key_says_is_named(tmp_path):
    text, _, found = saved(tmp_path, told={COOLING: -0.1, "offset of evaporator": 2.0})
    assert text == CASE and not_kept(found) == [COOLING]


CLOSED = """
[throttle]
diameter = "0.9 mm"
length = "1.5 m"

[volumes]
hot = "0.3 L"
recuperator_high = "0.1 L"
recuperator_low = "0.4 L"
evaporator = "0.1 L"
buffer = "3 L"
slip = "none"
"""


@pytest.mark.parametrize("closed", [False, True], ids=["needle valve", "capillary and charge"])
def test_a_saved_machine_does_what_the_fitted_one_does(tmp_path, closed):
    """So a further trial of the same log finds nothing to depart from."""
    told = {CONDUCTANCE: -0.3, FLOW: -0.1, EFFICIENCY: -0.05, AFTERCOOLER: 2.0, LEAK: 0.05}
    told |= {THROTTLE: -0.15, "charge of methane": 0.04} if closed else {}
    _, case, found = saved(tmp_path, ("[blend]", f"{CLOSED if closed else ''}\n[blend]"), told=told)
    (seen,), (first,), (fitted,) = found.fit.problem.seen, found.fit.first, found.fit.runs
    path = tmp_path / "new.toml"
    path.write_text(case.text)
    built = machine(path)
    assert case.charge is None or case.charge["methane"] == pytest.approx(math.exp(0.04) * found.built.machine.charge[0])
    known = departures(built, {})
    shown = run_on(Stretched(built, known, [0.0] * len(known), seen.imposed), fitted, same=False).shown
    assert shown == pytest.approx(fitted.shown, rel=2e-3)
    assert abs(fitted.shown["evaporator"] - first.shown["evaporator"]) > 2.0


# --- refusals


def test_bad_input_is_one_line(files, tmp_path, capsys):
    case, log = map(str, files)
    assert "nothing.csv" in refusal(capsys, "trial", case, str(tmp_path / "nothing.csv"))
    assert "LOG.csv" in refusal(capsys, "trial", case)
    assert "is there already" in refusal(capsys, "trial", case, log, "--save", log)
    nameless = tmp_path / "nameless.csv"
    nameless.write_text("t [s];x [degC]\n" + "".join(f"{20 * i};{i}\n" for i in range(9)))
    assert "nameless.csv" in refusal(capsys, "trial", case, str(nameless))
    wrong = tmp_path / "wrong.toml"
    wrong.write_text(CASE + '\n[trial]\ncolumns = {evaporator = "ch 9"}\n')
    assert '"ch 9"' in refusal(capsys, "trial", str(wrong), log)


def test_a_log_that_never_stands_still_is_refused(files, tmp_path, capsys):
    case, log = files
    short = tmp_path / "short.csv"
    short.write_text("\n".join(log.read_text().splitlines()[:9]) + "\n")
    out = tmp_path / "out"
    assert "no steady stretch" in refusal(capsys, "trial", str(case), str(short), "--out", str(out))
    assert not out.exists()


def test_ctrl_c_during_the_first_fit_ends_it(files, capsys, monkeypatch):
    """Though the band before it had something to keep: there is no fit to show."""
    case, log = files
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # a job in the background has it ignored
    monkeypatch.setattr("mixjt.studies.trial.trial.first_runs", lambda *_: signal.raise_signal(signal.SIGINT))
    try:
        assert main(["trial", str(case), str(log)]) == 130
    finally:
        signal.signal(signal.SIGINT, before)
    assert not capsys.readouterr().out
