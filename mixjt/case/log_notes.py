"""What is odd in a file, each thing with how often it was met and where first."""

from __future__ import annotations

from collections.abc import Iterable

QUOTED = 3  # odd texts that a note quotes


def noted(lines: Iterable[int], what: str) -> tuple[str, ...]:
    """A note about some lines of a file; none where there is no such line."""
    lines = sorted(lines)
    if not lines:
        return ()
    where = f"line {lines[0]}" if len(lines) == 1 else f"{len(lines)} lines, first line {lines[0]}"
    return (f"{where}: {what}",)


def quoted(texts: Iterable[str]) -> str:
    """Some texts as they stand in the file, for a note."""
    kinds = list(dict.fromkeys(texts))
    return ", ".join(f'"{text}"' for text in kinds[:QUOTED]) + (", ..." if len(kinds) > QUOTED else "")
