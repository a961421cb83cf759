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
    from numba import njit

    from spotdwell.kernels import advance as module
    from spotdwell.solve import march

    kept, marching = {name: getattr(module, name) for name in names}, march.advance
    spent = {name: np.zeros(1) for name in names}
    try:
        for name, kernel in kept.items():
            setattr(module, name, _clocked(kernel, spent[name]))
        march.advance = njit(error_model="numpy")(marching.py_func)
        yield {name: _taker(total) for name, total in spent.items()}
    finally:
        march.advance = marching
        for name, kernel in kept.items():
            setattr(module, name, kernel)


def _clocked(kernel: Any, total: Any) -> Any:
    """`kernel`, adding its wall seconds to `total`."""
    from numba import carray, types
    from numba.extending import intrinsic, register_jitable

    address = total.ctypes.data

    @intrinsic
    def place(context: Any) -> Any:
        # Arrays from outside are frozen in machine code; an address is not.
        def code(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
            number = context.get_constant(types.uintp, address)
            return builder.inttoptr(number, context.get_value_type(types.CPointer(types.float64)))

        return types.CPointer(types.float64)(), code

    @register_jitable(error_model="numpy")
    def call(*arguments: Any) -> Any:
        began = _clock()
        found = kernel(*arguments)
        carray(place(), (1,))[0] += _clock() - began
        return found

    return call


def _taker(total: Any) -> Callable[[], float]:
    def take() -> float:
        seconds = float(total[0])
        total[0] = 0.0
        return seconds

    return take
