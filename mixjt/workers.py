"""Work side by side: in threads, or in further processes, by loky, that each hold a copy of one object and call its methods.

Most of a long study is Python, which one process does on one processor. What cannot be handed to a worker, or a worker
that has gone, costs nothing but time: the caller does the work then.
"""

from __future__ import annotations

import os
import pickle
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager, suppress
from operator import attrgetter

from mixjt.errors import MixjtError

LONGEST = 0.2  # s of waiting at a stretch, for Ctrl-C to be heard on every system
WATCHED = 1.0  # s between looks whether the caller is still there
AHEAD = 2  # answers asked for by process before the first of them is taken


def in_threads(function: Callable, items: Sequence, threads: int) -> Iterator:
    """What a function gives for each item, in their order."""
    if min(threads, len(items)) < 2:
        yield from map(function, items)
        return
    with ThreadPoolExecutor(threads) as pool:
        yield from pool.map(function, items)


def in_background(function: Callable) -> Future:
    """What a function will have given, begun at once in a thread of its own."""
    pool = ThreadPoolExecutor(1)
    try:
        return pool.submit(function)
    finally:
        pool.shutdown(wait=False)


class Workers:
    """Call methods of an owner: in processes, each a pool of one, as long as there are any, else here and at once."""

    def __init__(self, owner, pools: Sequence[Executor] = ()):
        self.owner, self.pools = owner, list(pools)
        self._given: dict[Future, Executor] = {}  # what was asked of whom, until it is taken

    def free(self) -> list[Executor]:
        """Those with nothing to do."""
        return [pool for pool in self.pools if not self._waiting(pool)]

    def submit(self, method: str, *given, to: Executor | None = None) -> Future:
        """What a method, such as "blends.near", gives, or the `MixjtError` that it raises; take it by `answer`.

        It is asked of the process `to`, else of the one that has the least to do.
        """
        while self.pools:
            pool = to if to in self.pools else min(self.pools, key=self._waiting)
            try:
                future = pool.submit(_call, method, given)
            except BrokenExecutor:
                self.pools.remove(pool)
                continue
            self._given[future] = pool
            return future
        done = Future()
        try:
            done.set_result(attrgetter(method)(self.owner)(*given))
        except MixjtError as error:
            done.set_exception(error)
        return done

    def answer(self, future: Future, method: str, *given):
        """What a future holds, waited for; where its worker was lost, another is asked, or it is worked out here."""
        while not future.done():
            wait([future], LONGEST)
        pool = self._given.pop(future, None)
        try:
            return future.result()
        except BrokenExecutor:
            self.pools = [one for one in self.pools if one is not pool]
            return self.answer(self.submit(method, *given), method, *given)

    def answers(self, method: str, asked: Iterable) -> Iterator:
        """What a method gives for one thing after the other."""
        ahead: deque[tuple[Future, object]] = deque()
        for one in asked:
            ahead.append((self.submit(method, one), one))
            if len(ahead) > AHEAD * len(self.pools):
                yield self._first(ahead, method)
        while ahead:
            yield self._first(ahead, method)

    def _waiting(self, pool: Executor) -> int:
        """How much a process has to do."""
        return sum(its is pool and not future.done() for future, its in self._given.items())

    def _first(self, ahead: deque[tuple[Future, object]], method: str):
        future, one = ahead.popleft()
        return self.answer(future, method, one)


@contextmanager
def workers(owner, count: int) -> Iterator[Workers]:
    """So many with a copy of owner; below two, or where they cannot be had, the work is done here."""
    pools = []
    # of an object that cannot be copied; a system without semaphores, or without room for a process
    with suppress(pickle.PicklingError, AttributeError, TypeError, ValueError, NotImplementedError, OSError):
        pools = _pools(owner, count) if count > 1 else []
    try:
        yield Workers(owner, pools)
    finally:
        for pool in pools:
            pool.shutdown(kill_workers=True)


def _pools(owner, count: int) -> list[Executor]:
    from multiprocessing import resource_tracker

    import cloudpickle
    from loky import ProcessPoolExecutor

    held = cloudpickle.dumps(owner)
    pools = [ProcessPoolExecutor(1, initializer=_begin, initargs=(held, os.getpid())) for _ in range(count)]
    block = hasattr(signal, "pthread_sigmask")
    if block:  # what is started meanwhile keeps to that
        resource_tracker.ensure_running()  # it would end the block as it starts
        before = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        for pool in pools:
            pool.submit(int)  # starts it
    finally:
        if block:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
    return pools


def _begin(held: bytes, caller: int) -> None:
    """Ctrl-C is for the caller alone, who ends the workers; where the caller has been killed, they end by themselves."""
    global _owner
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if os.getppid() == caller:
        threading.Thread(target=_end_after, args=(caller,), daemon=True).start()
    _owner = pickle.loads(held)


def _end_after(caller: int) -> None:
    while os.getppid() == caller:
        time.sleep(WATCHED)
    os._exit(1)


def _call(method: str, given: tuple):
    try:
        return attrgetter(method)(_owner)(*given)
    except MixjtError as error:
        raise MixjtError(str(error)) from None  # those of other kinds need not survive a copy
