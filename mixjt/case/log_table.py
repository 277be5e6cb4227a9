"""From the bytes of a log to a table of texts: encoding, separators, header, lines that do not fit."""

from __future__ import annotations

import csv
import re
import unicodedata
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from mixjt.case.log_headers import unit_kind
from mixjt.case.log_notes import noted
from mixjt.case.log_time import is_stamp, time_unit_scale
from mixjt.errors import InputError

SEPARATORS = {";": "semicolon", "\t": "tab", ",": "comma", "|": "bar"}  # the likelier first
COMMENTS = "#", "//", "%"
CONTROLS = 0.02  # share of control characters from which a file is no text
FEWEST = 5  # lines of a log
NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")


@dataclass(frozen=True, eq=False)
class TextTable:
    """Headers and the texts below them by column, the line of the file that each row is from, and notes."""

    headers: list[str]
    columns: list[list[str]]
    lines: list[int]
    notes: tuple[str, ...]


def read_text_table(path) -> TextTable:
    """The table in a file.

    Raises
    ------
    InputError
        For what cannot be read, is no text, or holds no table.
    """
    text, notes = _text(path)
    numbered = [(number, line) for number, line in enumerate(re.split(r"\r\n|\r|\n", text), start=1)]
    while numbered and not numbered[-1][1].strip():
        numbered.pop()
    if not numbered:
        raise InputError(f"{path} is empty")
    filled = [(number, line) for number, line in numbered if line.strip()]
    notes += noted((number for number, line in numbered if not line.strip()), "empty, left out")
    comments = [(number, line) for number, line in filled if line.lstrip().startswith(COMMENTS)]
    plain = [(number, line) for number, line in filled if not line.lstrip().startswith(COMMENTS)]
    separator, width = _shape(path, plain)
    at, headers = _header(path, comments, plain, separator, width)
    notes += noted((number for number, _ in comments if number != at), "a comment, left out")
    notes += noted((number for number, _ in plain if number < at), "before the header, left out")
    body = [(number, line) for number, line in plain if number > at]
    headers, body, more = _units_below(headers, body, separator)
    return _table(path, headers, body, separator, width, notes + more)


