"""What a run of the machine has measured: readings by place over time, in SI units.

Usual errors are the standard deviation of a reading. A limit +-a that a standard gives is taken as evenly likely within,
which makes it a / sqrt(3) (JCGM 100:2008, 4.3.7, from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Place:
    """A place of the machine, or a quantity of it, that can be read.

    kind is a dimension of `mixjt.units`; words are the ways in which a header may call it, each of words that must all be
    there ("" where the kind alone says it); error is the usual standard deviation of a reading [SI unit of the kind] and
    basis says where that is from.
    """

    name: str
    kind: str
    words: tuple[str, ...]
    error: float
    basis: str


_GAUGE = "class 1.6 of EN 837-1 (1.6 % of the span, from memory) on a gauge of"
_WARM = "clamped thermocouple under insulation: 1 K (common practice, no source); type T itself, class 1 of IEC 60584-1, 0.5 K at most (from memory)"
_COLD = "type T below -40 degC, class 3 of IEC 60584-1: 1.5 % of the degC, 2.2 K at -150 degC (from memory)"
_METER = "common practice, no source"

PLACES = (
    Place("suction", "pressure", ("suction", "compressor suction", "compressor inlet"), 0.10e5, f"{_GAUGE} -1 to 10 bar"),
    Place("discharge", "pressure", ("discharge", "compressor discharge", "compressor outlet"), 0.23e5, f"{_GAUGE} 0 to 25 bar"),
    Place("discharge line", "temperature", ("discharge", "compressor discharge", "compressor outlet"), 1.0, _WARM),
    Place("shell", "temperature", ("shell", "compressor shell"), 1.0, _WARM),
    Place("aftercooler outlet", "temperature", ("aftercooler", "aftercooler outlet"), 1.0, _WARM),
    Place("throttle inlet", "temperature", ("throttle inlet",), 1.3, _COLD),
    Place("throttle outlet", "temperature", ("throttle outlet", "evaporator inlet"), 1.3, _COLD),
    Place("evaporator", "temperature", ("evaporator", "evaporator outlet"), 1.3, _COLD),
    Place("suction line", "temperature", ("suction", "compressor suction", "compressor inlet"), 1.0, _WARM),
    Place("ambient", "temperature", ("ambient",), 0.5, _METER),
    Place("voltage", "voltage", ("", "supply", "compressor"), 2.0, f"multimeter, 1 % of the mains: {_METER}"),
    Place("current", "current", ("", "supply", "compressor"), 0.05, f"clamp meter, 2 % and a few digits: {_METER}"),
    Place("power", "power", ("", "supply", "compressor"), 5.0, f"plug-in meter, 2 % of a few hundred watts: {_METER}"),
    Place("heater", "power", ("heater",), 0.1, f"from volts and amperes of a resistor: {_METER}"),
)  # fmt: skip
BY_NAME = {place.name: place for place in PLACES}


@dataclass(frozen=True, eq=False)
class Column:
    """What a column of the log was taken for: its header, place and unit, and whether that is but a guess from the header."""

    header: str
    place: str
    unit: str
    guessed: bool


@dataclass(frozen=True, eq=False)
class TrialLog:
    """A log as read.

    times (n,) [s] count from the first line and rise; readings are arrays (n,) by name of place (absolute Pa, K, V, A, W),
    NaN where there is none. columns tell what was taken for what, clock the column of time; notes what was odd in the file,
    each with how often and its first line; started is the first time stamp as written.
    """

    times: np.ndarray
    readings: Mapping[str, np.ndarray]
    columns: tuple[Column, ...]
    notes: tuple[str, ...]
    started: str
    clock: Column | None = None
