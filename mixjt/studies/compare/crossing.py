"""Where two lines of power against cold temperature cross."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from mixjt.cycles.cascade_limits import kelvin
from mixjt.studies.compare.records import Crossing, Road

Line = tuple[np.ndarray, np.ndarray]  # temperatures [K] ascending, powers [W]
SAME = 1e-9  # of a logarithm; such powers touch


def cheapest(lines: Iterable[Line]) -> Line:
    """The least power of several lines, at all their temperatures; each counts only between its own ends."""
    lines = [line for line in lines if len(line[0])]
    if not lines:
        return np.array([]), np.array([])
    temperatures = np.unique(np.concatenate([line[0] for line in lines]))
    powers = np.array([_at(line, temperatures) for line in lines])
    return temperatures, np.nanmin(powers, axis=0)


def crossings(one: Line, other: Line) -> tuple[float, ...]:
    """Temperatures [K], ascending, at which two lines have the same power.

    Between their points the logarithm of power is taken as linear in temperature. Lines that only touch, or that
    have no stretch in common, do not cross.

    Parameters
    ----------
    one, other : (array (m,), array (m,))
        Temperatures [K], ascending, and powers [W].
    """
    temperatures = np.union1d(one[0], other[0])
    apart = np.log(_at(one, temperatures)) - np.log(_at(other, temperatures))
    kept = np.isfinite(apart) & (np.abs(apart) > SAME)
    temperatures, apart = temperatures[kept], apart[kept]
    at = np.flatnonzero(apart[:-1] * apart[1:] < 0.0)
    share = apart[at] / (apart[at] - apart[at + 1])
    return tuple(float(one) for one in temperatures[at] + share * (temperatures[at + 1] - temperatures[at]))


def road_line(road: Road) -> Line:
    """Temperatures, ascending, and powers of a road's load line."""
    points = sorted((point.temperature, point.power) for point in road.line)
    return np.array([point[0] for point in points]), np.array([point[1] for point in points])


def blends_and_cascades(roads: Sequence[Road]) -> Crossing:
    """Where the cheapest blend and the cheapest cascade cost the same."""
    blend = cheapest(road_line(road) for road in roads if road.is_blend)
    cascade = cheapest(road_line(road) for road in roads if not road.is_blend)
    if not (len(blend[0]) and len(cascade[0])):
        missing = "blend" if not len(blend[0]) else "cascade"
        return Crossing((), f"there is no load line of a {missing} to cross")
    found = crossings(blend, cascade)
    low, high = max(blend[0][0], cascade[0][0]), min(blend[0][-1], cascade[0][-1])
    if low > high:
        return Crossing((), "no temperature of the load line is reached both by a blend and by a cascade")
    ends = "" if np.isclose(blend[0][0], cascade[0][0]) else _colder(blend, cascade)
    if not found:
        shared = 0.5 * (low + high)
        lower = "blend" if _at(blend, [shared])[0] < _at(cascade, [shared])[0] else "cascade"
        span = f"between {kelvin(high)} and {kelvin(low)}"
        return Crossing((), f"there is no crossing {span}: the best {lower} draws less power throughout{ends}")
    where = " and ".join(kelvin(one) for one in found)
    warm = min(high, found[-1] + 0.5 * (high - found[-1]))
    warmer, colder = ("blend", "cascade") if _at(blend, [warm])[0] < _at(cascade, [warm])[0] else ("cascade", "blend")
    text = f"the best blend and the best cascade take the same power at {where}"
    sides = f"{text}: the {warmer} takes less above, the {colder} below" if len(found) == 1 else text
    return Crossing(found, sides + ends)


def each_blend_and_cascades(roads: Sequence[Road]) -> dict[str, tuple[float, ...]]:
    """By blend road with a load line, where it and the cheapest cascade cost the same [K]."""
    cascade = cheapest(road_line(road) for road in roads if not road.is_blend)
    if not len(cascade[0]):
        return {}
    return {road.name: crossings(road_line(road), cascade) for road in roads if road.is_blend and road.line}


def _colder(blend: Line, cascade: Line) -> str:
    further, name = (blend, "blends") if blend[0][0] < cascade[0][0] else (cascade, "cascades")
    nearer = cascade if name == "blends" else blend
    return f"; below {kelvin(nearer[0][0])} only {name} carry the load, down to {kelvin(further[0][0])}"


def _at(line: Line, temperatures) -> np.ndarray:
    """Powers at temperatures, NaN beyond the line's ends."""
    return np.exp(np.interp(temperatures, line[0], np.log(line[1]), left=np.nan, right=np.nan))
