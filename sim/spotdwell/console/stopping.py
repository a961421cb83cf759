"""Stopping: whoever asks a command to end, by Ctrl-C or as a system does, it ends in the same orderly way."""

from __future__ import annotations

import _thread
import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

from spotdwell.base.system import stopping_signals
from spotdwell.console.screen import Interrupted

_AGAIN = 0.02
"""After which a request is made again that came where Python drops errors [s]."""
_PATIENCE = 5.0
"""In which a second request is ignored, so that the first is carried out to its end [s]."""


class Asked:
    """Who asked, and since when."""

    def __init__(self) -> None:
        self._by: int | None = None
        self._since = 0.0
        self.drop = sys.unraisablehook

    def stop(self, number: int, _: FrameType | None) -> None:
        """Raise KeyboardInterrupt, unless it has just been raised."""
        now = time.monotonic()
        if self._by is not None and now - self._since < _PATIENCE:
            return
        self._by, self._since = number, now
        raise KeyboardInterrupt

    def ask_again(self, dropped: Any) -> None:
        """Hook of `sys.unraisablehook`: finalisers and callbacks of references drop what they raise."""
        if self._by is None or not issubclass(dropped.exc_type, KeyboardInterrupt):
            self.drop(dropped)
            return
        self._since = -_PATIENCE
        again = threading.Timer(_AGAIN, _thread.interrupt_main, (self._by,))
        again.daemon = True
        again.start()

    def exit_code(self, code: int) -> int:
        """The command's `code`; of one that was stopped by a signal other than Ctrl-C, that of the signal."""
        by_system = self._by is not None and self._by != signal.SIGINT
        return 128 + (self._by or 0) if by_system and code == Interrupted.exit_code else code


@contextmanager
def stopping() -> Iterator[Asked]:
    """Within, requests to stop are interrupts; what was ignored (as by nohup) stays ignored."""
    asked = Asked()
    before: dict[signal.Signals, Any] = {}
    if threading.current_thread() is threading.main_thread():
        for number in (signal.SIGINT, *stopping_signals()):
            if (handler := signal.getsignal(number)) is not signal.SIG_IGN:
                before[number] = handler
                signal.signal(number, asked.stop)
        sys.unraisablehook = asked.ask_again
    try:
        yield asked
    finally:
        sys.unraisablehook = asked.drop
        for number, handler in before.items():
            signal.signal(number, handler)
