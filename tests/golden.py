"""Keep what every quick command prints and writes, and compare it with what was kept before.

    python tests/golden.py keep FOLDER [WORD ...]    only commands that hold all these words
    python tests/golden.py compare OLD NEW

Not part of the tests: it tells whether a change that should change no result changes none. One run of a command
gives its text, summary.json (what --json prints) and tables; pictures are left out, elapsed times stripped.
"""

from __future__ import annotations

import contextlib
import filecmp
import io
import os
import re
import shlex
import shutil
import sys
import tempfile
from pathlib import Path

DEMO = Path("mixtures-demo")
QUICK = {  # demo file and what is replaced in it so that long commands become short ones
    "quick.toml": ("receiver-120K.toml", "[search]", "[compare]\neffort = 'quick'\nsteps = 2\n[search]\nsamples = 400\nshortlist = 6"),
}  # fmt: skip
COMMANDS = (
    "gases", "gases nitrogen R-290", "compare mixtures-demo/wrong-key.toml",
    *(f"{verb} mixtures-demo/{case}.toml" for case in ("receiver-120K", "receiver-95K", "receiver-precooled",
      "preamp-cascade", "receiver-cooldown") for verb in ("cycle", "pinch", "phases", "throttle", "compressor")),
    "cycle mixtures-demo/receiver-precooled.toml --circuit precooled",
    "cycle mixtures-demo/receiver-95K.toml --circuit separator",
    "cycle mixtures-demo/receiver-120K.toml --circuit separator",
    "recuperator mixtures-demo/receiver-tubes.toml", "liquefy mixtures-demo/liquid-nitrogen.toml",
    "cooldown mixtures-demo/receiver-cooldown.toml", "cascade mixtures-demo/preamp-cascade.toml",
    "charge mixtures-demo/receiver-120K.toml", "sensitivity mixtures-demo/receiver-120K.toml --robust", "search quick.toml --robust",
    "compare quick.toml",
)  # fmt: skip
TIMES = re.compile(r'( in )[\d.]+( s, seed| s$)|("elapsed_s": )[\d.]+', re.MULTILINE)


def keep(folder: Path, words: list[str]) -> None:
    """Run the commands; one folder each."""
    from mixjt.cli import deliver

    deliver._draw = lambda *_: None
    os.environ["COLUMNS"] = "100"
    with tempfile.TemporaryDirectory() as scratch:
        shutil.copytree(DEMO, Path(scratch) / DEMO)
        for name, (case, old, new) in QUICK.items():
            Path(scratch, name).write_text((DEMO / case).read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
        folder = folder.resolve()
        os.chdir(scratch)
        for command in (one for one in COMMANDS if all(word in one for word in words)):
            out = folder / re.sub(r"\W+", "_", command)
            text = io.StringIO()
            with contextlib.redirect_stdout(text), contextlib.redirect_stderr(text):
                code = answered(shlex.split(command), out)
            out.mkdir(parents=True, exist_ok=True)
            (out / "printed.txt").write_text(f"{text.getvalue()}exit {code}\n", encoding="utf-8")
            for file in out.iterdir():
                file.write_text(TIMES.sub(r"\1\3TIME\2", file.read_text(encoding="utf-8")), encoding="utf-8")
            print(command, code, flush=True)


def answered(words: list[str], out: Path) -> int | str:
    """The exit code of a command, or the error that it ended with."""
    from mixjt.cli.app import main

    try:
        return main([*words, "--out", str(out)])
    except Exception as error:
        return repr(error)


def compare(old: Path, new: Path) -> None:
    """Name every file that differs, or is in one folder alone."""
    for path in sorted({path.relative_to(root) for root in (old, new) for path in root.rglob("*.*")}):
        pair = old / path, new / path
        if not all(one.exists() for one in pair):
            print("only in", old if pair[0].exists() else new, path)
        elif not filecmp.cmp(*pair, shallow=False):
            print("differs", path)


if __name__ == "__main__":
    sys.path.insert(0, str(Path.cwd()))
    if sys.argv[1] == "keep":
        keep(Path(sys.argv[2]), sys.argv[3:])
    else:
        compare(*map(Path, sys.argv[2:4]))
