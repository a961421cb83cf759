"""Clock: chooses steps that meet every edge of the exposure exactly (eq. 18)."""

from __future__ import annotations

import bisect

from spotdwell.base.errors import RunError
from spotdwell.kernels.advance import even_step, meets
from spotdwell.model.problem import Problem


class Clock:
    """Time, the events ahead, and the power between them."""

    def __init__(self, problem: Problem) -> None:
        self.time = 0.0
        self._problem = problem
        exposure, ending = problem.exposure, problem.ending
        self.end = ending.longest if ending.time is None else ending.time
        marks = {0.0, self.end, *problem.save_times, *exposure.start.tolist(), *exposure.stop.tolist()}
        if problem.light is not None:
            marks.update(problem.light.arrivals.tolist())
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

    @property
    def edge(self) -> float:
        """When the beam was last switched on or off [s]."""
        return float(self._edges[bisect.bisect_right(self._edges, self.time) - 1])

    @property
    def event(self) -> float:
        """When it is next, when a line's beam comes, or when fields are to be kept [s]."""
        return float(self._events[self._next])

    def step(self, limit: float, smallest: float) -> float:
        """Length of the next step [s], as `even_step` chooses it."""
        stepping = self._problem.stepping
        return float(
            even_step(self.time, self.edge, self.event, limit, smallest, stepping.growth, stepping.largest)
        )

    def meets_event(self, step: float) -> bool:
        """Whether a `step` [s] leads onto the next event."""
        return bool(meets(self.time, step, self.event))

    def advance(self, step: float) -> None:
        """Move on by `step` [s], onto the next event exactly if it is that far."""
        if self.time + step <= self.time:
            raise collapsed(step, self.time)
        self.reach(self.event if self.meets_event(step) else self.time + step)

    def reach(self, time: float) -> None:
        """Move on to `time` [s], at most the next event."""
        self.time = time
        if time >= self.event:
            self._next += 1


def collapsed(step: float, time: float) -> RunError:
    """The error of a `step` that no longer moves `time` [s]."""
    return RunError(f"the step fell to {step:g} s at {time:g} s: the problem is too stiff to march")
