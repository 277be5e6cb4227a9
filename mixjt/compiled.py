"""Kernels compiled once each, and a cache that can't outlive the sources it was made from.

numba compiles a callee anew inside each of its callers. Here every kernel is a C function with a stated
signature; callers reach it through its symbol, so that nothing is compiled twice. The stamp under which a kernel
is kept is a hash of its own file and of all modules of the project which that imports, directly or not: an edit makes
new whatever may hold a copy of the edited code.
"""

from __future__ import annotations

import ctypes
import hashlib
import re
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import llvmlite.binding as llvm
from numba import njit, types
from numba.core.caching import FunctionCache
from numba.core.ccallback import CFunc
from numba.core.runtime import rtsys

FAST_MATH = {"contract", "reassoc", "arcp", "nsz"}  # NaN and infinity keep their meaning
ROOT = Path(__file__).parent  # of the project's modules
inlined = njit(error_model="numpy", fastmath=FAST_MATH, no_cpython_wrapper=True, no_cfunc_wrapper=True)  # decorator: compiled into the kernels that call it

_kept: dict[str, CFunc] = {}
# Functions called before a kernel is compiled that is not in the cache, with whether it will be kept.
before_compiling: list[Callable[[bool], None]] = []


class _Kernel(CFunc):
    kept = False

    def _compile_uncached(self):
        for tell in before_compiling:
            tell(self.kept)
        return super()._compile_uncached()


class _Cache(FunctionCache):
    """numba's cache; code that is kept needs its runtime only, not all that its compiler loads (0.4 s)."""

    def load_overload(self, signature, target):
        rtsys.initialize(target)
        with self._guard_against_spurious_io_errors():
            return self._load_overload(signature, target)


def compiled(result, *arguments, exact: bool = False):
    """Decorator: compile a kernel for these types (records or scalars) and return what callers may name.

    exact keeps the order of floating-point operations as written.
    """
    signature = result(*arguments)

    def decorate(function):
        options = {"nopython": True, "error_model": "numpy", "fastmath": {"contract"} if exact else FAST_MATH}
        kernel = _Kernel(function, (signature.args, signature.return_type), locals={}, options=options)
        cache = _stamped_cache(function)
        if cache is not None:
            kernel._cache, kernel.kept = cache, True
        kernel.compile()
        symbol = f"{function.__module__}.{function.__name__}".replace(".", "_")
        llvm.add_symbol(symbol, kernel.address)
        _kept[symbol] = kernel
        return types.ExternalFunction(symbol, signature)

    return decorate


def python_entry(kernel, result, *arguments):
    """The kernel as a function that Python may call; it releases the interpreter lock. ctypes types."""
    return ctypes.CFUNCTYPE(result, *arguments)(_kept[kernel.symbol].address)


@lru_cache
def source_stamp(file: Path) -> str:
    """Hash of the source of a module with kernels and of all modules of the project that it imports."""
    text = file.read_text(encoding="utf-8")
    named = sorted(set(re.findall(r"^from mixjt\.([\w.]+) import", text, re.MULTILINE)))
    modules = [ROOT.joinpath(*name.split(".")).with_suffix(".py") for name in named]
    parts = [text, *(source_stamp(module) for module in modules if module.exists())]
    return hashlib.sha256("".join(parts).encode()).hexdigest()


def _stamped_cache(function):
    """numba's cache of a function, with our stamp; None where no directory can be written."""
    try:
        kept = _Cache(function)
    except RuntimeError:
        return None
    kept._cache_file._source_stamp = source_stamp(Path(function.__code__.co_filename))
    return kept
