"""What is wrong with a line that is not TOML, in the words of somebody who writes case files."""

from __future__ import annotations

import re

_PLACE = re.compile(r"at line (\d+)")
_ENTRY = re.compile(r"\s*(?P<key>[\w.-]+|\"[^\"]*\")\s*=\s*(?P<value>[^\"'\[{#][^#]*?)\s*(#.*)?")
_BLANK_IN_KEY = re.compile(r"\s*(?P<key>[^\W\d][\w-]*(?: +[\w-]+)+)\s*=")


def toml_hint(text: str, problem: str) -> str:
    """How to mend the line that a parser's message points at, as "; ..." behind that message; "" where unknown."""
    if "overwrite" in problem or "twice" in problem:
        return "; a key or a table is written twice"
    place = _PLACE.search(problem)
    if not place:
        return ""
    line = text.splitlines()[int(place[1]) - 1]
    if "=" not in line:
        return ""
    name, entry = _BLANK_IN_KEY.match(line), _ENTRY.fullmatch(line)
    if name:
        return f'; a name with a blank goes in quotes: "{name["key"]}" = ...'
    if entry and re.fullmatch(r"[+-]?\d+,\d+", entry["value"]):
        return f"; write the decimal sign as a point: {entry['key']} = {entry['value'].replace(',', '.')}"
    value = entry["value"].replace('"', "") if entry else "6.4 cm3"
    return f'; a text, or a quantity with its unit, goes in quotes: {entry["key"] if entry else "key"} = "{value}"'
