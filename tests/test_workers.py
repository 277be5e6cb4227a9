"""Workers: answers and errors as they are found here, whoever is lost on the way."""

import os
import signal

import pytest

from mixjt.errors import MixjtError
from mixjt.fluid.pure import pure_model
from mixjt.workers import Workers, answer, workers

TWO = 2


def test_answers_and_errors_are_those_of_the_object_itself():
    own = pure_model("propane")
    with workers(own, TWO) as doers:
        assert isinstance(doers, Workers)
        found = [doers.submit("saturation_pressure", t) for t in (231.0, 250.0, 300.0)]
        assert [one.result() for one in found] == [own.saturation_pressure(t) for t in (231.0, 250.0, 300.0)]
        with pytest.raises(MixjtError) as here:
            own.saturated_vapour(1000.0)
        with pytest.raises(MixjtError) as there:
            doers.submit("saturated_vapour", 1000.0).result()
        assert str(there.value) == str(here.value)


def test_a_worker_that_is_gone_costs_nothing():
    with workers("receiver", TWO) as doers:
        for _ in range(TWO):
            process = doers.free.get()
            process.kill()
            process.wait()
            doers.free.put(process)
        assert answer(doers, doers.submit("upper"), "upper") == "RECEIVER"


@pytest.mark.parametrize("owner, count", [("receiver", 1), (memoryview(b"receiver"), TWO)])
def test_the_work_is_done_here_below_two_and_for_what_cannot_be_copied(owner, count):
    with workers(owner, count) as doers:
        assert not doers.parallel
        assert doers.submit("__len__").result() == len("receiver")


@pytest.mark.skipif(not hasattr(os, "getsid"), reason="sessions are a matter of POSIX")
def test_ctrl_c_reaches_no_worker_and_none_outlives_its_caller():
    with workers("receiver", TWO) as doers:
        processes = [doers.free.get() for _ in range(TWO)]
        assert all(os.getsid(one.pid) != os.getsid(0) for one in processes)
        for one in processes:
            doers.free.put(one)
        assert doers.submit("upper").result() == "RECEIVER"
    assert [one.returncode for one in processes] == [-signal.SIGKILL] * TWO
