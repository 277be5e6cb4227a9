"""Seeded random blends and states on which the property tests agree."""

from __future__ import annotations

import numpy as np

# What is found in bottles and salvaged circuits, from the lightest boiling to the heaviest.
COMMON_GASES = (
    "nitrogen",
    "argon",
    "methane",
    "tetrafluoromethane",
    "ethylene",
    "ethane",
    "propylene",
    "propane",
    "isobutane",
    "n-butane",
    "isopentane",
    "n-pentane",
)
SIX_GASES = ("nitrogen", "methane", "ethylene", "propane", "isobutane", "isopentane")
SIX_FRACTIONS = (0.36, 0.15, 0.15, 0.14, 0.10, 0.10)
MOST_NITROGEN = 0.45


def random_blend(rng, most_gases: int = 7) -> tuple[tuple[str, ...], np.ndarray]:
    """Two or more gases and their mole fractions; nitrogen is there more often than not, up to 45 %."""
    count = int(rng.integers(2, most_gases + 1))
    others = rng.choice(len(COMMON_GASES) - 1, count - 1, replace=False) + 1
    nitrogen = float(rng.uniform(0.0, MOST_NITROGEN)) if rng.random() < 0.8 else 0.0
    shares = rng.dirichlet(np.full(count - 1, rng.choice((0.5, 1.0, 3.0)))) * (1.0 - nitrogen)
    fractions = np.array([nitrogen, *shares])
    keep = fractions > 1e-6
    gases = tuple(np.array(COMMON_GASES)[[0, *sorted(others)]][keep])
    return gases, fractions[keep] / fractions[keep].sum()


def random_batch(rng, count: int, most_gases: int = 7, without: str = "") -> np.ndarray:
    """Mole fractions (count, c) over all COMMON_GASES, with zeros for the gases left out."""
    z = np.zeros((count, len(COMMON_GASES)))
    for row in z:
        while np.count_nonzero(row) < 2:
            row[:] = 0.0
            gases, fractions = random_blend(rng, most_gases)
            for gas, fraction in zip(gases, fractions, strict=True):
                row[COMMON_GASES.index(gas)] = fraction * (gas != without)
    return z / z.sum(axis=1, keepdims=True)


def random_state(rng) -> tuple[float, float]:
    """Temperature 80 to 320 K and pressure 1 to 25 bar [Pa], both even in their logarithms."""
    return float(80.0 * 4.0 ** rng.random()), float(1e5 * 25.0 ** rng.random())


def log_space(low: float, high: float, rng, count: int) -> np.ndarray:
    """Random values between low and high, even in their logarithms."""
    return np.exp(rng.uniform(np.log(low), np.log(high), count))
