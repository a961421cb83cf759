"""What a map costs, told before it starts."""

from __future__ import annotations

import time
from itertools import product

import numpy as np

from spotdwell.base.errors import SpotdwellError
from spotdwell.console.workers import cores
from spotdwell.maps.plan import Index, MapPlan
from spotdwell.maps.run import point_of
from spotdwell.pipeline import solved
from spotdwell.spread.brief import SMALL

_FEW_AXES = 3
"""Axes of a map all corners of which are tried to foresee its cost."""
TIMES, TIMES_SMALL = 3.0, 10.0
"""How many times as long a point takes with intervals, and a small one, whose draws keep its cells: 1.9 to 4,
and 10, over eight settings of 1 to 185 million cell updates (THEORY.md, Posterior)."""


def probe_points(plan: MapPlan) -> list[Index]:
    """Points whose cost tells that of the map: the middle, then the corners, or of many two opposite ones."""
    last = tuple(one - 1 for one in plan.shape)
    corners = (
        list(product(*((0, one) for one in last))) if len(last) <= _FEW_AXES else [(0,) * len(last), last]
    )
    return [tuple(one // 2 for one in last), *corners]


def foreseen(plan: MapPlan, workers: int | None = None) -> float:
    """Time [s] that the map may take on this machine, by Simpson's rule from the cost of a few points."""
    middle, *corners = (point_of(plan, index).seconds for index in probe_points(plan))
    each = (2.0 * middle + sum(corners) / len(corners)) / 3.0
    return each * int(np.prod(plan.shape, dtype=np.int64)) / min(workers or cores(), cores())


def with_intervals(plan: MapPlan, workers: int | None = None) -> tuple[float, float] | None:
    """How many times as long a point takes with its intervals, and the time [s] that the map may then take.

    Both by the shot in the middle of the map; None where that fails.
    """
    try:
        middle = plan.scenario(probe_points(plan)[0])
        solved(middle)  # what compiles or loads kernels is not timed
        began = time.perf_counter()
        updates = solved(middle).outcome.cell_updates
    except SpotdwellError:
        return None
    each = time.perf_counter() - began
    times = TIMES_SMALL if updates <= SMALL else TIMES
    return times, times * each * int(np.prod(plan.shape, dtype=np.int64)) / min(workers or cores(), cores())
