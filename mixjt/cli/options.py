"""Options that several commands share, each explained once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

CaseArgument = Annotated[
    Path, typer.Argument(metavar="CASE.toml", help="The case file: your machine and what you ask of it.")
]


def _directory(text: str) -> Path:
    if not text.strip():
        raise typer.BadParameter("a directory is needed, but the text is empty")
    return Path(text)


OutDirectory = Annotated[
    Path | None,
    typer.Option(
        "--out", metavar="DIR", parser=_directory, help="Also write tables (CSV), plots (PNG, SVG) and summary.json here."
    ),
]
SaveFile = Annotated[
    Path | None,
    typer.Option("--save", metavar="NEW.toml", help="Also write the case with the result in its place to this new file."),
]
JsonOutput = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of tables.")]
BlendText = Annotated[
    str | None,
    typer.Option(
        "--blend", metavar="TEXT", help='Mole fractions used instead of the case\'s, as "nitrogen=0.4,..."'
    ),
]
CircuitKind = Annotated[
    str,
    typer.Option(
        "--circuit",
        metavar="KIND",
        help='"plain", "precooled" (by [precooler] of the case) or "separator" (by [separator]).',
    ),
]
ModelName = Annotated[
    str,
    typer.Option("--model", metavar="NAME", help='Property model; "mixjt gases" lists them.'),
]
