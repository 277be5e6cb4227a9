"""Two gases: kij = k0 + k1 (150 K / T - 1) from measured bubble pressures and from the reference model.

Where the reference model is weak a second model stands beside it with the same weight: the
Peng-Robinson set, whose interaction parameters were fitted to the DECHEMA collection of measured equilibria.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from mixjt.gases import gas
from mixjt.properties.calibration.bubble import bubble_pressures
from mixjt.properties.calibration.isobars import Isobars, along_isobars, isobar_residuals, with_pair
from mixjt.properties.calibration.measured import Measured
from mixjt.properties.models import load_model
from mixjt.properties.parameters import CubicParameters, pair_source
from mixjt.properties.reference_sound import (
    DISTRUSTED,
    DISTRUSTED_BELOW,
    estimated_pairs,
    sound_from_pair,
    unfitted_pairs,
)

MOLE_FRACTIONS = (0.2, 0.5, 0.8)
PRESSURES = (2e5, 6e5, 16e5)  # Pa
STEP = 7.0  # K
WARMEST = 320.0  # K
LN_P_SCALE = 0.02
FEW_POINTS = 3.0  # fewer measured points count for less
MEASURED_KNEE = 0.7  # of that scale: beyond it misses count by their size, not its square, as papers disagree
MEASURED_WEIGHT, REFERENCE_WEIGHT, PRIOR_WEIGHT = 1.7, 1.0, 0.25
PRIOR_SCALES = (0.03, 0.02)
BOUNDS = ((0.7, 0.96), (1.3, 1.04))  # of 1 + k0 and 1 + k1
ARBITER = "peng-robinson"
# Pairs on which the reference model and the arbiter differ by more than 0.015 in k0: both count the same.
WEAK = {("nitrogen", "isobutane"), ("nitrogen", "n-butane"), ("nitrogen", "isopentane")}
REFUSED = set(DISTRUSTED)
UNSOUND_BELOW = DISTRUSTED_BELOW


@dataclass(frozen=True)
class PairFit:
    """Fitted k0 and k1; median deviation of bubble pressure (fraction), mean one of enthalpy [J/mol]."""

    k0: float
    k1: float
    bubble_pressure: float | None
    enthalpy: float | None


def is_weak(pair) -> bool:
    """Whether the reference model and the arbiter disagree about the pair."""
    return pair in WEAK


def is_unfitted(pair) -> bool:
    """Whether the reference model has no parameters worth fitting to.

    None at all, or only the rule of Lorentz and Berthelot (all ones), or refused for another reason.
    """
    return bool(estimated_pairs(pair) or unfitted_pairs(pair)) or pair in REFUSED


def sound_above(pair) -> float:
    """Temperature [K] above which the reference model is taken for sound when judging the fit."""
    return max(UNSOUND_BELOW.get(pair, 0.0), sound_from_pair(*sorted(pair)))


def reference_isobars(pair, reference) -> Isobars | None:
    """Isobars of the pair from the reference model, or None where its parameters are not fitted."""
    if is_unfitted(pair):
        return None
    return _isobars(pair, reference, unsound_below=UNSOUND_BELOW.get(pair, 0.0))


def arbiter_isobars(pair) -> Isobars | None:
    """Isobars of a weak or refused pair from the arbiter, or None where it has no fitted parameter either."""
    if pair not in WEAK | REFUSED or pair_source(ARBITER, *pair).startswith("none in the table"):
        return None
    return _isobars(pair, load_model(ARBITER, pair, threads=1))


def _isobars(pair, model, unsound_below=0.0) -> Isobars:
    light, heavy = (gas(name) for name in pair)
    coldest = max(
        80.0, 0.6 * light.triple_point_temperature + 0.4 * heavy.triple_point_temperature, unsound_below
    )
    x = np.array(MOLE_FRACTIONS)
    return along_isobars(model, np.column_stack([x, 1.0 - x]), PRESSURES, np.arange(coldest, WARMEST, STEP))


def fit_pair(
    parameters: CubicParameters, isobars: list[Isobars], measured: Measured | None, prior: tuple[float, float]
) -> PairFit:
    """Fit k0 and k1 of a binary whose pure-gas parameters are given.

    isobars holds none, one or two models' states, all with the same weight; the prior keeps k1 from
    wandering where the data say nothing.
    """

    def residuals(shifted):
        kij = shifted - 1.0  # shifted, so that the solver's relative step makes sense at zero
        parts = [PRIOR_WEIGHT * (kij - prior) / PRIOR_SCALES]
        for data in isobars:
            value = _softened(isobar_residuals(with_pair(parameters, *kij), data))
            parts.append(REFERENCE_WEIGHT * value / np.sqrt(len(isobars) * value.size))
        if measured:
            misses = _softened(_bubble_misses(with_pair(parameters, *kij), measured) / LN_P_SCALE, MEASURED_KNEE)
            parts.append(MEASURED_WEIGHT * misses / np.sqrt(misses.size) * min(1.0, misses.size / FEW_POINTS))
        return np.concatenate(parts)

    start = 1.0 + np.array(prior)
    best = least_squares(residuals, start, x_scale=(0.01, 0.01), diff_step=5e-4, max_nfev=25, bounds=BOUNDS)
    k0, k1 = (round(float(value), 5) for value in best.x - 1.0)
    return judged(parameters, isobars, measured, k0, k1)


def judged(parameters: CubicParameters, isobars: list[Isobars], measured: Measured | None, k0, k1) -> PairFit:
    """How well given k0 and k1 meet what is known of a pair."""
    trial = with_pair(parameters, k0, k1)
    return PairFit(
        k0, k1,
        float(np.median(np.abs(_bubble_misses(trial, measured)))) if measured else None,
        _mean_enthalpy_miss(trial, isobars[0]) if isobars else None,
    )  # fmt: skip


def _bubble_misses(parameters: CubicParameters, measured: Measured) -> np.ndarray:
    """ln of bubble pressures over the measured ones; 0.03 for near-critical points without one."""
    t, x = measured.temperatures, np.column_stack([measured.x, 1.0 - measured.x])
    found = bubble_pressures(parameters, t, x, measured.pressures)
    return np.nan_to_num(np.log(found / measured.pressures), nan=0.03)


def _softened(values, knee: float = 3.0):
    """Square-root growth beyond the knee: far-off states must not rule the fit."""
    size = np.abs(values)
    return np.where(
        size < knee, values, np.sign(values) * np.sqrt(np.maximum(2.0 * knee * size - knee**2, 0.0))
    )


def _mean_enthalpy_miss(parameters, data) -> float:
    from mixjt.properties.fast import FastModel

    ours = along_isobars(FastModel(parameters, threads=1), data.z, data.pressures, data.temperatures)
    return float(np.nanmean(np.abs(ours.enthalpy - data.enthalpy)))
