"""Everything of the cubic equation that depends on temperature only, tabulated for the kernels.

Sources: Soave, Chem. Eng. Sci. 27 (1972) 1197 (alpha function); Twu et al., Fluid Phase Equilibria
69 (1991) 33 (alpha below Tc); Wilson's K-values after Michelsen and Mollerup (2007), section 9.2.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from mixjt.constants import GAS_CONSTANT, REFERENCE_TEMPERATURE

SOAVE, TWU = 0, 1
PAIR_TEMPERATURE = 150.0  # K, in kij = k0 + k1 (150 K / T - 1)


class Tables(NamedTuple):
    """Arrays over temperatures (m,) and gases (c,), in the form the kernels read.

    a = a_ij/(RT)^2 [1/Pa], e = (T da_ij/dT - a_ij)/(RT)^2 [1/Pa], both (m, c, c); b = b_i/(RT) [1/Pa]
    and wilson = ln(K_i p / Pa), both (m, c).
    """

    a: np.ndarray
    e: np.ndarray
    b: np.ndarray
    wilson: np.ndarray


def alpha(parameters, temperatures):
    """Alpha and T d(alpha)/dT, each (m, c).

    Soave form (1 + m (1 - sqrt(Tr)))^2; Twu form Tr^(N(M-1)) exp(L(1 - Tr^(N M))) below the critical
    temperature with exp(c (1 - Tr^d) + e (1 - 1/Tr)^2) above it.
    """
    tr = np.asarray(temperatures)[:, None] / parameters.critical_temperatures
    kind, rows = parameters.alpha[:, 0], parameters.alpha[:, 1:]
    root = 1.0 + rows[:, 0] * (1.0 - np.sqrt(tr))
    soave = root**2, -root * rows[:, 0] * np.sqrt(tr)
    twu = _twu(tr, rows)
    pick = (kind == TWU)[None, :]
    return np.where(pick, twu[0], soave[0]), np.where(pick, twu[1], soave[1])


def _twu(tr, rows):
    ell, m, n, c, d, e = (rows[:, k] for k in range(6))
    power = tr ** (n * m)
    below = tr ** (n * (m - 1.0)) * np.exp(ell * (1.0 - power))
    slope_below = below * (n * (m - 1.0) - ell * n * m * power)
    above = np.exp(c * (1.0 - tr**d) + e * (1.0 - 1.0 / tr) ** 2)
    slope_above = above * (2.0 * e * (1.0 - 1.0 / tr) / tr - c * d * tr**d)
    cold = tr < 1.0
    return np.where(cold, below, above), np.where(cold, slope_below, slope_above)


def build_tables(parameters, temperatures) -> Tables:
    """Tables of a CubicParameters at temperatures [K], shape (m,)."""
    temperatures = np.asarray(temperatures, dtype=float)
    tc, pc = parameters.critical_temperatures, parameters.critical_pressures
    rt = GAS_CONSTANT * temperatures
    a_critical = parameters.omega_a * (GAS_CONSTANT * tc) ** 2 / pc
    b = parameters.omega_b * GAS_CONSTANT * tc / pc
    value, slope = alpha(parameters, temperatures)
    root = np.sqrt(a_critical * value)
    relative = slope / value  # d ln(a) / d ln(T)
    pure = root[:, :, None] * root[:, None, :]
    inverse = PAIR_TEMPERATURE / temperatures[:, None, None]
    kij = parameters.k0 + parameters.k1 * (inverse - 1.0)
    a = pure * (1.0 - kij)
    t_slope = a * 0.5 * (relative[:, :, None] + relative[:, None, :]) + pure * parameters.k1 * inverse
    scale = (rt**2)[:, None, None]
    wilson = np.log(pc) + 5.373 * (1.0 + parameters.acentric_factors) * (1.0 - tc / temperatures[:, None])
    return Tables(a / scale, (t_slope - a) / scale, b / rt[:, None], wilson)


def ideal_gas(parameters, temperatures):
    """Ideal-gas enthalpy [J/mol] and entropy at 1 atm [J/(mol K)], each (m, c); zero at 298.15 K.

    The heat capacity is the polynomial cp/R = sum a_k (T / 298.15 K)^k of the gas catalogue.
    """
    t = np.asarray(temperatures, dtype=float)[:, None] / REFERENCE_TEMPERATURE
    cp = parameters.ideal_cp
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
