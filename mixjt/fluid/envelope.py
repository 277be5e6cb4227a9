"""Phase envelope of one blend: the limit of the region where vapour and liquid coexist, critical point included.

As in `mixjt.fluid.saturation`, the flash itself says on which side of the limit a point lies, so that
retrograde stretches and two liquids can't mislead. At each pressure the region spans from a lowest to a
highest temperature; the greatest pressure that has one (cricondenbar) closes the curve. Just inside the
limit one phase is scarce: on a bubble curve it is the lighter one, on a dew curve the denser one. The
critical point is where this changes.

Definitions: Rowlinson & Swinton, Liquids and Liquid Mixtures, 3rd ed. (1982), chapter 6 (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.fluid.fluid import Fluid

POINTS = 28  # pressures on each side
GRID = 96  # temperatures of a scan
INNER = 8  # temperatures of one narrowing
WIDTH = 1e-6  # of the temperature, to which a limit is narrowed
PRESSURE_WIDTH = 3e-4  # of the pressure, to which the cricondenbar is narrowed
HIGHEST_PRESSURE = 400e5  # Pa, beyond which no envelope is followed
SHIFT = 80.0  # K by which a region moves where the pressure grows by a factor e, at most
INSIDE = 1e-3  # of the region's width, how far inside its limit the scarce phase is looked at
NARROW = 1.2  # K, to which the region must have closed to tell a critical point at its top
CRITICAL_ROUNDS = 24


@dataclass(frozen=True)
class Envelope:
    """The curve from the bubble side over its top to the dew side; arrays of shape (m,).

    temperatures [K], pressures [Pa], enthalpies [J/mol], NaN where the model has none; on_dew_side says which points
    belong to the dew curve. critical, cricondenbar and cricondentherm are (temperature [K], pressure [Pa]); critical is None where the flash
    failed before the two curves met, and cricondenbar where they are still apart at HIGHEST_PRESSURE, up to
    which the curve is followed. lost counts states that the model could not solve.
    """

    temperatures: np.ndarray
    pressures: np.ndarray
    enthalpies: np.ndarray
    on_dew_side: np.ndarray
    critical: tuple[float, float] | None
    cricondenbar: tuple[float, float] | None
    cricondentherm: tuple[float, float]
    lost: int

    @property
    def curves(self) -> tuple[slice, slice]:
        """Points of the bubble curve and of the dew curve, which begins with the bubble curve's last: no gap between them."""
        bubble = int(np.argmax(self.on_dew_side)) if self.on_dew_side.any() else len(self.on_dew_side)
        return slice(0, bubble), slice(max(bubble - 1, 0), None)


def trace_envelope(fluid: Fluid, lowest: float, points: int = POINTS) -> Envelope:
    """Envelope of a blend from a lowest pressure upwards.

    Parameters
    ----------
    fluid : Fluid
    lowest : float
        [Pa]
    points : int
        Pressures on each side.

    Raises
    ------
    UnreachableError
        Where vapour and liquid do not coexist at the lowest pressure, as for a pure gas.
    """
    tracer = _Tracer(fluid)
    low_region = tracer.region(lowest, fluid.model.temperature_span)
    if low_region is None:
        raise UnreachableError(
            f"vapour and liquid of this blend do not coexist over a span of temperatures at {lowest / 1e5:.4g} bar"
        )
    top_pressure, top_region = tracer.top(lowest, low_region)
    share = np.linspace(0.0, 1.0, points)
    pressures = lowest * (top_pressure / lowest) ** (1.0 - (1.0 - share) ** 2)  # denser near the top
    known = [(lowest, low_region), (top_pressure, top_region)]
    regions = [low_region, *tracer.regions(pressures[1:-1], known), top_region]
    kept = [(p, region) for p, region in zip(pressures, regions, strict=True) if region is not None]
    pressure = np.array([p for p, _ in kept])
    bubble, dew = (np.array([region[side] for _, region in kept]) for side in (0, 1))
    temperatures = np.concatenate([bubble, dew[::-1]])
    both = np.concatenate([pressure, pressure[::-1]])
    on_dew, critical = tracer.sides(temperatures, both, len(pressure))
    warmest = int(np.argmax(temperatures))
    return Envelope(
        temperatures=temperatures,
        pressures=both,
        enthalpies=_enthalpies(fluid, temperatures, both),
        on_dew_side=on_dew,
        critical=critical,
        cricondenbar=None if top_pressure >= HIGHEST_PRESSURE else (0.5 * float(bubble[-1] + dew[-1]), top_pressure),
        cricondentherm=(float(temperatures[warmest]), float(both[warmest])),
        lost=tracer.lost,
    )


