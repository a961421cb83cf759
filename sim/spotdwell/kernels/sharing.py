"""Sharing: a second process, which compiles pieces on another core while this one compiles the rest.

Nothing depends on it: what it does not do, for whatever reason, this process does, and gets the same.
"""

from __future__ import annotations

import os
import pickle
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, TYPE_CHECKING

from spotdwell.kernels.apart import Piece

if TYPE_CHECKING:
    from subprocess import Popen

_START = """
import sys
_, module, stamp, *sys.path[:] = sys.argv
from spotdwell.kernels.second import main
main(module, stamp)
"""
_MOMENT = 0.1
"""Between looks at how far the second process is [s]."""
_PATIENCE = 30.0
"""For which the first process waits in all, with nothing left to do itself [s]."""


def cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def taken(take: Callable[[], Piece]) -> Piece | None:
    """The piece that `take` takes; None if none is left."""
    try:
        return take()
    except IndexError:
        return None


class Second:
    """A second process as the first sees it, or none."""

    def __init__(self, process: Popen[bytes] | None) -> None:
        self.objects: list[bytes] = []
        """Object files that it made."""
        self.count = 0
        """Functions that it compiled so far."""
        self._process = process
        self._patience = _PATIENCE
        self._thread = threading.Thread(daemon=True)

    @property
    def is_busy(self) -> bool:
        """Whether it is at work; if not, it holds no piece."""
        return self._thread.is_alive()

    def wait(self) -> None:
        """Wait for a moment, or until it is done; end it once patience is."""
        self._thread.join(_MOMENT)
        self._patience -= _MOMENT
        if self._patience < 0.0 and self._process is not None:
            self._process.kill()

    def share(self, pieces: deque[Piece]) -> None:
        """Have it compile `pieces` from the last one on, until none is left; one that it fails at stays."""
        if self._process is not None:
            self._thread = threading.Thread(target=self._share, args=(self._process, pieces), daemon=True)
            self._thread.start()

    def _share(self, process: Popen[bytes], pieces: deque[Piece]) -> None:
        assert process.stdin is not None
        assert process.stdout is not None
        while piece := taken(pieces.pop):
            try:
                self.objects.append(self._made(piece, process.stdin, process.stdout))
            except Exception:  # whatever befell it: what comes through a broken pipe can be anything
                pieces.append(piece)
                return

    def _made(self, piece: Piece, questions: IO[bytes], answers: IO[bytes]) -> bytes:
        pickle.dump(piece, questions)
        questions.flush()
        while isinstance(answer := pickle.load(answers), int):
            self.count = answer
        return bytes(answer)


@contextmanager
def second_process(module: str, stamp: str) -> Iterator[Second]:
    """A second process that knows the kernels of a `module` whose sources have this `stamp`; none without.

    It ends with the context, or if this process is killed.
    """
    process = _started(module, stamp)
    try:
        yield Second(process)
    finally:
        if process is not None:
            process.kill()
            process.communicate()


def _started(module: str, stamp: str) -> Popen[bytes] | None:
    """The process; none without a core for it, in one of many workers, or where Python is part of another."""
    import multiprocessing
    import subprocess

    is_python = Path(sys.executable or "").name.lower().startswith("python") and not hasattr(sys, "frozen")
    if not module or cores() < 2 or multiprocessing.parent_process() is not None or not is_python:
        return None
    try:
        return subprocess.Popen(
            [sys.executable, "-c", _START, module, stamp, *map(str, sys.path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
    except OSError:
        return None
