"""Enthalpy differences of blends as smooth functions of the blend, pinches included.

At a fixed temperature the enthalpy difference is smooth in the blend until a phase boundary passes by.
The pinch likes to sit on such a boundary, at the bottom of a V, and moves with it. Held at fixed
temperatures next to it, a linear model would take the one branch of the V for all there is and find no
way up. So the bottom of each V is followed instead: where the straight continuations of its branches meet.
"""

from __future__ import annotations

import numpy as np


def levels(temperatures: np.ndarray, differences: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What must stay above the cooling, at a first blend and as changes from it.

    Parameters
    ----------
    temperatures : array (m,)
    differences : array (n, m)
        Enthalpy differences [J/mol] of a blend and, from the second row on, of blends very near to it.

    Returns
    -------
    level : array (k,)
        [J/mol] of the first blend, at all temperatures except next to a V, and at the bottom of each V.
    change : array (n - 1, k)
        By how much they differ for the other blends [J/mol].
    """
    base = differences[0]
    bottoms = np.flatnonzero((base[2:-2] <= base[1:-3]) & (base[2:-2] <= base[3:-1])) + 2
    meeting = _meeting(temperatures, differences, bottoms)
    followed = np.all(np.isfinite(meeting), axis=0)
    bottoms, meeting = bottoms[followed], meeting[:, followed]
    kept = np.ones(base.size, dtype=bool)
    for offset in (-1, 0, 1):
        kept[bottoms + offset] = False
    level = np.concatenate([base[kept], base[bottoms]])
    change = np.hstack([differences[1:, kept] - base[kept], meeting[1:] - meeting[0]])
    return level, change


def _meeting(temperatures: np.ndarray, differences: np.ndarray, bottoms: np.ndarray) -> np.ndarray:
    """Where lines through the two points on either side of each bottom meet; NaN where not in between."""
    t, d = temperatures, differences
    left, right = bottoms - 1, bottoms + 1
    falling = (d[:, left] - d[:, left - 1]) / (t[left] - t[left - 1])
    rising = (d[:, right + 1] - d[:, right]) / (t[right + 1] - t[right])
    width = t[right] - t[left]
    bend = np.maximum(rising - falling, 1e-9)
    share = (d[:, left] - d[:, right] + rising * width) / (bend * width)
    inside = (falling < 0.0) & (rising > 0.0) & (share > 0.0) & (share < 1.0)
    return np.where(inside, d[:, left] + falling * width * share, np.nan)
