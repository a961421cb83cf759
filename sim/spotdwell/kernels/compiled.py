"""How kernels are compiled: with which options, and what they are written with.

An `inner` kernel has no entry from Python: it is compiled into those that call it. Python that calls one runs
it interpreted: slowly, with the same answer. `kernels.entry` has what Python calls.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

FUSED = {"contract", "nsz", "nnan"}
"""Lets the compiler fuse a multiplication with an addition and turn minima into plain selects."""
SUMMED = {"contract", "nsz", "nnan", "reassoc"}
"""Lets the compiler also sum in any order, several terms at a time."""
ONE = np.uint64(1)
"""Cells are counted without sign where it tells: the compiler then does not look for counts from the end."""

Kernel = Callable[..., Any]
BORROWED: dict[str, Any] = {"error_model": "numpy", "_nrt": False}
"""Kernels own no memory: to count who uses an array, at each slice, took three tenths of a march."""
INNER: dict[Kernel, dict[str, Any]] = {}
"""Inner kernels with their options, of which the compiler is told once it is loaded."""
APART: dict[Kernel, int] = {}
"""Inner kernels that are compiled apart, with how many numbers (float64) each returns."""


def inner(kernel: Kernel | None = None, apart: int = 0, **options: Any) -> Any:
    """`kernel`, compiled into those that call it; `options` are the compiler's.

    One that returns so many numbers `apart` is compiled by itself where the outermost kernel calls it.
    """

    def told(one: Kernel) -> Kernel:
        INNER[one] = BORROWED | options
        if apart:
            APART[one] = apart
        return one

    return told if kernel is None else told(kernel)


def flat(array: NDArray) -> NDArray:
    """All of a contiguous `array` as one row, in kernels too."""
    return array.reshape(-1)
