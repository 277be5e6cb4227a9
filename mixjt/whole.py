"""A file written whole or not at all."""

import os
import secrets
from pathlib import Path


def write_whole(path: str | Path, text: str) -> None:
    """Write a text beside its place and move it there."""
    scratch = Path(f"{path}.partial")
    scratch.write_text(text, encoding="utf-8")
    os.replace(scratch, path)


def write_new(path: str | Path, text: str) -> None:
    """Write a text to a file that is not there yet; FileExistsError where another has made it meanwhile."""
    scratch = Path(path).with_name(f".mixjt-{os.getpid()}-{secrets.token_hex(4)}")
    try:
        with open(scratch, "x", encoding="utf-8", newline="") as file:
            file.write(text)
        _name(scratch, path)
    finally:
        scratch.unlink(missing_ok=True)


def _name(scratch: Path, path: str | Path) -> None:
    """Give a file its name, never another's: by a link where the disk has them, which nothing can come before."""
    try:
        os.link(scratch, path)
    except FileExistsError:
        raise
    except OSError:
        if os.path.lexists(path):
            raise FileExistsError(path) from None
        os.rename(scratch, path)