def _enthalpies(fluid: Fluid, temperatures, pressures) -> np.ndarray:
    """[J/mol] at pairs of temperature and pressure, each solved by itself."""
    blends = np.tile(fluid.z, (len(temperatures), 1))
    return fluid.model.sweep(blends, pressures[:, None], temperatures[:, None], strict=False).enthalpy[:, 0]


class _Tracer:
    """The flash of one blend, asked on which side of the envelope a point lies."""

    def __init__(self, fluid: Fluid):
        self.fluid, self.careful, self.lost = fluid, fluid.careful(), 0

    def region(self, pressure: float, span: tuple[float, float]) -> tuple[float, float] | None:
        """Lowest and highest temperature with vapour and liquid at a pressure; None where there is none."""
        grid = np.linspace(*span, GRID)
        inside = self._inside(self.fluid, pressure, grid)
        if inside.size == 0:  # a narrow region may hide between two tests of the stability
            inside = self._inside(self.careful, pressure, grid)
        if inside.size == 0:
            return None
        first, last = inside[0], inside[-1]
        low = grid[0] if first == 0 else self._limit(pressure, grid[first], grid[first - 1])
        high = grid[-1] if last == GRID - 1 else self._limit(pressure, grid[last], grid[last + 1])
        return low, high

    def regions(self, pressures, known: list[tuple[float, tuple[float, float]]]):
        """Regions at pressures between those known, each looked for around what its neighbours suggest."""
        known, found = list(known), []
        for pressure in pressures:
            around = self._suggested(pressure, known)
            region = self.region(float(pressure), around) or self.region(float(pressure), self._whole(known))
            if region is not None:
                known = sorted([*known, (float(pressure), region)])
            found.append(region)
        return found

    def top(self, lowest: float, region: tuple[float, float]) -> tuple[float, tuple[float, float]]:
        """Greatest pressure at which a region is found, at most HIGHEST_PRESSURE, and that region."""
        known, step = [(lowest, region)], 1.5
        while step - 1.0 > PRESSURE_WIDTH and known[-1][0] < HIGHEST_PRESSURE:
            pressure, region = known[-1]
            higher = min(pressure * step, HIGHEST_PRESSURE)
            trial = self.region(higher, self._around(region, SHIFT * math.log(step)))
            trial = trial or self.region(higher, self._extrapolated(higher, known))
            if trial is None:
                step = math.sqrt(step)
            else:
                known = [known[-1], (higher, trial)]
        return known[-1]

    def _extrapolated(self, pressure: float, known) -> tuple[float, float]:
        """Where the last two regions point to, straight over ln p."""
        if len(known) < 2:
            return self._around(known[-1][1])
        (first, early), (second, late) = known
        share = math.log(pressure / second) / math.log(second / first)
        low, high = (late[side] + share * (late[side] - early[side]) for side in (0, 1))
        return self._around((min(low, high), max(low, high)))

    def _suggested(self, pressure: float, known) -> tuple[float, float]:
        """Region by interpolation over ln p between known ones, with a margin."""
        logs = np.log([place for place, _ in known])
        low, high = (
            float(np.interp(math.log(pressure), logs, [region[side] for _, region in known])) for side in (0, 1)
        )
        return self._around((low, high), 0.15 * (high - low) + 6.0)

    def _whole(self, known) -> tuple[float, float]:
        lows, highs = zip(*(region for _, region in known), strict=True)
        return self._around((min(lows), max(highs)), 0.2 * (max(highs) - min(lows)))

    def sides(self, temperatures, pressures, count: int):
        """Which points lie on the dew curve, and the critical point where the scarce phase changes."""
        scarce = np.array([self._scarce_is_denser(k, temperatures, pressures, count) for k in range(2 * count)])
        known = np.flatnonzero(np.isfinite(scarce))
        changes = [(a, b) for a, b in pairwise(known) if scarce[a] < 0.5 < scarce[b]]
        if not changes:
            return np.arange(2 * count) >= count, None
        before, after = changes[-1]
        critical = self._critical(temperatures, pressures, before, after, count)
        return np.arange(2 * count) > before, critical

    def _critical(self, temperatures, pressures, before: int, after: int, count: int):
        """Narrow the pressure between two neighbours of one side where the scarce phase changes."""
        if before < count <= after:  # it lies on the top itself, or the flash gave up below it
            if temperatures[count] - temperatures[count - 1] > NARROW:
                return None
            middle = 0.25 * (temperatures[count - 2 : count + 2].sum())
            return float(middle), float(pressures[count - 1])
        side = 0 if after < count else 1
        a, b = pressures[before], pressures[after]
        near = sorted((temperatures[before], temperatures[after]))
        other = temperatures[2 * count - 1 - before]
        span = self._around((min(near[0], other), max(near[1], other)))
        place = (float(temperatures[before]), float(a))
        for _ in range(CRITICAL_ROUNDS):
            middle = 0.5 * (a + b)
            region = self.region(middle, span)
            denser = math.nan if region is None else self._denser_inside(middle, region, side)
            if region is not None:
                place = float(region[side]), float(middle)
            if math.isnan(denser):
                break
            a, b = (a, middle) if denser > 0.5 else (middle, b)
            if abs(b - a) < PRESSURE_WIDTH * b:
                break
        return place

    def _scarce_is_denser(self, k: int, temperatures, pressures, count: int) -> float:
        opposite = temperatures[2 * count - 1 - k]
        region = tuple(sorted((temperatures[k], opposite)))
        return self._denser_inside(float(pressures[k]), region, 0 if k < count else 1)

    def _denser_inside(self, pressure: float, region: tuple[float, float], side: int) -> float:
        """1 where just inside the limit the scarcer phase is the denser one, 0 where it is not, or NaN."""
        inward = INSIDE * (region[1] - region[0]) * (1.0 if side == 0 else -1.0)
        try:
            state = self.fluid.tp(region[side] + inward, pressure)
        except ConvergenceError:
            self.lost += 1
            return math.nan
        if len(state.phases) < 2:
            return math.nan
        scarce = min(state.phases, key=lambda phase: phase.fraction)
        return 1.0 if scarce is state.phases[-1] else 0.0

    def _around(self, region: tuple[float, float], more: float = 0.0) -> tuple[float, float]:
        margin = 0.15 * (region[1] - region[0]) + 2.0 + more
        low, high = self.fluid.model.temperature_span
        return max(region[0] - margin, low), min(region[1] + margin, high)

    def _limit(self, pressure: float, inside: float, outside: float) -> float:
        """The limit between a temperature inside the region and one outside it."""
        while abs(outside - inside) > WIDTH * inside:
            places = np.linspace(inside, outside, INNER + 2)
            true = self._coexist(self.careful, pressure, np.sort(places[1:-1]))
            if true is None:  # a critical point is so near that the flash gives up
                break
            true = true if outside > inside else true[::-1]
            steps = INNER if np.all(true) else int(np.argmin(true))
            inside, outside = places[steps], places[steps + 1]
        return float(inside)

    def _inside(self, fluid: Fluid, pressure: float, temperatures: np.ndarray) -> np.ndarray:
        both = self._coexist(fluid, pressure, temperatures)
        return np.empty(0, dtype=int) if both is None else np.flatnonzero(both)

    def _coexist(self, fluid: Fluid, pressure: float, temperatures: np.ndarray) -> np.ndarray | None:
        """Whether vapour and liquid coexist; an unsolved state counts as its solved neighbour.

        None where not one of them could be solved.
        """
        sweep = fluid.sweep(temperatures, pressure, strict=False)
        both = (sweep.vapour_fraction > 0.0) & (sweep.liquid_count > 0)
        solved = np.flatnonzero(sweep.phase_count > 0)
        self.lost += len(temperatures) - solved.size
        if solved.size == 0:
            return None
        nearest = solved[np.argmin(np.abs(np.arange(len(temperatures))[:, None] - solved), axis=1)]
        return both[nearest]
