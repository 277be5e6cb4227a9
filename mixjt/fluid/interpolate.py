"""Interpolation in many tables at once, one row a blend."""

from __future__ import annotations

import numpy as np

POINTS = 4


class Cubics:
    """Cubics through four neighbours, within the smooth part of a row, in several tables that are read off many times.

    Where the smooth part is too short, or beside it, straight between neighbours; beyond the ends the cubics continue.

    Parameters
    ----------
    abscissae : array (m,)
        Ascending.
    tables : sequence of arrays (m,)
    first : int
    """

    def __init__(self, abscissae: np.ndarray, tables, first: int):
        self._abscissae = abscissae
        right = np.arange(1, abscissae.size)
        start = np.clip(right - 2, min(first, abscissae.size - POINTS), abscissae.size - POINTS)
        straight = (right < first) | (first > abscissae.size - POINTS)
        start[straight] = np.minimum(right - 1, abscissae.size - POINTS)[straight]
        self._x = abscissae[start[:, None] + np.arange(POINTS)]
        # Newton's divided differences, (m - 1, POINTS, tables)
        found = np.stack(tables, axis=-1)[start[:, None] + np.arange(POINTS)]
        for order in range(1, POINTS):
            gap = (self._x[:, order:] - self._x[:, :-order])[..., None]
            found[:, order:] = (found[:, order:] - found[:, order - 1 : -1]) / gap
        self._terms = found

    def at(self, where) -> np.ndarray:
        """Values (tables, n) at abscissae (n,)."""
        k = np.minimum(np.maximum(np.searchsorted(self._abscissae, where) - 1, 0), self._abscissae.size - 2)
        away, terms = (np.asarray(where)[:, None] - self._x[k])[..., None], self._terms[k]
        found = terms[:, POINTS - 1]
        for order in range(POINTS - 2, -1, -1):
            found = terms[:, order] + away[:, order] * found
        return found.T


def first_dry(wet: np.ndarray) -> np.ndarray:
    """First column (n,) from which on a row of wet (n, m), where there is liquid, is dry."""
    last = wet.shape[1] - 1 - np.argmax(wet[:, ::-1], axis=1)
    return np.where(wet.any(axis=1), last + 1, 0)


def dew_temperatures(temperatures: np.ndarray, liquid: np.ndarray) -> np.ndarray:
    """Where the liquid fraction (n, m) of each row vanishes on heating.

    temperatures (m,) [K], ascending. The last wet points are continued by a parabola (by a straight
    line where there are only two) and held between the last wet and the first dry point. A row without
    liquid gets the lowest temperature, so that its superheat is never overstated; one that is wet to
    the end is continued beyond it.
    """
    wet = liquid > 0.0
    last = wet.shape[1] - 1 - np.argmax(wet[:, ::-1], axis=1)
    last[~wet.any(axis=1)] = -1
    answer = np.full(len(liquid), temperatures[0])
    for row in np.flatnonzero(last >= 0):
        k = last[row]
        below, above = temperatures[k], temperatures[min(k + 1, temperatures.size - 1)]
        if k == temperatures.size - 1:
            above = below + 100.0
        used = slice(max(k - 2, 0), k + 1)
        answer[row] = np.clip(_vanishing(temperatures[used], liquid[row, used]), below, above)
    return answer


def _vanishing(temperatures: np.ndarray, liquid: np.ndarray) -> float:
    """Temperature above the last point where the liquid fraction, continued, is zero."""
    if len(liquid) == 1:
        return np.inf
    slope = (liquid[-1] - liquid[-2]) / (temperatures[-1] - temperatures[-2])
    if not slope < 0.0:
        return np.inf
    straight = -liquid[-1] / slope
    if len(liquid) == 2:
        return temperatures[-1] + straight
    before = (liquid[-2] - liquid[-3]) / (temperatures[-2] - temperatures[-3])
    curvature = (slope - before) / (temperatures[-1] - temperatures[-3])
    slope += curvature * (temperatures[-1] - temperatures[-2])
    root = slope * slope - 4.0 * curvature * liquid[-1]
    if root < 0.0 or not slope < 0.0:
        return temperatures[-1] + straight
    return temperatures[-1] + 2.0 * liquid[-1] / (-slope + np.sqrt(root))