def _text(path) -> tuple[str, tuple[str, ...]]:
    try:
        raw = Path(path).read_bytes()
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file") from None
    except IsADirectoryError:
        raise InputError(f"{path} is a directory; name the log in it") from None
    except (OSError, ValueError) as error:  # ValueError: a null byte in the name
        raise InputError(f"{path} cannot be read: {getattr(error, 'strerror', None) or error}") from None
    if raw.startswith(b"PK\x03\x04"):
        raise InputError(f"{path} is a workbook or an archive, no text; save the log as CSV")
    notes = ()
    try:
        text = raw.decode("utf-16" if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except UnicodeDecodeError:
        text, notes = raw.decode("latin-1"), ("not UTF-8, read as Latin-1",)
    odd = {letter for letter in set(text) - set("\r\n\t") if unicodedata.category(letter) in ("Cc", "Cf")}
    count = sum(map(text.count, odd))
    if count > CONTROLS * len(text):
        raise InputError(f"{path} is no text; save the log as CSV")
    if odd:
        number = text.count("\n", 0, min(map(text.index, odd))) + 1
        notes += (f"{count} control characters, first in line {number}: left out",)
    return text.translate(dict.fromkeys(map(ord, odd))), notes


def _fields(line: str, separator: str) -> list[str]:
    """The texts of a line."""
    try:
        texts = next(csv.reader([line], delimiter=separator, skipinitialspace=True))
    except csv.Error:  # of a text longer than any table holds
        return [line]
    return [text.strip().replace("\u00a0", " ") for text in texts]


def _shape(path, lines) -> tuple[str, int]:
    """Separator and number of values that most lines have in common; a separator that ends them all adds none."""
    for separator in SEPARATORS:
        counts = Counter(len(_fields(line, separator)) for _, line in lines)
        width, often = max(counts.items(), key=lambda one: one[1], default=(0, 0))
        if width > 1 and often > len(lines) / 2:
            ended = all(
                line.rstrip(" ").endswith(separator)
                for _, line in lines
                if len(_fields(line, separator)) == width
            )
            return separator, width - ended
    separators = "semicolons, tabs, commas or bars"
    raise InputError(f"{path} holds no table: most lines need as many values as others, between {separators}")


def _header(path, comments, plain, separator: str, width: int) -> tuple[int, list[str]]:
    """Number and texts of the header: the first line of words that has as many, or more, or a comment above the readings."""
    above = []
    for number, line in plain:
        texts = _divided(line, separator, width)
        if len(texts) >= width and 2 * sum(map(_is_value, texts)) >= sum(map(bool, texts)):
            break
        above.append((number, texts))
    bare = ((at, re.sub(r"^\s*(#|//|%)+", "", line)) for at, line in reversed(comments) if at < number)
    above += [(at, _divided(line, separator, width)) for at, line in bare]
    above = [(at, texts) for at, texts in above if len(texts) >= width and not any(map(_is_value, texts[:2]))]
    if above:
        return min(above, key=lambda one: len(one[1]) != width)  # the first of the best
    hint = "; a decimal comma cannot be told from a comma between values: export with semicolons"
    raise InputError(
        f"{path}: no header names the {width} columns that most lines have{hint if separator == ',' else ''}"
    )


def _divided(line: str, separator: str, width: int) -> list[str]:
    """A line's texts by the first separator that gives as many as there are columns, or the usual one."""
    found = (_shorn(_fields(line, one), width) for one in dict.fromkeys((separator, *SEPARATORS)))
    return next((texts for texts in found if len(texts) == width), _shorn(_fields(line, separator), width))


def _shorn(texts: list[str], width: int) -> list[str]:
    """Without empty texts at the end that are more than the columns."""
    while len(texts) > width and not texts[-1]:
        texts = texts[:-1]
    return texts


def _is_value(text: str) -> bool:
    return bool(NUMBER.fullmatch(text)) or is_stamp(text)


def _units_below(headers: list[str], body, separator: str) -> tuple[list[str], list, tuple[str, ...]]:
    """Headers with the units that a line of its own below them gives."""
    if not body:
        return headers, body, ()
    number, line = body[0]
    texts = [text.strip("[](){}") for text in _shorn(_fields(line, separator), len(headers))]
    named = [text for text in texts if text and not re.fullmatch(r"-+", text)]
    if (
        not named
        or any(not (unit_kind(text) or time_unit_scale(text)) for text in named[1:])
        or any(map(_is_value, named))
    ):
        return headers, body, ()
    texts += [""] * (len(headers) - len(texts))
    is_unit = [bool(unit_kind(text) or time_unit_scale(text)) for text in texts]
    joined = [
        f"{head} [{unit}]" if told else head
        for head, unit, told in zip(headers, texts, is_unit, strict=False)
    ]
    return joined, body[1:], (f"line {number}: taken as units of the columns",)


def _table(path, headers: list[str], body, separator: str, usual: int, notes) -> TextTable:
    width, rows, lines = len(headers), [], []
    met = {"mixed": [], "few": [], "cut": [], "long": [], "header": []}
    for number, line in body:
        texts = _shorn(_fields(line, separator), width)
        if len(texts) not in (usual, width):
            texts = _divided(line, separator, width)
            met["mixed"] += [number] if len(texts) == width else []
        if [text.lower() for text in texts] == [head.lower() for head in headers]:
            met["header"].append(number)
            continue
        if len(texts) > width:
            met["long"].append(number)
            continue
        if len(texts) < usual:
            met["cut"].append(number)
            texts = texts[:-1]
        elif len(texts) < width:
            met["few"].append(number)
        rows.append([*texts, *[""] * (width - len(texts))])
        lines.append(number)
    notes += noted(met["mixed"], f"another separator than the {SEPARATORS[separator]} of the other lines")
    notes += noted(met["header"], "the header again, left out")
    notes += noted(met["few"], "fewer values than columns: what lacks at the end is missing")
    notes += noted(
        met["cut"],
        "fewer values than other lines: the last one, which may be cut, and what lacks are missing",
    )
    notes += noted(met["long"], "more values than columns, left out: which is which cannot be told")
    if len(rows) < FEWEST:
        raise InputError(f"{path}: a log needs {FEWEST} lines of readings at least, this one has {len(rows)}")
    return TextTable(headers, [list(column) for column in zip(*rows, strict=True)], lines, notes)
