"""Clock: chooses steps that meet every edge of the exposure exactly (eq. 18)."""

from __future__ import annotations

import bisect
import math

from spotdwell.base.errors import RunError
from spotdwell.model.problem import Problem
from spotdwell.solve.state import MOST_STAGES


class Clock:
    """Time, the events ahead, and the power between them."""

    def __init__(self, problem: Problem) -> None:
        self.time = 0.0
        self._problem = problem
        exposure, ending = problem.exposure, problem.ending
        self.end = ending.longest if ending.time is None else ending.time
        marks = {0.0, self.end, *problem.save_times, *exposure.start.tolist(), *exposure.stop.tolist()}
        self._events = sorted(mark for mark in marks if 0.0 <= mark <= self.end)
        self._edges = sorted({0.0, *exposure.start.tolist(), *exposure.stop.tolist()})
        self._next = 1

    @property
    def power(self) -> float:
        """Power of the beam from now until the next event [W]."""
        exposure = self._problem.exposure
        pulse = bisect.bisect_right(exposure.start, self.time) - 1
        if pulse < 0 or self.time >= exposure.stop[pulse]:
            return 0.0
        return float(exposure.power[pulse])

    @property
    def finished(self) -> bool:
        """Whether the last event is reached."""
        return self._next >= len(self._events)

    def step(self, limit: float, smallest: float) -> float:
        """Length of the next step [s]: at most `limit`, and even with those that follow until the next event.

        `smallest` is the length with which steps begin after an edge.
        """
        stepping = self._problem.stepping
        edge = self._edges[bisect.bisect_right(self._edges, self.time) - 1]
        longest = min(limit, smallest + stepping.growth * (self.time - edge), stepping.largest)
        left = self._events[self._next] - self.time
        return float(left / max(1, math.ceil(left / longest * (1.0 - 1e-9))))

    def meets_event(self, step: float) -> bool:
        """Whether a `step` [s] leads onto the next event."""
        return bool(self.time + step >= self._events[self._next] - 1e-9 * step)

    def advance(self, step: float) -> None:
        """Move on by `step` [s], onto the next event exactly if it is that far."""
        after = self.time + step
        if after <= self.time:
            raise RunError(
                f"the step fell to {step:g} s at {self.time:g} s: the problem is too stiff to march"
            )
        if self.meets_event(step):
            self.time = self._events[self._next]
            self._next += 1
        else:
            self.time = after


def stages_for(step: float, explicit: float) -> int:
    """Least odd number of RKL2 stages that is stable over `step` with an `explicit` limit [s] (eq. 17)."""
    stages = math.ceil(0.5 * (math.sqrt(9.0 + 16.0 * step / explicit) - 1.0))
    return max(3, stages + 1 - stages % 2)


def longest_super_step(explicit: float) -> float:
    """Longest step that the largest number of stages can take [s]."""
    s = MOST_STAGES
    return explicit * (s * s + s - 2) / 4.0
