"""Recuperators of stated conductance, of many blends at once.

For a cooling q the energy balance gives the low side's temperature beside every temperature of the high side, and with
it the conductance that this takes, which rises with q from nothing to infinity: one root a blend, on what has been
swept already (`mixjt.parts.recuperator.coil_kernels`). Between the temperatures swept, enthalpies follow monotone cubics.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

ONE_SECTION, WARM_SECTION, COLD_SUCTION = 0, 1, 2  # what is beyond a precooler
SCRATCH = 4  # rows of it that the kernels take


@dataclass(frozen=True)
class Coils:
    """Recuperators of n blends at a cooling (n,) [J/mol].

    apart (n, m) [K] is how far the sides are from each other at the high side's temperatures, low (n, m) [K] the
    temperature of the low side there; conductance (n,) [J/(mol K)] is per flow, shares (n, m) of it lie between the cold
    end and each point. The cooling less warm (n,) [J/mol], if above 0, is what a warm section needs of its precooler.
    """

    cooling: np.ndarray
    apart: np.ndarray
    low: np.ndarray
    shares: np.ndarray
    conductance: np.ndarray
    warm: np.ndarray


def coils(
    hot, high, leak, cold, low, first: int, warm_section: bool, cold_suction: bool, cooling, units=None, tolerance=0.0
) -> Coils:
    """Recuperators at a cooling, or near it at a conductance per flow, units (n,) [J/(mol K)].

    Parameters
    ----------
    hot, cold : arrays (m,), (k,)
        Temperatures of the high and of the low side [K].
    high, leak, low : arrays (n, m), (n, m), (n, k)
        Enthalpies, and what leaks in between the evaporator and each high-side temperature [J/mol].
    first : int
        High-side temperatures colder than a precooler; all without one.
    warm_section, cold_suction : bool
        What is beyond the precooler.
    cooling : array (n,)
        [J/mol]
    tolerance : float
        Of the logarithm of conductance.
    """
    from mixjt.parts.recuperator import coil_engine

    count, kind = len(high), ONE_SECTION
    if warm_section or cold_suction:
        kind = COLD_SUCTION if cold_suction else WARM_SECTION
    cooling, warm = np.array(cooling, dtype=float), np.zeros(count)
    apart, beside, along = (np.empty((count, len(hot))) for _ in range(3))
    units = np.zeros(count) if units is None else units
    coil_engine.solve(hot, high, leak, cold, low, first, kind, units, float(tolerance), cooling, (apart, beside, along, warm))
    total = along[:, -1]
    return Coils(cooling, apart, beside, along / np.maximum(total, 1e-12)[:, None], total, warm)
