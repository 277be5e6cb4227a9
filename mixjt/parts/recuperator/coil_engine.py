"""What Python calls of the kernels of recuperators."""

from __future__ import annotations

import ctypes

import numpy as np

from mixjt.compiled import python_entry
from mixjt.parts.recuperator import coil_kernels as kernels

_pointer, _whole = ctypes.c_void_p, ctypes.c_int64
_solve = python_entry(kernels.solve, None, *[_pointer] * 5, *[_whole] * 5, _pointer, ctypes.c_double, *[_pointer] * 6)


def solve(hot, high, leak, cold, low, first: int, kind: int, units, tolerance: float, cooling: np.ndarray, found) -> None:
    """As the kernel `solve`; cooling and the arrays found, (apart, beside, along, warm), are contiguous and written to."""
    hot, high, leak, cold, low, units = (np.ascontiguousarray(each, dtype=float) for each in (hot, high, leak, cold, low, units))
    scratch, sizes = np.empty((kernels.SCRATCH, max(hot.size, cold.size))), (len(high), hot.size, cold.size)
    sides = (each.ctypes.data for each in (hot, high, leak, cold, low))
    written = (each.ctypes.data for each in (cooling, *found, scratch))
    _solve(*sides, *sizes, first, kind, units.ctypes.data, tolerance, *written)
