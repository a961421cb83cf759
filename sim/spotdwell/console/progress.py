"""Progress on standard error: a bar on a terminal, else a line every few seconds."""

from __future__ import annotations

import sys
import time
from functools import cache
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from spotdwell.base import units
from spotdwell.console.screen import mention

if TYPE_CHECKING:
    from spotdwell.solve.march import Progress

COMPILING = "Compiling the kernels for the first time (about 15 s) ..."
"""The time was measured on an idle 2-core machine."""
NOWHERE = (
    "Compiling the kernels (about 15 s), as before every command: no folder can be written in which they "
    "could be kept. Set NUMBA_CACHE_DIR to a folder of yours to keep them."
)

_PATIENCE = 2.0
"""Shorter work says nothing [s]."""
_LONG = 120.0
"""From which the time that is left is foretold [s]."""
_PLAIN_PAUSE = 5.0
"""Between lines where standard error is no terminal [s]."""
_BAR_PAUSE = 0.1
"""Between refreshes of the bar [s]."""


class Watch:
    """Context that tells how far the work is; silent if `quiet`.

    `what` are the pieces that `count` counts. With `solves` it says beforehand that kernels are compiled.
    """

    def __init__(self, quiet: bool = False, what: str = "", solves: bool = True) -> None:
        self.quiet, self._what, self._solves = quiet, what, solves
        self._due = time.perf_counter() + _PATIENCE
        self._first: tuple[float, float] | None = None
        self._warned = False
        self._bar: Any = None
        self.done, self.total = 0, 0

    def __enter__(self) -> Self:
        if self._solves:
            announce_compiling(self.quiet)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bar is not None:
            self._bar.stop()

    def see(self, state: Progress) -> None:
        """Report the `state` of a run."""
        self.see_part("", state)

    def see_part(self, label: str, state: Progress) -> None:
        """Report the `state` of the run that `label` names; of a long one, how long it still takes."""
        now = time.perf_counter()
        self._first = self._first or (now, state.fraction)
        if not self._is_due():
            return
        text = f"{label}: {progress_text(state)}" if label else progress_text(state)
        left = self._left(now, state.fraction)
        if left > _LONG:
            text += f", about {time_text(left)} left"
            self._warn(left)
        self._show(text, state.fraction)

    def count(self, done: int, total: int, left: float | None = None) -> None:
        """Report that `done` of `total` pieces are done, with `left` seconds to go if that is known."""
        self.done, self.total = done, total
        if self._is_due():
            rest = "" if left is None else f", {time_text(left)} left"
            self._show(f"{done} of {total} {self._what}{rest}", done / total)

    def tell(self, text: str) -> None:
        """Report work whose end is not known."""
        if self._is_due():
            self._show(text, None)

    def say(self, text: str) -> None:
        """Show a line that stays, at once."""
        if not self.quiet:
            self._due = time.perf_counter() + _PLAIN_PAUSE
            mention(text)

    def _is_due(self) -> bool:
        return not self.quiet and time.perf_counter() >= self._due

    def _left(self, now: float, fraction: float) -> float:
        """Foreseen time until the end [s], from the pace since the first step, which may have compiled."""
        began, start = self._first or (now, fraction)
        if now - began < _PATIENCE or fraction <= start:
            return 0.0
        return (now - began) * (1.0 - fraction) / (fraction - start)

    def _warn(self, left: float) -> None:
        """Say once that the run is a long one."""
        if not self._warned and self._bar is None:
            self._warned = True
            mention(
                f"At the pace of its first steps this run takes about {time_text(left)} more. Larger cells, "
                "a smaller grid or an earlier end take less; Ctrl-C stops it."
            )

    def _show(self, text: str, fraction: float | None) -> None:
        if not sys.stderr.isatty():
            self._due = time.perf_counter() + _PLAIN_PAUSE
            mention(text if fraction is None else f"{100.0 * fraction:3.0f} %  {text}")
            return
        self._due = time.perf_counter() + _BAR_PAUSE
        if self._bar is None:
            self._bar = _bar()
            self._bar.start()
        total = None if fraction is None else 1.0
        self._bar.update(
            self._bar.task_ids[0], total=total, completed=fraction or 0.0, state=text, refresh=True
        )


def announce_compiling(quiet: bool = False) -> None:
    """Say that kernels are about to be compiled, if they are, unless `quiet`."""
    if not quiet and not kernels_compiled():
        mention(COMPILING)


def progress_text(state: Progress) -> str:
    """Simulated time, crater and hottest point of a run, in one line."""
    simulated = units.display(state.time, "s", "ms" if state.time < 1.0 else "s")
    depth = units.display(state.crater_depth, "m", "um")
    hottest = units.display(state.peak_temperature, "K", "degC")
    return f"{simulated} simulated, crater {depth}, hottest {hottest}"


def time_text(seconds: float) -> str:
    """A time as people say it: 40 s, 12 min, 3.5 h."""
    if seconds < 100.0:
        return f"{max(1.0, seconds):.0f} s"
    return f"{seconds / 60.0:.0f} min" if seconds < 6000.0 else f"{seconds / 3600.0:.1f} h"


def kernels_compiled() -> bool:
    """Whether machine code of all kernels is kept."""
    from spotdwell.kernels import advance
    from spotdwell.kernels.keeping import can_keep, is_kept

    if not hasattr(advance.advance, "stats"):
        return True  # the compiler is switched off (NUMBA_DISABLE_JIT)
    if not can_keep(advance):
        _say_once(NOWHERE)
        return True
    return is_kept(advance)


@cache
def _say_once(text: str) -> None:
    mention(text)


def _bar() -> Any:
    """A bar of one task on standard error, refreshed by hand: a thread of its own would cost more."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

    state = TextColumn("{task.fields[state]}", markup=False)
    columns = (BarColumn(bar_width=16), TaskProgressColumn(), state)
    bar = Progress(*columns, console=Console(stderr=True), transient=True, auto_refresh=False)
    bar.add_task("", total=1.0, state="")
    return bar
