"""All pairs of the common gases together, on training blends of the reference model.

Gauss-Newton on the enthalpy differences of random blends (another seed than the held-out ones), weighted
towards their least value, which is what limits a refrigerator. The values fitted pair by pair are the prior.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from mixjt.properties.calibration.blends import GASES, Trial
from mixjt.properties.calibration.pairs import UNSOUND_BELOW, is_unfitted
from mixjt.properties.fast import FastModel
from mixjt.properties.parameters import CubicParameters, load_parameters
from mixjt.properties.reference import ReferenceModel

TEMPERATURES = np.arange(85.0, 326.0, 5.0)  # K
WORTHWHILE = 150.0  # J/mol; training blends whose least difference is smaller are left out
RELATIVE, FRACTION = 0.03, 0.05  # scales of enthalpy difference and vapour fraction
LEAST_SCALE = 300.0  # J/mol, smallest difference that the relative scale refers to
STEP, DAMPING = 1e-3, 1e-2


@dataclass(frozen=True)
class Example:
    """A training blend with the reference's enthalpies and vapour fractions, each (2, m)."""

    trial: Trial
    enthalpy: np.ndarray
    vapour_fraction: np.ndarray

    @property
    def weights(self) -> np.ndarray:
        """Square roots of the weights (m,) of the temperatures, largest at the least difference."""
        dh = self.enthalpy[0] - self.enthalpy[1]
        least = np.nanmin(dh[TEMPERATURES <= 300.0])
        weights = np.nan_to_num(np.exp(-(dh - least) / (0.3 * max(least, 0.0) + 50.0)), nan=0.0)
        return np.sqrt(weights / weights.sum())


def build_example(trial: Trial) -> Example | None:
    """The reference's states of a trial above its sound limit; None if a pair is unfitted or dh is small."""
    pairs = list(combinations(trial.gases, 2))
    if any(is_unfitted(pair) for pair in pairs):
        return None
    low = max(UNSOUND_BELOW.get(pair, 0.0) for pair in pairs)
    span = TEMPERATURES >= low
    model, z = ReferenceModel(trial.gases, threads=1), shares(trial)
    h, vapour = np.full((2, 2, TEMPERATURES.size), np.nan)
    for k, pressure in enumerate((trial.p_low, trial.p_high)):
        sweep = model.sweep(z, pressure, TEMPERATURES[span], strict=False)
        h[k, span] = sweep.enthalpy[0]
        vapour[k, span] = np.where(sweep.phase_count[0] > 0, sweep.vapour_fraction[0], np.nan)
    difference = (h[0] - h[1])[TEMPERATURES <= 300.0]
    if not np.isfinite(difference).any() or np.nanmin(difference) < WORTHWHILE:
        return None
    return Example(trial, h, vapour)


def shares(trial: Trial) -> np.ndarray:
    """Mole fractions of the gases present."""
    return trial.z[trial.z > 0.0]


def example_residuals(parameters: CubicParameters, example: Example) -> np.ndarray:
    """Scaled deviations of enthalpy difference, and of vapour fraction, of one example."""
    index = np.flatnonzero(example.trial.z > 0.0)
    model, z = FastModel(restricted(parameters, index), threads=1, check_span=30.0), shares(example.trial)
    sweeps = [
        model.sweep(z, p, TEMPERATURES, strict=False) for p in (example.trial.p_low, example.trial.p_high)
    ]
    ours = sweeps[0].enthalpy[0] - sweeps[1].enthalpy[0]
    theirs = example.enthalpy[0] - example.enthalpy[1]
    least = max(float(np.nanmin(theirs)), LEAST_SCALE)
    miss = np.nan_to_num((ours - theirs) / (RELATIVE * least), nan=0.0)
    vapour = np.array([sweep.vapour_fraction[0] for sweep in sweeps]) - example.vapour_fraction
    count = max(int(np.isfinite(vapour).sum()), 1)
    parts = [
        _soft(miss) * example.weights,
        0.5 * _soft(miss) / np.sqrt(miss.size),
        0.5 * _soft(np.nan_to_num(vapour, nan=0.0).ravel() / FRACTION) / np.sqrt(count),
    ]
    return np.concatenate(parts)


def _soft(values):
    """Bounded growth beyond 3, continuous with its slope."""
    size = np.abs(values)
    return np.where(size < 3.0, values, np.sign(values) * np.sqrt(np.maximum(6.0 * size - 9.0, 0.0)))


def restricted(parameters: CubicParameters, index) -> CubicParameters:
    """The parameters of some of the gases."""
    rows = ("molar_masses", "critical_temperatures", "critical_pressures", "acentric_factors", "alpha",
            "translations", "ideal_cp")  # fmt: skip
    cut = {name: getattr(parameters, name)[index] for name in rows}
    cut.update({name: getattr(parameters, name)[np.ix_(index, index)] for name in ("k0", "k1")})
    return replace(parameters, gases=tuple(parameters.gases[i] for i in index), **cut)


def polish(
    name: str, examples: list[Example], scales: dict, rounds: int = 4, report=print
) -> CubicParameters:
    """Improve k0 and k1 of the pairs in scales: pair -> scales (k0, k1) of how far each may move."""
    start = load_parameters(name, GASES)
    slots = [(*map(GASES.index, pair), which) for pair in scales for which in (0, 1)]
    widths = np.array([scales[pair][which] for pair in scales for which in (0, 1)])
    moved = np.zeros(len(slots))

    def at(values):
        k0, k1 = start.k0.copy(), start.k1.copy()
        for (i, j, which), value in zip(slots, values, strict=True):
            table = k1 if which else k0
            table[i, j] = table[j, i] = table[i, j] + value
        return replace(start, k0=k0, k1=k1)

    base = [example_residuals(at(moved), example) for example in examples]
    cost = _cost(base, moved / widths)
    for _ in range(rounds):
        normal, gradient = np.diag(widths**-2.0), moved / widths**2
        columns = _columns(at, moved, slots, examples, base)
        for rows, residual in zip(columns, base, strict=True):
            keys = list(rows)
            if not keys:  # an example without a pair that may move
                continue
            block = np.array([rows[key] for key in keys])
            normal[np.ix_(keys, keys)] += block @ block.T
            gradient[keys] += block @ residual
        step = -np.linalg.solve(normal + DAMPING * np.diag(np.diag(normal)), gradient)
        for shrink in (1.0, 0.5, 0.25, 0.1):
            trial = moved + shrink * step
            tried = [example_residuals(at(trial), example) for example in examples]
            if _cost(tried, trial / widths) < cost:
                break
        else:
            break
        moved, base, previous, cost = trial, tried, cost, _cost(tried, trial / widths)
        report(f"polish: cost {cost:.4f}, largest change {np.abs(moved).max():.4f}")
        if cost > 0.99 * previous:
            break
    return at(moved)


def _cost(residuals, prior) -> float:
    return float(sum(np.sum(r**2) for r in residuals) + np.sum(prior**2))


def _columns(at, moved, slots, examples, base):
    """For each example the derivatives of its residuals, by slot, of the pairs it holds."""
    columns = [{} for _ in examples]
    for k, (i, j, _) in enumerate(slots):
        shifted = moved.copy()
        shifted[k] += STEP
        parameters = at(shifted)
        for rows, example, residual in zip(columns, examples, base, strict=True):
            if example.trial.z[i] > 0.0 and example.trial.z[j] > 0.0:
                rows[k] = (example_residuals(parameters, example) - residual) / STEP
    return columns
