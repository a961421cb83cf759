"""Cells thrown out in a step, the film and debris that they leave, and a step at rest (eq. 9, 13)."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

STEP = 1e-4
LATENT = 2.2564e6
RUPTURE = 203.0
"""Rise at which the tissue ruptures [K]."""
VOLUME = 5e-6 * 1e-6
"""Of a cell of the slab [m3]."""


def test_an_exposed_cell_is_thrown_out_at_its_rupture_temperature(bench, tissue):
    b = bench((tissue, 4))
    b.warm([RUPTURE + 1.0, 150.0, 100.0, 50.0])
    b.gain()
    before = b.heat()
    booked = b.change(1e-7)
    assert b.state.floor[0] == 1
    assert_allclose(b.total(booked), before, rtol=1e-12)
    assert_allclose(booked.mass, 1090.0 * VOLUME, rtol=1e-12)
    # It leaves as it was at the limit, but for the steam of a tenth of a microsecond.
    assert_allclose(booked.carried, tissue.heat_capacity * RUPTURE * VOLUME, rtol=1e-4)


def test_just_below_its_rupture_temperature_it_stays(bench, tissue):
    b = bench((tissue, 2)).warm([RUPTURE - 0.1, 0.0])
    b.gain()
    b.change(1e-7)
    assert b.state.floor[0] == 0


def test_only_the_exposed_face_ruptures(bench, tissue):
    b = bench((tissue, 4)).warm([150.0, RUPTURE + 20.0, RUPTURE + 20.0, 50.0])
    b.gain()
    b.change(1e-7)
    assert b.state.floor[0] == 0
    assert b.state.temperature[0, 1] > RUPTURE


@pytest.mark.parametrize(("share", "leaves"), [(0.61, True), (0.59, False)])
def test_too_little_water_throws_nothing_out(bench, tissue, share, leaves):
    b = bench((tissue, 2))
    b.state.water[0, 0] = share * 763.0
    b.warm([RUPTURE + 5.0, 0.0])
    b.gain()
    b.change(1e-7)
    assert bool(b.state.floor[0] == 1) is leaves


def test_water_that_would_flash_is_needed_whatever_the_share(bench, tissue, removing):
    none = removing(tissue, rupture_water_share=0.0)
    flash = 327.0 * 1550.0 * 140.0 / (LATENT - 4181.3 * 140.0)
    assert_allclose(none.flash_water, flash, rtol=1e-12)
    for water, floor in ((1.01 * flash, 1), (0.99 * flash, 0)):
        b = bench((none, 2))
        b.state.water[0, 0] = water
        b.warm([RUPTURE + 5.0, 0.0])
        b.gain()
        b.change(1e-7)
        assert b.state.floor[0] == floor


def test_dried_tissue_vents_and_is_not_lifted(bench, tissue):
    b = bench((tissue, 4))
    b.state.water[0, 0] = 0.0
    b.warm([300.0, RUPTURE + 30.0, 100.0, 50.0])
    b.gain()
    before = b.heat()
    booked = b.change(STEP)
    assert b.state.floor[0] == 0
    assert b.state.water[0, 1] < 763.0
    assert_allclose(b.total(booked), before, rtol=1e-12)


def test_liquid_above_what_ruptures_is_lifted(bench, film, tissue):
    b = bench((film, 2), (tissue, 3)).warm([20.0, 40.0, RUPTURE + 1.0, 50.0, 20.0])
    b.gain()
    before = b.heat()
    booked = b.change(1e-7)
    assert b.state.floor[0] == 3
    assert_allclose(b.total(booked), before, rtol=1e-12)
    assert_allclose(booked.mass, (2 * 997.0 + 1090.0) * VOLUME, rtol=1e-12)


def test_what_a_leaving_cell_gained_beyond_rupture_goes_to_the_next(bench, tissue, removing):
    held = removing(tissue, steam_escape_time=math.inf)
    b = bench((held, 4)).warm([RUPTURE - 3.0, RUPTURE - 10.0, 50.0, 0.0])
    full = held.heat_capacity
    b.gain(np.array([28.0 * full, 0.0, 0.0, 0.0]))
    booked = b.change(1e-7)
    # 25 K too many: the second needs ten of them to leave with it, the third keeps fifteen.
    assert b.state.floor[0] == 2
    assert_allclose(b.state.temperature[0, 2:], [65.0, 0.0], rtol=1e-12, atol=1e-12)
    assert_allclose(booked.carried, 2.0 * full * RUPTURE * VOLUME, rtol=1e-12)


def test_rupture_with_escape_and_surplus_closes_the_ledger(bench, tissue):
    b = bench((tissue, 6)).warm(np.linspace(200.0, 20.0, 6))
    before = b.heat()
    b.gain(tissue.heat_capacity * np.array([90.0, 60.0, 30.0, 10.0, 0.0, 0.0]))
    booked = b.change(STEP)
    assert b.state.floor[0] >= 2
    assert_allclose(b.total(booked), before + tissue.heat_capacity * 190.0 * VOLUME, rtol=1e-12)


def test_each_depth_thrown_out_adds_film_and_debris(bench, tissue, removing):
    b = bench((removing(tissue, debris_heat=3e9), 3)).warm([RUPTURE + 1.0, 150.0, 100.0])
    b.gain()
    b.change(1e-7)
    assert 2.5e-6 <= b.state.front[0] <= 7.5e-6
    assert b.state.thrown[0] == b.state.front[0]
    assert_allclose(b.state.debris[0], 3e9 * b.state.front[0], rtol=1e-12)
    assert_allclose(b.moved, b.state.front[0] / 5e-6, rtol=1e-12)


def test_between_pulses_film_and_debris_fade(bench, tissue, removing):
    b = bench((removing(tissue, film_thickness=30e-6, film_growth=0.2, debris_heat=3e9), 3))
    b.state.thrown[0], b.state.debris[0], b.state.paid[0] = 40e-6, 50.0, 1e4
    b.rest(2e-4)
    # A film sets as it cools through, in thickness^2 / 4 alpha: 1.7 ms.
    rate = 4.0 * 0.46 / tissue.heat_capacity / 30e-6**2
    assert_allclose(b.state.thrown[0], 40e-6 * math.exp(-2e-4 * rate), rtol=1e-12)
    assert_allclose(b.state.debris[0], 50.0 * math.exp(-2.0), rtol=1e-12)
    assert b.state.paid[0] == 0.0


def test_debris_that_took_too_much_owes_nothing_back(bench, tissue):
    b = bench((tissue, 2))
    b.state.debris[0] = -1.0
    b.rest(1e-5)
    assert b.state.debris[0] == 0.0


def test_nothing_changes_at_rest(bench, tissue):
    b = bench((tissue, 3), columns="rings").gain()
    booked = b.change(1.0)
    assert not any(vars(booked).values())
    assert not b.state.temperature.any()
    assert not b.state.front.any()
