"""Workers: answers and errors as they are found here, whoever is lost on the way."""

import os
import signal
import subprocess
import sys
import threading
from concurrent.futures import wait
from pathlib import Path

import pytest

from mixjt.errors import ConvergenceError, MixjtError
from mixjt.parts.recuperator.side import Ends
from mixjt.workers import workers

TWO = 2
SCRIPT = """
from mixjt.workers import workers

class Own:
    def doubled(self, number):
        return 2 * number

with workers(Own(), 2) as doers:
    assert len(doers.pools) == 2
    print(doers.submit("doubled", 21).result())
"""


class Failing:
    """Its errors cannot be copied as they are: their class wants more than their text."""

    def solved(self):
        raise ConvergenceError("flash", "try another blend", temperature=100.0)


def test_answers_and_errors_are_those_of_the_object_itself():
    own, temperatures = Ends(100.0, 300.0, 2e5, 1e5), (100.0, 130.0, 250.0)
    with workers(own, TWO) as doers:
        assert len(doers.pools) == TWO
        found = [doers.submit("pressure", t) for t in temperatures]
        assert [one.result() for one in found] == [own.pressure(t) for t in temperatures]


@pytest.mark.parametrize("count", [1, TWO])
def test_an_error_says_what_it_says_here(count):
    with pytest.raises(MixjtError) as here:
        Failing().solved()
    with workers(Failing(), count) as doers:
        future = doers.submit("solved")
        with pytest.raises(MixjtError) as there:
            doers.answer(future, "solved")
        assert (not doers.pools) == (count == 1)
    assert str(there.value) == str(here.value)


@pytest.mark.parametrize("count", [1, TWO])
def test_answers_come_in_the_order_asked_for(count):
    with workers("receiver", count) as doers:
        assert list(doers.answers("count", ["r", "e", "x", "i", "v", "c", "rec"])) == [2, 3, 0, 1, 1, 1, 1]


def test_workers_that_are_gone_cost_nothing():
    with workers("receiver", TWO) as doers:
        future = doers.submit("__len__")
        for pool in doers.pools:
            for process in pool._processes.values():
                os.kill(process.pid, signal.SIGTERM)
        assert doers.answer(future, "__len__") == len("receiver")
        assert doers.answer(doers.submit("upper"), "upper") == "RECEIVER"
        assert not doers.pools


@pytest.mark.parametrize("owner, count", [("receiver", 1), ([threading.Lock()] * len("receiver"), TWO)])
def test_the_work_is_done_here_below_two_and_for_what_cannot_be_copied(owner, count):
    with workers(owner, count) as doers:
        assert not doers.pools
        assert doers.submit("__len__").result() == len("receiver")


def test_a_script_needs_no_guard_and_its_own_classes_are_copied(tmp_path):
    script = tmp_path / "script.py"
    script.write_text(SCRIPT)
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).parent.parent)}
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, check=False, env=environment)
    assert (done.stdout, done.stderr) == ("42\n", "")


@pytest.mark.skipif(not hasattr(signal, "pthread_sigmask"), reason="Windows: workers hear Ctrl-C until they have begun")
def test_ctrl_c_ends_no_worker_even_as_it_starts_and_none_outlives_its_caller():
    with workers("receiver", TWO) as doers:
        processes = [process for pool in doers.pools for process in pool._processes.values()]
        assert len(processes) == TWO
        futures = []
        for _ in range(2):
            for one in processes:
                os.kill(one.pid, signal.SIGINT)
            futures.append(doers.submit("upper"))
            wait(futures)
        assert [one.result() for one in futures] == ["RECEIVER"] * 2
    for one in processes:
        with pytest.raises(ProcessLookupError):
            os.kill(one.pid, 0)
