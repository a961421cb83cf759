"""Damage, thermal dose and blood (eq. 12, 21)."""

import dataclasses
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from spotdwell.kernels import damage
from spotdwell.kernels.entry import called

GAS = 8.314462618
STEP = 1e-4


@pytest.mark.parametrize(("before", "after"), [(60.0, 62.0), (30.0, 63.0), (63.0, 63.0), (63.0, 20.0)])
def test_damage_is_exact_where_the_logarithm_of_its_rate_runs_straight(bench, tissue, before, after):
    b = bench((tissue, 1)).warm(before)
    b.gain(tissue.heat_capacity * (after - before))
    b.change(STEP)

    def rate(t):
        inverse = (1.0 - t) / (310.15 + before) + t / (310.15 + after)
        return math.exp(math.log(1.606e45) - 3.06e5 / GAS * inverse)

    assert_allclose(b.state.damage[0, 0, 0], STEP * quad(rate, 0.0, 1.0)[0], rtol=1e-7)


def damaged(bench, tissue, every, steps=256):
    """Omega after a rise to 90 degC and a fall, with damage added up after so many steps."""
    b, waited = bench((tissue, 1)), 0
    rises = 53.0 * np.sin(np.pi * np.arange(steps + 1) / steps) ** 2
    for gain in np.diff(rises):
        b.gain(tissue.heat_capacity * gain)
        waited += 1
        due = waited == every
        b.change(STEP, waited * STEP if due else 0.0)
        waited = 0 if due else waited
    return b.state.damage[0, 0, 0]


def test_damage_added_up_every_fourth_step_is_close_to_that_of_every_step(bench, tissue):
    each = damaged(bench, tissue, 1)
    errors = [abs(damaged(bench, tissue, every) / each - 1.0) for every in (4, 8)]
    # A rate's logarithm runs straight but for the curve of the course of heat: 0.6 % where four steps
    # bring up to 2.6 K, and four times as much with twice the time between.
    assert 0.0 < errors[0] < 0.01
    assert 3.0 < errors[1] / errors[0] < 5.0


def test_damage_waits_until_it_is_due(bench, tissue):
    b = bench((tissue, 1)).warm(55.0)
    b.gain()
    b.change(STEP, 0.0)
    assert b.state.damage[0, 0, 0] == 0.0
    b.gain()
    b.change(STEP, 2.0 * STEP)
    rate = math.exp(math.log(1.606e45) - 3.06e5 / GAS / 365.15)
    assert_allclose(b.state.damage[0, 0, 0], 2.0 * STEP * rate, rtol=1e-7)


def test_tissue_below_40_degrees_takes_no_damage(bench, tissue):
    b = bench((tissue, 1)).warm(2.0)
    b.gain()
    b.change(1e3)
    assert b.state.damage[0, 0, 0] == 0.0


@pytest.mark.parametrize(("degrees", "factor"), [(45.0, 4.0), (43.0, 1.0), (42.0, 0.25)])
def test_dose_doubles_per_degree_above_43_and_falls_fourfold_below(degrees, factor):
    # Sapareto and Dewey 1984: R = 0.5 above 43 degC, 0.25 below.
    dose, rise = np.zeros(1), np.array([degrees - 37.0])
    called(damage.add_dose)(dose, rise, rise, 310.15, 60.0)
    assert_allclose(dose, 60.0 * factor, rtol=1e-9)


def test_blood_carries_heat_off_living_tissue_alone(bench, tissue):
    b = bench((dataclasses.replace(tissue, perfusion=1e6), 2)).warm(2.0)
    b.state.damage[0, 0, 1] = 1.0
    b.gain()
    before = b.heat()
    booked = b.change(1.0)
    assert_allclose(b.state.temperature[0], [2.0 * math.exp(-1e6 / tissue.heat_capacity), 2.0], rtol=1e-12)
    assert_allclose(b.total(booked), before, rtol=1e-12)
