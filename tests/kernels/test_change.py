"""Boiling, steam, char, damage, dose, blood and removal, one step at a time (eq. 7 to 14, 19, 21)."""

import dataclasses
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad, solve_ivp

from spotdwell.kernels import change
from spotdwell.model.material import Removal

GAS = 8.314462618
STEP = 1e-4


def heated(b, gain):
    """Open a step and give each cell of column 0 its gain of enthalpy [J/m3], as conduction would."""
    b.open()
    b.work.current[:] = b.work.start
    b.work.current[0] += gain
    return b


def total(b, booked):
    """Heat of the target and all that has left it [J]."""
    return b.heat() + booked[:5].sum()


def test_evaporation_books_latent_heat_and_the_heat_of_the_steam(bench, tissue):
    b = bench((tissue, 1))
    b.state.temperature[:] = 63.0
    heated(b, 0.1 * 763.0 * 2.2564e6)
    booked = b.change(STEP)
    volume = 5e-6 * 1e-6
    assert_allclose(booked[0], 76.3 * 2.2564e6 * volume, rtol=1e-12)
    assert_allclose(booked[1], 76.3 * 4181.3 * 63.0 * volume, rtol=1e-12)
    assert_allclose(b.state.water, 686.7, rtol=1e-12)
    assert_allclose(b.state.temperature, 63.0, rtol=1e-12)


def test_steam_made_evenly_leaks_away_exactly(bench, tissue):
    b = bench((tissue, 1))
    b.state.temperature[:] = 63.0
    b.state.steam[:] = 100.0
    heated(b, 10.0 * 2.2564e6)
    b.change(STEP)
    wanted = solve_ivp(lambda t, v: 10.0 / STEP - v / 2e-3, (0.0, STEP), [100.0], rtol=1e-10).y[0, -1]
    assert_allclose(b.state.steam, wanted, rtol=1e-8)


def test_a_cell_leaves_with_all_above_it_once_its_steam_reaches_the_limit(bench, tissue):
    b = bench((tissue, 4))
    b.state.temperature[:] = 63.0
    b.state.steam[0] = [0.0, 680.0, 0.0, 0.0]
    b.state.water[0, 1] = 83.0
    heated(b, np.array([0.0, 75.0 * 2.2564e6, 0.0, 0.0]))
    before = total(b, np.zeros(6)) + 75.0 * 2.2564e6 * 5e-12
    booked = b.change(STEP)
    assert b.state.floor[0] == 2
    assert_allclose(total(b, booked), before, rtol=1e-12)
    assert_allclose(booked[5], 2 * 1090.0 * 5e-12, rtol=1e-12)


def test_what_a_leaving_cell_gained_too_much_goes_to_the_next(bench, tissue):
    fast = dataclasses.replace(tissue, removal=Removal(0.5, math.inf))
    b = bench((fast, 3))
    b.state.temperature[:] = 63.0
    limit = 0.5 * 763.0 * 2.2564e6
    heated(b, np.array([1.5 * limit, 0.0, 0.0]))
    booked = b.change(STEP)
    assert b.state.floor[0] == 1
    # The first cell took what its steam needed and no more; the second evaporated with the rest.
    assert_allclose(b.state.steam[0, 1], 0.25 * 763.0, rtol=1e-9)
    assert_allclose(booked[0], 1.5 * limit * 5e-12, rtol=1e-9)


def test_a_liquid_goes_when_its_water_is_gone(bench, film, tissue):
    b = bench((film, 2), (tissue, 2))
    b.state.temperature[:] = 63.0
    latent = 997.0 * 2.2564e6
    heated(b, np.array([1.2 * latent, 0.0, 0.0, 0.0]))
    booked = b.change(STEP)
    assert b.state.floor[0] == 1
    assert_allclose(b.state.water[0, 1], 0.8 * 997.0, rtol=1e-9)
    assert_allclose(booked[3], 997.0 * 4181.3 * 63.0 * 5e-12, rtol=1e-9)


def test_conversion_follows_the_rate_and_the_heat_that_it_takes(bench, tissue):
    b = bench((tissue, 1))
    b.state.water[:] = 0.0
    b.state.temperature[:] = 450.0
    heated(b, 0.0)
    booked = b.change(STEP)

    def rates(_, y):
        x, u = y
        rate = 1e12 * math.exp(-160e3 / GAS / (310.15 + u)) * (1.0 - x)
        return [rate, -1e6 * rate / (1550.0 * (1.0 - 0.75 * x))]

    x, u = solve_ivp(rates, (0.0, STEP), [0.0, 450.0], method="Radau", rtol=1e-9, atol=1e-9).y[:, -1]
    # Backward Euler in one step, in which the rate falls to a fifth.
    assert_allclose(b.state.conversion[0, 0], x, rtol=0.25)
    assert_allclose(450.0 - b.state.temperature[0, 0], 450.0 - u, rtol=0.25)
    assert_allclose(booked[2], 327.0 * 1e6 * b.state.conversion[0, 0] * 5e-12, rtol=1e-12)
    misses = [abs(converted(bench, tissue, count) - x) for count in (8, 16)]
    assert misses[1] < 0.55 * misses[0] < 0.03 * x


def converted(bench, tissue, count):
    b = bench((tissue, 1))
    b.state.water[:] = 0.0
    b.state.temperature[:] = 450.0
    for _ in range(count):
        heated(b, 0.0)
        b.change(STEP / count)
    return b.state.conversion[0, 0]


