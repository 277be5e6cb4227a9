"""The reader that holds a case file to its keys.

`read_table` turns one table of a parsed TOML file into SI values, or refuses it with the place, the reason and, for a
misspelt key, the nearest valid one.
"""

from __future__ import annotations

import difflib
import math
import re
import unicodedata
from collections.abc import Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace

from mixjt.blend import PRINTED_STEP
from mixjt.errors import InputError
from mixjt.fluid.pure import resolve_fluid
from mixjt.keys import COMPOSITION, FLUID, NAMED, TEXT, WHOLE, Key
from mixjt.units import DIMENSIONS, quantity_text, read_quantity, shown

ROUNDING = 1e-9


@dataclass(frozen=True)
class FilePlace:
    """Where in a file we are, for messages: file name, its text, and the header of the current table."""

    file: str
    text: str = ""
    header: str = ""
    number: int = 1  # of several tables with the same header

    def table(self, header: str, number: int = 1) -> FilePlace:
        """The place of a table's header, for instance "[circuit]"."""
        return FilePlace(self.file, self.text, header, number)

    def at(self, key: str = "") -> str:
        """For instance "case.toml, line 12, [circuit] suction_pressure"."""
        line = _line_number(self.text, self.header, self.number, key)
        parts = [self.file] + ([f"line {line}"] if line else [])
        counted = f"{self.header} number {self.number}" if self.header.startswith("[[") else self.header
        name = f"{counted} {key}".strip()
        return ", ".join(parts + ([name] if name else []))


@contextmanager
def located(where: str):
    """Put a place in front of an error about the content found there."""
    try:
        yield
    except InputError as error:
        raise type(error)(f"{where}: {error}") from None


def read_table(raw, keys: dict[str, Key], place: FilePlace, atmosphere: float, homes=None) -> dict:
    """SI values of one table, one entry per key of the schema; None where a key may be absent and is.

    Parameters
    ----------
    raw : dict
        The table as parsed from TOML.
    keys : dict of str to Key
        What the table may hold.
    place : FilePlace
        For messages.
    atmosphere : float
        Local atmospheric pressure [Pa], for gauge pressures.
    homes : dict of str to str, optional
        Keys of other tables and their headers, for a key put in the wrong table.

    Raises
    ------
    InputError
        For an unknown, missing, mistyped or out-of-range entry.
    """
    if not isinstance(raw, dict):
        raise InputError(f"{place.at()} must be a table of keys; got {shown(raw)}")
    for key in raw:
        if key not in keys:
            raise InputError(f"{place.at(key)}: {_unknown_key(key, keys, place.header, homes or {})}")
    missing = [key for key, entry in keys.items() if entry.required and key not in raw]
    if missing:
        raise InputError(f"{place.at()} lacks {missing[0]}, {keys[missing[0]].help}")
    return {key: _read_entry(raw, key, entry, place, atmosphere) for key, entry in keys.items()}


def read_composition(written, where: str) -> dict[str, float]:
    """Amount of each gas as written, within 0 and 1; their names and sum are the blend's business.

    Fractions copied from what is printed are rounded: where that explains why their sum is not 1, they are scaled.

    Raises
    ------
    InputError
        Where it is not a table of fractions.
    """
    if not isinstance(written, dict) or not written:
        example = "{propane = 0.3, n-butane = 0.7}"
        raise InputError(f"{where}: needs gases and their mole fractions, like {example}")
    amounts = {gas: read_quantity(amount, "fraction", f"{where} {gas}") for gas, amount in written.items()}
    for gas, amount in amounts.items():
        if not 0.0 <= amount <= 1.0:
            raise InputError(f"{where} {gas}: {shown(written[gas])} is not a mole fraction between 0 and 1")
    total, present = math.fsum(amounts.values()), sum(amount > 0.0 for amount in amounts.values())
    rounded = abs(total - 1.0) <= 0.5 * PRINTED_STEP * present + ROUNDING
    return {gas: amount / total for gas, amount in amounts.items()} if rounded else amounts


def nearest(word: str, words) -> str | None:
    """The word most like the given one, or whose initials it is, as "LBP"; None if none is close."""
    known = {choice.lower(): choice for choice in words}
    initials = {"".join(part[:1] for part in re.split(r"[\s_-]+", choice)): choice for choice in known}
    if len(word) > 1 and word.lower() in initials:
        return known[initials[word.lower()]]
    close = difflib.get_close_matches(word.lower(), list(known), n=1, cutoff=0.6)
    return known[close[0]] if close else None


def _unknown_key(key: str, keys: dict[str, Key], header: str, homes: dict[str, str]) -> str:
    table = header or "the top of a case file"
    close = nearest(key, keys)
    if close:
        return f"there is no such key; did you mean {close}?"
    if key in homes:
        return f"there is no such key in {table}; it belongs to {homes[key]}"
    return f"there is no such key; {table} knows {', '.join(keys)}"


def _read_entry(raw: dict, key: str, entry: Key, place: FilePlace, atmosphere: float):
    return read_entry(raw[key], entry, place.at(key), atmosphere) if key in raw else entry.default


def read_entry(written, entry: Key, where: str, atmosphere: float):
    """The SI value of one entry as written; where is its place, for messages. Errors as `read_table`."""
    if entry.span:
        return _read_span(written, entry, where, atmosphere)
    if entry.many:
        return _read_many(written, entry, where, atmosphere)
    return _read_value(written, entry, where, atmosphere)


