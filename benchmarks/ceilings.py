"""Ceilings: what compiled loops reach here on one core: bandwidth of a triad, and fused multiply-adds."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]

TRIAD_BYTES = 24
"""Two loads and a store of eight bytes; that a store may first fetch its line is not counted."""
_FUSED_STEPS = 12


@njit(fastmath={"contract"})
def _triad(out, one, two, factor, times):
    for _ in range(times):
        for k in range(out.size):
            out[k] = one[k] + factor * two[k]
        # Each pass needs the one before it, so that none is left out.
        factor = out[0]


@njit(fastmath={"contract"})
def _fused(out, values, times):
    """`_FUSED_STEPS` multiply-adds of every value: few enough that many values are under way at once."""
    for _ in range(times):
        for k in range(out.size):
            x, y = values[k], out[k]
            y = y * x + 0.1
            y = y * x + 0.2
            y = y * x + 0.3
            y = y * x + 0.4
            y = y * x + 0.5
            y = y * x + 0.6
            y = y * x + 0.7
            y = y * x + 0.8
            y = y * x + 0.9
            y = y * x + 0.1
            y = y * x + 0.2
            out[k] = y * x + 0.3


def triad_bandwidth(bytes_in_all: int) -> float:
    """Bytes moved each second by a triad over three arrays of `bytes_in_all` together."""
    size = bytes_in_all // TRIAD_BYTES
    out, one, two = np.zeros(size), np.full(size, 0.5), np.full(size, 0.25)
    times = max(1, 20_000_000 // size)
    seconds = best(lambda: _triad(out, one, two, 0.5, times))
    return TRIAD_BYTES * size * times / seconds


def fused_peak() -> float:
    """Floating-point operations each second of multiply-adds, two to each."""
    out, values = np.full(512, 0.3), np.full(512, 0.5)
    times = 8000
    return 2.0 * _FUSED_STEPS * out.size * times / best(lambda: _fused(out, values, times))


def best(call: Callable[[], object], repeats: int = 9) -> float:
    """Median of the faster half of `repeats` wall times [s]: other programs only ever slow a loop down."""
    call()
    seconds = []
    for _ in range(repeats):
        began = time.perf_counter()
        call()
        seconds.append(time.perf_counter() - began)
    return statistics.median(sorted(seconds)[: (repeats + 1) // 2])
