"""Cluster: many runs of one kind over the workers of a dask scheduler, on this machine or on others."""

from __future__ import annotations

import asyncio
import logging
import queue
import time
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from importlib import import_module, metadata
from typing import Any, TypeVar

from spotdwell.base.errors import RunError

Task = TypeVar("Task")
Found = TypeVar("Found")

PATIENCE = 5.0
"""How long a scheduler or a first worker may take to answer [s]."""
LONELY = 20.0
"""How long a map may be without any worker, as when all of them are started again [s]."""

_GLANCE = 1.0
"""Between looks at the workers while nothing comes [s]."""
_START = "Start a scheduler with dask scheduler, and workers with dask worker ADDRESS --nthreads 1"
_GO_ON = "The results so far are kept if they went to a file: run the same again to go on"


def stream(
    function: Callable[[Task], Found], tasks: Sequence[Task], address: str
) -> Generator[tuple[int, Found]]:
    """Number of each task and `function` of it, as they come from the workers of the scheduler at `address`.

    The function travels once to each worker, so it may carry much; a task should be small. A run whose worker
    dies goes to another one, up to three times. Close the generator to take back what has not been done.
    Raises RunError where the package distributed is missing, no scheduler or worker answers, the workers
    have another version of spotdwell, or they die.
    """
    with _client(address) as client:
        _check_workers(client, address)
        (kept,) = client.scatter([function], broadcast=True, hash=False)
        # Not pure: a key that does not tell what is computed keeps old results of equal tasks away.
        futures = client.map(_call, tasks, function=kept, pure=False)
        places = {future.key: place for place, future in enumerate(futures)}
        for future in _finished(client, futures):
            yield places[future.key], _found(future)
            future.release()


def _call(task: Any, function: Callable[[Any], Any]) -> Any:
    return function(task)


@contextmanager
def _client(address: str) -> Iterator[Any]:
    try:
        distributed: Any = import_module("distributed")
    except ImportError:
        advice = 'pip install "spotdwell[cluster]"'
        raise RunError(f"a cluster needs the package distributed, which is missing. {advice}") from None
    try:
        # A client that failed to connect would complain again when it is collected.
        with ThreadPoolExecutor(1) as thread:
            thread.submit(asyncio.run, _greet(address)).result()
        client = distributed.Client(address, timeout=PATIENCE, set_as_default=False)
    except Exception as error:  # of any kind, where something else than a scheduler answers
        raise RunError(f"no cluster answers at {address} ({_line(error)}). {_START}") from None
    # What goes wrong is said once, by an error of ours.
    log = logging.getLogger("distributed.client")
    level = log.level
    log.setLevel(logging.CRITICAL)
    try:
        yield client
    finally:
        with suppress(OSError):  # a scheduler that is gone cannot say goodbye
            client.close(timeout=PATIENCE)
        log.setLevel(level)


async def _greet(address: str) -> None:
    """Raise whatever tells that nobody who speaks dask's language listens at `address`."""
    comm: Any = await import_module("distributed.comm").connect(address, timeout=PATIENCE)
    await comm.close()


def _check_workers(client: Any, address: str) -> None:
    """Raise RunError unless there are workers, and all have this version of spotdwell."""
    try:
        client.wait_for_workers(1, timeout=PATIENCE)
    except TimeoutError:
        raise RunError(f"the scheduler at {address} has no workers. {_START}") from None
    own = version()
    try:
        others = set(client.run(version).values()) - {own}
    except (ImportError, AttributeError) as error:
        raise RunError(f"workers lack spotdwell ({_line(error)}). Install version {own} there") from None
    except OSError:
        raise _dead() from None
    if others:
        raise RunError(f"workers have spotdwell {', '.join(sorted(others))}. Install version {own} there")


def version() -> str:
    """Version of spotdwell in this process."""
    return metadata.version("spotdwell")


def _finished(client: Any, futures: list[Any]) -> Iterator[Any]:
    """The futures as they end, well or not."""
    ended: queue.SimpleQueue[Any] = queue.SimpleQueue()
    for future in futures:
        future.add_done_callback(ended.put)
    seen = time.monotonic()
    for _ in futures:
        while True:
            try:
                yield ended.get(timeout=_GLANCE)
            except queue.Empty:
                seen = _last_seen(client, seen)
            else:
                seen = time.monotonic()
                break


def _last_seen(client: Any, seen: float) -> float:
    """When workers were last there; raises RunError where that is too long ago."""
    if client.status == "running" and client.scheduler_info()["workers"]:
        return time.monotonic()
    if time.monotonic() - seen > LONELY:
        raise RunError(f"the cluster has no workers left. {_GO_ON}")
    return seen


def _found(future: Any) -> Any:
    try:
        return future.result(timeout=LONELY)
    except (OSError, TimeoutError):
        raise _dead() from None
    except Exception as error:
        # A lost worker or scheduler shows as one of several classes of distributed's own.
        if type(error).__module__.startswith(("distributed", "concurrent", "asyncio")):
            raise _dead() from None
        raise


def _dead() -> RunError:
    return RunError(f"the workers of the cluster died, or its scheduler did. {_GO_ON}")


def _line(error: BaseException) -> str:
    """The error in one line."""
    return (str(error).strip().splitlines() or [type(error).__name__])[0][:120]