def _read_span(written, entry: Key, where: str, atmosphere: float) -> tuple[float, float]:
    """Two values of a list, the lower first."""
    example = DIMENSIONS[entry.kind].example.split(" or ")[0]
    if not isinstance(written, list) or len(written) != 2:
        raise InputError(f"{where}: needs a lower and an upper value, like [{example}, {example}]")
    low, high = (_read_value(value, entry, where, atmosphere) for value in written)
    if low > high:
        raise InputError(
            f"{where}: the lower value comes first; got {shown(written[0])}, {shown(written[1])}"
        )
    return low, high


def _read_many(written, entry: Key, where: str, atmosphere: float) -> tuple:
    """The values of a list, at least one."""
    if not isinstance(written, list) or not written:
        raise InputError(f"{where}: needs a list of values in brackets; got {shown(written)}")
    return tuple(_read_value(value, entry, where, atmosphere) for value in written)


def _read_value(written, entry: Key, where: str, atmosphere: float):
    if entry.kind == COMPOSITION:
        return read_composition(written, where)
    if entry.kind == NAMED:
        return _read_named(written, entry, where, atmosphere)
    if entry.kind in (TEXT, FLUID):
        return _text(written, entry, where)
    if entry.kind == WHOLE:
        return _whole(written, entry, where)
    value = read_quantity(written, entry.kind, where, atmosphere)
    _check_interval(value, written, entry, where)
    return value


def _read_named(written, entry: Key, where: str, atmosphere: float) -> dict:
    """The values of an inner table, each of the kind that belongs to its name."""
    if not isinstance(written, dict) or not written:
        raise InputError(f"{where}: needs named values, like {named_example(entry)}; got {shown(written)}")
    for name in written:
        if name not in entry.names:
            close = nearest(name, entry.names)
            hint = f"did you mean {close}?" if close else f"it may hold {', '.join(entry.names)}"
            raise InputError(f"{where}: there is no such name as {shown(name)}; {hint}")
    return {
        name: _read_value(value, replace(entry, kind=entry.names[name]), f"{where} {name}", atmosphere)
        for name, value in written.items()
    }


def named_example(entry: Key) -> str:
    """How such a table may be written, with its first name."""
    name, kind = next(iter(entry.names.items()))
    value = DIMENSIONS[kind].example.split(" or ")[0] if kind in DIMENSIONS else '"..."'
    return f"{{{name} = {value}, ...}}"


def _text(written, entry: Key, where: str):
    """A text as written, or what it means where the key's choices say so."""
    if not isinstance(written, str):
        raise InputError(f"{where}: needs a text in quotes; got {shown(written)}")
    odd = next((letter for letter in written if _controls(letter, entry.many_lines)), None)
    if odd:
        raise InputError(f"{where}: the text holds a control character, U+{ord(odd):04X}; leave it out")
    if entry.kind == FLUID:
        with located(where):
            return resolve_fluid(written)
    if entry.choices and written not in entry.choices:
        close = nearest(written, entry.choices)
        hint = f"; did you mean {shown(close)}?" if close else ""
        choices = ", ".join(shown(choice) for choice in entry.choices)
        raise InputError(f"{where}: {shown(written)} is not one of {choices}{hint}")
    return entry.choices[written] if isinstance(entry.choices, Mapping) else written


def _controls(letter: str, many_lines: bool) -> bool:
    """Whether a letter steers a terminal, or the order of letters on it, instead of standing for something."""
    return unicodedata.category(letter) in ("Cc", "Cf") and not (many_lines and letter in "\r\n\t")


def _whole(written, entry: Key, where: str) -> int:
    if isinstance(written, bool) or not isinstance(written, int):
        raise InputError(f"{where}: needs a whole number; got {shown(written)}")
    _check_interval(written, written, entry, where)
    return written


def _check_interval(value: float, written, entry: Key, where: str) -> None:
    if not entry.within:
        return
    opening, low, high, closing = _interval(entry.within)
    above = value > low or (opening == "[" and value == low)
    below = value < high or (closing == "]" and value == high)
    if not (above and below):
        raise InputError(f"{where}: {shown(written)} is out of range; it must be {interval_text(entry)}")


def interval_text(entry: Key) -> str:
    """The allowed range in words and units, for instance "above 0 and at most 1"."""
    opening, low, high, closing = _interval(entry.within)
    lower = ("at least " if opening == "[" else "above ") + _bound_text(low, entry.kind)
    upper = ("at most " if closing == "]" else "below ") + _bound_text(high, entry.kind)
    return lower if high == float("inf") else f"{lower} and {upper}"


def _bound_text(bound: float, kind: str) -> str:
    return quantity_text(bound, kind) if kind in DIMENSIONS else f"{bound:g}"


def _interval(within: str) -> tuple[str, float, float, str]:
    opening, low, high, closing = re.fullmatch(r"([\[(])(\S+), (\S+)([\])])", within).groups()
    return opening, float(low), float(high), closing


def _line_number(text: str, header: str, number: int, key: str) -> int | None:
    """Line of a key (or of its table's header) in the file; None where plain search does not find it."""
    seen, inside = 0, not header
    for count, line in enumerate(text.splitlines(), start=1):
        bare = line.split("#")[0].strip()
        if bare.startswith("["):
            seen += bare.replace(" ", "") == header
            inside = bool(header) and bare.replace(" ", "") == header and seen == number
            if inside and not key:
                return count
        elif inside and key and re.match(rf"[\"']?{re.escape(key)}[\"']?\s*[=.]", bare):
            return count
    return None