def test_no_heat_pays_for_more_char_than_it_can(bench, tissue):
    b = bench((tissue, 1))
    b.state.water[:] = 0.0
    b.state.temperature[:] = 1500.0
    heated(b, 0.0)
    before = b.heat()
    booked = b.change(1.0)
    # A second at such heat would convert all; the solids hold heat for a part of it only.
    assert 0.3 < b.state.conversion[0, 0] < 0.95
    assert_allclose(total(b, booked), before, rtol=1e-9)


@pytest.mark.parametrize(("before", "after"), [(60.0, 62.0), (30.0, 63.0), (63.0, 63.0), (63.0, 20.0)])
def test_damage_is_exact_where_the_logarithm_of_its_rate_runs_straight(bench, tissue, before, after):
    b = bench((tissue, 1))
    b.state.temperature[:] = before
    heated(b, tissue.heat_capacity * (after - before))
    b.change(STEP)

    def rate(t):
        inverse = (1.0 - t) / (310.15 + before) + t / (310.15 + after)
        return math.exp(math.log(1.606e45) - 3.06e5 / GAS * inverse)

    assert_allclose(b.state.damage[0, 0, 0], STEP * quad(rate, 0.0, 1.0)[0], rtol=1e-7)


def test_tissue_below_40_degrees_takes_no_damage(bench, tissue):
    b = bench((tissue, 1))
    b.state.temperature[:] = 2.0
    heated(b, 0.0)
    b.change(1e3)
    assert b.state.damage[0, 0, 0] == 0.0


@pytest.mark.parametrize(("degrees", "factor"), [(45.0, 4.0), (43.0, 1.0), (42.0, 0.25)])
def test_dose_doubles_per_degree_above_43_and_falls_fourfold_below(degrees, factor):
    # Sapareto and Dewey 1984: R = 0.5 above 43 degC, 0.25 below.
    dose, rise = np.zeros(1), np.array([degrees - 37.0])
    change._dose(dose, rise, rise, 310.15, 60.0)
    assert_allclose(dose, 60.0 * factor, rtol=1e-9)


def test_blood_carries_heat_off_living_tissue_alone(bench, tissue):
    perfused = dataclasses.replace(tissue, perfusion=1e6)
    b = bench((perfused, 2))
    b.state.temperature[:] = 2.0
    b.state.damage[0, 0, 1] = 1.0
    heated(b, 0.0)
    before = b.heat()
    booked = b.change(1.0)
    assert_allclose(b.state.temperature[0], [2.0 * math.exp(-1e6 / tissue.heat_capacity), 2.0], rtol=1e-12)
    assert_allclose(total(b, booked), before, rtol=1e-12)


def burning(bench, tissue, rises):
    b = bench((tissue, len(rises)))
    b.state.water[:] = 0.0
    b.state.conversion[:] = 1.0
    b.state.temperature[0] = rises
    return heated(b, 0.0)


def test_char_burns_off_down_to_where_its_temperature_lies(bench, tissue):
    # The burn-off rise is 963 K. From 973 K at one centre to 953 K at the next it lies on the face between.
    b = burning(bench, tissue, [973.0, 953.0, 933.0])
    before = b.heat()
    booked = b.change(STEP)
    assert (b.state.floor[0], b.state.left[0]) == (1, 1.0)
    assert_allclose(total(b, booked), before, rtol=1e-12)
    assert_allclose(booked[5], 1090.0 * 5e-12, rtol=1e-12)


def test_a_third_of_a_cell_may_burn_off(bench, tissue):
    # At the exposed face it is 963 + 20/3 K, a third of the fall to the next face too hot.
    b = burning(bench, tissue, [963.0 - 10.0 / 3.0, 943.0 - 10.0 / 3.0, 900.0])
    before = b.heat()
    booked = b.change(STEP)
    assert b.state.floor[0] == 0
    assert_allclose(b.state.left[0], 2.0 / 3.0, rtol=1e-9)
    assert_allclose(b.state.front[0], 5e-6 / 3.0, rtol=1e-9)
    assert_allclose(total(b, booked), before, rtol=1e-12)


def test_hot_tissue_that_is_not_converted_stays(bench, tissue):
    b = burning(bench, dataclasses.replace(tissue, pyrolysis=None), [1100.0, 1100.0])
    b.state.conversion[:] = 0.5
    b.change(STEP)
    assert b.state.floor[0] == 0


def test_the_front_lies_where_steam_extrapolates_to_its_limit(bench, tissue):
    b = bench((tissue, 6))
    b.state.floor[0] = 2
    limit = 0.9 * 763.0
    b.state.steam[0] = limit * np.exp(-0.3 * (np.arange(6) - 1.6))
    heated(b, 0.0)
    steam = b.state.steam.copy()
    b.change(1e-12)
    assert_allclose(b.state.steam, steam, rtol=1e-9)
    # Cell centres lie at 2.5 um + 5 um k, and the profile meets the limit at k = 1.6.
    assert_allclose(b.state.front[0], 2.5e-6 + 1.6 * 5e-6, rtol=1e-6)


def test_nothing_changes_at_rest(bench, tissue):
    b = heated(bench((tissue, 3), columns="rings"), 0.0)
    booked = b.change(1.0)
    assert not booked.any()
    assert not b.state.temperature.any()
    assert not b.state.front.any()
