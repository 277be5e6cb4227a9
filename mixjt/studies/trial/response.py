"""How what the gauges show on a stretch follows the departures of the machine.

Where conditions g(u, theta) = 0 fix the unknowns u and the gauges show y(u, theta), the implicit function theorem gives

    dy/dtheta = y_theta - y_u g_u^-1 g_theta,

with each derivative by a difference at the solution: no solver's tolerance comes in between.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from mixjt.errors import ConvergenceError, MixjtError
from mixjt.studies.trial.built import LEAK, Departure
from mixjt.studies.trial.run import Run, Stretched, run_on, shown

STEP = 1e-2  # of a departure
NEAR = 3e-3  # of an unknown: the cold end bends sharply
LEAK_STEP = 0.02  # W/K


def response(stretch: Stretched, run: Run) -> tuple[np.ndarray, np.ndarray | None]:
    """How what a run shows, (m,) in its order, follows each departure (k,), (m, k), and how its unknowns (u,) do, (u, k).

    Raises
    ------
    ConvergenceError
        Where the conditions do not fix the unknowns.
    """
    if run.unknowns is None:
        return _at_rest(stretch, run), None
    stood = stretch.standing(run.unknowns)
    shows, misses = _values(shown(stood.settled), run), stretch.misses(stood)

    def differs(there: Stretched, unknowns: np.ndarray) -> np.ndarray:
        """Of shows and misses, together."""
        other = there.standing(unknowns, stood)
        return np.concatenate([_values(shown(other.settled), run) - shows, there.misses(other) - misses])

    of_unknowns = [_by_step(lambda step, unit=unit: differs(stretch, run.unknowns + step * unit), NEAR)
                   for unit in np.eye(run.unknowns.size)]  # fmt: skip
    of_departures = []
    for number, one in enumerate(stretch.known):
        if one.place is not None:
            of_departures.append(np.zeros(shows.size + misses.size))
            continue
        step = LEAK_STEP if one.name == LEAK else max(STEP, 0.1 * one.spread)
        if one.of_machine:
            of_departures.append(_by_step(lambda by, k=number: differs(_moved(stretch, k, by), run.unknowns), step))
        else:
            changed = (_moved(stretch, number, step).misses(stood) - misses) / step
            of_departures.append(np.concatenate([np.zeros(shows.size), changed]))
    both, direct = np.array(of_unknowns).reshape(run.unknowns.size, -1).T, np.array(of_departures).T
    follows = np.zeros((0, len(stretch.known)))
    if run.unknowns.size:
        try:
            follows = -np.linalg.solve(both[shows.size :], direct[shows.size :])
        except np.linalg.LinAlgError:
            raise ConvergenceError("how a stretch follows the machine", "give a log without that stretch") from None
        direct = direct[: shows.size] + both[: shows.size] @ follows
    return direct[: shows.size] + _sensors(stretch.known, run), follows


def _by_step(difference: Callable[[float], np.ndarray], step: float) -> np.ndarray:
    """Per unit; backwards where the machine does nothing forwards."""
    try:
        return difference(step) / step
    except MixjtError:
        return difference(-step) / -step


def _moved(stretch: Stretched, number: int, step: float) -> Stretched:
    theta = np.array(stretch.theta)
    theta[number] += step
    return replace(stretch, theta=theta)


def _values(shows, run: Run) -> np.ndarray:
    return np.array([shows[place] for place in run.shown])


def _sensors(known: tuple[Departure, ...], run: Run) -> np.ndarray:
    """A sensor's offset adds to what its place shows."""
    return np.array([[float(one.place == place) for one in known] for place in run.shown])


def _at_rest(stretch: Stretched, run: Run) -> np.ndarray:
    """Only gases charged count."""
    columns = [
        np.zeros(len(run.shown)) if one.gas is None
        else (_values(run_on(_moved(stretch, k, STEP)).shown, run) - _values(run.shown, run)) / STEP
        for k, one in enumerate(stretch.known)
    ]  # fmt: skip
    return np.array(columns).T.reshape(len(run.shown), -1) + _sensors(stretch.known, run)
