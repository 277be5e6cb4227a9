"""Ctrl-C: a press ends the work early, and what has been found until then is not lost.

A part that takes long runs inside `keeping`: a press ends it, and it keeps what it has found. From then on,
interrupted or not, there is something to lose, and a press cuts nothing but another such part; elsewhere it is
only noted, as it is inside `holding`, where results are printed and written. Before the first such part a press
ends the command as usual.

A command runs inside `handled`. Without it, as in Python, Ctrl-C is what the caller's handler makes of it, by
default a KeyboardInterrupt, and `keeping` catches that all the same.
"""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

EXIT_CODE = 130
ONE_PRESS = 1.0  # s; a second press that follows sooner must not cut what handles the first
WORD = b"mixjt: Ctrl-C: ending, which may take some seconds; anything found until then is kept\n"


class Interrupted(Exception):
    """A part was cut short before it had an answer, so that what rests on it ends too; `keeping` catches it."""


@dataclass
class Cut:
    """Whether a block was cut short."""

    short: bool = False

    def __bool__(self) -> bool:
        return self.short


@dataclass
class _Presses:
    """held: a press now is only noted, as noted tells. happened: there was one. within: inside `keeping`."""

    held: bool = False
    within: bool = False
    happened: bool = False
    noted: bool = False
    raised: float = float("-inf")


_presses = _Presses()


@contextmanager
def handled() -> Iterator[None]:
    """A command, with Ctrl-C as this module has it; nothing changes where Ctrl-C is ignored, or off the main thread."""
    _presses.__init__()
    on_main_thread = threading.current_thread() is threading.main_thread()
    before = signal.getsignal(signal.SIGINT)
    if not on_main_thread or before in (signal.SIG_IGN, None):
        yield
        return
    signal.signal(signal.SIGINT, _press)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def keeping() -> Iterator[Cut]:
    """A block that a press ends without harm. After the outermost one there is something to keep."""
    cut, held, outermost = Cut(), _presses.held, not _presses.within
    _presses.held, _presses.within = False, True
    try:
        yield cut
        _presses.held = _presses.held or held or outermost
    except (KeyboardInterrupt, Interrupted):
        cut.short = _presses.held = _presses.happened = True
    finally:
        _presses.within = not outermost


@contextmanager
def holding() -> Iterator[None]:
    """A block that no press ends; it shows in `happened` and `impatient`."""
    held, _presses.held = _presses.held, True
    try:
        yield
    finally:
        _presses.held = held


def happened() -> bool:
    """Whether Ctrl-C was pressed since the command began."""
    return _presses.happened


def lost() -> bool:
    """Whether a press came where nothing was kept: then even an error of another kind is its doing."""
    return _presses.happened and not _presses.held


def impatient() -> bool:
    """Whether a press was only noted: what may be left out at the end should be."""
    return _presses.noted


def _press(*_) -> None:
    first, _presses.happened, now = not _presses.happened, True, time.monotonic()
    if first:  # not by print: the press may have come in the middle of another one
        os.write(2, WORD)
    if _presses.held or now - _presses.raised < ONE_PRESS:
        _presses.noted = True
        return
    _presses.raised = now
    raise KeyboardInterrupt
