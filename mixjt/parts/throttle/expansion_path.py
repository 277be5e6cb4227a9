"""States along a path of falling pressure with given enthalpies, all refined together.

One `state_hp` of a blend costs milliseconds; a path of a hundred needs the same few dozen sweeps as one point,
so all points are refined at once. Pure fluids, whose isobars jump, go point by point through `state_hp`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.fluid.fluid import Fluid

ISOBARS, TEMPERATURES = 10, 24  # of the coarse grid that the first guesses come from
ROUNDS = 40
ENTHALPY_TOLERANCE = 1e-3  # J/mol
MET = 2.0  # times that, of the states told, whose phases were looked for
STEP = 1.02  # K, first half-width of a bracket around a guess
USUAL_DROP = 60.0  # K from inlet to outlet that the coarse grid covers at first


@dataclass(frozen=True)
class Path:
    """States along a path; arrays of shape (m,), molar and SI. signature tells sets of phases apart."""

    pressures: np.ndarray
    temperatures: np.ndarray
    enthalpies: np.ndarray
    molar_volumes: np.ndarray
    vapour_fractions: np.ndarray
    signatures: np.ndarray


def swept(fluid: Fluid) -> bool:
    """Whether a fluid's states along a path may be found by sweeps: a blend of two gases or more."""
    return len(fluid.gases) > 1


def path_by_states(fluid: Fluid, enthalpies, pressures) -> Path:
    """The states at enthalpies [J/mol] and pressures [Pa], both (m,), one by one."""
    states = [fluid.hp(float(h), float(p)) for h, p in zip(enthalpies, pressures, strict=True)]
    return Path(
        pressures=np.asarray(pressures, float),
        temperatures=np.array([state.temperature for state in states]),
        enthalpies=np.array([state.enthalpy for state in states]),
        molar_volumes=np.array([state.molar_volume for state in states]),
        vapour_fractions=np.array([state.vapour_fraction for state in states]),
        signatures=np.array([10 * len(state.phases) + len(state.liquids) for state in states]),
    )


def path_at(fluid: Fluid, temperatures, pressures) -> Path:
    """The states at temperatures [K] and pressures [Pa], both (m,), in one sweep; NaN where it failed."""
    found = fluid.sweep(temperatures, pressures, strict=False)
    return Path(
        pressures=np.asarray(pressures, float),
        temperatures=np.asarray(temperatures, float),
        enthalpies=found.enthalpy,
        molar_volumes=found.molar_volume,
        vapour_fractions=found.vapour_fraction,
        signatures=10 * found.phase_count + found.liquid_count,
    )


def guesses(fluid: Fluid, enthalpies, pressures, inlet_temperature: float) -> np.ndarray:
    """First guesses (m,) of the temperatures [K] of a path, from a coarse grid of isobars.

    Where an isobar does not reach the enthalpy, the guess is the end of the grid.
    """
    coldest = inlet_temperature - USUAL_DROP
    for _ in range(2):
        guess, reached = _coarse(fluid, enthalpies, pressures, coldest, inlet_temperature + 1.0)
        if reached:
            break
        outlet = fluid.hp(float(np.min(enthalpies)), float(np.min(pressures))).temperature
        coldest = min(outlet, inlet_temperature) - 2.0
    return guess


def _coarse(fluid, enthalpies, pressures, coldest, warmest) -> tuple[np.ndarray, bool]:
    """Guesses from a grid between two temperatures [K], and whether each isobar reached its enthalpy."""
    low, high = fluid.model.temperature_span
    grid = np.linspace(max(coldest, low), min(warmest, high), TEMPERATURES)
    isobars = np.geomspace(np.max(pressures), np.min(pressures), ISOBARS)
    found = fluid.model.sweep(np.tile(fluid.z, (ISOBARS, 1)), isobars[:, None], grid, strict=False).enthalpy
    targets = np.interp(-np.log(isobars), -np.log(pressures), enthalpies)
    rows = [(h, row[np.isfinite(row)], grid[np.isfinite(row)]) for h, row in zip(targets, found, strict=True)]
    if not all(len(row) for _, row, _ in rows):
        return np.full(len(pressures), warmest), False
    coarse = [np.interp(h, row, at) for h, row, at in rows]
    return np.interp(-np.log(pressures), -np.log(isobars), coarse), all(h > row[0] for h, row, _ in rows)


