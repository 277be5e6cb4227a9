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
        self._orders = np.arange(1.0, cp.shape[1] + 1.0)
        cp = GAS_CONSTANT * cp
        self._h, self._s, self._s_log = REFERENCE_TEMPERATURE * (cp / self._orders), cp[:, 1:] / self._orders[:-1], cp[:, 0]
        self._h_zero, self._s_zero = self._h.sum(axis=1), self._s.sum(axis=1)

    def at(self, temperatures) -> tuple[np.ndarray, np.ndarray]:
        """Enthalpy [J/mol] and entropy at 1 atm [J/(mol K)] at temperatures [K] (...,), each (..., c); zero at 298.15 K."""
        t = np.asarray(temperatures, dtype=float)[..., None] / REFERENCE_TEMPERATURE
        powers = t**self._orders
        entropy = self._s_log * np.log(t) + powers[..., :-1] @ self._s.T
        return powers @ self._h.T - self._h_zero, entropy - self._s_zero
