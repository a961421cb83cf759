"""How kernels are compiled: `outer` ones for calls from Python, kept in files, `inner` ones for kernels.

An inner kernel needs no entry from Python, which takes as long to compile as the kernel itself where it is
handed a hundred arrays. Python that calls one runs it interpreted: slowly, with the same answer. Tests and
benchmarks that want the machine code of one wrap it in `called`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numba import njit
from numba.extending import register_jitable

FUSED = {"contract", "nsz", "nnan"}
"""Lets the compiler fuse a multiplication with an addition and turn minima into plain selects."""
SUMMED = {"contract", "nsz", "nnan", "reassoc"}
"""Lets the compiler also sum in any order, several terms at a time."""
ONE = np.uint64(1)
"""Cells are counted without sign where it tells: the compiler then does not look for counts from the end."""

Kernel = Callable[..., Any]
_BORROWED: dict[str, Any] = {"error_model": "numpy", "_nrt": False}
"""Kernels own no memory: to count who uses an array, at each slice, took three tenths of a march."""


def outer(kernel: Kernel) -> Kernel:
    """`kernel`, compiled for calls from Python and kept in files."""
    compiled: Kernel = njit(cache=True, **_BORROWED)(kernel)
    return compiled


def inner(kernel: Kernel | None = None, **options: Any) -> Any:
    """`kernel`, compiled into those that call it; `options` are the compiler's."""
    made: Any = register_jitable(**_BORROWED, **options)
    return made if kernel is None else made(kernel)


def called(kernel: Kernel) -> Kernel:
    """An inner `kernel`, compiled by itself for calls from Python and kept nowhere."""

    def call(*arguments: Any) -> Any:
        return kernel(*arguments)

    compiled: Kernel = njit(**_BORROWED)(call)
    return compiled
