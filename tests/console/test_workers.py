"""Pool: tasks over processes, told as they come; workers that stop with the one that asked."""

from __future__ import annotations

import math
import multiprocessing
import operator
import os
import threading
import time
from fractions import Fraction
from functools import partial
from multiprocessing.reduction import ForkingPickler

import pytest

from spotdwell.base.errors import RunError
from spotdwell.console import workers
from spotdwell.console.workers import run_all, shared, stream


@pytest.fixture
def pickled():
    """How often a fraction was sent to another process."""
    sent = []

    def reduced(value: Fraction):
        sent.append(value)
        return Fraction, (value.numerator, value.denominator)

    ForkingPickler.register(Fraction, reduced)
    yield sent
    del ForkingPickler._extra_reducers[Fraction]


def test_results_come_with_the_number_of_their_task_as_they_are_done():
    # One worker sleeps meanwhile: long enough for the other to start on a busy machine.
    came = list(stream(time.sleep, [2.0, 0.0, 0.0], workers=2))
    assert sorted(number for number, _ in came) == [0, 1, 2]
    assert came[-1][0] == 0
    assert not multiprocessing.active_children()


def test_what_the_function_carries_travels_once_to_each_worker(pickled):
    function = partial(operator.add, Fraction(1, 2))
    found = dict(stream(function, list(range(20)), workers=2))
    assert found == {number: Fraction(2 * number + 1, 2) for number in range(20)}
    # The results come back from other processes, in which nothing counts.
    assert len(pickled) == 2


def test_the_last_task_warms_up_in_this_process_and_comes_first():
    found = list(stream(_process_of, [None] * 5, workers=2, warm_up=True))
    assert found[0] == (4, os.getpid())
    assert {process for _, process in found[1:]}.isdisjoint({os.getpid()})
    assert sorted(number for number, _ in found) == list(range(5))


_process_of = partial(eval, "__import__('os').getpid()")


def test_one_worker_is_this_process():
    assert list(stream(_process_of, [None] * 3, workers=1)) == [(number, os.getpid()) for number in range(3)]
    assert list(stream(_process_of, [], workers=4)) == []


def test_closing_the_stream_stops_the_workers_at_once():
    results = stream(time.sleep, [0.0, 60.0, 60.0, 60.0], workers=2)
    assert next(results) == (0, None)
    assert len(multiprocessing.active_children()) == 2
    began = time.perf_counter()
    results.close()
    assert not multiprocessing.active_children()
    # Killing takes milliseconds, waiting for the tasks would take minutes.
    assert time.perf_counter() - began < 10.0


def test_all_results_are_in_the_order_of_the_tasks():
    told = []
    assert run_all(math.sqrt, [9.0, 4.0, 1.0], 2, lambda *state: told.append(state)) == [3.0, 2.0, 1.0]
    assert [state[:2] for state in told] == [(1, 3), (2, 3), (3, 3)]


def test_an_error_of_a_task_reaches_the_caller_and_a_dead_worker_is_said_so():
    with pytest.raises(ValueError, match="math domain"):
        run_all(math.sqrt, [1.0, -1.0, 1.0], 2)
    with pytest.raises(RunError, match="a worker process died"):
        run_all(os._exit, [3, 3], 2)
    assert not multiprocessing.active_children()


def test_shared_tasks_run_at_once_and_their_results_keep_the_order(monkeypatch):
    monkeypatch.setattr(workers, "cores", lambda: 2)
    both = threading.Barrier(2, timeout=10.0)

    def met(value: int) -> int:
        both.wait()  # breaks where the other does not come
        return -value

    assert shared(met, range(6)) == [0, -1, -2, -3, -4, -5]


def test_an_error_of_a_shared_task_reaches_the_caller_and_spares_what_had_not_begun(monkeypatch):
    monkeypatch.setattr(workers, "cores", lambda: 2)
    begun = []

    def failing(value: int) -> None:
        begun.append(value)
        time.sleep(0.1)
        raise ValueError(f"task {value}")

    with pytest.raises(ValueError, match="task 0"):
        shared(failing, range(100))
    assert len(begun) < 10


def test_one_core_shares_with_nobody(monkeypatch):
    monkeypatch.setattr(workers, "cores", lambda: 1)
    assert set(shared(lambda _: threading.current_thread(), range(3))) == {threading.main_thread()}
