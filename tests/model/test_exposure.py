"""Exposures: every edge where it belongs, no energy lost or made."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spotdwell.model.exposure import carried, gated, steady


def test_steady_exposure_is_one_pulse():
    exposure = steady(25.0, 80e-3)
    assert (exposure.end, exposure.on_time, exposure.peak_power) == (80e-3, 80e-3, 25.0)
    assert_allclose(exposure.energy, 2.0, rtol=1e-15)


def test_gates_repeat_after_on_plus_off():
    exposure = gated(10.0, 20e-3, 480e-3, 3)
    assert_allclose(exposure.start, [0.0, 0.5, 1.0], atol=1e-15)
    assert_allclose(exposure.stop - exposure.start, 20e-3, rtol=1e-12)


def test_a_gate_cuts_off_a_pulse_that_would_outlast_it():
    exposure = carried(steady(1.0, 1.05e-3), 100.0, 0.1e-3, 1000.0)
    assert_allclose(exposure.start, [0.0, 1e-3], atol=1e-15)
    assert_allclose(exposure.stop, [0.1e-3, 1.05e-3], atol=1e-15)


def test_no_pulse_of_no_length_begins_at_the_closing_edge():
    exposure = carried(steady(1.0, 0.3), 100.0, 1e-4, 10.0)
    assert exposure.start.size == 3


@given(
    count=st.integers(1, 5),
    on=st.floats(1e-3, 1.0),
    off=st.floats(0.0, 1.0),
    duty=st.floats(0.01, 1.0),
    pulses=st.integers(1, 50),
)
def test_whole_pulses_in_every_gate_carry_duty_times_the_gate(count, on, off, duty, pulses):
    rate = pulses / on
    exposure = carried(gated(1.0, on, off, count), 40.0, duty / rate, rate)
    assert_allclose(exposure.energy, 40.0 * duty * on * count, rtol=1e-9)
    assert np.all(exposure.stop > exposure.start)
    assert np.all(exposure.start[1:] >= exposure.stop[:-1] * (1.0 - 1e-12))
