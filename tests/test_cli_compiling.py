"""The announcement of a first compilation, tried on a function of one line instead of the kernels."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

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


UNWRITABLE = """
import sys
from numba.core import caching

def refuse(self):
    raise OSError("read-only")

caching._CacheLocator.ensure_cache_path = refuse  # as where neither the package nor the home can be written
from mixjt.cli.compiling import announce_compilation
from mixjt.properties.kernels import compiled

@compiled
def sweep_blend(x):
    return 2 * x

@compiled
def triple(x):
    return 3 * x

announce_compilation()
print(globals()[sys.argv[1]](1.0))
"""


def run(folder, program=PROGRAM, *arguments):
    (folder / "program.py").write_text(program)
    environment = os.environ | {"NUMBA_CACHE_DIR": str(folder / "cache"), "PYTHONPATH": str(ROOT)}
    command = [sys.executable, str(folder / "program.py"), *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=True, env=environment)


def test_said_once_when_compiling_and_not_when_cached(tmp_path):
    first, second = run(tmp_path), run(tmp_path)
    assert first.stdout == second.stdout == "13.0\n"
    assert first.stderr.startswith("mixjt: compiling") and first.stderr.count("\n") == 1
    assert second.stderr == ""


@pytest.mark.parametrize("kernel, answer, takes", [("sweep_blend", "2.0\n", "minutes"), ("triple", "3.0\n", "seconds")])
def test_where_nothing_can_be_kept_it_runs_and_says_so(tmp_path, kernel, answer, takes):
    done = run(tmp_path, UNWRITABLE, kernel)
    assert done.stdout == answer and done.stderr.count("\n") == 1
    assert takes in done.stderr and "at every run" in done.stderr and "NUMBA_CACHE_DIR" in done.stderr
