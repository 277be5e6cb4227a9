"""What `phases` shows of a blend beyond the circuit's two isobars: envelope, two liquids, table of points."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mixjt.errors import MixjtError
from mixjt.fluid.envelope import POINTS, Envelope, trace_envelope
from mixjt.fluid.fluid import Fluid

ROUND_PRESSURES = (1e5, 2e5, 5e5, 10e5, 15e5, 20e5, 30e5, 50e5)  # Pa
WARMEST_LIQUIDS = 200.0  # K, above which hydrocarbons and nitrogen don't part at these pressures
REGION_PRESSURES = 24
REGION_STEP = 1.0  # K


@dataclass(frozen=True)
class SaturationPoints:
    """Bubble and dew points at pressures [Pa]; temperatures [K], NaN where there is none."""

    pressures: np.ndarray
    bubble: np.ndarray
    dew: np.ndarray


@dataclass(frozen=True)
class TwoLiquids:
    """Span with more than one liquid at each pressure [Pa]: coldest looked at and warmest [K], NaN without."""

    pressures: np.ndarray
    coldest: np.ndarray
    warmest: np.ndarray


def saturation_points(fluid: Fluid, pressures) -> SaturationPoints:
    """Bubble and dew points at round pressures and at those given [Pa]; NaN also where none was found."""
    wanted = np.unique(np.concatenate([ROUND_PRESSURES, np.asarray(pressures, dtype=float)]))
    both = (fluid.bubble_temperature, fluid.dew_temperature)
    found = np.array([[_or_nan(temperature, p) for temperature in both] for p in wanted])
    return SaturationPoints(wanted, *found.T)


def envelope_of(fluid: Fluid, lowest: float, points: int = POINTS) -> tuple[Envelope | None, str]:
    """The envelope, or None, with the reason why there is none or why it is not whole."""
    try:
        envelope = trace_envelope(fluid, lowest, points)
    except MixjtError as error:
        return None, f"no phase envelope: {error}"
    if envelope.cricondenbar is None:
        return envelope, f"the phase envelope is still open at {envelope.pressures.max() / 1e5:.0f} bar, where it is given up"
    if envelope.critical is None:
        return envelope, "the phase envelope ends short of its critical point, where no flash converged"
    return envelope, ""


def two_liquid_region(fluid: Fluid, lowest: float, highest: float, coldest: float) -> TwoLiquids:
    """Where a blend has two liquids, between two pressures [Pa], from the coldest temperature [K] upwards."""
    pressures = np.geomspace(lowest, highest, REGION_PRESSURES)
    temperatures = np.arange(coldest, max(WARMEST_LIQUIDS, coldest + REGION_STEP), REGION_STEP)
    blends = np.tile(fluid.z, (REGION_PRESSURES, 1))
    sweep = fluid.model.sweep(blends, pressures[:, None], temperatures, strict=False)
    split = sweep.liquid_count > 1
    any_split = split.any(axis=1)
    first = temperatures[np.argmax(split, axis=1)]
    last = temperatures[len(temperatures) - 1 - np.argmax(split[:, ::-1], axis=1)]
    return TwoLiquids(pressures, np.where(any_split, first, np.nan), np.where(any_split, last, np.nan))


def _or_nan(temperature, pressure: float) -> float:
    """A bubble or dew temperature [K] at a pressure [Pa]; NaN where the model finds none."""
    try:
        return temperature(float(pressure))
    except MixjtError:
        return math.nan
