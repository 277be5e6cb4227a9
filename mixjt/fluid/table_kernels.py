"""Kernels that read tables: cubics through four neighbours, one row of many tables each."""

from __future__ import annotations

from numba import carray, float64, int64, types

from mixjt.compiled import compiled
from mixjt.linked import inlined

CUBIC = 4  # points
REALS, WHOLES = types.CPointer(float64), types.CPointer(int64)


@inlined
def reading(x, y, first, at):
    """Lagrange's cubic through four neighbours, within the smooth part of a row; straight where that is too short.

    x ascends, and y is smooth from column first on; beyond the ends the cubic continues.
    """
    low, high = 0, x.size
    while low < high:
        middle = (low + high) // 2
        if x[middle] < at:
            low = middle + 1
        else:
            high = middle
    right = min(max(low, 1), x.size - 1)
    if first > x.size - CUBIC or right < first:
        share = (at - x[right - 1]) / (x[right] - x[right - 1])
        return (1.0 - share) * y[right - 1] + share * y[right]
    start = min(max(right - 2, first), x.size - CUBIC)
    value = 0.0
    for i in range(start, start + CUBIC):
        weight = 1.0
        for j in range(start, start + CUBIC):
            if j != i:
                weight *= (at - x[j]) / (x[i] - x[j])
        value += weight * y[i]
    return value


@compiled(types.void, REALS, REALS, WHOLES, REALS, int64, int64, REALS)
def readings(x, y, first, at, count, size, out):
    """What rows of x (count, size) have of y (size,) where they are at (count,)."""
    along, common, smooth = carray(x, (count, size)), carray(y, size), carray(first, count)
    where, found = carray(at, count), carray(out, count)
    for k in range(count):
        found[k] = reading(along[k], common, smooth[k], where[k])
