"""A file of the package written whole or not at all."""

import os
from pathlib import Path


def write_whole(path: str | Path, text: str) -> None:
    """Write a text beside its place and move it there."""
    scratch = Path(f"{path}.partial")
    scratch.write_text(text, encoding="utf-8")
    os.replace(scratch, path)
