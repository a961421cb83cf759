"""What the compiler does, and who hears of it: nothing where machine code was kept, or where it is off."""

from __future__ import annotations

import gc
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from spotdwell.kernels.apart import Piece, apart_in, parted
from spotdwell.kernels.compiled import BORROWED, Kernel
from spotdwell.kernels.keeping import Code, stamp
from spotdwell.kernels.objects import kernel_objects, load, piece_object
from spotdwell.kernels.room import uncollected, with_room
from spotdwell.kernels.sharing import Second, second_process, taken

Hear = Callable[[int, bool], None]
"""Gets how many of our functions were compiled so far, and whether they will be kept."""

_hearing: list[Hear] = []


@contextmanager
def heard(hear: Hear) -> Iterator[None]:
    """Have `hear` called before and after each function of a kernel that is compiled in the context."""
    _hearing.append(hear)
    try:
        yield
    finally:
        _hearing.remove(hear)


@contextmanager
def telling(kept: bool, second: Second | None = None) -> Iterator[Callable[[int], None]]:
    """Tell those who hear of each function that is compiled in the context, by the `second` process too.

    Yields what tells of so many more.
    """
    from numba.core import event

    count = 0

    def tell(more: int) -> None:
        nonlocal count
        count += more
        for hear in _hearing:
            hear(count + (second.count if second else 0), kept)

    class Ear(event.Listener):
        def on_start(self, event: Any) -> None:
            if _is_ours(event):
                tell(0)

        def on_end(self, event: Any) -> None:
            if _is_ours(event):
                tell(1)

    with event.install_listener("numba:compile", Ear()):
        yield tell


def _is_ours(event: Any) -> bool:
    """Whether an event is about a function of kernels, and not one of the compiler's own."""
    return not event.data["dispatcher"].py_func.__module__.startswith("numba.")


def called(kernel: Kernel) -> Kernel:
    """A `kernel`, compiled by itself for calls from Python and kept nowhere."""
    from numba import njit

    def call(*arguments: Any) -> Any:
        return kernel(*arguments)

    load()
    compiled: Kernel = njit(**BORROWED)(call)
    return compiled


@with_room
def compiled(kernel: Kernel, arguments: tuple[Any, ...], kept: bool) -> Code:
    """Machine code of `kernel` for `arguments` of these types; those who hear learn whether it is `kept`.

    A second process helps with what is compiled apart. Raises TypeError if such a kernel does not return what
    was declared of it.
    """
    for hear in _hearing:  # before the compiler itself is loaded
        hear(0, kept)
    module = kernel.__module__ if apart_in(kernel) else ""
    with second_process(module, stamp(kernel.__code__.co_filename)) as second, uncollected():
        from numba import typeof

        load()
        pieces: deque[Piece] = deque()

        def offer(piece: Piece) -> None:
            pieces.append(piece)
            if len(pieces) == len(apart_in(kernel)):
                second.share(pieces)

        types = tuple(typeof(one) for one in arguments)  # type: ignore[no-untyped-call]
        with telling(kept, second) as tell:
            result, objects = kernel_objects(parted(kernel, offer), types)
            while second.is_busy or pieces:
                if piece := taken(pieces.popleft):
                    objects.append(piece_object(piece))
                else:
                    gc.collect(0)  # while there is time for it
                    second.wait()
                    tell(0)
    return Code(result, (*objects, *second.objects))
