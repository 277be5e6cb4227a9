"""Output sets land whole or not at all; CSV and JSON hold plain numbers only."""

import csv
import errno
import json
import os
import threading

import numpy as np
import pytest

from mixjt.errors import InputError
from mixjt.report import output
from mixjt.report.output import (
    Table,
    checked_directory,
    json_text,
    move_all,
    output_directory,
    write_json,
    write_table,
)


def names(folder):
    return sorted(entry.name for entry in folder.iterdir())


def test_files_land_together(tmp_path):
    out = tmp_path / "new" / "run"
    with output_directory(out) as scratch:
        (scratch / "a.csv").write_text("a")
        (scratch / "b.csv").write_text("b")
        assert names(out) == [scratch.name]
    assert names(out) == ["a.csv", "b.csv"]


def test_a_failure_leaves_old_files_and_no_new_ones(tmp_path):
    (tmp_path / "a.csv").write_text("old")
    with pytest.raises(ZeroDivisionError), output_directory(tmp_path) as scratch:
        (scratch / "a.csv").write_text("new")
        raise ZeroDivisionError
    assert names(tmp_path) == ["a.csv"]
    assert (tmp_path / "a.csv").read_text() == "old"


def test_an_interruption_removes_the_directories_made(tmp_path):
    with pytest.raises(KeyboardInterrupt), output_directory(tmp_path / "new" / "run") as scratch:
        (scratch / "a.csv").write_text("new")
        raise KeyboardInterrupt
    assert names(tmp_path) == []


def test_a_full_disk_is_one_line(tmp_path):
    full = OSError(errno.ENOSPC, "No space left on device")
    wanted = pytest.raises(InputError, match=r"cannot write to .*run: No space left on device")
    with wanted as refused, output_directory(tmp_path / "run") as scratch:
        (scratch / "a.csv").write_text("half")
        raise full
    assert "\n" not in str(refused.value)
    assert names(tmp_path) == []


def test_a_file_in_place_of_the_directory(tmp_path):
    (tmp_path / "run").write_text("a file")
    with pytest.raises(InputError, match="cannot write to .*run"), output_directory(tmp_path / "run"):
        pass
    assert (tmp_path / "run").read_text() == "a file"


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_directory_without_permission(tmp_path):
    tmp_path.chmod(0o500)
    with pytest.raises(InputError, match="Permission denied"), output_directory(tmp_path):
        pass


def test_a_directory_in_the_way_stops_the_set_before_the_first_file(tmp_path):
    (tmp_path / "b.csv").mkdir()
    with pytest.raises(InputError, match="in the way"), output_directory(tmp_path) as scratch:
        (scratch / "a.csv").write_text("a")
        (scratch / "b.csv").write_text("b")
    assert names(tmp_path) == ["b.csv"]


def test_csv_keeps_full_precision_and_leaves_missing_values_empty(tmp_path):
    rows = ((0.1 + 0.2, np.float64(1 / 3), None), (float("nan"), np.int64(2), 'a "b", c'))
    write_table(tmp_path / "t.csv", Table(("x_K", "y", "z"), rows))
    with open(tmp_path / "t.csv", newline="") as file:
        header, first, second = csv.reader(file)
    assert header == ["x_K", "y", "z"]
    assert float(first[0]) == 0.1 + 0.2 and float(first[1]) == 1 / 3 and first[2] == ""
    assert second == ["", "2", 'a "b", c']


def test_json_has_null_for_what_is_not_a_number(tmp_path):
    record = {"a": np.array([1.0, np.nan]), "b": (float("inf"), None, True), "c": {"d": np.float64(0.1)}}
    expected = {"a": [1.0, None], "b": [None, None, True], "c": {"d": 0.1}}
    assert json.loads(json_text(record)) == expected
    write_json(tmp_path / "r.json", record)
    assert json.loads((tmp_path / "r.json").read_text()) == expected


def test_two_runs_into_one_new_directory_both_end_well_and_do_not_mix(tmp_path):
    out, ended = tmp_path / "new" / "run", []

    def write(name):
        checked_directory(out)
        with output_directory(out) as scratch:
            for number in range(20):
                (scratch / f"{number}.csv").write_text(name)
                move_all(scratch, out)  # in several steps, as tables and pictures land
            ended.append(name)

    runs = [threading.Thread(target=write, args=(name,)) for name in ("one", "other", "third")]
    for run in runs:
        run.start()
    for run in runs:
        run.join()
    assert sorted(ended) == ["one", "other", "third"]
    assert {path.read_text() for path in out.iterdir()} == {ended[-1]} and len(names(out)) == 20


def test_a_run_that_writes_for_too_long_is_named(tmp_path, monkeypatch):
    monkeypatch.setattr(output, "PATIENCE", 0.2)
    with output_directory(tmp_path), pytest.raises(InputError, match="another run is writing there"):
        checked_directory(tmp_path)
