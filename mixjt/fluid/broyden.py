"""Several conditions at once, where each trial is dear."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

MOST_TRIALS = 40
PATIENCE = 2  # steps that halve no misses, after which the steepness is found anew
PROBE = 3e-3  # of an unknown, by which steepness is found


def by_broyden(
    trial: Callable[[np.ndarray], tuple[object, np.ndarray]],
    start: np.ndarray,
    steepness: np.ndarray | None,
    accepted: float,
    longest_step: float,
    most_trials: int = MOST_TRIALS,
) -> tuple[object, np.ndarray] | None:
    """What a trial finds where all its misses vanish, and how steep they are there; None where that does not come about.

    scipy.optimize's solvers of this kind take no steepness to start from.

    Parameters
    ----------
    trial : callable
        From unknowns (k,) to what is found there and its misses (k,).
    start : array (k,)
    steepness : array (k, k) or None
        Of the misses, as far as it is known; found by differences where it is not, or leads nowhere.
    accepted : float
        What the greatest miss must come below.
    longest_step : float
        Of any unknown.

    Source: Broyden, Mathematics of Computation 19 (1965) 577, the first of his updates.
    """
    at, poor = np.array(start, dtype=float), 0
    found, misses = trial(at)
    for _ in range(most_trials):
        if np.max(np.abs(misses), initial=0.0) < accepted:
            return found, steepness
        fresh = steepness is None
        if fresh:
            columns = [(trial(at + PROBE * unit)[1] - misses) / PROBE for unit in np.eye(at.size)]
            steepness = np.stack(columns, axis=1)
        try:
            step = np.linalg.solve(steepness, -misses)
        except np.linalg.LinAlgError:
            return None
        step *= min(1.0, longest_step / np.max(np.abs(step)))
        found, new = trial(at + step)
        at, change = at + step, new - misses
        poor = poor + 1 if np.max(np.abs(new)) > 0.5 * np.max(np.abs(misses)) else 0
        steepness = steepness + np.outer(change - steepness @ step, step) / (step @ step)
        misses = new
        if poor > PATIENCE and not fresh:
            steepness, poor = None, 0
    return None
