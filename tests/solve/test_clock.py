"""The clock: every edge met exactly, steps even before it (eq. 17, 18)."""

import math
from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import RunError
from spotdwell.kernels.conduct import longest_super_step, stages_for
from spotdwell.model.beam import Beam
from spotdwell.model.columns import slab
from spotdwell.model.exposure import gated
from spotdwell.model.material import Medium
from spotdwell.model.problem import Ending, Grid, Problem, Stepping
from spotdwell.model.target import Layer, Target
from spotdwell.solve.clock import Clock

MEDIUM = Medium("m", 1000.0, 0.0, 1000.0, 0.5, 0.5, 0.5, 0.0, 1e4)


def clock_of(ending=0.5, save_times=(), stepping=Stepping(), **train):  # noqa: B008 - frozen
    grid = Grid(slab(1e-6), np.array([0.0, 1e-5]), np.zeros(1, dtype=np.int64))
    target = Target((Layer(MEDIUM, 1e-5),))
    exposure = gated(**{"power": 10.0, "on_time": 20e-3, "off_time": 80e-3, "count": 3} | train)
    return Clock(
        Problem(
            target,
            grid,
            Beam(1e-5, 1e-3),
            exposure,
            ending=Ending(ending),
            save_times=save_times,
            stepping=stepping,
        )
    )


def walk(clock, limit=math.inf, smallest=1e-4):
    times, powers = [clock.time], []
    while not clock.finished:
        powers.append(clock.power)
        clock.advance(clock.step(limit, smallest))
        times.append(clock.time)
    return times, powers


def test_every_edge_save_time_and_end_is_met_exactly():
    exposure = gated(10.0, 20e-3, 80e-3, 3)
    times, _ = walk(clock_of(save_times=(0.0123,)))
    assert {*exposure.start.tolist(), *exposure.stop.tolist(), 0.0123, 0.5} <= set(times)


def test_energy_over_the_steps_is_that_of_the_exposure():
    times, powers = walk(clock_of())
    sent = sum(p * (b - a) for p, a, b in zip(powers, times[:-1], times[1:], strict=True))
    assert_allclose(sent, 0.6, rtol=1e-12)


def test_no_pulse_falls_between_two_steps_however_short():
    times, powers = walk(clock_of(on_time=1e-7, off_time=0.1, count=3))
    sent = sum(p * (b - a) for p, a, b in zip(powers, times[:-1], times[1:], strict=True))
    assert_allclose(sent, 3e-6, rtol=1e-6)


def test_steps_grow_with_the_time_since_the_last_edge():
    times, _ = walk(clock_of(ending=10.0, count=1))
    after = [(a, b - a) for a, b in pairwise(times) if a >= 20e-3]
    assert all(step <= 1e-4 + 0.3 * (time - 20e-3) + 1e-12 for time, step in after)
    assert after[-1][1] > 0.5


def test_it_is_known_beforehand_which_step_meets_an_event():
    clock, exposure = clock_of(save_times=(0.0123,)), gated(10.0, 20e-3, 80e-3, 3)
    marks, met = {*exposure.start.tolist(), *exposure.stop.tolist(), 0.0123, 0.5} - {0.0}, set()
    while not clock.finished:
        step = clock.step(3e-3, 1e-4)
        foreseen = clock.meets_event(step)
        clock.advance(step)
        assert foreseen == (clock.time in marks), clock.time
        met |= {clock.time} if foreseen else set()
    assert met == marks


def test_a_step_that_falls_short_meets_no_event():
    clock = clock_of()
    assert not clock.meets_event(19.9e-3)
    assert clock.meets_event(20e-3)
    assert clock.meets_event(21e-3)


def test_steps_are_even_before_an_edge():
    times, _ = walk(clock_of(), limit=3e-3)
    last = [b - a for a, b in pairwise(times) if 15e-3 < a < 19.9e-3]
    assert max(last) / min(last) < 1.01


def test_asked_limits_are_kept():
    times, _ = walk(clock_of(stepping=Stepping(largest=1e-3)))
    assert max(b - a for a, b in pairwise(times)) <= 1e-3 * (1.0 + 1e-9)


@pytest.mark.parametrize("ratio", [0.1, 1.0, 2.4, 2.6, 50.0, 2500.0])
def test_stages_are_odd_and_enough(ratio):
    stages = stages_for(ratio, 1.0)
    assert stages % 2 == 1
    # Meyer, Balsara and Aslam 2014: tau <= tau_explicit (s2 + s - 2) / 4.
    assert ratio <= (stages**2 + stages - 2) / 4.0
    assert stages == 3 or ratio > ((stages - 2) ** 2 + stages - 4) / 4.0


def test_the_longest_super_step_takes_the_most_stages():
    assert stages_for(longest_super_step(1.0), 1.0) == 401


def test_a_step_that_has_collapsed_fails_loudly():
    clock = clock_of()
    clock.advance(1e-3)
    with pytest.raises(RunError, match="too stiff"):
        clock.advance(1e-20)
