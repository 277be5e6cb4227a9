"""Bubble pressures of many binary states at once with a cubic parameter set, on numpy arrays."""

from __future__ import annotations

import numpy as np

from mixjt.properties.parameters import CubicParameters
from mixjt.properties.tables import build_tables

STEPS = 60


def bubble_pressures(parameters: CubicParameters, temperatures, x, guesses) -> np.ndarray:
    """Bubble pressures [Pa] of liquids x (m, c) at temperatures (m,), by successive substitution.

    guesses (m,) [Pa], such as measured pressures. NaN where the substitution finds no answer.
    """
    tables = build_tables(parameters, temperatures)
    p, x = np.array(guesses, dtype=float), np.asarray(x, dtype=float)
    K = np.exp(np.clip(tables.wilson - np.log(p)[:, None], -40.0, 40.0))
    total = np.ones_like(p)
    for _ in range(STEPS):
        total = (K * x).sum(axis=1)
        y = K * x / total[:, None]
        p = p * np.clip(total, 0.6, 1.6)
        step = _log_phi(tables, x, p, liquid=True) - _log_phi(tables, y, p, liquid=False)
        K = np.exp(np.clip(step, -40.0, 40.0))
    good = (np.abs(total - 1.0) < 1e-4) & (np.abs(y - x).max(axis=1) > 1e-5)
    return np.where(good, p, np.nan)


def _log_phi(tables, x, p, liquid: bool):
    """ln phi (m, c) of the liquid or vapour root of the Redlich-Kwong family (delta1, delta2 = 1, 0)."""
    rows = np.einsum("mij,mj->mi", tables.a, x)
    a, b = (rows * x).sum(axis=1), (tables.b * x).sum(axis=1)  # over (RT)^2 and RT
    q = a / b
    u = _reduced_volume(q, p * b, liquid)
    z = u * p * b
    share = tables.b / b[:, None]
    attraction = (q * np.log1p(1.0 / u))[:, None] * (2.0 * rows / a[:, None] - share)
    return share * (z - 1.0)[:, None] - np.log((u - 1.0) * p * b)[:, None] - attraction


def _reduced_volume(q, pressure, liquid: bool):
    """v/b where 1/(u - 1) - q/(u (u + 1)) = pressure, from the zero-pressure liquid or the ideal gas."""
    if liquid:
        u = 2.0 * q / (q - 1.0 + np.sqrt(np.maximum((q - 1.0) ** 2 - 4.0 * q, 0.0)))
        u = np.where(q > 1.0, u, 2.0)
    else:
        u = np.maximum(1.0 / pressure + 1.0 - q, 3.0)
    for _ in range(25):
        value = 1.0 / (u - 1.0) - q / (u * (u + 1.0)) - pressure
        slope = q * (2.0 * u + 1.0) / (u * (u + 1.0)) ** 2 - 1.0 / (u - 1.0) ** 2
        u = np.maximum(u + np.clip(-value / slope, -0.3 * (u - 1.0), 0.5 * u), 1.0 + 1e-9)
    return u
