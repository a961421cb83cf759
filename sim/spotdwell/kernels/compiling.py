"""What the compiler does, as it does it: nothing where machine code was kept, or where it is switched off."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from numba.core import event

from spotdwell.kernels.keeping import is_in_file

Hear = Callable[[int, bool], None]
"""Gets how many of our functions were compiled so far, and whether they will be kept."""


class _Ear(event.Listener):
    """Counts what is compiled of this package."""

    def __init__(self, hear: Hear) -> None:
        self._hear, self._count, self._kept = hear, 0, True

    def on_start(self, event: Any) -> None:
        """Tell that a function is about to be compiled."""
        if (function := _own(event)) is not None:
            if self._count == 0:
                self._kept = is_in_file(function)
            self._hear(self._count, self._kept)

    def on_end(self, event: Any) -> None:
        """Tell that it was."""
        if _own(event) is not None:
            self._count += 1
            self._hear(self._count, self._kept)


@contextmanager
def heard(hear: Hear) -> Iterator[None]:
    """Have `hear` called before and after each function of this package that is compiled in the context."""
    ear = _Ear(hear)
    event.register("numba:compile", ear)  # type: ignore[no-untyped-call]
    try:
        yield
    finally:
        event.unregister("numba:compile", ear)  # type: ignore[no-untyped-call]


def _own(event: Any) -> Any:
    """The function of this package that an event is about; None for one of the compiler's own."""
    function = event.data["dispatcher"]
    return function if function.py_func.__module__.startswith(f"{__name__.partition('.')[0]}.") else None
