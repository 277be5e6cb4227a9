"""The commands on the demo machines with the project's own property engine, some as separate processes."""

import json
import subprocess
import sys
from functools import cache
from pathlib import Path

import cli_samples
import pytest

ROOT = Path(__file__).parent.parent


def run(*arguments):
    command = [sys.executable, "-m", "mixjt.cli.app", *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)


def record_of(*arguments):
    done = run(*arguments, "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@cache
def cycle_record(name):
    return record_of("cycle", f"mixtures-demo/{name}.toml")


@pytest.mark.parametrize("name", ["receiver-120K", "receiver-95K"])
def test_the_demo_blend_carries_its_load_within_the_machine_limits(name):
    record = cycle_record(name)
    assert record["model"] == "multi-fluid"
    assert record["cooling_power_W"] > record["load_W"]
    assert record["suction_superheat_K"] > 5.0
    assert not any("too hot" in warning or "ratio" in warning for warning in record["warnings"])
    assert abs(record["energy_residual"]) < 1e-6 and abs(record["exergy_residual"]) < 1e-6


def test_cycle_loads_nothing_slow_that_it_does_not_need():
    slow = ("CoolProp", "thermo", "chemicals", "fluids", "matplotlib", "scipy.linalg", "scipy.special", "scipy.optimize")
    code = (
        "import sys; from mixjt.cli.app import main; main(['cycle', 'mixtures-demo/receiver-120K.toml']);"
        f"print([name for name in {slow} if name in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert "cooling power" in done.stdout
    assert done.stderr.splitlines()[-1] == "[]"


@pytest.mark.parametrize("name", ["cubic", "fast", "reference"])
def test_names_of_earlier_days_are_the_one_model(capsys, name):
    record = cli_samples.record_of(capsys, "pinch", str(ROOT / "mixtures-demo/receiver-120K.toml"), "--model", name)
    assert record["model"] == "multi-fluid"


def test_phases_finds_the_two_liquids_of_the_95_kelvin_blend(capsys):
    record = cli_samples.record_of(capsys, "phases", str(ROOT / "mixtures-demo/receiver-95K.toml"))
    assert record["two_liquids_high_K"] and any("two liquids" in warning for warning in record["warnings"])


def test_oxygen_enrichment_is_mentioned_where_it_matters():
    assert any("Oxygen enrichment" in caution for caution in cycle_record("receiver-95K")["cautions"])
    assert not any("Oxygen enrichment" in caution for caution in cycle_record("receiver-120K")["cautions"])


@pytest.mark.parametrize(
    "arguments, complaint",
    [
        (["cycle", "mixtures-demo/receiver-120K.toml", "--model", "ideal"], "no property model 'ideal'"),
        (["cycle", "mixtures-demo/receiver-120K.toml", "--blend", "nitrogen=1"], "no cooling at 120 K"),
        (["cycle", "mixtures-demo/wrong-key.toml"], "did you mean displacement?"),
    ],
)
def test_refuses(capsys, monkeypatch, arguments, complaint):
    monkeypatch.chdir(ROOT)
    assert complaint in cli_samples.refusal(capsys, *arguments)
