"""Where a log stands still, and where it changes so slowly that a balance holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from mixjt.keys import key
from mixjt.studies.trial.log import TrialLog

AT_REST, STEADY, COOLING, WARMING = "at rest", "steady", "cooling", "warming"


@dataclass(frozen=True)
class SteadyLimits:
    """How long and how still a stretch must be.

    By default a reading changes within the shortest stretch by less than its sensor may be off: 0.25 K of a
    thermocouple's 0.5 K, 0.4 % of a pressure that a gauge shows within 1.6 % (`log.PLACES`).
    """

    shortest_stretch: float = key("time", "the shortest steady stretch that counts", default=300.0, within="[30, 86400]")
    largest_temperature_drift: float = key(
        "temperature_difference", "what a temperature may change in an hour of a steady stretch", default=3.0, within="(0, 100]"
    )
    largest_pressure_drift: float = key(
        "fraction", "what a pressure may change in an hour of a steady stretch, of itself", default=0.05, within="(0, 1]"
    )
    largest_electric_drift: float = key(
        "fraction", "what volts, amperes and watts may change in an hour of a steady stretch, of themselves", default=0.1,
        within="(0, 1]",
    )
    longest_piece: float = key(
        "time", "the longest piece of a cool-down or warm-up that is taken as one", default=180.0, within="[10, 3600]"
    )


@dataclass(frozen=True, eq=False)
class Stretch:
    """A stretch of the log, from start to end [s], and its readings by place.

    kind is "at rest", "steady", "cooling" or "warming"; mean, slope [per s] and scatter (standard deviation about the
    straight line) in the SI unit of the reading, count of readings there.
    """

    kind: str
    start: float
    end: float
    mean: Mapping[str, float]
    scatter: Mapping[str, float]
    slope: Mapping[str, float]
    count: Mapping[str, int]


def stretches(log: TrialLog, limits: SteadyLimits) -> tuple[Stretch, ...]:
    """The stretches of a log in order of time; they do not overlap."""
    raise NotImplementedError
