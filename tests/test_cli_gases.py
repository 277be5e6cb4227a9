"""The frame of the command and `mixjt gases`: output, errors and exit codes as a user meets them."""

import csv
import json
import subprocess
import sys

import pytest
from cli_samples import refusal

from mixjt.cli.app import main

HEAVY = ("numba", "CoolProp", "matplotlib", "pint", "rich", "thermo", "numpy", "scipy")


def run(*arguments):
    command = [sys.executable, "-m", "mixjt.cli.app", *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_help_imports_nothing_heavy():
    code = (
        "import sys; from mixjt.cli.app import main; main(['--help']);"
        f"print([name for name in {HEAVY} if name in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "Usage: mixjt" in done.stdout
    assert done.stderr.strip() == "[]"


def test_no_argument_shows_the_help(capsys):
    assert main([]) == 0
    assert "Commands:" in capsys.readouterr().out


def test_every_command_has_an_example(capsys):
    assert main(["--help"]) == 0
    listing = capsys.readouterr().out.split("Commands:")[1]
    commands = [line.split()[0] for line in listing.splitlines() if line.startswith("  ")]
    assert "gases" in commands
    for command in commands:
        assert main([command, "--help"]) == 0
        assert f"mixjt {command}" in capsys.readouterr().out.split("Example")[1]


def test_table_shows_names_units_and_sources(capsys):
    assert main(["gases", "nitrogen", "R-290"]) == 0
    text = capsys.readouterr().out
    for expected in ("nitrogen", "propane", "R-290", "g/mol", "propane + nitrogen", "source"):
        assert expected in text
    assert "ethane" not in text.partition("Property models")[0].replace("methane", "")


def test_json_is_one_object(capsys):
    assert main(["gases", "neon", "propane", "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert [row["gas"] for row in record["gases"]] == ["neon", "propane"]
    assert record["gases"][0]["lower_flammable_limit_percent"] is None
    assert len(record["pairs"]) == 1


def test_all_pairs_of_all_gases(capsys):
    assert main(["gases", "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    count = len(record["gases"])
    assert count >= 14
    assert len(record["pairs"]) == count * (count - 1) // 2


def test_tables_are_written(tmp_path, capsys):
    assert main(["gases", "argon", "--out", str(tmp_path / "run")]) == 0
    with open(tmp_path / "run" / "gases.csv", newline="") as file:
        (row,) = csv.DictReader(file)
    assert row["gas"] == "argon"
    # Tegeler, Span and Wagner, J. Phys. Chem. Ref. Data 28 (1999) 779: Tc = 150.687 K
    assert float(row["critical_temperature_K"]) == pytest.approx(150.687, abs=1e-3)


def test_unknown_gas(capsys):
    assert "propane" in refusal(capsys, "gases", "propan")


@pytest.mark.parametrize("name", ["multi-fluid", "fast", "reference"])
def test_pairs_of_a_model_by_any_of_its_names(capsys, name):
    assert main(["gases", "methane", "ethane", "--model", name, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    (pair,) = record["pairs"]
    # Kunz and Wagner, J. Chem. Eng. Data 57 (2012) 3032, table A8, from memory: methane + ethane
    assert pair["beta_t"] == pytest.approx(0.996336508, abs=1e-9) and pair["F"] == 1.0
    assert record["model"] == record["models"][0] == "multi-fluid"


def test_unknown_model(capsys):
    assert "no property model 'peng'; choose one of multi-fluid" in refusal(capsys, "gases", "--model", "peng")


def test_out_that_is_a_file(tmp_path, capsys):
    (tmp_path / "run").write_text("")
    assert "cannot write to" in refusal(capsys, "gases", "argon", "--out", str(tmp_path / "run"))


@pytest.mark.parametrize(
    "arguments, complaint",
    [
        (["gasses"], "No such command"),
        (["gases", "--outt", "x"], "No such option: --outt"),
        (["gases", "--out"], "--out"),
    ],
)
def test_usage_errors_are_one_line(capsys, arguments, complaint):
    assert complaint in refusal(capsys, *arguments)


def test_exit_code_of_the_process():
    done = run("gases", "propan")
    assert done.returncode == 2
    assert done.stderr.startswith("mixjt: unknown gas") and done.stderr.count("\n") == 1


def test_a_full_output_device_is_one_line():
    with open("/dev/full", "w") as full:
        command = [sys.executable, "-m", "mixjt.cli.app", "gases"]
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert "No space left" in done.stderr and done.stderr.count("\n") == 1


def test_a_reader_that_leaves_early_is_no_error():
    command = f"set -o pipefail; {sys.executable} -m mixjt gases | head -1"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=False)
    assert done.returncode == 0 and done.stdout.strip() == "Gases" and done.stderr == ""


def test_a_closed_output_is_no_error_and_the_files_are_still_written(tmp_path):
    command = f"{sys.executable} -m mixjt gases propane --out {tmp_path} >&-"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=False)
    assert done.returncode == 0 and done.stderr == ""
    assert "propane" in (tmp_path / "gases.csv").read_text()


def test_control_codes_in_a_refusal_are_written_out(capsys):
    assert "unknown gas 'x\\u001b[31m'" in refusal(capsys, "gases", "x\x1b[31m")
