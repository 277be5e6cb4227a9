"""Workers: answers and errors as they are found here, whoever is lost on the way."""

import os
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import wait
from pathlib import Path

import pytest

from mixjt.errors import ConvergenceError, MixjtError
from mixjt.parts.recuperator.side import Ends
from mixjt.studies.compare.schedule import Job, Schedule
from mixjt.workers import in_background, in_threads, workers

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


@pytest.mark.skipif(os.name == "nt", reason="Windows: workers do not know that their caller has gone")
def test_none_outlives_a_caller_that_is_killed():
    text = "import os, time\nfrom mixjt.workers import workers\nwith workers(os, 2) as doers:\n" + (
        "    print(*[pool.submit(os.getpid).result() for pool in doers.pools], flush=True)\n    time.sleep(600)\n"
    )
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).parent.parent)}
    with subprocess.Popen([sys.executable, "-c", text], stdout=subprocess.PIPE, text=True, env=environment) as caller:
        left = [int(one) for one in caller.stdout.readline().split()]
        caller.kill()
    assert len(left) == 2
    for _ in range(100):
        left = [one for one in left if running(one)]
        if not left:
            return
        time.sleep(0.1)
    pytest.fail(f"still there: {left}")


def running(process):
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{process}/stat")
    return not (state.exists() and state.read_text().rsplit(")", 1)[1].split()[0] == "Z")  # ended, not yet collected


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


def test_those_left_go_on_where_one_is_lost():
    with workers("receiver", TWO) as doers:
        lost, left = doers.pools
        for process in lost._processes.values():
            os.kill(process.pid, signal.SIGTERM)
        assert list(doers.answers("count", list("receiver"))) == [2, 3, 1, 3, 1, 1, 3, 2]
        assert doers.pools == [left]


@pytest.mark.parametrize("threads", [1, TWO])
def test_threads_give_answers_in_order_and_errors_in_their_place(threads):
    found = in_threads(lambda number: 1.0 / number, [2, 4, 0, 8], threads)
    assert [next(found), next(found)] == [0.5, 0.25]
    with pytest.raises(ZeroDivisionError):
        next(found)


def test_what_runs_in_the_background_is_waited_for_and_its_error_comes_when_asked():
    assert in_background(lambda: "receiver").result() == "receiver"
    broken = in_background(lambda: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        broken.result()


@pytest.mark.parametrize("count", [1, TWO])
def test_all_roads_are_begun_before_any_goes_on(count):
    begins, answers = [], {}

    def chain(road):
        for turn in range(3):
            answers[road, turn] = yield Job("count", (road,), road)

    with workers("receiver", count) as doers:
        Schedule(doers, lambda job: begins.append(job.told)).run([chain(road) for road in "civer"])
    roads = list("civer")
    assert begins[:5] == roads and sorted(begins) == sorted(3 * roads)
    assert answers == {(road, turn): "receiver".count(road) for road in roads for turn in range(3)}
