"""What a check says, and how errors and orders are formed."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LEAST_ORDER = 1.8
"""Observed order that counts as second: between two finite grids the slope is not yet quite 2."""


@dataclass(frozen=True)
class Finding:
    """One quantity that a case compares."""

    quantity: str
    claimed: float
    """By the closed form [unit]; of a field, at the worst point."""
    computed: float
    """By the tool [unit], at the same place."""
    unit: str
    error: float
    tolerance: float
    """Largest `error` that passes."""
    error_kind: str
    """What `error` is relative to, such as "of claimed" or "of a cell"."""
    reason: str
    """Why the tolerance: what the cells and steps explain."""
    order: float | None = None
    """Observed order of accuracy in space and time together, where it was measured."""

    @property
    def passed(self) -> bool:
        """Whether error and, where measured, order are good. A NaN fails."""
        return self.error <= self.tolerance and (self.order is None or self.order >= LEAST_ORDER)


@dataclass(frozen=True)
class Check:
    """A finding of a named case, ready for a table."""

    name: str
    title: str
    quantity: str
    claimed: float
    computed: float
    unit: str
    error: float
    tolerance: float
    error_kind: str
    reason: str
    order: float | None
    passed: bool
    seconds: float
    """Wall time of the whole case, which may hold several checks."""


@dataclass(frozen=True)
class Case:
    """A closed form and the run that is compared with it."""

    name: str
    title: str
    find: Callable[[], list[Finding]]


def number(
    quantity: str, claimed: float | Array, computed: float, unit: str, tolerance: float, reason: str
) -> Finding:
    """Finding about one number; its error is relative to the claim."""
    claimed, computed = float(claimed), float(computed)
    error = abs(computed - claimed) / abs(claimed)
    return Finding(quantity, claimed, computed, unit, error, tolerance, "of claimed", reason)


def field(
    quantity: str,
    claimed: Array,
    computed: Array,
    unit: str,
    tolerance: float,
    reason: str,
    order: float | None = None,
) -> Finding:
    """Finding about many values at once: the worst difference over the largest claim."""
    error = largest_error(claimed, computed)
    worst = int(np.argmax(np.abs(computed - claimed)))
    here, there = float(claimed.flat[worst]), float(computed.flat[worst])
    return Finding(quantity, here, there, unit, error, tolerance, "of the largest", reason, order)


def position(
    quantity: str, claimed: float, computed: float, cell: float, tolerance: float, reason: str
) -> Finding:
    """Finding about a depth [m], whose error counts in cells of height `cell` [m]."""
    claimed, computed = float(claimed), float(computed)
    return Finding(
        quantity, claimed, computed, "m", abs(computed - claimed) / cell, tolerance, "of a cell", reason
    )


def largest_error(claimed: Array, computed: Array) -> float:
    """Largest difference over the largest claim [-]."""
    return float(np.max(np.abs(computed - claimed)) / np.max(np.abs(claimed)))


def observed_order(errors: Sequence[float]) -> float:
    """Order by the last two `errors`: each belongs to half the cells and steps of the one before."""
    return math.log2(errors[-2] / errors[-1])
