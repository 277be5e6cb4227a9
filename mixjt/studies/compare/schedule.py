"""Chains of jobs, done side by side where there are workers, else in turns."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from contextlib import suppress
from dataclasses import dataclass
from functools import partial

from mixjt.errors import MixjtError
from mixjt.workers import LONGEST, Workers


@dataclass(frozen=True)
class Job:
    """A method of the workers' object and what it is given, a road first; told is said as it begins, if anything."""

    method: str
    given: tuple
    told: str = ""


Chain = Iterator  # a generator: yields jobs and is sent the answers, or has the error thrown in; yields WAIT to be asked later
WAIT = None


class Schedule:
    """Runs chains; what a chain does between its jobs is done here, one chain at a time.

    As no chain may look at what another has found without waiting for it, the answers do not depend on who is quicker. A
    process that is free begins with roads that nobody has begun, so that the cold ends come first, and goes on with one whose
    first job it did, as it remembers some of its states.

    Parameters
    ----------
    doers : Workers
    begin : function
        Called with a job before it is done.
    """

    def __init__(self, doers: Workers, begin: Callable[[Job], None]):
        self.doers, self.begin = doers, begin
        self._idle: deque[tuple[Chain, Job | None]] = deque()
        self._ready: list[tuple[Chain, Job]] = []
        self._homes: dict[str, Executor] = {}  # by road
        self._running: dict[Future, tuple[Chain, Job]] = {}

    def run(self, chains: list[Chain]) -> None:
        """All of them to their ends."""
        self._idle.extend((chain, WAIT) for chain in chains)
        while self._idle or self._ready or self._running:
            self.advance()
            wait(self._running, LONGEST, FIRST_COMPLETED)

    def advance(self) -> None:
        """Take what is done and start what can be, without waiting; also from within a chain that takes long itself."""
        self._take()
        for _ in range(len(self._idle)):
            if self._idle:
                self._turn(*self._idle.popleft())
        for process in self.doers.free() if self.doers.pools else [None] * len(self._ready):
            if self._ready:
                self._start(*self._ready.pop(self._next_of(process)), process)

    def _turn(self, chain: Chain, job: Job | None) -> None:
        if job is WAIT:
            self._ask(chain, chain.__next__)
        else:
            self._ready.append((chain, job))

    def _start(self, chain: Chain, job: Job, process: Executor | None) -> None:
        self.begin(job)
        self._running[self.doers.submit(job.method, *job.given, to=process)] = chain, job
        self._homes.setdefault(job.given[0], process)
        self._take()

    def _next_of(self, process: Executor) -> int:
        """The place of what a free process is to do: of a road that nobody has begun, else of one of its own, else the first."""
        homes = [self._homes.get(job.given[0]) for _, job in self._ready]
        return next((homes.index(home) for home in (None, process) if home in homes), 0)

    def _take(self) -> None:
        """Give chains their answers; their next jobs wait for their turns."""
        for future in [one for one in self._running if one.done()]:
            chain, job = self._running.pop(future)
            try:
                found = self.doers.answer(future, job.method, *job.given)
            except MixjtError as error:
                self._ask(chain, partial(chain.throw, error))
            else:
                self._ask(chain, partial(chain.send, found))

    def _ask(self, chain: Chain, answering: Callable[[], Job | None]) -> None:
        with suppress(StopIteration):
            self._idle.append((chain, answering()))
