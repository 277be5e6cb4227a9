"""Chains of jobs, done side by side where there are workers, else in turns."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from contextlib import suppress
from dataclasses import dataclass

from mixjt.errors import MixjtError
from mixjt.workers import Here, answer


@dataclass(frozen=True)
class Job:
    """A method of the workers' object and what it is given, a road first; told is said as it begins, if anything."""

    method: str
    given: tuple
    told: str = ""


Chain = Iterator  # a generator: yields jobs and is sent the answers, or has the error thrown in; yields WAIT to be asked later
WAIT = None
LONGEST = 0.2  # s of waiting at a stretch, for Ctrl-C to be heard on every system


class Schedule:
    """Runs chains; what a chain does between its jobs is done here, one chain at a time.

    As no chain may look at what another has found without waiting for it, the answers do not depend on who is quicker.

    Parameters
    ----------
    doers : Here or Workers
    begin : function
        Called with a job before it is done.
    """

    def __init__(self, doers: Here, begin: Callable[[Job], None]):
        self.doers, self.begin = doers, begin
        self._idle: deque[tuple[Chain, Job | None]] = deque()
        self._running: dict[Future, tuple[Chain, Job]] = {}

    def run(self, chains: list[Chain]) -> None:
        """All of them to their ends."""
        self._idle.extend((chain, WAIT) for chain in chains)
        while self._idle or self._running:
            self.advance()
            if self._running:
                wait(self._running, LONGEST, FIRST_COMPLETED)

    def advance(self) -> None:
        """Take what is done and start what can be, without waiting; also from within a chain that takes long itself."""
        for future in [one for one in self._running if one.done()]:
            if future in self._running:
                chain, job = self._running.pop(future)
                self._take(chain, job, future)
        for _ in range(len(self._idle)):
            if self._idle:
                self._turn(*self._idle.popleft())

    def _turn(self, chain: Chain, job: Job | None) -> None:
        if job is WAIT:
            try:
                job = next(chain)
            except StopIteration:
                return
        if job is WAIT:
            self._idle.append((chain, job))
            return
        self.begin(job)
        future = self.doers.submit(job.method, *job.given)
        if future.done():
            self._take(chain, job, future)
        else:
            self._running[future] = chain, job

    def _take(self, chain: Chain, job: Job, future: Future) -> None:
        """Give a chain its answer; its next job waits for its turn."""
        with suppress(StopIteration):
            try:
                found = answer(self.doers, future, job.method, *job.given)
            except MixjtError as error:
                self._idle.append((chain, chain.throw(error)))
            else:
                self._idle.append((chain, chain.send(found)))
