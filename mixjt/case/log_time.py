"""The column of time of a log: stamps of a clock, or time since the start."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixjt.case.log_notes import noted, quoted
from mixjt.errors import InputError
from mixjt.studies.trial.log import CLOCK, DAY_FIRST, MONTH_FIRST
from mixjt.units import unit_scale

DAY = 86400.0  # s
GAP = 5.0  # times the usual step
AHEAD = 3  # lines in which a stamp that is out of turn is told from a clock that was set back
_OF_DAY = re.compile(r"(\d{1,3}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?\s*(?:([AaPp])\.?[Mm]\.?)?")
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T\s,]+(.*))?")
_YEAR_LAST = re.compile(r"(\d{1,2})([-/.])(\d{1,2})[-/.](\d{4}|\d{2})(?:[T\s,]+(.*))?")
_ZONE = re.compile(r"\s*(Z|UTC|[+-]\d{2}:?\d{2})$")


def is_stamp(text: str) -> bool:
    """Whether a text is a date, a time of day or both."""
    return any(form.fullmatch(text) for form in (_OF_DAY, _YEAR_FIRST, _YEAR_LAST))


def time_unit_scale(unit: str) -> float | None:
    """Seconds of a unit of time; None of what is none."""
    try:
        return unit_scale(unit, "time", "")[0]
    except InputError:
        return None


@dataclass(frozen=True, eq=False)
class Times:
    """The rows that keep a place in time, and their times [s from the first]; the first stamp as written."""

    rows: np.ndarray
    times: np.ndarray
    started: str
    unit: str
    notes: tuple[str, ...]


def read_times(texts: Sequence[str], lines: Sequence[int], unit: str, order: str | None, where: str) -> Times:
    """Times of rows, from their texts.

    Rows without a readable stamp, those that repeat one and a few out of turn are left out; after a clock
    that was set back time goes on by a usual step; a log whose newest line is the first is read from its end. All that
    is noted.

    Parameters
    ----------
    texts : sequence of str
    lines : sequence of int
        Where the rows stand in the file.
    unit : str
        CLOCK, a unit of time, or "" to go by the looks.
    order : str, optional
        DAY_FIRST or MONTH_FIRST.
    where : str
        File and column, for messages.

    Raises
    ------
    InputError
    """
    clock = unit == CLOCK or not unit and sum(map(is_stamp, texts)) > len(texts) / 2
    if clock:
        seconds, of_day = _clock(texts, order, where)
    else:
        seconds, of_day = _elapsed(texts, unit, where), False
    notes, lines = (), np.asarray(lines)
    unread = ~np.isfinite(seconds)
    odd = [text for text, missing in zip(texts, unread, strict=True) if missing]
    notes += noted(lines[unread].tolist(), f"no time can be read from {quoted(odd)}, left out")
    rows = np.flatnonzero(~unread)
    if rows.size < 2:
        raise InputError(f"{where}: no times can be read there, as {quoted(odd) or 'it is empty'}")
    if np.sum(np.diff(seconds[rows]) < 0.0) > rows.size / 2:
        rows = rows[::-1]
        notes += ("times fall from line to line: the newest line is the first, and the log is read from its end",)
    kept, times, more = _in_turn(seconds[rows], lines[rows], of_day)
    if times.size < 2:
        raise InputError(f"{where}: all lines have the same time")
    return Times(
        rows[kept],
        times - times[0],
        texts[rows[kept[0]]],
        CLOCK if clock else unit,
        notes + more + _gaps(times, lines[rows[kept]]),
    )


def _elapsed(texts, unit: str, where: str) -> np.ndarray:
    import pandas  # slow to import

    values = pandas.to_numeric(pandas.Series(texts).str.replace(",", "."), errors="coerce").to_numpy(
        float, copy=True
    )
    values[~np.isfinite(values)] = np.nan
    if not unit and np.isfinite(values).any():
        raise InputError(
            f'{where}: plain numbers do not say their unit; give [trial] time_unit = "s", "min" or "h"'
        )
    return values * (time_unit_scale(unit) or 1.0)


def _clock(texts, order: str | None, where: str) -> tuple[np.ndarray, bool]:
    """Seconds of stamps, and whether they are times of day alone."""
    of_day = np.array([_of_day(text) for text in texts])
    if np.isfinite(of_day).sum() > len(texts) / 2:
        return of_day, True
    orders = (order,) if order else (DAY_FIRST, MONTH_FIRST)
    found = [_dated(texts, one) for one in orders]
    best = max(np.isfinite(seconds).sum() for seconds in found)
    found = [seconds for seconds in found if np.isfinite(seconds).sum() == best]
    apart = [seconds - np.nanmin(seconds) for seconds in found] if best else [np.array([])]
    if (
        not order
        and any("/" in text or "-" in text for text in texts)
        and not np.array_equal(apart[0], apart[-1], equal_nan=True)
    ):
        raise InputError(
            f"{where}: the dates may have the day or the month first; give [trial] date_order = "
            f'"{DAY_FIRST}" or "{MONTH_FIRST}"'
        )
    return found[0], False


def _of_day(text: str) -> float:
    """Seconds since midnight, or since a start; NaN of what is no such time."""
    match = _OF_DAY.fullmatch(text)
    if not match or int(match[2]) > 59:
        return math.nan
    hours, half = int(match[1]), (match[4] or "").lower()
    if half:
        hours = hours % 12 + (12 if half == "p" else 0)
    return 3600.0 * hours + 60.0 * int(match[2]) + float((match[3] or "0").replace(",", "."))


def _dated(texts, order: str) -> np.ndarray:
    """Seconds of stamps with dates."""
    import pandas  # slow to import

    stamps = pandas.to_datetime(
        pandas.Series([_iso(text, order) for text in texts]), format="ISO8601", utc=True, errors="coerce"
    )
    seconds = (stamps - pandas.Timestamp("1970-01-01", tz="UTC")) / pandas.Timedelta(seconds=1)
    return seconds.to_numpy(float)


def _iso(text: str, order: str) -> str | None:
    """A stamp in the spelling of ISO 8601; None of what is no date and time."""
    year_first, year_last = _YEAR_FIRST.fullmatch(text), _YEAR_LAST.fullmatch(text)
    if year_first:
        year, month, day, rest = year_first.groups()
    elif year_last:
        day, mark, month, year, rest = year_last.groups()
        if order == MONTH_FIRST and mark != ".":
            day, month = month, day
        year = f"20{year}" if len(year) == 2 else year
    else:
        return None
    rest = rest or "00:00:00"
    zone = _ZONE.search(rest)
    seconds = _of_day(rest[: zone.start()] if zone else rest)
    if not 0.0 <= seconds < DAY:
        return None
    minutes, second = divmod(seconds, 60.0)
    offset = zone[1].replace("UTC", "Z") if zone else ""
    time = f"{int(minutes) // 60:02d}:{int(minutes) % 60:02d}:{second:09.6f}"
    return f"{year}-{int(month):02d}-{int(day):02d}T{time}{offset}"


def _in_turn(
    seconds: np.ndarray, lines: np.ndarray, of_day: bool
) -> tuple[np.ndarray, np.ndarray, tuple[str, ...]]:
    """Which stamps are kept, their times in rising order, and what was met."""
    steps = np.diff(seconds)
    usual = float(np.median(steps[steps > 0.0])) if np.any(steps > 0.0) else 1.0
    kept, times, shift = [], [], 0.0
    met = {"repeated": [], "turn": [], "back": [], "midnight": []}
    for k, stamp in enumerate(seconds):
        now, last = stamp + shift, times[-1] if times else -math.inf
        if of_day and last - now > DAY / 2.0:
            met["midnight"].append(lines[k])
            shift += DAY * math.ceil((last - now) / DAY)
            now = stamp + shift
        if now == last:
            met["repeated"].append(lines[k])
            continue
        if now < last:
            if np.any(seconds[k + 1 : k + 1 + AHEAD] + shift > last):
                met["turn"].append(lines[k])
                continue
            met["back"].append(lines[k])
            shift += last + usual - now
            now = last + usual
        kept.append(k)
        times.append(now)
    notes = (
        *noted(met["midnight"], "the clock passes midnight"),
        *noted(met["repeated"], "the same time as the line before, left out: the first one counts"),
        *noted(met["turn"], "a time before that of the line above, out of turn, left out"),
        *noted(
            met["back"],
            f"the clock jumps back; from there time goes on, taken as one usual step of {usual:g} s",
        ),
    )
    return np.array(kept, int), np.array(times), notes


def _gaps(times: np.ndarray, lines: np.ndarray) -> tuple[str, ...]:
    steps = np.diff(times)
    wide = steps > GAP * np.median(steps)
    longest = (
        f"the longest {steps.max() / 60.0:.3g} min, where {np.median(steps):g} s are usual"
        if wide.any()
        else ""
    )
    return noted(lines[1:][wide].tolist(), f"a gap in time, or a clock set forward, before it ({longest})")
