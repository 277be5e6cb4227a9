"""States along isobars from a reference, and how far a parameter set is from them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from mixjt.properties.fast import FastModel
from mixjt.properties.parameters import CubicParameters

ENTHALPY_SCALE = 60.0  # J/mol
FRACTION_SCALE = 0.03


@dataclass(frozen=True)
class Isobars:
    """States of n blends (n, c) at pressures (q,) [Pa] and temperatures (m,) [K].

    Enthalpy [J/mol] and vapour fraction have the shape (q, n, m), NaN where the reference gave no answer or
    is not trusted.
    """

    gases: tuple[str, ...]
    z: np.ndarray
    pressures: np.ndarray
    temperatures: np.ndarray
    enthalpy: np.ndarray
    vapour_fraction: np.ndarray


def along_isobars(model, z, pressures, temperatures) -> Isobars:
    """The states of a model along isobars."""
    sweeps = [model.sweep(z, p, temperatures, strict=False) for p in pressures]
    return Isobars(
        model.gases, np.atleast_2d(z), np.asarray(pressures), np.asarray(temperatures),
        np.array([sweep.enthalpy for sweep in sweeps]),
        np.array([np.where(sweep.phase_count > 0, sweep.vapour_fraction, np.nan) for sweep in sweeps]),
    )  # fmt: skip


def isobar_residuals(parameters: CubicParameters, data: Isobars, threads: int = 1) -> np.ndarray:
    """Scaled deviations of enthalpy, of its differences between pressures, and of vapour fraction."""
    model = FastModel(parameters, threads=threads, check_span=30.0)
    ours = along_isobars(model, data.z, data.pressures, data.temperatures)
    h = (ours.enthalpy - data.enthalpy) / ENTHALPY_SCALE
    parts = [h, 2.0 * (h[:-1] - h[1:]), (ours.vapour_fraction - data.vapour_fraction) / FRACTION_SCALE]
    return np.concatenate([np.nan_to_num(part, nan=0.0).ravel() for part in parts])


def with_pair(parameters: CubicParameters, k0: float, k1: float) -> CubicParameters:
    """A binary's parameters with another interaction."""
    off = 1.0 - np.eye(2)
    return replace(parameters, k0=k0 * off, k1=k1 * off)
