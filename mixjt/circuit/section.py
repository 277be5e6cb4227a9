"""Legs of a circuit, and the sections of its recuperator, which are made of legs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from mixjt.circuit.curves import SectionEnd, pinch_curve
from mixjt.circuit.pinch import LeastDifference, enthalpy_difference, least_difference
from mixjt.circuit.result import PinchCurve
from mixjt.fluid.states import State
from mixjt.parts.insulation import NO_LEAK, Leak
from mixjt.parts.recuperator.side import Side, Stream

HIGH, LOW = "high side", "low side"
NO_LENGTH = 1e-6  # K; a section shorter than this is none


@dataclass(frozen=True, eq=False)
class Leg:
    """A stream's way through one part, from a place to a place.

    No start or no end where streams part or meet. side is that of a recuperator.
    """

    part: str
    start: str | None
    end: str | None
    stream: Stream
    side: str = ""


@dataclass(frozen=True, eq=False)
class Section:
    """A counterflow section of a recuperator, each side with its own stream first.

    span holds the high-side temperatures [K] in which its pinch is looked for; leak is that of the whole machine.
    """

    part: str
    high: tuple[Leg, ...]
    low: tuple[Leg, ...]
    span: tuple[float, float]
    leak: Leak = NO_LEAK

    @cached_property
    def high_side(self) -> Side:
        """All its streams under high pressure."""
        return Side(tuple(leg.stream for leg in self.high))

    @cached_property
    def low_side(self) -> Side:
        """All its streams on their way back."""
        return Side(tuple(leg.stream for leg in self.low))

    @property
    def legs(self) -> tuple[Leg, ...]:
        """Of both sides."""
        return self.high + self.low

    def least(self, approach: float, points: int, span: tuple[float, float] | None = None, also=()) -> LeastDifference:
        """Where the section pinches within its span or another one, and what that allows; also as in `least_difference`."""
        return least_difference(self.high_side, self.low_side, approach, span or self.span, points, self.leak, also)

    def difference(self, approach: float, temperatures) -> np.ndarray:
        """What it allows where the high side has the given temperatures (m,) [J/mol of blend]."""
        return enthalpy_difference(self.high_side, self.low_side, approach, temperatures, self.leak)

    def leaked(self, states: Mapping[str, State]) -> float:
        """Into its low side [J/mol of blend]."""
        cold, warm = (states[place].temperature for place in (self.high[0].end, self.high[0].start))
        return float(self.leak.before(warm) - self.leak.before(cold))

    def curve(self, states: Mapping[str, State], pinch: float, points: int, rough: bool = False) -> PinchCurve:
        """Both sides against heat, with the pinch [K] of the high side among the points; rough as in `pinch_curve`."""
        high = _end(self.high, [leg.end for leg in self.high], states), _end(self.high, [leg.start for leg in self.high], states)
        low = _end(self.low, [leg.start for leg in self.low], states), _end(self.low, [leg.end for leg in self.low], states)
        return pinch_curve(self.high_side, self.low_side, high, low, pinch, points, self.leak, rough)


def section(
    part: str,
    high: Sequence[tuple[str, str, Stream]],
    low: Sequence[tuple[str, str, Stream]],
    span: tuple[float, float],
    leak: Leak = NO_LEAK,
) -> Section:
    """A section of (start, end, stream) of each side; streams that do not flow are left out."""

    def legs(side: str, streams) -> tuple[Leg, ...]:
        return tuple(Leg(part, start, end, stream, side) for start, end, stream in streams if stream.flow > 0.0)

    return Section(part, legs(HIGH, high), legs(LOW, low), span, leak)


def joined(curves: Sequence[PinchCurve]) -> PinchCurve:
    """Sections in flow order of the low side, the coldest first, as one curve against heat."""
    if len(curves) == 1:
        return curves[0]
    offsets = np.concatenate([[0.0], np.cumsum([curve.heat[-1] for curve in curves])])
    tightest = min(curves, key=lambda curve: curve.smallest_approach)
    return PinchCurve(
        heat=np.concatenate([offset + curve.heat for offset, curve in zip(offsets, curves)]),
        high_temperature=np.concatenate([curve.high_temperature for curve in curves]),
        low_temperature=np.concatenate([curve.low_temperature for curve in curves]),
        smallest_approach=tightest.smallest_approach,
        pinch_temperature=tightest.pinch_temperature,
        conductance=float(sum(curve.conductance for curve in curves)),
    )


def _end(legs: tuple[Leg, ...], places: Sequence[str], states: Mapping[str, State]) -> SectionEnd:
    found = [states[place] for place in places]
    enthalpy = sum(leg.stream.enthalpy_of(state) for leg, state in zip(legs, found, strict=True))
    return SectionEnd(found[0].temperature, enthalpy)
