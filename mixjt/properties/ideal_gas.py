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
        self.heat_capacity = np.zeros((len(polynomials), max(map(len, polynomials))))
        for line, row in zip(self.heat_capacity, polynomials, strict=True):
            line[: len(row)] = row

    def at(self, temperatures) -> tuple[np.ndarray, np.ndarray]:
        """Enthalpy [J/mol] and entropy at 1 atm [J/(mol K)] at temperatures [K], each (m, c); zero at 298.15 K."""
        t = np.asarray(temperatures, dtype=float)[:, None] / REFERENCE_TEMPERATURE
        cp = self.heat_capacity
        order = np.arange(1, cp.shape[1])
        h_terms = cp / np.append(order, cp.shape[1])  # of t^(k+1)
        s_terms = cp[:, 1:] / order  # of t^k
        h = t * _horner(h_terms, t) - h_terms.sum(axis=1)
        s = cp[:, 0] * np.log(t) + t * _horner(s_terms, t) - s_terms.sum(axis=1)
        return GAS_CONSTANT * REFERENCE_TEMPERATURE * h, GAS_CONSTANT * s


def _horner(coefficients, t):
    """sum_k coefficients[:, k] t^k for t (m, 1); shape (m, c)."""
    value = np.zeros((t.shape[0], coefficients.shape[0]))
    for column in coefficients.T[::-1]:
        value *= t
        value += column
    return value
