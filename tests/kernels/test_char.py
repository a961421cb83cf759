"""Pyrolysis, and char that burns off (eq. 10, 11, 14)."""

import dataclasses
import math

import pytest
from numpy.testing import assert_allclose
from scipy.integrate import solve_ivp

GAS = 8.314462618
STEP = 1e-4
VOLUME = 5e-6 * 1e-6
"""Of a cell of the slab [m3]."""


def test_conversion_follows_the_rate_and_the_heat_that_it_takes(bench, tissue):
    b = bench((tissue, 1))
    b.state.water[:] = 0.0
    b.warm(600.0).gain()
    booked = b.change(STEP)
    x, u = converted_exactly()
    # Backward Euler in one step, in which the rate halves.
    assert_allclose(b.state.conversion[0, 0], x, rtol=0.25)
    assert_allclose(600.0 - b.state.temperature[0, 0], 600.0 - u, rtol=0.25)
    assert_allclose(booked.reaction, 327.0 * 1e6 * b.state.conversion[0, 0] * VOLUME, rtol=1e-12)
    misses = [abs(converted(bench, tissue, count) - x) for count in (8, 16)]
    assert misses[1] < 0.55 * misses[0] < 0.03 * x


def converted_exactly(water=0.0):
    """Conversion and rise after STEP from 600 K, of a cell whose water stays."""

    def rates(_, y):
        x, u = y
        rate = 1e12 * math.exp(-160e3 / GAS / (310.15 + u)) * (1.0 - x)
        capacity = 327.0 * 1550.0 * (1.0 - 0.75 * x) + 4181.3 * water
        return [rate, -1e6 * 327.0 * rate / capacity]

    return solve_ivp(rates, (0.0, STEP), [0.0, 600.0], method="Radau", rtol=1e-9, atol=1e-9).y[:, -1]


def converted(bench, tissue, count, water=0.0):
    b = bench((tissue, 1))
    b.state.water[:] = water
    b.warm(600.0)
    for _ in range(count):
        b.gain()
        b.change(STEP / count)
    return b.state.conversion[0, 0]


def test_wet_tissue_pyrolyses_too_and_its_water_holds_heat(bench, tissue, removing):
    # Nothing gates it: below 300 degC its rate is negligible by itself. Steam is held back here.
    held = removing(tissue, rupture_temperature=math.inf, steam_escape_time=math.inf)
    wet, dry = converted_exactly(400.0)[0], converted_exactly()[0]
    assert wet > 1.1 * dry
    misses = [abs(converted(bench, held, count, 400.0) - wet) for count in (8, 16)]
    assert misses[1] < 0.55 * misses[0] < 0.03 * wet


def test_no_heat_pays_for_more_char_than_it_can(bench, tissue):
    b = bench((tissue, 1))
    b.state.water[:] = 0.0
    b.warm(900.0).gain()
    before = b.heat()
    booked = b.change(1.0)
    # A second at such heat would convert all; the solids hold heat for a part of it only.
    assert 0.3 < b.state.conversion[0, 0] < 0.95
    assert_allclose(b.total(booked), before, rtol=1e-9)


BURNING = 963.0
"""Rise at which a face burns back by a millimetre a second, from 37 degC [K]."""


def charred(bench, tissue, rises):
    """A slab of dry char, in which nothing else goes on."""
    slow = tissue.pyrolysis and dataclasses.replace(tissue.pyrolysis, frequency_factor=1e-9)
    b = bench((dataclasses.replace(tissue, pyrolysis=slow), len(rises)))
    b.state.water[:] = 0.0
    b.state.conversion[:] = 1.0
    return b.warm(rises)


def test_a_face_at_its_burn_off_temperature_recedes_by_a_millimetre_a_second(bench, tissue):
    b = charred(bench, tissue, [BURNING] * 3)
    b.gain()
    before = b.heat()
    booked = b.change(1e-3)
    assert b.state.floor[0] == 0
    assert_allclose(b.state.left[0], 0.8, rtol=1e-9)
    assert_allclose(b.state.front[0], 1e-6, rtol=1e-9)
    assert_allclose(booked.mass, 1090.0 * 1e-6 * 1e-6, rtol=1e-9)
    assert_allclose(b.total(booked), before, rtol=1e-12)
    # What burns is no debris.
    assert_allclose([b.state.thrown[0], b.state.debris[0]], 0.0, atol=1e-18)


