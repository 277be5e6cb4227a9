"""Sets of output files, written whole or not at all; CSV and JSON with nothing but plain numbers."""

from __future__ import annotations

import csv
import json
import math
import os
import shutil
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from mixjt.errors import InputError

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None

PATIENCE = 20.0  # s to wait for another run that writes to the same directory
VANISHED = 1.0  # s to try again where the directory cannot be made, or vanishes as another run removes it


@dataclass(frozen=True)
class Table:
    """A table for a CSV file; column names end in their unit, rows hold numbers, texts or None."""

    columns: tuple[str, ...]
    rows: tuple[tuple, ...]

    def records(self) -> list[dict]:
        """One dictionary a row."""
        return [dict(zip(self.columns, row, strict=True)) for row in self.rows]


@contextmanager
def output_directory(out) -> Iterator[Path]:
    """A scratch directory whose files move into `out` together once the block has ended well.

    Parameters
    ----------
    out : str or Path
        Directory for the files; made if it is not there.

    Yields
    ------
    Path
        Where to write. If the block fails or is interrupted, `out` is left as it was.

    Raises
    ------
    InputError
        If `out` cannot be made or written, the disk is full, or another run keeps writing there.
    """
    out = Path(out)
    made = [folder for folder in (out, *out.parents) if not folder.exists()]
    try:
        with _only_writer(out) as scratch:
            yield scratch
            move_all(scratch, out)
    except OSError as error:
        _remove(made)
        raise InputError(f"cannot write to {out}: {error.strerror or error}") from None
    except BaseException:
        _remove(made)
        raise


def checked_directory(out) -> None:
    """Refuse a directory that cannot be written before any work is done for it; None is no directory.

    Raises
    ------
    InputError
    """
    if out is None:
        return
    made = [folder for folder in (Path(out), *Path(out).parents) if not folder.exists()]
    with output_directory(out):
        pass
    _remove(made)


def write_table(path: Path, table: Table) -> None:
    """Write one CSV file: a header row, then numbers in full precision; None and NaN stay empty."""
    with open(path, "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(table.columns)
        writer.writerows([_cell(value) for value in row] for row in table.rows)


def write_json(path: Path, record: Mapping) -> None:
    """Write one JSON object."""
    write_text(path, json_text(record) + "\n")


def write_text(path: Path, text: str) -> None:
    """Write a text as UTF-8."""
    Path(path).write_text(text, encoding="utf-8")


def program_version() -> str:
    """For instance "mixjt 0.1.0"."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return f"mixjt {version('mixjt')}"
    except PackageNotFoundError:
        return "mixjt, run from its source directory without being installed"


def json_text(record: Mapping) -> str:
    """One JSON object; NaN and infinity become null, numpy numbers plain ones."""
    return json.dumps(plain(record), indent=2, allow_nan=False)


def plain(value):
    """The value in Python's own types, fit for JSON; a number that is not finite becomes None."""
    if isinstance(value, Mapping):
        return {str(key): plain(entry) for key, entry in value.items()}
    if hasattr(value, "tolist"):  # numpy arrays and scalars
        return plain(value.tolist())
    if isinstance(value, (list, tuple)):
        return [plain(entry) for entry in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _cell(value) -> str:
    value = plain(value)
    if value is None:
        return ""
    return repr(value) if isinstance(value, float) else str(value)


def move_all(scratch: Path, out: Path) -> None:
    """Move every file of the scratch directory; refuse before the first move if one of them cannot land."""
    names = sorted(entry.name for entry in scratch.iterdir())
    for name in names:
        if (out / name).is_dir():
            raise InputError(f"cannot write {out / name}: a directory of that name is in the way")
    for name in names:
        os.replace(scratch / name, out / name)


def _remove(made) -> None:
    """Remove, after a failure, the directories that were made."""
    for folder in made:
        with suppress(OSError):  # not empty, or removed by another run
            folder.rmdir()


@contextmanager
def _only_writer(out: Path) -> Iterator[Path]:
    """A scratch directory in `out`, made if need be, while no other run writes there: two sets of files must not mix.

    Waits for another run; that may also remove a directory it has made, which is then made again.
    """
    patience = time.monotonic() + PATIENCE
    while True:
        lock, problem = None, ""
        try:
            out.mkdir(parents=True, exist_ok=True)
            lock = _locked(out)
            scratch = None if lock is None else Path(tempfile.mkdtemp(prefix=".mixjt-", dir=out))
        except FileNotFoundError as error:
            scratch, problem = None, error.strerror
        if scratch is not None:
            break
        _release(lock)
        if time.monotonic() > (patience if not problem else patience - PATIENCE + VANISHED):
            raise InputError(f"cannot write to {out}: {problem or 'another run is writing there'}")
        time.sleep(0.1)
    try:
        yield scratch
    finally:
        shutil.rmtree(scratch, ignore_errors=True)
        _release(lock)


def _release(lock: int | None) -> None:
    if lock is not None and lock >= 0:
        os.close(lock)


def _locked(out: Path) -> int | None:
    """A lock on a directory, to be closed; None where another run has it, -1 where there are no such locks."""
    if fcntl is None:
        return -1
    handle = os.open(out, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if os.path.samestat(os.fstat(handle), os.stat(out)):
            return handle
    except (BlockingIOError, FileNotFoundError):
        pass
    except OSError:  # a file system without locks
        os.close(handle)
        return -1
    os.close(handle)
    return None
