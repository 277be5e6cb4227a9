"""What the tests of commands share: records, refusals, and case files written for one test."""

import json
from pathlib import Path

from mixjt.cli.app import main


def record_of(capsys, *arguments) -> dict:
    """What a command prints with --json."""
    assert main([*arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def refusal(capsys, *arguments) -> str:
    """Exit code 2, nothing on stdout and one line on stderr, which is returned."""
    assert main(list(arguments)) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("mixjt: ") and captured.err.count("\n") == 1
    return captured.err


def written(folder: Path, text: str) -> str:
    """A text as a case file."""
    path = folder / "case.toml"
    path.write_text(text)
    return str(path)


def edited(folder: Path, case: Path, *changes: tuple[str, str]) -> str:
    """A case with pieces of text replaced, as a file."""
    text = case.read_text()
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    return written(folder, text)
