"""Ctrl-C at several moments of several commands: signals sent to real processes, at moments chosen by the call."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from cli_samples import edited, written
from search_samples import BOTTLES
from test_cli_compare import HEAD
from test_cli_compare import SMALL as COMPARISON
from test_cli_liquefy import NO_CURVE

from mixjt import interrupt


@pytest.fixture(autouse=True)
def _heard():
    """Whoever runs the tests may ignore Ctrl-C, as a job in the background does."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


ROOT = Path(__file__).parent.parent
DEMO = ROOT / "mixtures-demo"
PROGRAM = """
import importlib, os, runpy, signal, sys, threading

signal.signal(signal.SIGINT, signal.default_int_handler)  # whoever runs the tests may ignore it
module, names, call, again, *sys.argv[1:] = sys.argv[1:]
*owners, name = names.split(".")
owner = importlib.import_module(module)
for step in owners:
    owner = getattr(owner, step)
real, calls = getattr(owner, name), 0

def pressing(*given, **named):
    global calls
    calls += 1
    if calls == int(call):
        if again:
            threading.Timer(float(again), os.kill, (os.getpid(), signal.SIGINT)).start()
        os.kill(os.getpid(), signal.SIGINT)
    return real(*given, **named)

setattr(owner, name, pressing)
runpy.run_module("mixjt", run_name="__main__")
"""
SMALL = """
[search]
largest_number_of_gases = 3
samples = 16
shortlist = 2
seed = 7
""" + BOTTLES


def pressed(target: str, *arguments, call: int = 1, again: str = ""):
    """A run with Ctrl-C when target, "module:name", is called for the so-many-th time, and again so many seconds later."""
    command = [sys.executable, "-c", PROGRAM, *target.split(":"), str(call), again, *map(str, arguments)]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
    assert done.returncode == 130, done.stderr
    assert "Traceback" not in done.stderr and done.stderr.endswith("mixjt: interrupted\n")
    return done


@pytest.fixture
def case(tmp_path):
    """The demo machine with a short search."""
    head = (DEMO / "receiver-120K.toml").read_text().partition("[blend]")[0]
    (tmp_path / "case.toml").write_text(head + SMALL)
    return tmp_path / "case.toml"


def test_while_the_command_line_is_loaded():
    done = pressed("builtins:__import__", call=60)
    assert done.stdout == "" and done.stderr == "mixjt: interrupted\n"


def test_search_while_the_first_blend_is_solved_and_again(tmp_path, case):
    out = tmp_path / "run"
    done = pressed("mixjt.studies.search.finish:_finish", "search", case, "--out", out, again="0.25")
    assert done.stdout.startswith("Interrupted: ") and "Best blends" in done.stdout
    record = json.loads((out / "summary.json").read_text())
    assert record["interrupted"] and record["candidates"]
    assert (out / "candidates.csv").exists() and not list(out.glob("*.png"))


def test_drawing(tmp_path):
    (tmp_path / "compressor_map.png").write_text("of an earlier run")
    arguments = ("compressor", DEMO / "receiver-120K.toml", "--json", "--out", tmp_path)
    done = pressed("mixjt.plots.save:save_figure", *arguments)
    assert json.loads(done.stdout) == json.loads((tmp_path / "summary.json").read_text())
    assert {path.suffix for path in tmp_path.iterdir()} == {".csv", ".json"}
    assert "drawing the pictures" in done.stderr and "left out" in done.stderr


def test_cool_down_says_that_it_is_partial():
    done = pressed("mixjt.studies.cooldown:settle_machine", "cooldown", DEMO / "receiver-cooldown.toml", call=3)
    assert done.stdout.startswith("Interrupted: ") and "Load line at settled pressures" in done.stdout


def test_liquefy_keeps_the_best_blend_so_far(tmp_path):
    target, case = "mixjt.studies.liquefier_blend:_Judge.merit", edited(tmp_path, DEMO / "liquid-nitrogen.toml", NO_CURVE)
    record = json.loads(pressed(target, "liquefy", case, "--best-blend", "--json", call=3).stdout)
    assert record["interrupted"] and record["product_kg_per_day"] > 0.0


def test_compare_keeps_the_roads_found(tmp_path):
    """When the plain blend at the cold end is known, and other processes, where there are any, are at work."""
    done = pressed("mixjt.studies.compare.load_line:LoadLine.starts", "compare", written(tmp_path, HEAD + COMPARISON), "--json")
    assert done.stderr.count("Ctrl-C") == 1
    record = json.loads(done.stdout)
    plain = record["roads"][0]
    assert record["interrupted"] and plain["total_power_W"] > 0.0 and plain["lowest_temperature_K"] is None
    assert all(one["looked_for"] == (one["total_power_W"] is not None) for one in record["roads"])
    assert record["advice"].startswith("Of what was found before the interruption, build the ")


# --- the mechanism


def press():
    signal.raise_signal(signal.SIGINT)


def test_a_press_ends_a_part_that_keeps_and_nothing_after_it():
    reached = []
    with interrupt.handled():
        with interrupt.keeping() as cut:
            reached.append("begun")
            press()
            reached.append("gone on")
        assert cut and interrupt.happened() and not interrupt.impatient()
        press()
        reached.append("ending")
        assert interrupt.impatient()
    assert reached == ["begun", "ending"]


def test_a_press_ends_a_second_part_only():
    with interrupt.handled():
        with interrupt.keeping() as first:
            pass
        press()  # between the parts there is something to lose
        with interrupt.keeping() as second:
            press()
        assert not first and second


def test_a_part_within_another_protects_nothing_of_the_other_unless_it_was_cut():
    with interrupt.handled(), interrupt.keeping() as outer:
        with interrupt.keeping() as inner:
            pass
        press()
    assert outer and not inner


def test_a_press_while_holding_waits_and_before_any_part_ends_all():
    with interrupt.handled():
        with interrupt.holding():
            press()
        assert interrupt.happened() and interrupt.impatient()
    with pytest.raises(KeyboardInterrupt), interrupt.handled():
        press()
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_what_rests_on_an_interrupted_part_ends_too():
    with interrupt.keeping() as cut:
        raise interrupt.Interrupted
    assert cut


def test_a_command_that_ignores_ctrl_c_goes_on_ignoring_it():
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with interrupt.handled():
            press()
        assert not interrupt.happened()
    finally:
        signal.signal(signal.SIGINT, before)
