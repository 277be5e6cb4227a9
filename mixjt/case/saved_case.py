"""A case file with what a command has found in its place; all else stays as the user wrote it.

A value that the case says already keeps its line untouched; any other keeps the unit, the place and the comment of the
line that it replaces.
"""

from __future__ import annotations

import math
import os
import re
from collections.abc import Iterable, Mapping
from pathlib import Path

from mixjt.case.answers import EXACT, Answer
from mixjt.case.case import case_of
from mixjt.case.read import CaseFile, case_file
from mixjt.case.tables import BLEND_TABLE, CHARGE_TABLE, MASS, TABLES
from mixjt.errors import InputError
from mixjt.keys import Key
from mixjt.units import DIMENSIONS, WRITTEN_EXACTLY, read_quantity, written_quantity
from mixjt.whole import write_new

ENTRIES = {BLEND_TABLE: Key("fraction", "of an entry of [blend]"), CHARGE_TABLE: MASS}  # of tables without keys of their own
NOTHING: Answer = {}
GAP = "  "  # before a comment of ours


def checked_new_file(path, case: CaseFile | None = None, option: str = "--save: ") -> None:
    """Refuse a file to be written before any work is done for it; None is no file.

    Parameters
    ----------
    path : str, Path or None
    case : CaseFile, optional
        That it is made from.
    option : str
        What stands in front of an error.

    Raises
    ------
    InputError
        Where it is there already, or cannot be made.
    """
    if path is None:
        return
    try:
        with open(path, "x", encoding="utf-8"):
            pass
    except FileExistsError:
        what = "is the case file itself" if case is not None and _same(path, case.file) else "is there already"
        raise InputError(f"{option}{path} {what}, and nothing is overwritten; name a new file") from None
    except FileNotFoundError:
        raise InputError(f"{option}there is no folder {Path(path).parent}; make it first") from None
    except (OSError, ValueError) as error:  # ValueError: a null byte in the name
        raise InputError(f"{option}cannot write {path}: {getattr(error, 'strerror', None) or error}") from None
    os.unlink(path)


def put_in_place(path, text: str, option: str = "--save: ") -> None:
    """Write a text to a new file, whole or not at all; errors as `checked_new_file`."""
    try:
        write_new(path, text)
    except FileExistsError:
        raise InputError(f"{option}{path} has come to be there meanwhile, and nothing is overwritten") from None
    except OSError as error:
        raise InputError(f"{option}cannot write {path}: {error.strerror or error}") from None


def save_case(path, case: CaseFile, answer: Answer, command: str, before: Answer = NOTHING) -> None:
    """Write a case with an answer in its place to a new file.

    Parameters
    ----------
    path : str or Path
    case : CaseFile
    answer : Answer
    command : str
        What has found it, for the comments, as "mixjt search".
    before : mapping, optional
        Values that the comments shall tell as those before; as written for keys that are left out.

    Raises
    ------
    InputError
        Where the file is there by now or cannot be written, or a value is one that no case may have.
    """
    put_in_place(path, saved_text(case, answer, command, path, before))


def saved_text(case: CaseFile, answer: Answer, command: str, path="the new case", before: Answer = NOTHING) -> str:
    """The text of a case with an answer in its place, read again as a check; as `save_case`."""
    import tomlkit

    document, remark, new = tomlkit.parse(case.text), f"set by {command}", _unsaid(case, answer, EXACT)
    heads = []
    for (table, key), value in new.items():
        if value is None:
            del document[table][key]
            heads += [f"# [{table}] {key} = {before[table, key]} left out by {command}"] if (table, key) in before else []
            if not document[table]:
                del document[table]
            continue
        if table not in document:
            document.add(table, tomlkit.table())
        was = f", was {_written(case, table, key, before[table, key])}" if (table, key) in before else ""
        _put(document[table], key, _written(case, table, key, value), remark + was)
    tables = dict.fromkeys(table for (table, _), value in new.items() if value is not None)
    heads += [f"# [{table}] {remark}" for table in tables if not _of_lines(document[table])]
    text = _headed(document.as_string(), heads)
    for table, key in _unsaid(case_of(case_file(path, text)), answer, WRITTEN_EXACTLY):
        raise InputError(f"{case.file}: [{table}] {key} could not be put in its place; write the table line by line")
    return text


