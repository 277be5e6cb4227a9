"""What is said of a run: order and words on the terminal, figures, pictures; trials put together by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest
from trial_samples import CASE, cause, machine, trial

from mixjt.case.case import read_case
from mixjt.plots import trial_plot
from mixjt.report import trial_report as report
from mixjt.report.trial_text import print_trial
from mixjt.studies.trial.built import CONDUCTANCE, FLOW, LEAK
from mixjt.studies.trial.fit import Fault
from mixjt.studies.trial.hazards import hazards
from mixjt.studies.trial.readout import changes, readings, related

WIDTH = 100


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    path = tmp_path_factory.mktemp("trial") / "case.toml"
    path.write_text(CASE)
    return read_case(path)


@pytest.fixture(scope="module")
def built(case):
    return machine(case.file)


@pytest.fixture(scope="module")
def plain(built):
    return trial(built)


def text_of(case, found, capsys, monkeypatch) -> str:
    monkeypatch.setenv("COLUMNS", str(WIDTH))
    told = report.ToldTrial(case, "log.csv", case.blend, found)
    print_trial(told, report.trial_record(told))
    return capsys.readouterr().out


def test_a_clean_log_accuses_nobody(case, plain, capsys, monkeypatch):
    near = replace(plain, causes=(cause("leak", 0.4), cause("overcharge", -1.0)))
    text = text_of(case, near, capsys, monkeypatch)
    assert "Nothing stands out" in text and "leak (+0.4), overcharge (-1.0)" in text
    assert "likely" not in text and "look after" not in text and "Before the next start" not in text
    assert max(map(len, text.splitlines())) <= WIDTH


def test_dangers_come_before_causes_and_these_before_numbers(case, plain, capsys, monkeypatch):
    found = replace(plain, causes=(
        cause("worn compressor", 6.0, ["power 9 % below"], ["suction 2 % above"]), cause("air in the circuit", 2.0, ["discharge 8 % above"]),
        cause("leak", 0.1),
    ))  # fmt: skip
    text = text_of(case, found, capsys, monkeypatch)
    places = [text.index(words) for words in (
        "Before the next start", "air in the circuit: discharge 8 % above. look after air", "What the log says",
        "likely: worn compressor", "power 9 % below", "suction 2 % above", "look after worn compressor", "possible: air in the circuit",
        "The machine as fitted", "Stretch 1: steady", "Stretches of the log", "Columns of the log", "line 3 lacks a value", "Cautions",
        "How far to trust this",
    )]  # fmt: skip
    assert places == sorted(places)
    assert "leak," not in text  # below the score that is worth a look


def test_causes_that_the_likeliest_outdoes_are_listed_and_alarm_nobody(case, plain, capsys, monkeypatch):
    """Scores are logarithms of odds: e^9 and e^2.5 between the first and the others; liquid is judged apart."""
    fault = Fault("", np.zeros(len(plain.fit.problem.known)), np.ones(1))
    found = replace(plain, causes=(
        cause("blocked or iced throttle", 20.0, fault=fault), cause("leak", 17.5, fault=fault), cause("air in the circuit", 11.0, fault=fault),
        cause("liquid at suction", 4.0, ["3 K below the dew point"]),
    ))  # fmt: skip
    text = text_of(case, found, capsys, monkeypatch)
    assert "  likely: blocked" in text and "also likely: leak" in text and "these would, by their scores: air in the circuit (11.0)" in " ".join(text.split())
    assert "look after air" not in text
    assert text.index("liquid at suction: 3 K below") < text.index("What the log says") < text.index("also likely: liquid at suction")


def test_pressures_are_shown_by_gauge_and_absolute_and_temperatures_both_ways(case, plain):
    """0.8 bar outside: 3 bar absolute is 2.2 on the gauge."""
    one = replace(readings(plain.fit)[0], place="suction", measured=3e5)
    warm = replace(one, place="evaporator", measured=173.15)
    rows = report.listing(report.RESIDUALS, [(one, 8e4), (warm, 8e4)]).as_shown()[1]
    assert rows[0][1] == pytest.approx(2.2) and rows[0][2] == "bar g"
    assert rows[0][3] == pytest.approx(3.0) and rows[0][6] == "bar abs"
    assert rows[1][1] == pytest.approx(-100.0) and rows[1][2] == "degC" and rows[1][3] == 173.15


def test_measured_less_shown_is_the_residual_times_the_noise(built):
    """Two noises of 1 K, and of 2 % in a power, by hand."""
    clean = readings(trial(built).fit)
    shown = {one.place: one.predicted for one in clean}
    off = trial(built, readings={"evaporator": shown["evaporator"] + 2.0, "power": math.log(shown["power"]) + 0.04})
    found = {one.place: one for one in readings(off.fit)}
    assert found["evaporator"].before == pytest.approx(2.0) and found["evaporator"].after == pytest.approx(2.0)
    assert found["evaporator"].measured - found["evaporator"].predicted == pytest.approx(2.0)
    assert found["power"].measured / found["power"].predicted == pytest.approx(math.exp(0.04))
    assert all(one.before == pytest.approx(0.0, abs=1e-9) for one in clean)


def test_the_offset_of_a_sensor_counts_as_of_what_it_should_show(built):
    found = trial(built, told={"offset of evaporator": 1.5})
    one = next(one for one in readings(found.fit) if one.place == "evaporator")
    assert one.fitted - one.predicted == pytest.approx(1.5) and one.after == pytest.approx(one.before - 1.5)


def test_flows_are_told_in_percent_of_the_case(case, built):
    found = trial(built, told={FLOW: math.log(0.9), LEAK: 0.1})
    told = report.ToldTrial(case, "log.csv", case.blend, found)
    rows = {row[0]: row for row in report.parameter_listing(told).as_shown()[1]}
    assert rows[FLOW][1] == pytest.approx(100.0) and rows[FLOW][3] == pytest.approx(90.0) and rows[FLOW][5] == "% of the case"
    assert rows[LEAK][3] == pytest.approx(0.1) and rows[LEAK][5:] == ["W/K", "yes"]
    assert rows[CONDUCTANCE][6] == "no"
    record = {row["name"]: row for row in report.trial_record(told)["parameters"]}
    assert record[FLOW]["unit"] == "m3/s" and record[FLOW]["value"] == pytest.approx(0.9 * 6.4e-6 * 2900 / 60)
    assert record[FLOW]["told_by_the_data"] is True and record[CONDUCTANCE]["told_by_the_data"] is False


def test_a_cause_is_told_as_what_it_makes_of_the_machine(built, plain):
    """exp(-0.5) = 0.607, and its error 0.2 times half of that; a charge as a whole counts once."""
    known = plain.fit.problem.known
    coil = Fault("undersized", np.array([-0.5 * (one.name == CONDUCTANCE) for one in known]), np.ones(1))
    (change,) = changes(plain.fit, cause("undersized recuperator", 5.0, fault=coil))
    assert (change.name, change.unit) == (CONDUCTANCE, "")
    assert (change.value, change.error) == pytest.approx((math.exp(-0.5), 0.1 * math.exp(-0.5)))
    whole = Fault("overcharge", np.array([0.2 * (one.gas is not None) for one in known]), np.ones(1))
    assert [one.name for one in changes(plain.fit, cause("overcharge", 5.0, fault=whole))] == ["charge"]


def test_parameters_that_cannot_be_told_apart_are_named(plain):
    """Covariance by hand: correlation -0.9 between the first two."""
    covariance = np.array(plain.fit.covariance)
    covariance[0, 1] = covariance[1, 0] = -0.9 * math.sqrt(covariance[0, 0] * covariance[1, 1])
    ((one, other, value),) = related(replace(plain.fit, covariance=covariance))
    assert (one, other) == (CONDUCTANCE, LEAK) and value == pytest.approx(-0.9)


def test_limits_that_readings_pass_are_told_with_where(plain):
    """107 degC of the discharge line by the case; a rotary machine stands 9 to 1 (common practice, no source)."""
    assert hazards(plain, None) == []
    (stretch,) = plain.stretches
    hot = replace(stretch, mean={**stretch.mean, "discharge line": 388.15, "discharge": 40e5})
    said = hazards(replace(plain, stretches=(hot,)), None)
    assert len(said) == 2 and "115 degC" in said[0]
    assert "pressure ratio of 13.3" in said[1] and "from 0 to 10 min" in said[1]


def test_the_charge_at_rest_is_held_against_the_rating(plain):
    (stretch,) = plain.stretches
    resting = replace(stretch, kind="at rest", mean={"suction": 17e5})
    found = replace(plain, stretches=(stretch, resting))
    assert hazards(found, 18e5) == []
    (said,) = hazards(found, 16e5)
    assert "17 bar" in said and "16 bar" in said


def test_a_running_suction_above_the_rating_is_told(plain):
    log = plain.log
    spiked = np.full(log.times.size, 3e5)
    spiked[1] = 17.5e5
    found = replace(plain, log=replace(log, readings={**log.readings, "suction": spiked}))
    assert not any("suction side" in one for one in hazards(found, 18e5))
    (said,) = [one for one in hazards(found, 16e5) if "suction side" in one]
    assert "17.5 bar" in said and f"after {log.times[1] / 60.0:.0f} min" in said


def test_pictures_show_stretches_readings_and_both_machines(plain):
    run = trial_plot.run_figure(plain)
    labels = {text for axes in run.axes for text in axes.get_legend_handles_labels()[1]}
    assert {"evaporator", "discharge", "predicted by the case", "fitted machine"} <= labels
    off = trial_plot.residual_figure(readings(plain.fit)).axes[0]
    assert [label.get_text() for label in off.get_yticklabels()] == [one.place for one in readings(plain.fit)]
    (pinch,) = trial_plot.pinch_figure(plain).axes
    shown = dict(zip(*pinch.get_legend_handles_labels()[::-1], strict=True))
    assert shown["evaporator, measured"].get_ydata()[0] == pytest.approx(plain.fit.problem.seen[0].measured["evaporator"])
    assert shown["low side, fitted"].get_ydata()[0] == pytest.approx(plain.settled[0].cold_temperature, abs=0.01)
