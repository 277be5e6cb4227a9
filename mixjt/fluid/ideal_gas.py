"""Ideal-gas enthalpies and entropies of the catalogue's gases."""

from __future__ import annotations

import numpy as np

from mixjt.constants import GAS_CONSTANT, REFERENCE_TEMPERATURE


class IdealGases:
    """Polynomials cp/R = sum a_k (T / 298.15 K)^k of several gases, with their enthalpies and entropies.

    Parameters
    ----------
    polynomials : sequence of sequences of float
        The a_k of each gas, of any lengths.
    """

    def __init__(self, polynomials):
        cp = np.zeros((len(polynomials), max(map(len, polynomials))))
        for line, row in zip(cp, polynomials, strict=True):
            line[: len(row)] = row
        order = np.arange(1, cp.shape[1])
        self._h, self._s, self._s_log = cp / np.append(order, cp.shape[1]), cp[:, 1:] / order, cp[:, 0]
        self._h_zero, self._s_zero = self._h.sum(axis=1), self._s.sum(axis=1)

    def at(self, temperatures) -> tuple[np.ndarray, np.ndarray]:
        """Enthalpy [J/mol] and entropy at 1 atm [J/(mol K)] at temperatures [K] (...,), each (..., c); zero at 298.15 K."""
        t = np.asarray(temperatures, dtype=float)[..., None] / REFERENCE_TEMPERATURE
        h = t * _horner(self._h, t) - self._h_zero
        s = self._s_log * np.log(t) + t * _horner(self._s, t) - self._s_zero
        return GAS_CONSTANT * REFERENCE_TEMPERATURE * h, GAS_CONSTANT * s


def _horner(coefficients, t):
    """sum_k coefficients[:, k] t^k for t (..., 1); shape (..., c)."""
    value = np.zeros((*t.shape[:-1], len(coefficients)))
    for column in coefficients.T[::-1]:
        value = value * t + column
    return value
