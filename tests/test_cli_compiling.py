"""The announcement of a first compilation, tried on a function of one line instead of the kernels."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
PROGRAM = """
import numba
from mixjt.cli.compiling import announce_compilation

@numba.njit(cache=True)
def double(x):
    return 2 * x

@numba.njit(cache=True)
def square(x):
    return x * x

announce_compilation()
announce_compilation()
print(double(2.0) + square(3.0))
"""


def run(folder):
    (folder / "program.py").write_text(PROGRAM)
    environment = os.environ | {"NUMBA_CACHE_DIR": str(folder / "cache"), "PYTHONPATH": str(ROOT)}
    command = [sys.executable, str(folder / "program.py")]
    return subprocess.run(command, capture_output=True, text=True, check=True, env=environment)


def test_said_once_when_compiling_and_not_when_cached(tmp_path):
    first, second = run(tmp_path), run(tmp_path)
    assert first.stdout == second.stdout == "13.0\n"
    assert first.stderr.startswith("mixjt: compiling") and first.stderr.count("\n") == 1
    assert second.stderr == ""
