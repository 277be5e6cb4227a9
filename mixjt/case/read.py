"""A case file as written: its text, its tables in SI values, and how a class is read from them."""

from __future__ import annotations

import tomllib
from dataclasses import MISSING, dataclass, field
from pathlib import Path

from mixjt.case.schema import FilePlace, located, nearest, read_table
from mixjt.case.tables import BLEND_TABLE, BOTTLE_TABLE, CHARGE_TABLE, HOMES, TABLES, TOP
from mixjt.case.toml_hints import toml_hint
from mixjt.constants import ATMOSPHERE
from mixjt.errors import InputError
from mixjt.keys import keys_of

GRAMS = f"[{CHARGE_TABLE}], gas by gas or bottle by bottle"


@dataclass(frozen=True, kw_only=True)
class CaseFile:
    """Text and tables of a case file.

    tables holds the SI values of every table by name (defaults filled in); None for a table that is absent and has
    needed keys. raw is the file as parsed.
    """

    file: str
    text: str = field(default="", repr=False, compare=False)
    raw: dict = field(default_factory=dict, repr=False, compare=False)
    tables: dict[str, dict | None] = field(default_factory=dict, repr=False, compare=False)

    def place(self, table: str) -> FilePlace:
        """Where a table stands in the file, for messages."""
        return FilePlace(self.file, self.text).table(f"[{table}]")

    def table(self, name: str) -> dict:
        """The values of a table that a command needs.

        Raises
        ------
        InputError
            Where the case lacks it.
        """
        values = self.tables.get(name)
        if values is None:
            needed = ", ".join(key for key, entry in TABLES[name].keys.items() if entry.required)
            raise InputError(f"{self.file} has no [{name}], which describes {TABLES[name].help}; add it with {needed}")
        return values


def read_case_file(path) -> CaseFile:
    """Text and tables of a TOML file; errors as `mixjt.case.case.read_case`."""
    return case_file(path, read_text(path))


def case_file(path, text: str) -> CaseFile:
    """The tables of a text that stands, or is to stand, in a file of that name."""
    raw = _parsed(text, path)
    return CaseFile(file=str(path), text=text, raw=raw, tables=_read_tables(raw, FilePlace(str(path), text)))


def read(cls: type, case: CaseFile, *, where: str | None = None, **others):
    """An instance of a class whose fields are keys.

    Parameters
    ----------
    cls : type
    case : CaseFile
    where : str, optional
        What stands in front of an error of the class; by default the place of its table.
    others
        Fields that are no keys, and those that this case decides otherwise.

    Raises
    ------
    InputError
        Where the case lacks a table that must be stated, and as the class.
    """
    values = stated(cls, case) | others
    with located(where or (case.place(HOMES[cls]).at())):
        return cls(**values)


def stated(cls: type, case: CaseFile, table: str = "") -> dict:
    """What a case says by the keys of a class, by field; without those it leaves to the class's own defaults.

    table is where to read keys that name none; by default the table that the class belongs to.
    """
    found = {}
    for one in keys_of(cls):
        values = case.table(one.table or table or HOMES[cls])
        needed = one.field.default is MISSING and one.field.default_factory is MISSING
        if one.name in values and (needed or values[one.name] is not None):
            found[one.field.name] = values[one.name]
    return found


def placed(cls: type, **values) -> dict[tuple[str, str], object]:
    """Where a case says these fields of a class, by (table, key): the inverse of `stated`."""
    return {
        (one.table or HOMES[cls], one.name): values[one.field.name] for one in keys_of(cls) if one.field.name in values
    }


def read_text(path) -> str:
    """The text of a file, or an InputError that says what is wrong with the file."""
    try:
        return Path(path).read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file") from None
    except IsADirectoryError:
        raise InputError(f"{path} is a directory; name the case file in it") from None
    except UnicodeDecodeError as error:
        raise InputError(f"{path} is not UTF-8 text (byte {error.start + 1}); save it as UTF-8") from None
    except (OSError, ValueError) as error:  # ValueError: a null byte in the name
        raise InputError(f"{path} cannot be read: {getattr(error, 'strerror', None) or error}") from None


def _parsed(text: str, path) -> dict:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{path} is not valid TOML: {error}{toml_hint(text, str(error))}") from None
    except RecursionError:
        raise InputError(f"{path} is not valid TOML: nested too deeply") from None


def _read_tables(raw: dict, place: FilePlace) -> dict:
    """Every plain table in SI values; the keys of the top of the file beside them."""
    for name, value in raw.items():
        if name not in TOP and name not in TABLES and name not in (BLEND_TABLE, CHARGE_TABLE, BOTTLE_TABLE):
            raise InputError(_unknown_table(name, value, place))
    for name, table in TABLES.items():
        if table.required and name not in raw:
            raise InputError(f"{place.at()}: the table [{name}] is missing; it describes {table.help}")
    homes = {key: f"[{name}]" for name, table in reversed(TABLES.items()) for key in table.keys} | {"charge": GRAMS}
    values = read_table({key: raw[key] for key in TOP if key in raw}, TOP, place, ATMOSPHERE)
    atmosphere = ATMOSPHERE
    for name, table in TABLES.items():  # [ambient] first: gauge pressures need its pressure
        if name not in raw and any(entry.required for entry in table.keys.values()):
            values[name] = None
            continue
        here = place.table(f"[{name}]")
        values[name] = read_table(raw.get(name, {}), table.keys, here, atmosphere, homes)
        atmosphere = values["ambient"]["pressure"]
    return values


def _unknown_table(name: str, value, place: FilePlace) -> str:
    is_table = isinstance(value, dict)
    where = place.table(f"[{name}]").at() if is_table else place.at(name)
    homes = {key: table for table, entry in reversed(TABLES.items()) for key in entry.keys}
    close = nearest(name, (*(() if is_table else TOP), *TABLES, BLEND_TABLE, CHARGE_TABLE, BOTTLE_TABLE))
    if not is_table and name in homes:
        return f"{where}: this key belongs to the table [{homes[name]}]"
    if close:
        kind, other = ("table", f"[{close}]") if is_table else ("key", close)
        return f"{where}: there is no such {kind}; did you mean {other}?"
    tables = ", ".join(f"[{table}]" for table in (*TABLES, BLEND_TABLE, CHARGE_TABLE)) + f", [[{BOTTLE_TABLE}]]"
    return f"{where}: there is no such {'table' if is_table else 'key'}; a case knows {tables}"
