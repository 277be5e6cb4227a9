"""A space-filling start: blends of every number of bottles, spread evenly within their bounds."""

from __future__ import annotations

import numpy as np

from mixjt.studies.search.search_request import SearchRequest

FILLING_ROUNDS = 60


def space_filling(request: SearchRequest) -> tuple[np.ndarray, np.ndarray]:
    """Bottle fractions (n, bottles) and logarithms of suction and discharge pressure (n, 2).

    A Latin hypercube chooses the number of bottles (more blends where there are more bottles), which of them,
    their fractions (uniform on the simplex, then fitted into the bounds) and the pressures. Blends whose bounds
    cannot be met are left out.

    Source: McKay, Beckman and Conover, Technometrics 21 (1979) 239-245 (from memory).
    """
    bottles = len(request.bottles)
    points = _latin_hypercube(request.samples, 2 * bottles + 3, np.random.default_rng(request.seed))
    counts = _counts(request, points[:, 0])
    keys = np.where(request.required, -1.0, points[:, 1 : bottles + 1])
    rank = np.argsort(np.argsort(keys, axis=1, kind="stable"), axis=1, kind="stable")
    present = rank < counts[:, None]
    possible = np.array([request.possible(row) for row in present])
    shares = -np.log1p(-points[:, bottles + 1 : 2 * bottles + 1]) + 1e-12
    amounts = within_bounds(request, present[possible], shares[possible])
    low, high = np.log(request.pressure_ranges).T
    return amounts, low + points[possible, 2 * bottles + 1 :] * (high - low)


def _latin_hypercube(count: int, dimensions: int, random: np.random.Generator) -> np.ndarray:
    """Points (count, dimensions) within 0 and 1: one in each of `count` slices of every dimension."""
    slices = random.permuted(np.tile(np.arange(count)[:, None], dimensions), axis=0)
    return (slices + random.random(slices.shape)) / count


def _counts(request: SearchRequest, uniform: np.ndarray) -> np.ndarray:
    counts = np.array(request.counts)
    share = np.cumsum(counts) / counts.sum()
    return counts[np.minimum(np.searchsorted(share, uniform), counts.size - 1)]


def within_bounds(request: SearchRequest, present: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """Fractions (n, bottles) in proportion to positive shares as far as the bounds let them.

    Every bottle present gets its least fraction; what is left is poured in proportion to the shares,
    and what overflows is poured again.
    """
    low, high = np.where(present, request.lowest, 0.0), np.where(present, request.highest, 0.0)
    amounts = low.copy()
    for _ in range(FILLING_ROUNDS):
        left = 1.0 - amounts.sum(axis=1)
        room = (high > amounts) & present
        weight = np.where(room, shares, 0.0)
        total = weight.sum(axis=1)
        if np.all(left <= 1e-14) or np.all(total[left > 1e-14] == 0.0):
            break
        poured = weight * (left / np.where(total > 0.0, total, 1.0))[:, None]
        amounts = np.minimum(amounts + poured, high)
    return amounts / amounts.sum(axis=1, keepdims=True)


def towards(request: SearchRequest, present: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    """Fractions (n, bottles) within the bounds, as near to wanted ones as pouring gets."""
    low = np.where(present, request.lowest, 0.0)
    return within_bounds(request, present, np.maximum(wanted - low, 1e-9))
