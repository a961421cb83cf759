"""Room: keeps Python's own housekeeping from taking longer than it must while the compiler is at work."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from typing import Any, TypeVar, cast

Function = TypeVar("Function", bound=Callable[..., Any])
_ROOM = 2**17 + 2**10
"""Words of stack: a little more than a block of a mebibyte has, so that one of two is taken."""


def with_room(function: Function) -> Function:
    """A `function` that has room for all the calls within it from the start.

    Python keeps calls in blocks of 16 KiB: it asks the system for one when a call needs it and gives it back
    when that returns. A compiler at work goes to and fro over the edge of a block: that took up to a fifth of
    the time. A call that says that it needs a large block itself gets one, and leaves the rest of it.
    """

    def call(*arguments: Any) -> Any:
        return function(*arguments)

    call.__code__ = call.__code__.replace(co_stacksize=_ROOM)
    return cast("Function", wraps(function)(call))


@contextmanager
def uncollected() -> Iterator[None]:
    """Leave rings among what the compiler makes for later: they live as long as it does."""
    collects = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collects:
            gc.enable()
