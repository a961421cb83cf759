"""Steam that escapes from superheated cells, and liquids that boil away (eq. 7, 8)."""

import dataclasses
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import solve_ivp

STEP = 1e-4
ESCAPE = 2e-3
LATENT = 2.2564e6
BOILING = 63.0
"""Rise at which water boils, from 37 degC [K]."""
VOLUME = 5e-6 * 1e-6
"""Of a cell of the slab [m3]."""


@pytest.fixture
def soaked(tissue, removing):
    """Tissue that only boils: it neither ruptures nor chars."""
    return dataclasses.replace(removing(tissue, rupture_temperature=math.inf), pyrolysis=None)


def superheat(b, k=0):
    """Heat of a solid cell above boiling [J/m3]."""
    return (327.0 * 1550.0 + 4181.3 * b.state.water[0, k]) * (b.state.temperature[0, k] - BOILING)


def escaping(before, gain, step, water, escape=ESCAPE):
    """Superheat and water after a step by eq. 8, with heat that comes evenly and pieces met by events."""

    def rates(t, y):
        lost = min(max(y[0], 0.0), y[1] * LATENT) / escape
        return [gain / step - lost, -lost / LATENT]

    found = solve_ivp(rates, (0.0, step), [before, water], rtol=1e-10, atol=1e-6, max_step=step / 400)
    return found.y[:, -1]


@pytest.mark.parametrize("times", [0.05, 1.0, 8.0])
@pytest.mark.parametrize(
    ("first", "gain"),
    [(-20.0, 60.0), (0.0, 40.0), (50.0, 40.0), (50.0, 0.0), (50.0, -20.0), (30.0, -45.0), (-5.0, -10.0)],
    ids=["cold start", "at boiling", "hot start", "held", "cooling", "through boiling", "never hot"],
)
def test_steam_of_evenly_heated_cells_escapes_exactly(bench, tissue, soaked, first, gain, times):
    b = bench((soaked, 1))
    full, step = tissue.heat_capacity, times * ESCAPE
    b.warm(BOILING + first)
    b.gain(full * gain)
    booked = b.change(step)
    heat, water = escaping(full * first, full * gain, step, 763.0)
    # The integrator's own error at each switch is some 1e-6 of the heat.
    assert_allclose(superheat(b), heat, atol=1e-5 * full * 60.0)
    assert_allclose(763.0 - b.state.water[0, 0], 763.0 - water, atol=1e-5 * full * 60.0 / LATENT)
    assert_allclose(
        booked.latent, (763.0 - b.state.water[0, 0]) * LATENT * VOLUME, atol=1e-12 * full * VOLUME
    )


def test_escaping_steam_books_latent_heat_and_its_own_and_nothing_is_lost(bench, tissue):
    b = bench((tissue, 2))
    b.warm([150.0, 40.0])
    b.gain()
    before = b.heat()
    booked = b.change(STEP)
    gone = 763.0 - b.state.water[0, 0]
    assert_allclose(gone, tissue.heat_capacity * 87.0 * -math.expm1(-0.05) / LATENT, rtol=1e-12)
    assert_allclose(booked.latent, gone * VOLUME * LATENT, rtol=1e-12)
    assert_allclose(booked.vented, gone * VOLUME * 4181.3 * BOILING, rtol=1e-12)
    assert_allclose(b.total(booked), before, rtol=1e-13)
    assert b.state.water[0, 1] == 763.0


def test_no_more_steam_escapes_than_there_is_water_for(bench, soaked):
    b = bench((soaked, 1))
    b.state.water[:] = 50.0
    # 300 K above boiling hold three times the latent heat of 50 kg/m3 or so, all through the step.
    b.warm(BOILING + 300.0)
    first = superheat(b)
    assert first > 1.5 * 50.0 * LATENT
    b.gain()
    b.change(ESCAPE)
    heat, water = escaping(first, 0.0, ESCAPE, 50.0)
    assert_allclose(b.state.water[0, 0], water, rtol=1e-6)
    assert_allclose(b.state.water[0, 0], 50.0 * math.exp(-1.0), rtol=1e-12)
    assert_allclose(superheat(b), heat, rtol=1e-6)


def test_a_trace_of_water_goes_at_once(bench, soaked):
    b = bench((soaked, 1))
    b.state.water[:] = 1.01e-3 * 763.0
    b.warm(BOILING + 100.0)
    b.gain()
    before = b.heat()
    booked = b.change(0.05 * ESCAPE)
    assert b.state.water[0, 0] == 0.0
    assert_allclose(b.total(booked), before, rtol=1e-13)


def test_steam_that_nothing_holds_escapes_at_once(bench, soaked, removing):
    b = bench((removing(soaked, steam_escape_time=0.0), 1))
    b.warm(BOILING)
    b.gain(0.1 * 763.0 * LATENT)
    b.change(STEP)
    assert_allclose(b.state.temperature, BOILING, rtol=1e-12)
    assert_allclose(b.state.water, 0.9 * 763.0, rtol=1e-12)


def test_a_liquid_boils_at_once_at_its_boiling_point(bench, film):
    b = bench((film, 1))
    b.warm(BOILING - 10.0)
    b.gain(997.0 * (0.2 * LATENT + 4181.3 * 10.0))
    booked = b.change(STEP)
    assert_allclose(b.state.temperature, BOILING, rtol=1e-12)
    assert_allclose(b.state.water, 0.8 * 997.0, rtol=1e-12)
    assert_allclose(booked.latent, 0.2 * 997.0 * LATENT * VOLUME, rtol=1e-12)


def test_a_liquid_goes_when_its_water_is_gone(bench, film, tissue):
    b = bench((film, 2), (tissue, 2))
    b.warm(BOILING)
    latent = 997.0 * LATENT
    b.gain(np.array([1.2 * latent, 0.0, 0.0, 0.0]))
    booked = b.change(STEP)
    assert b.state.floor[0] == 1
    assert_allclose(b.state.water[0, 1], 0.8 * 997.0, rtol=1e-9)
    assert_allclose(booked.carried, 997.0 * 4181.3 * BOILING * VOLUME, rtol=1e-9)
    # What boils away is neither film nor debris.
    assert (b.state.thrown[0], b.state.debris[0]) == (0.0, 0.0)
