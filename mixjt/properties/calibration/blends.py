"""Random blends and machines for training and for the held-out report, and what a model says of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

GASES = (
    "nitrogen", "methane", "ethylene", "ethane", "propylene", "propane", "isobutane", "n-butane",
    "isopentane", "n-pentane",
)  # fmt: skip
LIKELINESS = np.array([1.0, 0.4, 1.0, 0.15, 1.0, 0.8, 0.6, 0.4, 0.4])  # of the gases but nitrogen, relative
HELD_OUT_SEED, TRAINING_SEED = 20240, 7
COLDEST, WARMEST, STEP = 80.0, 352.0, 4.0  # K, grid of the isobars
FINER = 9  # points of each refinement of a dew or bubble point
WARM_END = 300.0  # K


@dataclass(frozen=True)
class Trial:
    """A blend over GASES (10,), suction and discharge pressure [Pa], cold end [K]."""

    z: np.ndarray
    p_low: float
    p_high: float
    cold_end: float

    @property
    def gases(self) -> tuple[str, ...]:
        """Names of the gases present."""
        return tuple(name for name, share in zip(GASES, self.z, strict=True) if share > 0.0)


@dataclass(frozen=True)
class Answer:
    """What a model says of a trial: enthalpy differences (m,) [J/mol], bubble and dew points (2,) [K]."""

    differences: np.ndarray
    liquids: np.ndarray  # (2, m), how many liquids at each pressure
    bubble: tuple[float, float]
    dew: tuple[float, float]

    def minimum(self, cold_end: float) -> tuple[float, float]:
        """Least enthalpy difference [J/mol] between the cold end and 300 K, and where [K]."""
        span = (GRID >= cold_end - 1e-6) & (GRID <= WARM_END + 1e-6)
        values = np.where(span & np.isfinite(self.differences), self.differences, np.inf)
        k = int(np.argmin(values))
        return float(values[k]), float(GRID[k])


GRID = np.arange(COLDEST, WARMEST + 0.5 * STEP, STEP)


def random_trials(count: int, seed: int) -> list[Trial]:
    """Blends of 3 to 7 gases with 0 to 45 % nitrogen; 1 to 3 bar, 10 to 22 bar; cold end 85 to 160 K."""
    rng = np.random.default_rng(seed)
    return [_random_trial(rng) for _ in range(count)]


def _random_trial(rng) -> Trial:
    z = np.zeros(len(GASES))
    nitrogen = rng.uniform(0.0, 0.45) if rng.random() < 0.85 else 0.0
    count = rng.integers(3, 8) - (nitrogen > 0.0)
    others = 1 + rng.choice(len(GASES) - 1, count, replace=False, p=LIKELINESS / LIKELINESS.sum())
    z[others] = (1.0 - nitrogen) * rng.dirichlet(np.full(count, 2.0))
    z[0] = nitrogen
    cold = STEP * round(rng.uniform(85.0, 160.0) / STEP)
    return Trial(z, 1e5 * rng.uniform(1.0, 3.0), 1e5 * rng.uniform(10.0, 22.0), cold)


def answer(model, trial: Trial, z=None) -> Answer:
    """Ask a model bound to the trial's gases, or to GASES if z is given."""
    z = np.array([share for share in trial.z if share > 0.0]) if z is None else z
    enthalpies, liquids, limits = [], [], []
    for pressure in (trial.p_low, trial.p_high):
        sweep = model.sweep(z, pressure, GRID, strict=False)
        enthalpies.append(sweep.enthalpy[0])
        liquids.append(sweep.liquid_count[0])
        limits.append(_coexistence_limits(model, z, pressure, GRID, sweep))
    bubble, dew = zip(*limits, strict=True)
    return Answer(enthalpies[0] - enthalpies[1], np.array(liquids), bubble, dew)


def _coexistence_limits(model, z, pressure, grid, sweep, depth=2):
    """Bubble and dew point [K] by two refinements of the grid; NaN outside it or next to a failed state."""
    return tuple(_refined(model, z, pressure, grid, sweep, side, depth) for side in ("bubble", "dew"))


def _refined(model, z, pressure, grid, sweep, side, depth):
    known = sweep.phase_count[0] > 0
    # The region beyond the limit: all liquid for the bubble point, all vapour for the dew point.
    inside = (sweep.vapour_fraction[0] > 0.0) if side == "bubble" else (sweep.liquid_count[0] > 0)
    grid, inside = grid[known], inside[known]
    found = np.flatnonzero(inside)
    if not found.size:
        return np.nan
    k = found[0] - 1 if side == "bubble" else found[-1]
    if k < 0 or k + 1 >= grid.size or grid[k + 1] - grid[k] > 2.0 * STEP:
        return np.nan
    if depth == 0:
        return float(0.5 * (grid[k] + grid[k + 1]))
    finer = np.linspace(grid[k], grid[k + 1], FINER)
    return _refined(model, z, pressure, finer, model.sweep(z, pressure, finer, strict=False), side, depth - 1)