def path_by_sweeps(fluid: Fluid, enthalpies, pressures, guess, step: float = STEP) -> Path | None:
    """The states at enthalpies [J/mol] and pressures [Pa], all refined together from guesses [K], all (m,).

    step [K] is how far off the guesses usually are.

    Phases come with few kelvin between them, so they are looked for at every point of what is told; on the way there only
    where that does not come to the same. None where a point was not bracketed, not solved or not reached.
    """
    careful = fluid.careful()
    for model in (fluid, careful):
        temperatures = _refined(model, enthalpies, pressures, guess, step)
        if temperatures is not None:
            path = path_at(careful, temperatures, pressures)
            if np.all(np.abs(path.enthalpies - enthalpies) <= MET * ENTHALPY_TOLERANCE):
                return path
    return None


def _refined(fluid: Fluid, enthalpies, pressures, guess, step: float) -> np.ndarray | None:
    """Temperatures (m,) [K] of the states; None as for `path_by_sweeps`.

    Bracketed false position (Illinois rule: Dowell & Jarratt, BIT 11 (1971) 168) with a bisection every
    fourth round.
    """
    bracket = _bracket(fluid, enthalpies, pressures, guess, step)
    if bracket is None:
        return None
    low, high, miss_low, miss_high = bracket
    answer = np.where(np.abs(miss_low) < np.abs(miss_high), low, high)
    side = np.zeros(len(answer), dtype=int)
    open_ = np.flatnonzero(np.minimum(np.abs(miss_low), np.abs(miss_high)) > ENTHALPY_TOLERANCE)
    for turn in range(ROUNDS):
        if open_.size == 0:
            return answer
        a, b, fa, fb = low[open_], high[open_], miss_low[open_], miss_high[open_]
        share = 0.5 if turn % 4 == 3 else np.clip(-fa / (fb - fa), 1e-3, 1.0 - 1e-3)
        trial = a + share * (b - a)
        miss = path_at(fluid, trial, pressures[open_]).enthalpies - enthalpies[open_]
        if not np.all(np.isfinite(miss)):
            return None
        answer[open_] = trial
        below = miss < 0.0
        same = side[open_] == np.where(below, -1, 1)
        miss_low[open_] = np.where(below, miss, np.where(same, 0.5 * fa, fa))
        miss_high[open_] = np.where(below, np.where(same, 0.5 * fb, fb), miss)
        low[open_], high[open_] = np.where(below, trial, a), np.where(below, b, trial)
        side[open_] = np.where(below, -1, 1)
        open_ = open_[np.abs(miss) > ENTHALPY_TOLERANCE]
    return None


def _bracket(fluid, enthalpies, pressures, guess, step: float):
    """Temperatures below and above every answer, with their misses; None where there are none."""
    least, most = fluid.model.temperature_span
    low, high = np.maximum(guess - step, least), np.minimum(guess + step, most)
    width = np.full(len(guess), step)
    for _ in range(8):
        miss_low = path_at(fluid, low, pressures).enthalpies - enthalpies
        miss_high = path_at(fluid, high, pressures).enthalpies - enthalpies
        if not (np.all(np.isfinite(miss_low)) and np.all(np.isfinite(miss_high))):
            return None
        outside_low, outside_high = miss_low > 0.0, miss_high < 0.0
        if not (np.any(outside_low) or np.any(outside_high)):
            return low, high, miss_low, miss_high
        width *= 2.0
        low, high = (
            np.where(outside_low, np.maximum(low - width, least), np.where(outside_high, high, low)),
            np.where(outside_low, low, np.where(outside_high, np.minimum(high + width, most), high)),
        )
    return None
