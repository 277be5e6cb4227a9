"""When a gas freezes out of a blend, along isobars and for many blends at once.

The criterion is that of `mixjt.fluid.saturation_index`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from mixjt.errors import ConvergenceError, InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.saturation_index import Solids, saturation_index, solids_of
from mixjt.fluid.solids import Solid, melting_temperature

STEP = 0.5  # K, between points: near the onset of a second liquid a gas may be solid over less than 3 K, and warmer and colder not
NEARBY, FAR_STEP = 12.0, 3.0  # K; farther below a state such a stretch does no harm, and steps are wider
TOGETHER = 12  # of these points that are looked at in one sweep
FARTHEST = 60.0  # K, told at most by the constraint of a search
CROSSING = 13  # points of the sweep that a freezing temperature is taken from, good to 1e-3 K


@dataclass(frozen=True)
class FreezingResult:
    """The gas that freezes first on cooling along the isobar, None where none does.

    margin [K] is what the state may yet be cooled, negative where a solid is stable already;
    freezing_temperature [K]. Both are None where nothing freezes, or nothing could be solved, down to
    searched_to [K].
    """

    gas: str | None
    margin: float | None
    freezing_temperature: float | None
    searched_to: float


def freezing_temperature(
    fluid: Fluid, pressure: float, warmest: float | None = None
) -> FreezingResult:
    """The highest temperature at or below `warmest` [K] at which a solid forms along an isobar [Pa].

    Without `warmest` the search begins where every gas present is above its melting point; the margin then
    counts from there.
    """
    if warmest is None:
        warmest = float(solids_of(fluid.model).melting[fluid.z > 0.0].max()) + 1.0 + 1e-6 * pressure
    return freezing_on_leg(fluid, warmest, warmest, lambda t: pressure)


def freezing_on_leg(
    fluid: Fluid, coldest: float, warmest: float, pressure_at: Callable
) -> FreezingResult:
    """The smallest margin of all points of a leg of the circuit, between its coldest and warmest point.

    Parameters
    ----------
    fluid : Fluid
    coldest, warmest : float
        [K]
    pressure_at : function
        Pressures [Pa] at an array of temperatures on the leg; below its coldest point the pressure there
        holds.

    Returns
    -------
    FreezingResult
        If a solid is stable anywhere on the leg: the gas, and how much too cold the leg is, counted from the
        coldest point of the frozen stretch to its warm end (which may lie above the leg). Otherwise the
        margin of the coldest point.
    """
    solids, z = solids_of(fluid.model), fluid.z
    if z.shape != solids.melting.shape:
        raise InputError(f"{solids.melting.size} mole fractions are needed, got shape {z.shape}")
    present = np.flatnonzero(z > 0.0)
    if present.size == 1:
        return _pure(solids.solids[present[0]], coldest, float(pressure_at(coldest)), solids.floor)
    highest = max(float(pressure_at(coldest)), float(pressure_at(warmest)))
    top = max(melting_temperature(solids.solids[i], highest) for i in present)

    def index(temperatures):
        temperatures = np.atleast_1d(np.asarray(temperatures, dtype=float))
        pressures = np.broadcast_to(pressure_at(np.maximum(temperatures, coldest)), temperatures.shape)
        return saturation_index(fluid.model, np.tile(z, (temperatures.size, 1)), temperatures, pressures)

    frozen = _frozen_stretch(index, coldest, min(warmest, top), top)
    if frozen is not None:
        cold, warm = frozen
        return FreezingResult(_first_gas(solids, index, warm), cold - warm, warm, coldest)
    return _below(solids, index, coldest, min(coldest, top))


def _pure(one: Solid, temperature: float, pressure: float, floor: float) -> FreezingResult:
    freezing = melting_temperature(one, pressure)
    return FreezingResult(one.name, temperature - freezing, freezing, min(floor, temperature))


def _frozen_stretch(index, coldest: float, warm: float, top: float) -> tuple[float, float] | None:
    """Coldest point and warm end of the frozen stretch that reaches farthest, None if nothing is frozen."""
    temperatures = _points(coldest, max(warm, coldest))
    frozen = _is_frozen(index(temperatures))
    if not frozen.any():
        return None
    stretches = []
    for start in np.flatnonzero(frozen & ~np.concatenate([[False], frozen[:-1]])):
        end = start
        while end + 1 < len(frozen) and frozen[end + 1]:
            end += 1
        if end + 1 < len(frozen):
            warm_end = _crossing(index, temperatures[end], temperatures[end + 1])
        else:
            warm_end = _upwards(index, temperatures[end], top)
        stretches.append((float(temperatures[start]), warm_end))
    return max(stretches, key=lambda stretch: stretch[1] - stretch[0])


def _points(low: float, high: float) -> np.ndarray:
    return np.linspace(low, high, 1 + math.ceil((high - low) / STEP))


def _is_frozen(indices: np.ndarray) -> np.ndarray:
    lost = np.isnan(indices).any(axis=1)
    if lost.any():
        raise ConvergenceError("freezing check", "try a slightly different temperature or pressure")
    return indices.max(axis=1) >= 0.0


def _upwards(index, low: float, top: float) -> float:
    """Where the solid melts above a frozen temperature; above every melting point nothing is solid."""
    for high in _points(low, max(top, low) + 0.1)[1:]:
        if not _is_frozen(index(high))[0]:
            return _crossing(index, low, high)
        low = high
    return low


def _crossing(index, frozen: float, free: float) -> float:
    """Where the index crosses zero between two temperatures, straight between points of a sweep."""
    temperatures = np.linspace(frozen, free, CROSSING)
    found = index(temperatures)
    end = int(np.argmin(_is_frozen(found)))
    if end == 0:  # but for rounding, at the frozen end itself
        return float(frozen)
    (before, after), (low, high) = found.max(axis=1)[end - 1 : end + 1], temperatures[end - 1 : end + 1]
    return float(low + (high - low) * before / (before - after))


def _below(solids: Solids, index, coldest: float, start: float) -> FreezingResult:
    """Search downwards from a point with nothing frozen."""
    nothing = FreezingResult(None, None, None, min(solids.floor, coldest))
    if start <= solids.floor:
        return nothing
    near = np.arange(0.0, NEARBY, STEP)
    below = np.append(near, np.arange(NEARBY, max(start - solids.floor, NEARBY) + FAR_STEP, FAR_STEP))
    temperatures = np.unique(np.maximum(start - below, solids.floor))[::-1]
    free = start
    for some in np.split(temperatures, range(TOGETHER, len(temperatures), TOGETHER)):
        found = index(some)
        lost, frozen = np.isnan(found).any(axis=1), found.max(axis=1) >= 0.0
        end = int(np.argmax(lost | frozen))
        free = float(some[end - 1]) if end else free
        if lost[end]:
            return FreezingResult(None, None, None, free)
        if frozen[end]:
            freezing = free if some[end] == free else _crossing(index, float(some[end]), free)
            return FreezingResult(_first_gas(solids, index, freezing), coldest - freezing, freezing, freezing)
        free = float(some[-1])
    return nothing


def _first_gas(solids: Solids, index, temperature: float) -> str:
    return solids.gases[int(np.argmax(index(temperature)[0]))]
