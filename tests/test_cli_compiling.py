"""The announcement of a first compilation, tried on kernels of one line instead of those of the properties."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
KERNELS = """
from ctypes import c_double
from numba import float64
from mixjt import compiled as compiling

@compiling.compiled(float64, float64)
def double(x):
    return 2 * x

@compiling.compiled(float64, float64)
def square(x):
    return x * x

print(sum(compiling.python_entry(f"kernels.{name}", c_double, c_double)(3.0) for name in ("double", "square")))
"""
PROGRAM = """
from mixjt.cli.compiling import announce_compilation
announce_compilation()
announce_compilation()
import kernels
"""
UNWRITABLE = """
from mixjt import compiled
compiled._can_be_written = lambda folder: False  # as where neither the package nor the home can be written
"""


# A kernel's file that is edited while it is imported, before it compiles.
EDITED = """
import os
from pathlib import Path
from numba import float64
from mixjt.compiled import compiled

if "EDIT" in os.environ:
    Path(__file__).write_text(Path(__file__).read_text().replace("2 * x", "20 * x"))

@compiled(float64, float64)
def double(x):
    return 2 * x
"""
ENTRY = """
from ctypes import c_double
from mixjt.compiled import python_entry
print(python_entry("edited.double", c_double, c_double)(3.0))
"""


def run(folder, program, **settings):
    (folder / "kernels.py").write_text(KERNELS)
    (folder / "program.py").write_text(program)
    environment = os.environ | {"NUMBA_CACHE_DIR": str(folder / "cache"), "PYTHONPATH": str(ROOT)} | settings
    command = [sys.executable, str(folder / "program.py")]
    return subprocess.run(command, capture_output=True, text=True, check=True, env=environment)


def test_said_once_when_compiling_and_not_when_cached(tmp_path):
    first, second = run(tmp_path, PROGRAM), run(tmp_path, PROGRAM)
    assert first.stdout == second.stdout == "15.0\n"
    assert first.stderr.startswith("mixjt: compiling") and first.stderr.count("\n") == 1
    assert "kept for later runs" in first.stderr
    assert second.stderr == ""


def test_where_nothing_can_be_kept_it_runs_and_says_so(tmp_path):
    done = run(tmp_path, UNWRITABLE + PROGRAM)
    assert done.stdout == "15.0\n" and done.stderr.count("\n") == 1
    assert "at every run" in done.stderr and "NUMBA_CACHE_DIR" in done.stderr


def test_what_is_kept_and_damaged_is_made_anew(tmp_path):
    run(tmp_path, PROGRAM)
    (kept,) = (tmp_path / "cache").glob("*.kernels")
    whole = kept.read_bytes()
    middle = len(whole) // 2
    for damaged in (b"", whole[:middle], whole[:middle] + bytes([whole[middle] ^ 1]) + whole[middle + 1 :], whole + b"more"):
        kept.write_bytes(damaged)
        again = run(tmp_path, PROGRAM)
        assert again.stdout == "15.0\n" and again.stderr.startswith("mixjt: compiling")
        assert run(tmp_path, PROGRAM).stderr == ""


def test_an_edit_while_kernels_compile_is_not_missed_by_the_next_run(tmp_path):
    (tmp_path / "edited.py").write_text(EDITED)
    assert run(tmp_path, ENTRY, EDIT="").stdout == "6.0\n"
    assert run(tmp_path, ENTRY).stdout == "60.0\n"


def test_kept_kernels_need_no_compiler(tmp_path):
    """Numba takes longer to import than all kernels to be linked."""
    engines = "mixjt.fluid.flash.engine", "mixjt.parts.recuperator.coil_engine", "mixjt.parts.compressor.shell_engine"
    imports = "".join(f"import {engine}\n" for engine in engines)
    for program in (imports, f"import sys\n{imports}assert 'numba' not in sys.modules"):
        subprocess.run([sys.executable, "-c", program], check=True, env=os.environ | {"PYTHONPATH": str(ROOT)})
