"""Run the commands that the pages show and put their present output and pictures into the pages.

    python docs/refresh.py

A shown output is a fenced block that starts with "$ mixjt ...". A comment on the line above it,
<!-- from "State points" before "Exergy" -->, keeps of the output only what lies between the lines that
start with these words; "the end" is that of the output. The tables of keys are refreshed too. Do this whenever the numbers change: a property
model, the demo, the search.
"""

from __future__ import annotations

import os
import re
import shlex
import tempfile
from contextlib import chdir, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import cache
from io import StringIO
from pathlib import Path
from unittest.mock import patch

from mixjt.cli.app import main as mixjt
from mixjt.report.pages import with_keys

DOCS = Path(__file__).parent
ROOT = DOCS.parent
PAGES = (ROOT / "README.md", *sorted(DOCS.glob("*.md")))
CASE = "mixtures-demo/receiver-120K.toml"
TRIAL = "mixjt trial mixtures-demo/receiver-first-run.toml mixtures-demo/receiver-first-run.csv"
PICTURES = {  # picture: the command that draws it, and its name there
    "search.png": (f"mixjt search {CASE}", "search.png"),
    "envelope.png": (f"mixjt phases {CASE}", "envelope.png"),
    "circuit.png": (f"mixjt cycle {CASE}", "circuit.png"),
    "pinch.png": (f"mixjt pinch {CASE}", "pinch.png"),
    "enthalpy-difference.png": (f"mixjt pinch {CASE}", "enthalpy_difference.png"),
    "run.png": (TRIAL, "run.png"),
}
END = "the end"
WIDE = {"COLUMNS": "100"}  # of the shown tables
COLOURS = 64  # enough for line art, at a third of the size
BLOCK = re.compile(
    r'(?:<!-- from "(?P<first>[^"]+)" before "(?P<last>[^"]+)" -->\n)?'
    r"```console\n\$ (?P<command>mixjt [^\n]*)\n(?P<output>.*?)```\n",
    re.DOTALL,
)


@dataclass(frozen=True)
class Shown:
    """A command and its output as a page shows them.

    An excerpt begins with the line that starts with first and ends before the one that starts with last;
    both are None where all of it is shown.
    """

    command: str
    output: str
    first: str | None
    last: str | None


def shown_outputs(text: str) -> list[Shown]:
    """All shown outputs of a page."""
    return [Shown(**match.groupdict()) for match in BLOCK.finditer(text)]


def present_output(shown: Shown) -> str:
    """What the command prints now, cut as the page cuts it; an error message where it prints nothing else."""
    stdout, stderr, _ = ran(shown.command)
    if shown.first is not None and not stdout:
        raise RuntimeError(f'"{shown.command}" printed no result: {stderr}')
    lines = [line.rstrip() for line in (stdout or stderr).splitlines()]
    if shown.first is not None:
        start = _line_that_starts(lines, shown.first, shown.command)
        lines = lines[start:]
        if shown.last != END:
            lines = lines[: _line_that_starts(lines, shown.last, shown.command)]
    return "\n".join(lines).strip("\n") + "\n"


def _line_that_starts(lines: list[str], words: str, command: str) -> int:
    for number, line in enumerate(lines):
        if line.strip().startswith(words):
            return number
    raise ValueError(f'no line of the output of "{command}" starts with "{words}"')


def refreshed(text: str) -> str:
    """The page with every shown output replaced by the present one."""

    def replaced(match: re.Match) -> str:
        output = present_output(Shown(**match.groupdict()))
        return match[0][: match.start("output") - match.start()] + output + "```\n"

    return BLOCK.sub(replaced, text)


@cache
def ran(command: str) -> tuple[str, str, Path]:
    """stdout, stderr and directory of output files of a command, empty where no picture is taken from it."""
    out = Path(tempfile.mkdtemp(prefix="mixjt-docs-"))
    arguments, printed, told = shlex.split(command)[1:], StringIO(), StringIO()
    if any(command == drawing for drawing, _ in PICTURES.values()):
        arguments += ["--out", str(out)]
    with chdir(ROOT), patch.dict(os.environ, WIDE), redirect_stdout(printed), redirect_stderr(told):
        mixjt(arguments)
    return printed.getvalue(), told.getvalue(), out


def refresh_picture(name: str) -> None:
    """Draw one picture anew, in few colours."""
    from PIL import Image

    command, file = PICTURES[name]
    picture = Image.open(ran(command)[2] / file).convert("RGB")
    picture.quantize(COLOURS, dither=Image.Dither.NONE).save(DOCS / "pictures" / name, optimize=True)


def main() -> None:
    """Refresh all pages and pictures."""
    for page in PAGES:
        text = page.read_text(encoding="utf-8")
        page.write_text(with_keys(refreshed(text)), encoding="utf-8")
    for name in PICTURES:
        refresh_picture(name)


if __name__ == "__main__":
    main()
