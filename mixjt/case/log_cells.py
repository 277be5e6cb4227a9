"""From the texts of a column of a log to its readings, and what sensors show that is none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from mixjt.case.log_notes import noted, quoted
from mixjt.case.log_table import NUMBER
from mixjt.constants import ZERO_CELSIUS
from mixjt.studies.trial.log import BY_NAME, MeasuringPlace, display_step

WARMEST, COLDEST = 523.15, 20.0  # K, beyond which no place of these machines is
LEAP = 20.0  # K between neighbouring readings, which no mass does
BACK = 5.0  # K, within which the readings around a single leap agree
REPEATED = 3  # readings in a row
# Shown instead of a temperature by an open or unpowered sensor: the end of a thermocouple's table, nought,
# and what a digital sensor shows after a reset (85 degC: its maker's data sheet, from memory) or unread
# (-127 degC: common practice, no source, as the others)
SHOWN_INSTEAD = tuple(ZERO_CELSIUS + celsius for celsius in (-200.0, -127.0, 0.0, 85.0))
FROZEN_TIME, FROZEN_LINES = 600.0, 10  # s and lines with one value
MOVED = {"temperature": 5.0, "pressure": 1e5}  # K, Pa, by which another of the kind moves meanwhile
STEPS = 10.0  # of its own display, too


def numbers(texts: Sequence[str], lines: Sequence[int], header: str) -> tuple[np.ndarray, tuple[str, ...]]:
    """The numbers of a column (n,), NaN where there is none, and what was met."""
    import pandas  # slow to import

    values = pandas.to_numeric(pandas.Series(texts, dtype=object), errors="coerce").to_numpy(float, copy=True)
    values[~np.isfinite(values)] = np.nan
    comma, empty, odd = [], [], []
    for row in np.flatnonzero(np.isnan(values)):
        text = texts[row].replace("\u2212", "-").replace(" ", "")
        if NUMBER.fullmatch(text):
            values[row] = float(text.replace(",", "."))
            comma += [row] if "," in text else []
        else:
            (odd if text else empty).append(row)
    notes = (
        *noted((lines[row] for row in empty), f'"{header}" is empty'),
        *noted(
            (lines[row] for row in odd), f'"{header}" holds no number: {quoted(texts[row] for row in odd)}'
        ),
    )
    point = [row for row, text in enumerate(texts) if "." in text and row not in odd] if comma else []
    if comma and point:
        rarer, name = (comma, "comma") if len(comma) < len(point) else (point, "point")
        what = f'"{header}" has a decimal {name}, unlike its other lines'
        notes += noted((lines[row] for row in rarer), what)
    return values, notes


def plausible(
    values: np.ndarray, place: MeasuringPlace, lines: Sequence[int], header: str
) -> tuple[np.ndarray, tuple[str, ...]]:
    """Readings [SI] (n,) without those that a sensor shows when it has none, and what was met."""
    values, lines, notes = values.copy(), np.asarray(lines), ()

    def drop(which, why):
        nonlocal notes
        notes += noted(lines[which].tolist(), f'"{header}" {why}, taken as no reading')
        values[which] = np.nan

    if place.kind == "temperature":
        drop(
            (values > WARMEST) | (values < COLDEST),
            f"is above {WARMEST - ZERO_CELSIUS:.0f} degC or below {COLDEST:.0f} K, as of an open sensor",
        )
        drop(_shown_instead(values), "leaps to a value that sensors show without a reading")
        drop(_single_leaps(values), f"leaps by {LEAP:.0f} K and back at the next reading")
    elif place.kind == "pressure":
        drop(values <= 0.0, "is a pressure at or below vacuum")
    else:
        slight = (values < 0.0) & (values >= -2.0 * place.error)
        notes += noted(lines[slight].tolist(), f'"{header}" is slightly below zero, taken as zero')
        values[slight] = 0.0
        drop(values < 0.0, "is below zero")
    return values, notes


def _shown_instead(values: np.ndarray) -> np.ndarray:
    """Runs of such a value that begin or end with a leap, and columns that show nothing else (n,)."""
    found = np.zeros(values.size, bool)
    there = np.flatnonzero(np.isfinite(values))
    for value in SHOWN_INSTEAD:
        same = np.abs(values[there] - value) < 1e-6
        for first, last in _runs(same):
            before = abs(values[there[first - 1]] - value) if first else 0.0
            after = abs(values[there[last]] - value) if last < there.size else 0.0
            if max(before, after) > LEAP or (
                last - first == there.size >= REPEATED and value != SHOWN_INSTEAD[0]
            ):
                found[there[first:last]] = True
    return found


def _runs(same: np.ndarray) -> list[tuple[int, int]]:
    """First of each run of true values, and the one behind its last."""
    edges = np.flatnonzero(np.diff(np.r_[0, same.astype(int), 0]))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _single_leaps(values: np.ndarray) -> np.ndarray:
    found = np.zeros(values.size, bool)
    there = np.flatnonzero(np.isfinite(values))
    before, now, after = values[there[:-2]], values[there[1:-1]], values[there[2:]]
    found[there[1:-1]] = (
        (np.abs(now - before) > LEAP) & (np.abs(now - after) > LEAP) & (np.abs(after - before) < BACK)
    )
    return found


def frozen(
    times: np.ndarray, lines: Sequence[int], name: str, readings: Mapping[str, np.ndarray], header: str
) -> tuple[str, ...]:
    """Where a reading stays the same to the last digit while others of its kind move, by more than its display's step."""
    values, kind = readings[name], BY_NAME[name].kind
    if kind not in MOVED or name == "ambient":
        return ()
    others = [other for key, other in readings.items() if key != name and BY_NAME[key].kind == kind]
    there, notes = np.flatnonzero(np.isfinite(values)), ()
    starts = np.r_[0, np.flatnonzero(np.diff(values[there])) + 1, there.size]
    for first, last in zip(there[starts[:-1]], there[starts[1:] - 1], strict=True):
        span, length = slice(first, last + 1), times[last] - times[first]
        if np.isfinite(values[span]).sum() < FROZEN_LINES or length < FROZEN_TIME:
            continue
        moved = max((_span(other[span]) for other in others), default=0.0)
        if moved > max(MOVED[kind], STEPS * display_step(values, BY_NAME[name])):
            what = f"stays the same for {length / 60.0:.0f} min while others move; a sensor that hangs?"
            notes += noted([lines[first]], f'"{header}" {what}')
    return notes


def _span(values: np.ndarray) -> float:
    values = values[np.isfinite(values)]
    return float(np.ptp(values)) if values.size else 0.0
