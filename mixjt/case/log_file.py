"""The log of a run, read from its file; what is met in it and how it is taken is all noted."""

from __future__ import annotations

import numpy as np

from mixjt.case.log_cells import frozen, numbers, plausible
from mixjt.case.log_headers import Header, header_of
from mixjt.case.log_table import FEWEST, TextTable, read_text_table
from mixjt.case.log_time import Times, is_stamp, read_times
from mixjt.case.schema import nearest
from mixjt.case.trial_case import checked_unit
from mixjt.errors import InputError
from mixjt.studies.trial.log import BY_NAME, CLOCK, Column, LogRequest, TrialLog
from mixjt.units import unit_scale

EXAMPLES = {
    "pressure": '"bar g"',
    "temperature": '"degC"',
    "voltage": '"V"',
    "current": '"A"',
    "power": '"W"',
}


def read_log(path, request: LogRequest) -> TrialLog:
    """The log in a file of separated values.

    Parameters
    ----------
    path : str or Path
    request : LogRequest
        What the case says of its columns.

    Raises
    ------
    InputError
        For a file that cannot be read or is no table, a column whose place, unit or zero of pressure cannot
        be told, and a file without time or without any reading.
    """
    table = read_text_table(path)
    headers = [header_of(text) for text in table.headers]
    _check_named(path, table, request)
    clock, dates = _time_columns(path, table, headers, request)
    times = _times(path, table, headers, clock, dates, request)
    columns = _columns(path, table, headers, {clock, *dates}, request)
    lines = [table.lines[row] for row in times.rows]
    readings, notes = {}, table.notes + times.notes
    for at, column in columns.items():
        texts = [table.columns[at][row] for row in times.rows]
        values, met = _readings(texts, lines, column, request, f'{path}, column "{column.header}"')
        notes += met
        if headers[at].unit and column.place in request.units:
            notes += (f'"{column.header}" is read in {column.unit} as [trial] says; its header says {headers[at].unit}',)
        if np.isfinite(values).any():
            readings[column.place] = values
        else:
            notes += (f'"{column.header}" holds no reading at all',)
    if not readings:
        raise InputError(f"{path}: no column that is known holds a reading")
    for column in columns.values():
        if column.place in readings:
            notes += frozen(times.times, lines, column.place, readings, column.header)
    used = {clock, *dates, *columns}
    unused = [text for at, text in enumerate(table.headers) if at not in used and text]
    if unused:
        notes += (f"columns not used: {', '.join(unused)}",)
    if request.heater is not None and "heater" in readings:
        notes += ("heater of [trial] is not used, a column has it",)
    elif request.heater is not None:
        readings["heater"] = np.full(times.times.size, request.heater)
    return TrialLog(
        times.times, readings, tuple(columns.values()), notes, times.started,
        Column(table.headers[clock], "time", times.unit, request.time is None),
    )  # fmt: skip


def _check_named(path, table: TextTable, request: LogRequest) -> None:
    """Refuse headers that the case names and the file lacks, or has twice."""
    named = [(f"columns {_key(name)}", header) for name, header in request.columns.items()]
    named += [("ignored", header) for header in request.ignored]
    named += [("time", request.time)] if request.time else []
    for key, header in named:
        found = table.headers.count(header)
        if not found:
            close = nearest(header, table.headers)
            hint = f'did you mean "{close}"?' if close else f"it has {', '.join(table.headers)}"
            raise InputError(f'{path}: there is no column "{header}", which [trial] {key} names; {hint}')
        if found > 1:
            raise InputError(
                f'{path}: {found} columns are called "{header}", which [trial] {key} names; rename one'
            )