def test_burning_goes_as_arrhenius_has_it(bench, tissue):
    depths = []
    for rise in (BURNING - 100.0, BURNING + 50.0):
        b = charred(bench, tissue, [rise] * 3)
        b.gain()
        b.change(1e-4)
        depths.append(b.state.front[0])
    inverse = 1.0 / (310.15 + BURNING - 100.0) - 1.0 / (310.15 + BURNING + 50.0)
    assert_allclose(depths[1] / depths[0], math.exp(2.5e5 / GAS * inverse), rtol=1e-9)


def test_it_is_the_face_s_temperature_that_counts(bench, tissue):
    # From the second centre to the first it rises by 20 K in a cell, and by half as much to the face.
    b = charred(bench, tissue, [BURNING - 10.0, BURNING - 30.0, BURNING - 30.0])
    b.gain()
    before = b.heat()
    booked = b.change(1e-3)
    assert_allclose(b.state.front[0], 1e-6, rtol=1e-9)
    # The hottest fifth has gone: the centre of the rest lies a tenth of a cell deeper.
    assert_allclose(b.state.temperature[0, 0], BURNING - 12.0, rtol=1e-12)
    assert_allclose(b.total(booked), before, rtol=1e-12)


def test_cold_char_keeps_its_face(bench, tissue):
    b = charred(bench, tissue, [400.0] * 3)
    b.gain()
    b.change(1e-2)
    assert b.state.front[0] < 1e-12


def test_hot_tissue_that_is_not_converted_stays(bench, tissue):
    b = charred(bench, dataclasses.replace(tissue, pyrolysis=None), [1100.0] * 2)
    b.gain()
    b.state.conversion[:] = 0.5
    b.change(STEP)
    assert (b.state.floor[0], b.state.left[0]) == (0, 1.0)


def test_less_than_half_a_cell_joins_the_dry_one_below(bench, tissue):
    b = charred(bench, tissue, [BURNING, BURNING, 500.0])
    b.state.conversion[0, 1] = 0.4
    b.gain()
    before = b.heat()
    booked = b.change(3e-3)
    assert b.state.floor[0] == 1
    assert_allclose(b.state.left[0], 1.4, rtol=1e-9)
    assert_allclose(b.state.front[0], 3e-6, rtol=1e-9)
    # Two micrometres of char in seven.
    assert_allclose(b.state.conversion[0, 1], (2.0 * 1.0 + 5.0 * 0.4) / 7.0, rtol=1e-9)
    assert_allclose(b.total(booked), before, rtol=1e-12)
    assert_allclose(b.state.temperature[0, 1], BURNING, rtol=1e-12)


def test_above_a_wet_cell_the_rest_goes_with_it(bench, tissue):
    b = charred(bench, tissue, [BURNING, 50.0, 40.0])
    b.state.water[0, 1:] = 763.0
    b.state.conversion[0, 1:] = 0.0
    b.gain()
    before = b.heat()
    booked = b.change(3e-3)
    assert (b.state.floor[0], b.state.left[0]) == (1, 1.0)
    assert_allclose(b.total(booked), before, rtol=1e-12)
    assert_allclose(booked.mass, 1090.0 * VOLUME, rtol=1e-12)


@pytest.mark.parametrize("step", [1e-3, 3e-3], ids=["a fifth", "all"])
def test_char_that_still_holds_water_burns_with_its_heat(bench, tissue, removing, step):
    b = charred(
        bench, removing(tissue, rupture_temperature=math.inf, steam_escape_time=math.inf), [BURNING] * 3
    )
    b.state.water[0, 0] = 80.0
    b.gain()
    before = b.heat()
    booked = b.change(step)
    assert b.state.front[0] > 0.9e-6
    assert_allclose(b.total(booked), before, rtol=1e-12)


def test_a_long_step_burns_through_several_cells(bench, tissue):
    b = charred(bench, tissue, [BURNING] * 8)
    b.gain()
    before = b.heat()
    booked = b.change(22e-3)
    assert_allclose(b.state.front[0], 22e-6, rtol=1e-9)
    assert_allclose(b.state.floor[0] + 1.0 - b.state.left[0], 4.4, rtol=1e-9)
    assert_allclose(b.total(booked), before, rtol=1e-12)


def test_several_short_steps_burn_as_deep_as_a_long_one(bench, tissue):
    b = charred(bench, tissue, [BURNING] * 8)
    for _ in range(44):
        b.gain()
        b.change(0.5e-3)
    assert_allclose(b.state.front[0], 22e-6, rtol=1e-9)
    assert 0.5 <= b.state.left[0] < 1.5
