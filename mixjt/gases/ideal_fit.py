"""Fit polynomials to ideal-gas heat capacities."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.polynomial import Chebyshev, Polynomial

from mixjt.constants import REFERENCE_TEMPERATURE

FIT_RANGE = (50.0, 600.0)  # K
VALID_RANGE = (60.0, 450.0)  # K, where the tolerance holds
TOLERANCE = 1e-4  # relative
SECOND_RADIATION_CONSTANT = 1.438776877  # cm K, h c / k of the SI of 2019


def fit_heat_capacity(cp0: Callable[[float], float]) -> tuple[tuple[float, ...], float]:
    """Polynomial of least degree in T / 298.15 K that follows cp0/R within 1e-4 from 60 K to 450 K.

    Parameters
    ----------
    cp0 : callable
        cp0/R at a temperature in K.

    Returns
    -------
    tuple
        Coefficients a_k from k = 0, and the greatest relative deviation from 60 K to 450 K.
    """
    temperatures, wanted = _sample(cp0, _chebyshev_nodes(600))
    inside = (temperatures >= VALID_RANGE[0]) & (temperatures <= VALID_RANGE[1])
    weights = np.where(inside, 1.0, 0.3) / wanted  # relative deviations, the working range first
    check_at, check = _sample(cp0, np.linspace(*VALID_RANGE, 2000))
    for degree in range(20):
        fit = Chebyshev.fit(temperatures / REFERENCE_TEMPERATURE, wanted, degree, w=weights)
        polynomial = fit.convert(kind=Polynomial)
        deviation = float(np.max(np.abs(polynomial(check_at / REFERENCE_TEMPERATURE) / check - 1.0)))
        if deviation < TOLERANCE:
            return tuple(float(a) for a in polynomial.coef), deviation
    raise ArithmeticError(f"no polynomial follows this heat capacity within {TOLERANCE}")


def harmonic_heat_capacity(vibrations) -> Callable[[float], float]:
    """cp0/R of a non-linear molecule: rigid rotation, harmonic vibrations given as (1/cm, degeneracy).

    cp0/R = 4 + sum g (theta/T)**2 exp(theta/T) / (exp(theta/T) - 1)**2; McQuarrie, Statistical Mechanics
    (1976), chapter 8.
    """
    characteristic = np.array([SECOND_RADIATION_CONSTANT * wavenumber for wavenumber, _ in vibrations])
    degeneracy = np.array([count for _, count in vibrations])

    def cp0(temperature: float) -> float:
        u = characteristic / temperature
        return float(4.0 + np.sum(degeneracy * (0.5 * u / np.sinh(0.5 * u)) ** 2))

    return cp0


def _sample(cp0, temperatures):
    return temperatures, np.array([cp0(float(T)) for T in temperatures])


def _chebyshev_nodes(count: int) -> np.ndarray:
    low, high = FIT_RANGE
    return 0.5 * (low + high) - 0.5 * (high - low) * np.cos(np.linspace(0.0, np.pi, count))
