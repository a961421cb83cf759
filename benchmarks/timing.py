"""Timing: contestants by turns, so that a noisy machine hits all of them, on one core."""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

ONE_THREAD = dict.fromkeys(
    ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"), "1"
)
"""What keeps libraries to one thread; they read it as they load."""


@dataclass
class Timed:
    """Wall seconds of one contestant's runs, and what the last of them returned."""

    seconds: list[float] = field(default_factory=list)
    value: Any = None

    @property
    def median(self) -> float:
        """Median wall time [s]."""
        return statistics.median(self.seconds)


def by_turns(contestants: Mapping[str, Callable[[], Any]], repeats: int) -> dict[str, Timed]:
    """Run all contestants once untimed, then `repeats` times by turns: A, B, A, B ..."""
    for call in contestants.values():
        call()
    return by_turns_warm(contestants, repeats)


def by_turns_warm(contestants: Mapping[str, Callable[[], Any]], repeats: int) -> dict[str, Timed]:
    """The same for contestants that are warm already."""
    timed = {name: Timed() for name in contestants}
    for _ in range(repeats):
        for name, call in contestants.items():
            began = time.perf_counter()
            timed[name].value = call()
            timed[name].seconds.append(time.perf_counter() - began)
    return timed


def keep_to_one_core() -> None:
    """Pin this process to one core, where the system can; to be called before libraries start threads."""
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
