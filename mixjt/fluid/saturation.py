"""Dew and bubble points, found as the limits of the region where vapour and liquid coexist.

No incipient-phase equation is solved: the flash itself, with its stability test, says on which side a
point lies, so that liquid-liquid splits and retrograde curves can't mislead.
"""

from __future__ import annotations

from math import nan

import numpy as np

from mixjt.errors import ConvergenceError

RELATIVE_WIDTH = 1e-10
INNER_POINTS = 9
LOWEST_PRESSURE, HIGHEST_PRESSURE = 1e-6, 4e7  # Pa, span searched on an isotherm


class LastLimits:
    """The limits found last: who asks for the bubble point mostly asks for the dew point next, or again."""

    def __init__(self, find):
        self._find, self._known = find, (None, (nan, nan))

    def at(self, z, pressure: float) -> tuple[float, float]:
        """Bubble and dew temperature [K], by the function given, of fractions z (c,) at a pressure [Pa]."""
        key = (np.asarray(z, dtype=float).tobytes(), float(pressure))
        known, limits = self._known
        if known != key:
            limits = self._find(z, pressure)
            self._known = (key, limits)
        return limits


def temperature_limits(model, z, pressure: float) -> tuple[float, float]:
    """Bubble and dew temperature [K] at a pressure [Pa]; NaN where there is no such point.

    The cold end of the span is cut where the model has no state; a bubble point below that is NaN too.

    Raises
    ------
    ConvergenceError
        Where it has none at all.
    """
    careful = model.careful()

    def scan(temperatures):
        return _coexistence(careful.sweep(z, pressure, temperatures))

    def jumps(low, high):
        return _volume_jumps(careful.sweep(z, pressure, np.array([low, high])))

    grid = np.linspace(model.temperature_span[0], model.temperature_span[1], 81)
    swept = model.sweep(z, pressure, grid, strict=False)
    solved = np.flatnonzero(swept.phase_count[0] == 0).max(initial=-1) + 1
    if solved == grid.size:
        raise ConvergenceError(
            "search for bubble and dew point", "try a slightly different pressure",
            temperature_K=float(grid[max(solved - 1, 0)]), pressure_Pa=float(pressure),
        )  # fmt: skip
    grid, codes = grid[solved:], _coexistence(swept)[solved:]
    if codes.all():  # a narrow region may hide between two tests of the stability
        codes = scan(grid)
    low, high = _limits(scan, jumps, grid, codes)
    bubble = low[0] if low[1] == "liquid" else nan
    dew = high[0] if high[1] == "vapour" else nan
    return bubble, dew


def pressure_limits(model, z, temperature: float) -> tuple[float, float]:
    """Dew and bubble pressure [Pa] at a temperature [K]; NaN where there is no such point."""

    def scan(logs):
        return _coexistence(model.isotherm(z, temperature, np.exp(logs)))

    def jumps(low, high):
        return _volume_jumps(model.isotherm(z, temperature, np.exp(np.array([low, high]))))

    grid = np.linspace(np.log(LOWEST_PRESSURE), np.log(HIGHEST_PRESSURE), 81)
    low, high = _limits(scan, jumps, grid, scan(grid))
    dew = float(np.exp(low[0])) if low[1] == "vapour" else nan
    bubble = float(np.exp(high[0])) if high[1] == "liquid" else nan
    return dew, bubble


def _coexistence(sweep):
    """-1 where there is no vapour, 1 where there is no liquid, 0 where both are present."""
    vapour = sweep.vapour_fraction[0] > 0.0
    liquid = sweep.liquid_count[0] > 0
    return np.where(vapour & liquid, 0, np.where(vapour, 1, -1))


def _volume_jumps(sweep) -> bool:
    """Whether two neighbouring states differ as vapour and liquid do, not by a label only."""
    first, last = sweep.molar_volume[0]
    return abs(first - last) > 1e-3 * min(first, last)


def _limits(scan, jumps, grid, codes):
    """Lower and upper limit of the coexistence region as (place, kind of phase outside it)."""
    inside = np.flatnonzero(codes == 0)
    if inside.size == 0:
        return _limits_of_narrow_region(scan, jumps, grid, codes)
    return (
        _lower_limit(scan, grid, codes, inside[0]),
        _upper_limit(scan, grid, codes, inside[-1]),
    )


def _lower_limit(scan, grid, codes, first):
    if first == 0:
        return nan, "none"
    place = _bisect(scan, grid[first - 1], grid[first], lambda c: c != 0)
    return place, _kind(codes[first - 1])


def _upper_limit(scan, grid, codes, last):
    if last == grid.size - 1:
        return nan, "none"
    place = _bisect(scan, grid[last], grid[last + 1], lambda c: c == 0)
    return place, _kind(codes[last + 1])


def _kind(code):
    return "liquid" if code < 0 else "vapour"


def _bisect(scan, low, high, on_low_side):
    """Narrow [low, high] around the point where on_low_side stops being true."""
    while high - low > RELATIVE_WIDTH * max(1.0, abs(high)):
        inner = np.linspace(low, high, INNER_POINTS + 2)[1:-1]
        true = on_low_side(scan(inner))
        crossing = INNER_POINTS if np.all(true) else int(np.argmin(true))
        new_low = inner[crossing - 1] if crossing > 0 else low
        new_high = inner[crossing] if crossing < INNER_POINTS else high
        if new_low == low and new_high == high:
            break
        low, high = new_low, new_high
    return float(0.5 * (low + high))


def _limits_of_narrow_region(scan, jumps, grid, codes):
    """Pure or nearly pure: no grid point falls inside, but the kind of the single phase flips."""
    nothing = (nan, "none"), (nan, "none")
    flips = np.flatnonzero(codes[1:] != codes[:-1])
    if flips.size == 0:
        return nothing
    low, high = grid[flips[-1]], grid[flips[-1] + 1]
    first, last = codes[flips[-1]], codes[flips[-1] + 1]
    while high - low > RELATIVE_WIDTH * max(1.0, abs(high)):
        inner = np.linspace(low, high, INNER_POINTS + 2)
        inner_codes = scan(inner)
        inside = np.flatnonzero(inner_codes == 0)
        if inside.size:
            return (
                _lower_limit(scan, inner, inner_codes, inside[0]),
                _upper_limit(scan, inner, inner_codes, inside[-1]),
            )
        turn = np.flatnonzero(inner_codes[1:] != inner_codes[:-1])
        if turn.size == 0 or inner[turn[-1]] == low and inner[turn[-1] + 1] == high:
            break
        low, high = inner[turn[-1]], inner[turn[-1] + 1]
    place = 0.5 * (low + high)
    if not jumps(low, high):
        return nothing
    return (place, _kind(first)), (place, _kind(last))
