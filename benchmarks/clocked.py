"""Clocked: the march compiled with a clock around some of its kernels, which it otherwise swallows."""

from __future__ import annotations

import ctypes
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

Clock = ctypes.CFUNCTYPE(ctypes.c_double)
_clock = Clock(time.perf_counter)
"""Called from machine code: some half a microsecond."""


@contextmanager
def clocked(*names: str) -> Iterator[dict[str, Callable[[], float]]]:
    """March with a clock around the kernels of these `names` in `kernels.advance`; compiles anew.

    Yields for each what gives the seconds spent in it since that was last asked.
    """
    import numpy as np

    from spotdwell.kernels import advance as module
    from spotdwell.kernels.compiled import inner
    from spotdwell.kernels.entry import called
    from spotdwell.solve import march

    kept, marching = {name: getattr(module, name) for name in names}, march.advance
    spent = {name: np.zeros(1) for name in names}
    try:
        for name, kernel in kept.items():
            setattr(module, name, _clocked(kernel, spent[name]))
        march.advance = called(inner(marching.kernel))
        yield {name: _taker(total) for name, total in spent.items()}
    finally:
        march.advance = marching
        for name, kernel in kept.items():
            setattr(module, name, kernel)


def _clocked(kernel: Any, total: Any) -> Any:
    """`kernel`, adding its wall seconds to `total`."""
    from llvmlite import ir
    from numba import types
    from numba.extending import intrinsic

    from spotdwell.kernels.compiled import inner

    address = total.ctypes.data

    @intrinsic
    def add(context: Any, seconds: Any) -> Any:
        # Arrays from outside are frozen in machine code; an address is not.
        def code(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
            place = builder.inttoptr(context.get_constant(types.uintp, address), ir.DoubleType().as_pointer())
            builder.store(builder.fadd(builder.load(place), arguments[0]), place)
            return context.get_dummy_value()

        return types.void(types.float64), code

    @inner
    def call(*arguments: Any) -> Any:
        began = _clock()
        found = kernel(*arguments)
        add(_clock() - began)
        return found

    return call


def _taker(total: Any) -> Callable[[], float]:
    def take() -> float:
        seconds = float(total[0])
        total[0] = 0.0
        return seconds

    return take
