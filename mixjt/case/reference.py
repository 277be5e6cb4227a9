"""The case file's keys as a page of Markdown, made from the tables that readers are held to.

`python -m mixjt.case.reference` prints it.
"""

from __future__ import annotations

from collections.abc import Mapping

from mixjt.case.schema import interval_text, named_example
from mixjt.case.tables import BLEND_TABLE, BOTTLE_KEYS, BOTTLE_TABLE, CHARGE_TABLE, TABLES, TOP
from mixjt.constants import ZERO_CELSIUS
from mixjt.keys import COMPOSITION, NAMED, Key
from mixjt.units import DIMENSIONS, quantity_text

HEAD = "| key | what it is | how it is written | range | default |\n|---|---|---|---|---|"


def case_reference() -> str:
    """One section a table, one row a key."""
    parts = ["# Keys of a case file", _section("At the top", TOP)]
    for name, table in TABLES.items():
        note = "" if table.required else " (may be left out)"
        parts.append(_section(f"`[{name}]`: {table.help}{note}", table.keys))
    parts.append(
        f"## `[{BLEND_TABLE}]`: the blend (may be left out)\n\nOne row a gas or bottle: its mole fraction."
    )
    parts.append(
        f"## `[{CHARGE_TABLE}]`: what has been filled in (may be left out)\n\nOne row a gas or bottle: its mass, like "
        f'{DIMENSIONS["mass"].example}.'
    )
    parts.append(_section(f"`[[{BOTTLE_TABLE}]]`: what can be bought, one header a bottle", BOTTLE_KEYS))
    return "\n\n".join(parts) + "\n"


def _section(title: str, keys: dict[str, Key]) -> str:
    return "\n".join([f"## {title}\n", HEAD, *(_row(name, key) for name, key in keys.items())])


def _row(name: str, key: Key) -> str:
    allowed = interval_text(key) if key.within else ", ".join(f'"{choice}"' for choice in key.choices)
    default = "needed" if key.required else key.otherwise or _written(key.default, key)
    return f"| `{name}` | {key.help} | {_form(key)} | {allowed} | {default} |"


def _form(key: Key) -> str:
    if key.kind == COMPOSITION:
        return "{propane = 0.3, n-butane = 0.7}"
    if key.kind == NAMED:
        return named_example(key)
    example = DIMENSIONS[key.kind].example if key.kind in DIMENSIONS else key.kind
    if key.many:
        return f"[{example}, ...]"
    return f"[lower, upper], each like {example}" if key.span else example


def _written(default, key: Key) -> str:
    """A default as it would be written in a case file."""
    if isinstance(default, tuple):
        return f"[{', '.join(_written(value, key) for value in default)}]"
    if isinstance(key.choices, Mapping):
        return next(word for word, meaning in key.choices.items() if meaning == default)
    if key.kind == "temperature" and default is not None:
        celsius = round(default - ZERO_CELSIUS, 6)
        return f"{celsius:g} degC" if celsius.is_integer() else quantity_text(default, key.kind, 6)
    if key.kind in DIMENSIONS and default is not None:
        return quantity_text(default, key.kind, 6)
    return "-" if default in (None, "") else f"{default}"


if __name__ == "__main__":
    print(case_reference(), end="")
