"""Functions that are only linked into kernels: numba would optimise each for itself and make machine code of it that
nothing calls, a third of all compiling."""

from __future__ import annotations

from numba import njit
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import Compiler

from mixjt.compiled import FAST_MATH


class _Inner(JITCodeLibrary):
    """Code of one function; optimised, and made machine code, within the kernels that call it."""

    def _optimize_final_module(self):
        pass

    def _finalize_final_module(self):
        self._finalized = True

    def get_pointer_to_function(self, name):
        return 0

    @property
    def codegen(self):
        return self

    def set_env(self, name, environment):  # Python's side of it, for which machine code would have a place
        pass


class _ToBeLinked(Compiler):
    """numba's compiler into such a library."""

    def __init__(self, typing, target, library, *others):
        super().__init__(typing, target, library or _Inner(target.codegen(), "inner"), *others)


def inlined(function):
    """Decorator: compile a function into the kernels that call it."""
    return njit(
        pipeline_class=_ToBeLinked, no_cpython_wrapper=True, no_cfunc_wrapper=True, error_model="numpy", fastmath=FAST_MATH
    )(function)  # fmt: skip
