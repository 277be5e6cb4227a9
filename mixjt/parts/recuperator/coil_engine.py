"""What Python calls of the kernels of recuperators."""

from __future__ import annotations

import ctypes

import numpy as np

from mixjt.compiled import python_entry
from mixjt.parts.recuperator.coils import SCRATCH
from mixjt.parts.recuperator.side import ZERO_DIFFERENCE

_pointer, _whole = ctypes.c_void_p, ctypes.c_int64
_kernels = "mixjt.parts.recuperator.coil_kernels"
_solve = python_entry(
    f"{_kernels}.solve", None, *[_pointer] * 5, *[_whole] * 5, _pointer, ctypes.c_double, *[_pointer] * 6
)
_held = python_entry(
    f"{_kernels}.held_conductance", ctypes.c_double, *[_pointer] * 6, _whole, _whole, *[ctypes.c_double] * 4
)


def held_conductance(hot, high, leak, entered, cold, low, load: float):
    """The kernel of that name as a function of what is drawn [J/mol] and its share; arrays (m,), (k,) as there."""
    kept = [np.ascontiguousarray(each, dtype=float) for each in (hot, high, leak, entered, cold, low)]
    sides = [each.ctypes.data for each in kept]

    def conductance(drawn: float, share: float, _kept=kept) -> float:
        return _held(*sides, len(hot), len(cold), load, drawn, share, ZERO_DIFFERENCE)

    return conductance


def solve(hot, high, leak, cold, low, first: int, kind: int, units, tolerance: float, cooling: np.ndarray, found) -> None:
    """As the kernel `solve`; cooling and the arrays found, (apart, beside, along, warm), are contiguous and written to."""
    hot, high, leak, cold, low, units = (np.ascontiguousarray(each, dtype=float) for each in (hot, high, leak, cold, low, units))
    scratch, sizes = np.empty((SCRATCH, max(hot.size, cold.size))), (len(high), hot.size, cold.size)
    sides = (each.ctypes.data for each in (hot, high, leak, cold, low))
    written = (each.ctypes.data for each in (cooling, *found, scratch))
    _solve(*sides, *sizes, first, kind, units.ctypes.data, tolerance, *written)
