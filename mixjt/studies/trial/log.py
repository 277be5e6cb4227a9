"""What a run of the machine has measured: readings by place over time, in SI units.

Usual errors are the standard deviation of a reading. A limit +-a that a standard gives is taken as evenly
likely within, which makes it a / sqrt(3) (JCGM 100:2008, 4.3.7; from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from mixjt.bounds import require
from mixjt.constants import ATMOSPHERE
from mixjt.keys import NAMED, TEXT, key


@dataclass(frozen=True)
class MeasuringPlace:
    """A place of the machine, or a quantity of it, that can be read.

    kind is a dimension of `mixjt.units`; words are the ways in which a header may call it, each of words
    that must all be there ("" where the kind alone says it); error is the usual standard deviation of a
    reading [SI unit of the kind] and basis says where that is from.
    """

    name: str
    kind: str
    words: tuple[str, ...]
    error: float
    basis: str


# Classes as a maker of gauges (WIKA, testing instructions for pressure gauges) and a seller of
# thermocouples (Pico Technology, thermocouple tolerances) reproduce them; the standards themselves were not
# at hand.
_GAUGE = "class 1.6 of EN 837-1, 1.6 % of the span, on a gauge of"
_WARM = "on the tube, insulated: common practice, no source; type T alone, class 1 of IEC 60584-1, 0.5 K at most"
_COLD = "type T, class 3 of IEC 60584-1: 1.5 % of the degC, 2.25 K at -150 degC"
_METER = "common practice, no source"

_IN = "suction", "compressor suction", "compressor inlet"
_OUT = "discharge", "compressor discharge", "compressor outlet"
_MAINS = "", "supply", "compressor"

PLACES = (
    MeasuringPlace("suction", "pressure", _IN, 0.10e5, f"{_GAUGE} -1 to 10 bar"),
    MeasuringPlace("discharge", "pressure", _OUT, 0.23e5, f"{_GAUGE} 0 to 25 bar"),
    MeasuringPlace("discharge line", "temperature", _OUT, 1.0, _WARM),
    MeasuringPlace("shell", "temperature", ("shell", "compressor shell"), 1.0, _WARM),
    MeasuringPlace("aftercooler outlet", "temperature", ("aftercooler", "aftercooler outlet"), 1.0, _WARM),
    MeasuringPlace("throttle inlet", "temperature", ("throttle inlet",), 1.3, _COLD),
    MeasuringPlace("throttle outlet", "temperature", ("throttle outlet", "evaporator inlet"), 1.3, _COLD),
    MeasuringPlace("evaporator", "temperature", ("evaporator", "evaporator outlet"), 1.3, _COLD),
    MeasuringPlace("suction line", "temperature", _IN, 1.0, _WARM),
    MeasuringPlace("ambient", "temperature", ("ambient",), 0.5, _METER),
    MeasuringPlace("voltage", "voltage", _MAINS, 2.0, f"multimeter, 1 % of the mains: {_METER}"),
    MeasuringPlace("current", "current", _MAINS, 0.05, f"clamp meter, 2 % and a few digits: {_METER}"),
    MeasuringPlace("power", "power", _MAINS, 5.0, f"plug-in meter, 2 % of a few hundred watts: {_METER}"),
    MeasuringPlace("heater", "power", ("heater",), 0.1, f"from volts and amperes of a resistor: {_METER}"),
)  # fmt: skip
BY_NAME = {place.name: place for place in PLACES}
IN_A_CASE = {place.name.replace(" ", "_"): place for place in PLACES}  # as a case file spells them
_ERROR_KINDS = {"pressure": "pressure_difference", "temperature": "temperature_difference"}
DISPLAY, SAME = 2.1, 1e-9  # usual errors; of the largest reading
CLOCK = "clock"
TIME_UNITS = CLOCK, "s", "min", "h"
DAY_FIRST, MONTH_FIRST = "day first", "month first"


@dataclass(frozen=True)
class LogRequest:
    """How a log is to be read: its columns where the headers do not say them, and how far off its sensors may be.

    columns, units and errors go by name of place; errors are standard deviations [SI unit of the kind of
    reading], atmosphere is what gauge pressures count from [Pa].
    """

    columns: Mapping[str, str] = key(
        NAMED,
        "the header of the column that reads a place",
        names=dict.fromkeys(IN_A_CASE, TEXT),
        default_factory=dict,
        otherwise="guessed from the headers, which is told",
    )
    units: Mapping[str, str] = key(
        NAMED,
        'the unit that a place is read in, of a pressure with its zero: "bar g", "psig", "bar abs", "degC"',
        names=dict.fromkeys(IN_A_CASE, TEXT),
        default_factory=dict,
        otherwise="as the header says",
    )
    errors: Mapping[str, float] = key(
        NAMED,
        "the standard deviation of the readings of a place, offset of the sensor included",
        names={name: _ERROR_KINDS.get(place.kind, place.kind) for name, place in IN_A_CASE.items()},
        default_factory=dict,
        otherwise="usual ones, listed in [trial](trial.md)",
    )
    ignored: tuple[str, ...] = key(
        TEXT, "headers of columns that are left aside", many=True, default_factory=tuple, otherwise="none"
    )
    time: str | None = key(TEXT, "the header of the column of time", default=None, otherwise="guessed")
    time_unit: str | None = key(
        TEXT,
        "what it counts in, or that it is a clock",
        choices=TIME_UNITS,
        default=None,
        otherwise="as it looks",
    )
    date_order: str | None = key(
        TEXT,
        "of dates such as 3/10/2026",
        choices=(DAY_FIRST, MONTH_FIRST),
        default=None,
        otherwise="what makes sense; points mean day first",
    )
    heater: float | None = key(
        "power",
        "watts of a heater at the cold end, where no column has them",
        default=None,
        within="[0, 1e5]",
        otherwise="not known",
    )
    atmosphere: float = field(default=ATMOSPHERE)

    def __post_init__(self):
        for name, error in self.errors.items():
            require(f"the error of {name}", error, above=0.0)

    @property
    def reading_errors(self) -> dict[str, float]:
        """The standard deviation of a reading by name of place."""
        return {place.name: self.errors.get(place.name, place.error) for place in PLACES}


@dataclass(frozen=True, eq=False)
class Column:
    """What a column of the log was taken for: place and unit of a header, and whether the place is but a guess from it."""

    header: str
    place: str
    unit: str
    guessed: bool


@dataclass(frozen=True, eq=False)
class TrialLog:
    """A log as read.

    times (n,) [s] count from the first line and rise; readings are arrays (n,) by name of place (absolute Pa, K, V,
    A, W), NaN where there is none. columns tell what was taken for what, clock the column of time; notes
    what was odd in the file, each with how often and its first line; started is the first time stamp as
    written.
    """

    times: np.ndarray
    readings: Mapping[str, np.ndarray]
    columns: tuple[Column, ...]
    notes: tuple[str, ...]
    started: str
    clock: Column | None = None


def display_step(values: np.ndarray, place: MeasuringPlace) -> float:
    """The step in which readings (n,) of a place are shown, as far as they tell; 0 where they do not.

    Levels further apart than DISPLAY usual errors are settings, as of a heater, or states of the machine.
    """
    levels = np.unique(values[np.isfinite(values)])
    steps = np.diff(levels)
    steps = steps[(steps > SAME * np.abs(levels).max(initial=0.0)) & (steps < DISPLAY * place.error)]
    return float(steps.min()) if steps.size else 0.0
