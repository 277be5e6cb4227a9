"""Keys of the case file's table [separator]."""

from __future__ import annotations

from mixjt.files.schema import Key

SEPARATOR = {
    "temperature": Key(
        "temperature", "to which a partial condenser cools the blend before the separator", within="[200, 400]",
        otherwise="the aftercooler's outlet",
    ),
    "intermediate_temperature": Key(
        "temperature", "of the high side where the liquid joins the return", within="[60, 400]",
        otherwise="the best",
    ),
}  # fmt: skip
