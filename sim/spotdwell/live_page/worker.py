"""Worker: a process with loaded kernels that does one task after another, of which the newest wins."""

from __future__ import annotations

import asyncio
import multiprocessing
import threading
from collections.abc import AsyncIterator, Callable
from contextlib import suppress
from multiprocessing.connection import Connection
from multiprocessing.sharedctypes import RawValue
from typing import Any

from spotdwell.base.errors import InputError, SpotdwellError
from spotdwell.base.foreign import shown
from spotdwell.console.workers import calm_start, leave_with_parent
from spotdwell.live_page.tasks import Superseded, Task, carried_out, warm_up

ENDS = ("done", "superseded", "wrong", "failed")
"""Kinds of the last finding of a task."""
_DIED = "The process that computes died, perhaps for want of memory; it has been started again."
_PATIENCE = 2.0
"""Given to a process to end by itself [s]."""

Finding = tuple[str, Any]


class Worker:
    """A process that is started for its first task, and again should it die."""

    def __init__(self, newest_wins: bool = True, most: int = 64) -> None:
        self._newest_wins, self._most = newest_wins, most
        self._newest = RawValue("q", 0)
        self._number = 0
        self._waiting: dict[int, Callable[[Finding], None]] = {}
        self._lock = threading.Lock()
        self._process: Any = None
        self._pipe: Connection | None = None
        self._closed = False
        self.ready = False

    def start(self) -> None:
        """Start the process unless it runs."""
        with self._lock:
            self._start()

    def _start(self) -> None:
        if self._process is not None and self._process.is_alive():
            return
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        self.ready = False
        self._process = context.Process(target=_work, args=(theirs, self._newest), daemon=True)
        with calm_start():
            self._process.start()
        theirs.close()
        self._pipe = ours
        threading.Thread(target=self._listen, args=(ours,), daemon=True).start()

    async def findings(self, task: Task) -> AsyncIterator[Finding]:
        """What is found, as it comes; the last is of a kind in `ENDS`. Leaving it stops the task.

        Of tasks that supersede no other, too many at a time fail at once.
        """
        queue: asyncio.Queue[Finding] = asyncio.Queue()
        loop = asyncio.get_running_loop()

        def hand_over(finding: Finding) -> None:
            with suppress(RuntimeError):  # the page has ended
                loop.call_soon_threadsafe(queue.put_nowait, finding)

        number = await asyncio.to_thread(self._submit, task, hand_over)
        try:
            if number is None:
                yield "failed", "Too much is asked for at a time. Wait for what is under way."
                return
            if not self.ready:
                yield "starting", None
            while True:
                finding = await queue.get()
                yield finding
                if finding[0] in ENDS:
                    return
        finally:
            if number is not None:
                self._leave(number)

    def _submit(self, task: Task, hand_over: Callable[[Finding], None]) -> int | None:
        with self._lock:
            if self._closed or len(self._waiting) >= self._most:
                return None
            self._start()
            self._number += 1
            self._waiting[self._number] = hand_over
            if self._newest_wins:
                self._newest.value = self._number
            assert self._pipe is not None
            with suppress(OSError):  # it died this moment, which `_listen` tells
                self._pipe.send((self._number, task, self._newest_wins))
            return self._number

    def _leave(self, number: int) -> None:
        with self._lock:
            self._waiting.pop(number, None)
            if self._newest_wins and self._newest.value == number:
                self._newest.value = 0

    def _listen(self, pipe: Connection) -> None:
        """Hand findings to those who wait for them, until the process ends."""
        with suppress(EOFError, OSError):
            while True:
                number, kind, found = pipe.recv()
                if kind == "ready":
                    self.ready = True
                    continue
                with self._lock:
                    ends = kind in ENDS
                    hand_over = self._waiting.pop(number, None) if ends else self._waiting.get(number)
                if hand_over is not None:
                    hand_over((kind, found))
        with self._lock:
            if self._pipe is not pipe:
                return
            left, self._waiting = self._waiting, {}
        for hand_over in left.values():
            hand_over(("failed", _DIED))

    def close(self) -> None:
        """End the process."""
        with self._lock:
            self._closed, self._newest.value = True, -1
            process, self._process = self._process, None
        if process is not None:
            process.terminate()
            process.join(_PATIENCE)
            if process.is_alive():
                process.kill()
                process.join()


def _work(pipe: Connection, newest: Any) -> None:
    """Life of the process: task after task, until the pipe ends or the parent is gone."""
    threading.Thread(target=leave_with_parent, daemon=True).start()
    with suppress(EOFError, OSError, KeyboardInterrupt):
        warm_up()
        pipe.send((0, "ready", None))
        while True:
            number, task, newest_wins = pipe.recv()
            pipe.send((number, *_ending(pipe, number, task, newest if newest_wins else None)))


def _ending(pipe: Connection, number: int, task: Task, newest: Any) -> Finding:
    """Do the task; how it ended."""

    def still(*_: Any) -> None:
        if newest is not None and newest.value != number:
            raise Superseded

    def tell(kind: str, found: Any) -> None:
        still()
        pipe.send((number, kind, found))

    try:
        still()
        carried_out(task, tell, still)
    except Superseded:
        return "superseded", None
    except InputError as error:
        return "wrong", [_plain(one) for one in (error.problems or (error,))]
    except (SpotdwellError, ArithmeticError, ValueError, MemoryError) as error:
        return "failed", shown(str(error) or type(error).__name__)
    return "done", None


def _plain(error: InputError) -> dict[str, str]:
    parts = {"where": error.where, "expected": error.expected, "got": error.got, "advice": error.advice}
    return {name: shown(text) for name, text in parts.items()}
