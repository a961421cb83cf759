"""Pool: many runs of one kind over processes, one a core, that stop at once with the one that asked."""

from __future__ import annotations

import multiprocessing
import os
import sys
import threading
import time
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing, contextmanager
from types import ModuleType
from typing import Any, TypeVar

from spotdwell.base.errors import RunError
from spotdwell.base.system import interrupts_held
from spotdwell.kernels.sharing import cores as cores

Task = TypeVar("Task")
Found = TypeVar("Found")

Progress = Callable[[int, int, float], None]
"""Told after each run: how many are done, of how many, and the seconds left."""

_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")


def run_all(
    function: Callable[[Task], Found],
    tasks: Sequence[Task],
    workers: int | None = None,
    progress: Progress | None = None,
) -> list[Found]:
    """`function` of every task, in the order of the tasks.

    `function` must be importable from a module (or a partial of one that is), as must what it is given;
    errors that it should survive are its own business. One worker means this process itself. Raises
    RunError if a worker dies, and KeyboardInterrupt after it has stopped all workers.
    """
    clock = _Clock(len(tasks), progress)
    with closing(stream(function, tasks, workers)) as results:
        found = {index: clock.ticked(one) for index, one in results}
    return [found[index] for index in range(len(tasks))]


def shared(function: Callable[[Task], Found], tasks: Sequence[Task]) -> list[Found]:
    """`function` of every task, in the order of the tasks, over threads of this process, one a core.

    For a few short runs, which would end before a process had started: while one computes in machine code
    another does as well. A worker process does all by itself, as its neighbours have the other cores.
    """
    count = 1 if multiprocessing.parent_process() is not None else min(cores(), len(tasks))
    if count <= 1:
        return [function(task) for task in tasks]
    pool = ThreadPoolExecutor(count)
    try:
        return list(pool.map(function, tasks))
    finally:
        pool.shutdown(cancel_futures=True)


def stream(
    function: Callable[[Task], Found],
    tasks: Sequence[Task],
    workers: int | None = None,
    warm_up: bool = False,
) -> Generator[tuple[int, Found]]:
    """Number of each task and `function` of it, as they come; what they need is as for `run_all`.

    The function travels once to each worker, so it may carry much; a task should be small. With `warm_up`
    the last task is done first, in this process while the workers start: it compiles the kernels, which the
    workers then load. Close the generator to stop the workers; they also end if this process is killed.
    """
    count = min(workers or cores(), len(tasks))
    if count <= 1:
        yield from ((index, function(task)) for index, task in enumerate(tasks))
    else:
        yield from _spread(function, tasks, count, warm_up)


class _Clock:
    """Counts what is done and foresees how long the rest takes."""

    def __init__(self, total: int, progress: Progress | None) -> None:
        self._total, self._progress = total, progress
        self._done, self._began = 0, time.perf_counter()

    def ticked(self, found: Found) -> Found:
        """`found`, after telling that one more run is done."""
        self._done += 1
        if self._progress is not None:
            each = (time.perf_counter() - self._began) / self._done
            self._progress(self._done, self._total, each * (self._total - self._done))
        return found


def _spread(
    function: Callable[[Task], Found], tasks: Sequence[Task], count: int, warm_up: bool
) -> Generator[tuple[int, Found]]:
    before = set(multiprocessing.active_children())
    start = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(count, mp_context=start, initializer=_enter, initargs=(function,))
    numbered = list(enumerate(tasks))
    try:
        if warm_up:
            with calm_start():
                for _ in range(count):
                    pool.submit(_start)
            number, task = numbered.pop()
            yield number, function(task)
        with calm_start():
            places: dict[Future[Found], int] = {pool.submit(_call, task): place for place, task in numbered}
        for future in as_completed(places):
            yield places.pop(future), future.result()
    except BrokenProcessPool:
        raise RunError(
            "a worker process died, perhaps for want of memory. Use fewer workers or larger cells"
        ) from None
    except BaseException:
        for child in set(multiprocessing.active_children()) - before:
            child.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)


_kept: Callable[[Any], Any]
"""The function that this worker process was started for."""


def _enter(function: Callable[[Any], Any]) -> None:
    """Begin a worker's life."""
    global _kept
    _kept = function
    threading.Thread(target=leave_with_parent, daemon=True).start()


def _start() -> None:
    """Nothing: asking for it has a worker start."""


def _call(task: Any) -> Any:
    return _kept(task)


def leave_with_parent() -> None:
    """End this process once its parent is gone: a parent that was killed cannot ask for it."""
    if (parent := multiprocessing.parent_process()) is not None:
        parent.join()
        os._exit(1)


@contextmanager
def calm_start() -> Iterator[None]:
    """Surroundings that workers inherit as they start.

    One thread each, as the runs are serial and there is a worker for every core. Ctrl-C is blocked: it
    reaches the whole group, and it is for the parent to stop them; one that comes meanwhile is delivered
    to the parent afterwards. The user's script is hidden, as a fresh interpreter would run it again.
    """
    if sys.platform != "win32":
        from multiprocessing import resource_tracker

        resource_tracker.ensure_running()  # started later, it would unblock Ctrl-C
    kept = {name: os.environ.get(name) for name in _THREADS}
    main = sys.modules["__main__"]
    try:
        os.environ.update(dict.fromkeys(_THREADS, "1"))
        sys.modules["__main__"] = ModuleType("__main__")
        with interrupts_held():
            yield
    finally:
        sys.modules["__main__"] = main
        for name, value in kept.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
