"""The whole way of `mixjt trial`, from the demo's log on: the hidden machine, the offset thermocouple and the ice are found.

The machine in the log is of another property model and another slip than the case (`mixtures-demo/first_run.py`).
"""

import json
import math
from contextlib import redirect_stdout
from io import StringIO

import loky
import pytest
from trial_faults import first_run

from mixjt.cli.app import main
from mixjt.studies.trial import built as named

pytestmark = pytest.mark.slow
PIECES = (0, 30), (115, 178), (303, 358)  # minutes: at rest, 12 W, and 12 W with ice


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """The --json of a trial of these pieces of the demo's log."""
    comment, header, *lines = first_run.LOG.read_text().splitlines()
    start = 14 * 60  # the log begins at two o'clock

    def minutes(line):
        hours, minutes, _ = line.split(";")[0].split()[1].split(":")
        return 60 * int(hours) + int(minutes) - start

    kept = [line for line in lines if any(first <= minutes(line) < last for first, last in PIECES)]
    log, text = tmp_path_factory.mktemp("run") / "log.csv", StringIO()
    log.write_text("\n".join([comment, header, *kept]) + "\n")
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(text):
        patch.setattr(loky, "cpu_count", lambda: 1)  # the tests themselves keep all processors busy
        assert main(["trial", str(first_run.CASE), str(log), "--json"]) == 0
    return json.loads(text.getvalue())


def test_the_ice_is_named_first(told):
    first = told["causes"][0]
    assert (first["name"], told["fitted_cause"]) == ("blocked or iced throttle", "blocked or iced throttle")
    assert first["score"] > 3.0
    assert any("steady" in stretch for stretch in first["stretches"])


def test_the_hidden_machine_is_within_its_errors(told):
    """Within two standard errors, each; the ice is no part of the machine."""
    found = {one["name"]: one for one in told["parameters"]}
    off = []
    for name, departure in first_run.HIDDEN.items():
        one = found[name]
        ratio = name not in (named.LEAK, named.AFTERCOOLER, named.HELD_BACK)
        true = one["prior"] * math.exp(departure) if ratio else one["prior"] + departure
        off.append(abs(one["value"] - true) / one["standard_error"])
    assert max(off) < 2.0, off
    offset = found["offset of evaporator"]
    assert abs(offset["value"] - first_run.OFFSETS["evaporator"]) < 2.0 * offset["standard_error"]
    assert found[named.THROTTLE]["told_by_the_data"]


def test_the_fit_explains_what_the_case_does_not(told):
    before, after = (sum(row[key] ** 2 for row in told["residuals"]) for key in ("predicted_residual", "fitted_residual"))
    assert after < 0.02 * before
