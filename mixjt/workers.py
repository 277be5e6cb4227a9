"""Further processes that each hold a copy of one object and call its methods.

Most of a long study is Python, which one process does on one processor. A worker is a new interpreter that talks
through its pipes, so it runs no script of the caller's again, and it stands in a session of its own, so Ctrl-C
reaches the caller alone, who ends it. What cannot be handed to a worker, or a worker that has gone, costs nothing but
time: the caller does the work then.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from queue import SimpleQueue

from mixjt.errors import MixjtError

START = "import pickle, sys; sys.path[:] = pickle.load(sys.stdin.buffer); from mixjt.workers import serve; serve()"
APART = {"creationflags": 0x200} if os.name == "nt" else {"start_new_session": True}  # a new process group on Windows
# An object that cannot be copied, or not be read where its script is not known; no processes, or one that ended.
LOST = (OSError, EOFError, pickle.PickleError, AttributeError, TypeError, ValueError, ImportError)


class WorkerGone(Exception):
    """A worker did not answer."""


class Here:
    """Does the work itself, at once."""

    parallel = False

    def __init__(self, owner):
        self.owner = owner

    def submit(self, method: str, *given) -> Future:
        """What a method of the owner gives, or the `MixjtError` that it raises."""
        done = Future()
        try:
            done.set_result(getattr(self.owner, method)(*given))
        except MixjtError as error:
            done.set_exception(error)
        return done


class Workers(Here):
    """Lets processes do the work; use it through `workers`."""

    parallel = True

    def __init__(self, owner, processes: list[subprocess.Popen]):
        super().__init__(owner)
        self.free: SimpleQueue[subprocess.Popen] = SimpleQueue()
        for process in processes:
            self.free.put(process)
        self.pool = ThreadPoolExecutor(len(processes))

    def submit(self, method: str, *given) -> Future:
        """The same, later; it may also be that the worker is gone, see `answer`."""
        return self.pool.submit(self._asked, method, given)

    def _asked(self, method: str, given: tuple):
        process = self.free.get()
        try:
            _send(process.stdin, (method, given))
            found, error = pickle.load(process.stdout)
        except LOST as error:
            raise WorkerGone(str(error)) from None
        finally:
            self.free.put(process)
        if error is not None:
            raise error
        return found


def answer(doers: Here, future: Future, method: str, *given):
    """What a finished future holds; worked out here where its worker was lost."""
    try:
        return future.result()
    except WorkerGone:
        return getattr(doers.owner, method)(*given)


@contextmanager
def workers(owner, count: int) -> Iterator[Here]:
    """So many processes with a copy of owner; none, and the work is done here, below two or where they cannot be had."""
    doers, processes = Here(owner), []
    try:
        with contextlib.suppress(*LOST):
            held = pickle.dumps(owner) if count > 1 else b""
            for _ in range(count if held else 0):
                processes.append(_started(held))
            doers = Workers(owner, processes) if processes else doers
        yield doers
    finally:
        for process in processes:
            process.kill()
        if isinstance(doers, Workers):
            doers.pool.shutdown(cancel_futures=True)
        for process in processes:
            process.wait()


def processors() -> int:
    """How many this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def serve() -> None:
    """The life of a worker: an object, then calls of its methods, until the pipe is closed."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever prints must not stand among the answers
    owner = pickle.load(sys.stdin.buffer)
    with contextlib.suppress(EOFError):
        while True:
            method, given = pickle.load(sys.stdin.buffer)
            try:
                found = getattr(owner, method)(*given), None
            except MixjtError as error:
                found = None, MixjtError(str(error))
            _send(answers, found)


def _started(held: bytes) -> subprocess.Popen:
    process = subprocess.Popen(
        [sys.executable, "-c", START], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, **APART
    )
    process.stdin.write(pickle.dumps(sys.path) + held)
    process.stdin.flush()
    return process


def _send(pipe, what) -> None:
    pipe.write(pickle.dumps(what))
    pipe.flush()
