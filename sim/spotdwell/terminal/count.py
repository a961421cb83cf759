"""Count: how far many runs are, in a line that is rewritten on a terminal, else in one every few seconds."""

from __future__ import annotations

import sys
import time
from types import TracebackType
from typing import Self

from spotdwell.terminal.console import mention

_PATIENCE = 2.0
"""[s] of work about which nothing need be said."""
_PAUSE = 5.0
"""Between two lines where no terminal shows them [s]."""
_BLINK = 0.1
"""Between two states of the line on a terminal [s]."""


class Count:
    """Context that tells how many of `what` are done; silent if `quiet`."""

    def __init__(self, quiet: bool, what: str = "") -> None:
        self._quiet, self._what = quiet, what
        self._due = time.perf_counter() + _PATIENCE
        self._open = False
        self.done, self.total = 0, 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._open:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)

    def see(self, done: int, total: int, left: float | None = None) -> None:
        """Report that `done` of `total` are done, with `left` seconds to go if that is known."""
        self.done, self.total = done, total
        rest = "" if left is None else f", {time_text(left)} left"
        self.tell(f"{100.0 * done / total:3.0f} %  {done} of {total} {self._what}{rest}")

    def tell(self, text: str) -> None:
        """Show `text` if it is time to."""
        now = time.perf_counter()
        if self._quiet or now < self._due:
            return
        if sys.stderr.isatty():
            self._due, self._open = now + _BLINK, True
            print(f"\r\x1b[K{text}", end="", file=sys.stderr, flush=True)
        else:
            self._due = now + _PAUSE
            mention(text)


def time_text(seconds: float) -> str:
    """A time as people say it: 40 s, 12 min, 3.5 h."""
    if seconds < 100.0:
        return f"{max(1.0, seconds):.0f} s"
    return f"{seconds / 60.0:.0f} min" if seconds < 6000.0 else f"{seconds / 3600.0:.1f} h"