def _unsaid(case: CaseFile, values: Mapping, accuracy: float) -> dict:
    """Those of the values that a case does not have."""
    return {place: value for place, value in values.items() if not _says(case, *place, value, accuracy)}


def _headed(text: str, heads: Iterable[str]) -> str:
    """A text below those of the lines that it does not have yet."""
    end = "\r\n" if "\r\n" in text else "\n"
    return "".join(f"{head}{end}" for head in heads if head not in text) + text


def _says(case: CaseFile, table: str, key: str, value, accuracy: float) -> bool:
    """Whether a case has a value, stated or by default; None, whether it does not state the key."""
    if value is None:
        return key not in case.raw.get(table, {})
    if table in ENTRIES:
        entries = case.raw.get(table, {})
        said = read_quantity(entries[key], ENTRIES[table].kind, key) if key in entries else None
    else:
        said = (case.tables[table] or {}).get(key)
    pairs = [(said, value)]
    if isinstance(value, tuple) and isinstance(said, tuple) and len(said) == len(value):
        pairs = list(zip(said, value, strict=True))
    return all(
        math.isclose(a, b, rel_tol=accuracy) if isinstance(a, float) and isinstance(b, float) else a == b
        for a, b in pairs
    )


def _written(case: CaseFile, table: str, key: str, value):
    """A value as a case file states it, in the unit that this one has there."""
    entry = ENTRIES.get(table) or TABLES[table].keys[key]
    like, atmosphere = case.raw.get(table, {}).get(key), case.tables["ambient"]["pressure"]
    if entry.span or entry.many:
        likes = (like or [None])[: len(value)]
        likes += likes[-1:] * (len(value) - len(likes))
        return [_one(one, entry, other, atmosphere) for one, other in zip(value, likes, strict=True)]
    return _one(value, entry, like, atmosphere)


def _one(value, entry: Key, like, atmosphere: float):
    if isinstance(entry.choices, Mapping):
        return next(word for word, meaning in entry.choices.items() if meaning == value)
    return written_quantity(value, entry.kind, like, atmosphere) if entry.kind in DIMENSIONS else value


def _of_lines(table) -> bool:
    """Whether a table of a TOML document has a header and a line for each key, neither braces nor dots."""
    from tomlkit.items import Table

    return isinstance(table, Table) and not table.is_super_table()


def _put(table, key: str, written, remark: str) -> None:
    """Put a value into a table, and beside it a remark, behind what the user says there and where that is its line."""
    before = len(table[key].as_string()) if key in table else None
    if before is None and _of_lines(table):
        _add_line(table, key, written)
    else:
        table[key] = written
    if _of_lines(table):
        _remark(table[key], remark, 0 if before is None else len(table[key].as_string()) - before)


def _add_line(table, key: str, written) -> None:
    """A new line behind the last of the table, before the blank lines and comments that lead to the next one."""
    body = table.value.body
    end = max((place for place, (name, _) in enumerate(body, start=1) if name is not None), default=0)
    rest = body[end:]
    del body[end:]
    table.add(key, written)
    body.extend(rest)


def _remark(item, remark: str, longer: int) -> None:
    """Whose value this is, as the end of its line's comment, which stays in its column where it can."""
    trivia = item.trivia
    own = re.sub(r"(; |#\s*)set by mixjt .*", "", trivia.comment)
    trivia.comment = f"{own}; {remark}" if own else f"# {remark}"
    trivia.comment_ws = " " * max(len(GAP), len(trivia.comment_ws) - longer) if own else GAP


def _same(path, other) -> bool:
    return os.path.exists(path) and os.path.exists(other) and os.path.samefile(path, other)
