"""Where two lines of power against cold temperature cross."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np

from mixjt.studies.compare.comparison import Crossing, Road
from mixjt.units import kelvin_text

Line = tuple[np.ndarray, np.ndarray]  # temperatures [K] ascending, powers [W]
SAME = 1e-9  # of a logarithm; such powers touch
ONE_POINT = 0.1  # K; a shorter stretch is a point
UNKNOWN = "not known: the comparison was interrupted before its load lines were complete"


def cheapest(lines: Iterable[Line]) -> Line:
    """The least power of several lines, at all their temperatures; each counts only between its own ends."""
    lines = [line for line in lines if len(line[0])]
    if not lines:
        return np.array([]), np.array([])
    temperatures = np.unique(np.concatenate([line[0] for line in lines]))
    powers = np.array([_at(line, temperatures) for line in lines])
    return temperatures, np.nanmin(powers, axis=0)


def crossings(one: Line, other: Line) -> tuple[tuple[float, float, float], ...]:
    """Temperatures [K], ascending, at which two lines have the same power, each with the two points it lies between.

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
    found = temperatures[at] + share * (temperatures[at + 1] - temperatures[at])
    return tuple((float(t), float(a), float(b)) for t, a, b in zip(found, temperatures[at], temperatures[at + 1], strict=True))


def changes(road: Road) -> tuple[bool, ...]:
    """Whether a point of a road's load line, coldest first, has other fluids than the next warmer one."""
    line = sorted(road.line, key=lambda one: one.temperature)
    return (*(one.fluids != warmer.fluids for one, warmer in pairwise(line)), *([False] if line else []))


def road_line(road: Road) -> Line:
    """Temperatures, ascending, and powers of a road's load line."""
    points = sorted((point.temperature, point.power) for point in road.line)
    return np.array([point[0] for point in points]), np.array([point[1] for point in points])


def blends_and_cascades(roads: Sequence[Road], interrupted: bool = False) -> Crossing:
    """Where the blend and the cascade of least power take the same.

    An interrupted comparison has no whole load lines: only crossings of what it has are named.
    """
    blends, cascades = [one for one in roads if one.is_blend], [one for one in roads if not one.is_blend]
    blend, cascade = (cheapest(road_line(road) for road in kind) for kind in (blends, cascades))
    if not (len(blend[0]) and len(cascade[0])):
        missing = "blend" if not len(blend[0]) else "cascade"
        return Crossing((), UNKNOWN if interrupted else f"there is no load line of a {missing} to cross")
    found = crossings(blend, cascade)
    low, high = max(blend[0][0], cascade[0][0]), min(blend[0][-1], cascade[0][-1])
    if not found:
        return Crossing((), UNKNOWN if interrupted else _apart(blend, cascade, low, high))
    at, between = tuple(one[0] for one in found), tuple(one[1:] for one in found)
    joined = tuple(_joined(blends, *pair) and _joined(cascades, *pair) for pair in between)
    text = f"the best blend and the best cascade take the same power {_where(found, joined)}"
    if interrupted:
        return Crossing(at, f"{text}, of what was found before the interruption", between, joined)
    warm = min(high, at[-1] + 0.5 * (high - at[-1]))
    warmer, colder = ("blend", "cascade") if _at(blend, [warm])[0] < _at(cascade, [warm])[0] else ("cascade", "blend")
    sides = f"{text}: the {warmer} takes less above, the {colder} below" if len(found) == 1 else text
    return Crossing(at, sides + _ends(blend, cascade), between, joined)


def each_blend_and_cascades(roads: Sequence[Road]) -> dict[str, tuple[float, ...]]:
    """By blend road with a load line, where it and the cascade of least power take the same [K]."""
    cascade = cheapest(road_line(road) for road in roads if not road.is_blend)
    if not len(cascade[0]):
        return {}
    return {
        road.name: tuple(one[0] for one in crossings(road_line(road), cascade))
        for road in roads
        if road.is_blend and road.line
    }


def _apart(blend: Line, cascade: Line, low: float, high: float) -> str:
    """Words for two lines without a crossing that have the stretch from low to high [K] in common, if any."""
    if low > high:
        return "no temperature of the load line is reached both by a blend and by a cascade"
    lower = "blend" if _at(blend, [0.5 * (low + high)])[0] < _at(cascade, [0.5 * (low + high)])[0] else "cascade"
    if high - low < ONE_POINT:
        return f"only at {kelvin_text(high)} both are known, and there the best {lower} draws less power{_ends(blend, cascade)}"
    span = f"between {kelvin_text(high)} and {kelvin_text(low)}"
    return f"there is no crossing {span}: the best {lower} draws less power throughout{_ends(blend, cascade)}"


def _joined(roads: Sequence[Road], low: float, high: float) -> bool:
    """Whether the cheapest of roads is the same one with the same fluids on both sides of a stretch [K]."""
    ends = []
    for temperature in (low, high):
        here = [(line, road) for road in roads if road.line and np.isfinite(line := _at(road_line(road), [temperature])[0])]
        road = min(here, key=lambda one: one[0])[1]
        ends.append((road.name, min(road.line, key=lambda one: abs(one.temperature - temperature)).fluids))
    return ends[0] == ends[1]


def _where(found: Sequence[tuple[float, float, float]], joined: Sequence[bool]) -> str:
    """Temperatures, and after them the stretches of which no more is known, in words."""
    exact = [kelvin_text(one[0]) for one, known in zip(found, joined, strict=True) if known]
    spans = [f"between {kelvin_text(low)} and {kelvin_text(high)}"
             for (_, low, high), known in zip(found, joined, strict=True) if not known]  # fmt: skip
    parts = [f"at {' and '.join(exact)}"] if exact else []
    if spans:
        parts.append(f"somewhere {', '.join(spans)}, where the fluids change")
    return "; and ".join(parts)


def _ends(blend: Line, cascade: Line) -> str:
    return "" if np.isclose(blend[0][0], cascade[0][0]) else _colder(blend, cascade)


def _colder(blend: Line, cascade: Line) -> str:
    further, name = (blend, "blends") if blend[0][0] < cascade[0][0] else (cascade, "cascades")
    nearer = cascade if name == "blends" else blend
    return f"; below {kelvin_text(nearer[0][0])} only {name} carry the load, down to {kelvin_text(further[0][0])}"


def _at(line: Line, temperatures) -> np.ndarray:
    """Powers at temperatures, NaN beyond the line's ends."""
    return np.exp(np.interp(temperatures, line[0], np.log(line[1]), left=np.nan, right=np.nan))
