"""A key of the case file is a field of the class it fills: declared once, with its meaning, range and default.

`key` makes such a field of a frozen dataclass, so that a script and a case file that say nothing ask for the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import MISSING, Field, dataclass, field, fields
from typing import Any

TEXT = "text"
FLUID = "a fluid's name"
WHOLE = "whole number"
COMPOSITION = "composition"
NAMED = "named values"
YES_NO = {"yes": True, "no": False}


@dataclass(frozen=True)
class Key:
    """One key of a table.

    kind is TEXT, FLUID, WHOLE, COMPOSITION, NAMED or a dimension of `mixjt.units`; names are those that NAMED may
    hold, in a table of its own, and the kind of each one's value; within is an interval of SI values
    such as "(0, 1]"; choices are what may be written, or a mapping from that to what it means; span asks for a list of
    two values, lower first, many for a list of one or more. A key that is neither required nor has a default reads as
    None; otherwise says in words what then holds.
    """

    kind: str
    help: str
    required: bool = False
    default: object = None  # in SI
    within: str = ""
    choices: Sequence[str] | Mapping[str, object] = ()
    span: bool = False
    many: bool = False
    many_lines: bool = False  # of a text
    names: Mapping[str, str] = field(default_factory=dict)
    otherwise: str = ""


@dataclass(frozen=True)
class FieldKey:
    """Where a case file has a field's key: table is "" for the one that the field's class belongs to."""

    field: Field
    table: str
    name: str
    key: Key


def key(
    kind: str,
    help: str,
    *,
    at: str = "",
    default=MISSING,
    default_factory=MISSING,
    required: bool | None = None,
    otherwise: str = "",
    **more,
) -> Any:
    """A field of a dataclass that a case file may state.

    Parameters
    ----------
    kind, help, otherwise, more
        See `Key`. With otherwise a case that lacks the key leaves the field to its default, and the page of keys
        shows these words instead of it.
    at : str
        "name" or "table.name" in the case file, where that is not the field's own name or its class's own table.
    default, default_factory
        As of `dataclasses.field`.
    required : bool, optional
        By default whether there is neither a default nor otherwise.
    """
    if required is None:
        required = default is MISSING and default_factory is MISSING and not otherwise
    shown = None if otherwise or default is MISSING else default
    table, _, name = at.rpartition(".")
    entry = Key(kind, help, required, shown, otherwise=otherwise, **more)
    return field(default=default, default_factory=default_factory, metadata={"key": (table, name, entry)})


def keys_of(cls: type) -> Iterator[FieldKey]:
    """The keys among a dataclass's fields."""
    for one in fields(cls):
        if "key" in one.metadata:
            table, name, entry = one.metadata["key"]
            yield FieldKey(one, table, name or one.name, entry)