def _time_columns(
    path, table: TextTable, headers: list[Header], request: LogRequest
) -> tuple[int, tuple[int, ...]]:
    """The column of time, and those of a date beside it."""
    if request.time:
        return table.headers.index(request.time), ()
    taken = {*request.columns.values(), *request.ignored}
    found = [at for at, header in enumerate(headers) if header.is_time and header.text not in taken]
    if (
        not found
        and sum(map(is_stamp, table.columns[0])) > len(table.lines) / 2
        and table.headers[0] not in taken
    ):
        found = [0]
    dates = tuple(at for at in found if _all_dates(table.columns[at])) if len(found) == 2 else ()
    rest = [at for at in found if at not in dates]
    if len(rest) == 1:
        return rest[0], dates
    what = (
        "several columns may be the time: " + ", ".join(table.headers[at] for at in found)
        if found
        else "no column of time is known"
    )
    raise InputError(f'{path}: {what}; name it with [trial] time = "..."')


def _all_dates(texts: list[str]) -> bool:
    return sum(is_stamp(text) and ":" not in text for text in texts) > len(texts) / 2


def _times(path, table: TextTable, headers, clock: int, dates, request: LogRequest) -> Times:
    texts, unit = table.columns[clock], request.time_unit or headers[clock].unit
    for at in dates:
        texts = [f"{date} {time}" for date, time in zip(table.columns[at], texts, strict=True)]
    if not request.time_unit and sum(map(is_stamp, texts)) > len(texts) / 2:
        unit = CLOCK  # whatever the header says of hours
    found = read_times(
        texts, table.lines, unit, request.date_order, f'{path}, column "{table.headers[clock]}"'
    )
    if found.times.size < FEWEST:
        raise InputError(
            f"{path}: {found.times.size} lines have a time of their own; a log needs {FEWEST} at least"
        )
    return found


def _columns(
    path, table: TextTable, headers: list[Header], taken: set[int], request: LogRequest
) -> dict[int, Column]:
    """What is read where, by number of the column."""
    found = {table.headers.index(header): name for name, header in request.columns.items()}
    guesses: dict[str, list[int]] = {}
    for at, header in enumerate(headers):
        if at in taken or at in found or header.text in request.ignored:
            continue
        places = [name for name in header.places if name not in found.values()]
        if len(places) > 1:
            raise InputError(
                f'{path}: column "{header.text}" may read {" or ".join(places)}; say it with '
                f'[trial] columns = {{{_key(places[0])} = "{header.text}"}}, or ignored = ["{header.text}"]'
            )
        for name in places:
            guesses.setdefault(name, []).append(at)
    for name, several in guesses.items():
        if len(several) > 1:
            both = " and ".join(f'"{table.headers[at]}"' for at in several)
            raise InputError(
                f"{path}: columns {both} may both read {name}; say which with "
                f'[trial] columns = {{{_key(name)} = "{table.headers[several[0]]}"}}'
            )
        found[several[0]] = name
    return {at: _column(path, headers[at], found[at], request) for at in sorted(found)}


def _key(place: str) -> str:
    return place.replace(" ", "_")


def _column(path, header: Header, name: str, request: LogRequest) -> Column:
    unit = request.units.get(name) or header.unit
    where, kind = f'{path}, column "{header.text}"', BY_NAME[name].kind
    need = f'[trial] units = {{{_key(name)} = {EXAMPLES[kind]}}}, or ignored = ["{header.text}"]'
    if not unit:
        raise InputError(f"{where}: taken for {name}, but its unit is not told; give {need}")
    try:
        checked_unit(unit, name, where)
    except InputError as error:
        own = f'[trial] units = {{{_key(name)} = "{unit} g"}} or "{unit} abs"' if kind == "pressure" else need
        raise InputError(f"{error}; give {own}") from None
    return Column(header.text, name, unit, name not in request.columns)


def _readings(
    texts, lines, column: Column, request: LogRequest, where: str
) -> tuple[np.ndarray, tuple[str, ...]]:
    """Plausible readings [SI] of a column and what was met."""
    place = BY_NAME[column.place]
    values, notes = numbers(texts, lines, column.header)
    scale, offset = unit_scale(column.unit, place.kind, where, request.atmosphere)
    values, more = plausible(offset + scale * values, place, lines, column.header)
    return values, notes + more
