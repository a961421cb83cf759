"""System: the few things that operating systems do differently, each done here for all of them.

Nothing else in the package asks for what Linux, macOS or Windows lacks; a test reads the sources for it.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


class InUse(OSError):
    """Another process holds the file."""


def write_at(file: int, data: bytes, start: int) -> int:
    """Write `data` into the open `file` from byte `start` on; returns how many bytes went in."""
    if hasattr(os, "pwrite"):
        return os.pwrite(file, data, start)
    os.lseek(file, start, os.SEEK_SET)
    return os.write(file, data)


def open_to_change(path: str | os.PathLike[str]) -> int:
    """Descriptor of the file at `path`, to be read and written as bytes."""
    return os.open(path, os.O_RDWR | getattr(os, "O_BINARY", 0))


def claim(file: int) -> None:
    """Keep other processes from writing the open `file` until it is closed; readers need no permission.

    Raises InUse if another process has it. Where a file system has no locks, nothing happens.
    """
    try:
        if sys.platform == "win32":
            import msvcrt

            # Beyond the end, so that readers are not kept out.
            os.lseek(file, 2**40, os.SEEK_SET)
            msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError) as error:
        raise InUse(*error.args) from None
    except OSError:
        pass


@contextmanager
def interrupts_held() -> Iterator[None]:
    """Hold Ctrl-C back: processes that start meanwhile never get it, this one gets it afterwards.

    Where signals cannot be held back (Windows) it does nothing.
    """
    if sys.platform == "win32":
        yield
        return
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, mask)


def stopping_signals() -> tuple[signal.Signals, ...]:
    """Signals by which others ask a process to end, besides Ctrl-C."""
    names = ("SIGTERM", "SIGHUP", "SIGBREAK")
    return tuple(signal.Signals[name] for name in names if name in signal.Signals.__members__)


def memory() -> float:
    """Bytes that this process may fill at most: of the machine, or what it is confined to; inf if unknown."""
    found = []
    with suppress(OSError, ValueError, AttributeError):
        found.append(float(os.sysconf("SC_PAGE_SIZE")) * float(os.sysconf("SC_PHYS_PAGES")))
    for file in ("/sys/fs/cgroup/memory.max", "/sys/fs/cgroup/memory/memory.limit_in_bytes"):
        with suppress(OSError, ValueError):
            found.append(float(Path(file).read_text(encoding="ascii")))
    return min((one for one in found if one > 0.0), default=float("inf"))
