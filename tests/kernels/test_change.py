"""Steam, rupture, char, damage, dose, blood and burn-off, one step at a time (eq. 7 to 14, 19, 21)."""

import dataclasses
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad, solve_ivp

from spotdwell.kernels import damage
from spotdwell.kernels.compiled import called

GAS = 8.314462618
STEP = 1e-4
ESCAPE = 2e-3
LATENT = 2.2564e6
BOILING = 63.0
"""Rise at which water boils, from 37 degC [K]."""
RUPTURE = 203.0
VOLUME = 5e-6 * 1e-6
"""Of a cell of the slab [m3]."""


def total(b, booked):
    """Heat of the target and all that has left it [J]."""
    return b.heat() + booked.heat


def removing(medium, **values):
    """`medium` with other values of its removal."""
    return dataclasses.replace(medium, removal=dataclasses.replace(medium.removal, **values))


def capacity(water, solid=327.0 * 1550.0):
    """Of a solid with `water` [J/m3/K]."""
    return solid + 4181.3 * water


def soaked(tissue, **removal):
    """Tissue that only boils: it neither ruptures nor chars."""
    medium = removing(tissue, rupture_temperature=math.inf, **removal)
    return dataclasses.replace(medium, pyrolysis=None)


def superheat(b, k=0):
    """Heat of a solid cell above boiling [J/m3]."""
    return capacity(b.state.water[0, k]) * (b.state.temperature[0, k] - BOILING)


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
def test_steam_of_evenly_heated_cells_escapes_exactly(bench, tissue, first, gain, times):
    b = bench((soaked(tissue), 1))
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
    assert_allclose(total(b, booked), before, rtol=1e-13)
    assert b.state.water[0, 1] == 763.0


def test_no_more_steam_escapes_than_there_is_water_for(bench, tissue):
    b = bench((soaked(tissue), 1))
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


def test_a_trace_of_water_goes_at_once(bench, tissue):
    b = bench((soaked(tissue), 1))
    b.state.water[:] = 1.01e-3 * 763.0
    b.warm(BOILING + 100.0)
    b.gain()
    before = b.heat()
    booked = b.change(0.05 * ESCAPE)
    assert b.state.water[0, 0] == 0.0
    assert_allclose(total(b, booked), before, rtol=1e-13)


def test_steam_that_nothing_holds_escapes_at_once(bench, tissue):
    b = bench((soaked(tissue, steam_escape_time=0.0), 1))
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


def test_an_exposed_cell_is_thrown_out_at_its_rupture_temperature(bench, tissue):
    b = bench((tissue, 4))
    b.warm([RUPTURE + 1.0, 150.0, 100.0, 50.0])
    b.gain()
    before = b.heat()
    booked = b.change(1e-7)
    assert b.state.floor[0] == 1
    assert_allclose(total(b, booked), before, rtol=1e-12)
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


def test_water_that_would_flash_is_needed_whatever_the_share(bench, tissue):
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
    assert_allclose(total(b, booked), before, rtol=1e-12)


def test_liquid_above_what_ruptures_is_lifted(bench, film, tissue):
    b = bench((film, 2), (tissue, 3)).warm([20.0, 40.0, RUPTURE + 1.0, 50.0, 20.0])
    b.gain()
    before = b.heat()
    booked = b.change(1e-7)
    assert b.state.floor[0] == 3
    assert_allclose(total(b, booked), before, rtol=1e-12)
    assert_allclose(booked.mass, (2 * 997.0 + 1090.0) * VOLUME, rtol=1e-12)


def test_what_a_leaving_cell_gained_beyond_rupture_goes_to_the_next(bench, tissue):
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
    assert_allclose(total(b, booked), before + tissue.heat_capacity * 190.0 * VOLUME, rtol=1e-12)


def test_each_depth_thrown_out_adds_film_and_debris(bench, tissue):
    b = bench((removing(tissue, debris_heat=3e9), 3)).warm([RUPTURE + 1.0, 150.0, 100.0])
    b.gain()
    b.change(1e-7)
    assert 2.5e-6 <= b.state.front[0] <= 7.5e-6
    assert b.state.thrown[0] == b.state.front[0]
    assert_allclose(b.state.debris[0], 3e9 * b.state.front[0], rtol=1e-12)
    assert_allclose(b.moved, b.state.front[0] / 5e-6, rtol=1e-12)


def test_between_pulses_film_and_debris_fade(bench, tissue):
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
        return [rate, -1e6 * 327.0 * rate / capacity(water, 327.0 * 1550.0 * (1.0 - 0.75 * x))]

    return solve_ivp(rates, (0.0, STEP), [0.0, 600.0], method="Radau", rtol=1e-9, atol=1e-9).y[:, -1]


def converted(bench, tissue, count, water=0.0):
    b = bench((tissue, 1))
    b.state.water[:] = water
    b.warm(600.0)
    for _ in range(count):
        b.gain()
        b.change(STEP / count)
    return b.state.conversion[0, 0]


def test_wet_tissue_pyrolyses_too_and_its_water_holds_heat(bench, tissue):
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
    assert_allclose(total(b, booked), before, rtol=1e-9)


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
    assert_allclose(total(b, booked), before, rtol=1e-12)


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
    assert_allclose(total(b, booked), before, rtol=1e-12)
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
    assert_allclose(total(b, booked), before, rtol=1e-12)


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
    assert_allclose(total(b, booked), before, rtol=1e-12)
    assert_allclose(b.state.temperature[0, 1], BURNING, rtol=1e-12)


def test_above_a_wet_cell_the_rest_goes_with_it(bench, tissue):
    b = charred(bench, tissue, [BURNING, 50.0, 40.0])
    b.state.water[0, 1:] = 763.0
    b.state.conversion[0, 1:] = 0.0
    b.gain()
    before = b.heat()
    booked = b.change(3e-3)
    assert (b.state.floor[0], b.state.left[0]) == (1, 1.0)
    assert_allclose(total(b, booked), before, rtol=1e-12)
    assert_allclose(booked.mass, 1090.0 * VOLUME, rtol=1e-12)


@pytest.mark.parametrize("step", [1e-3, 3e-3], ids=["a fifth", "all"])
def test_char_that_still_holds_water_burns_with_its_heat(bench, tissue, step):
    b = charred(
        bench, removing(tissue, rupture_temperature=math.inf, steam_escape_time=math.inf), [BURNING] * 3
    )
    b.state.water[0, 0] = 80.0
    b.gain()
    before = b.heat()
    booked = b.change(step)
    assert b.state.front[0] > 0.9e-6
    assert_allclose(total(b, booked), before, rtol=1e-12)


def test_a_long_step_burns_through_several_cells(bench, tissue):
    b = charred(bench, tissue, [BURNING] * 8)
    b.gain()
    before = b.heat()
    booked = b.change(22e-3)
    assert_allclose(b.state.front[0], 22e-6, rtol=1e-9)
    assert_allclose(b.state.floor[0] + 1.0 - b.state.left[0], 4.4, rtol=1e-9)
    assert_allclose(total(b, booked), before, rtol=1e-12)


def test_several_short_steps_burn_as_deep_as_a_long_one(bench, tissue):
    b = charred(bench, tissue, [BURNING] * 8)
    for _ in range(44):
        b.gain()
        b.change(0.5e-3)
    assert_allclose(b.state.front[0], 22e-6, rtol=1e-9)
    assert 0.5 <= b.state.left[0] < 1.5


def test_the_front_lies_where_the_rise_extrapolates_to_rupture(bench, tissue):
    b = bench((tissue, 6))
    b.state.floor[0] = 2
    b.warm(RUPTURE * np.exp(-0.3 * (np.arange(6) - 1.6))).gain()
    b.change(1e-12)
    # Cell centres lie at 2.5 um + 5 um k, and the profile meets the limit at k = 1.6.
    assert_allclose(b.state.front[0], 2.5e-6 + 1.6 * 5e-6, rtol=1e-6)


def test_the_front_stays_near_the_cell_that_left_last(bench, tissue):
    b = bench((tissue, 6))
    b.state.floor[0] = 2
    b.warm(RUPTURE * np.exp(-0.3 * (np.arange(6) + 4.0))).gain()
    b.change(1e-12)
    assert_allclose(b.state.front[0], 7.5e-6, rtol=1e-9)


@pytest.mark.parametrize("water", [0.0, 300.0])
def test_the_front_above_tissue_that_cannot_rupture_is_a_cell_s_edge(bench, tissue, water):
    b = bench((tissue, 6))
    b.state.floor[0] = 2
    b.state.water[0, 2] = water
    b.warm(RUPTURE * np.exp(-0.3 * (np.arange(6) - 1.6))).gain()
    b.change(1e-12)
    assert_allclose(b.state.front[0], 10e-6, rtol=1e-12)


def test_the_front_in_a_liquid_lies_where_its_water_extrapolates_to_none(bench, film):
    b = bench((film, 6))
    b.state.floor[0] = 2
    b.state.water[0] = 997.0 * (1.0 - np.minimum(np.exp(-0.3 * (np.arange(6) - 1.6)), 1.0))
    b.warm(0.0).gain()
    b.change(1e-12)
    assert_allclose(b.state.front[0], 2.5e-6 + 1.6 * 5e-6, rtol=1e-6)


def test_the_front_at_a_new_layer_is_its_edge(bench, film, tissue):
    b = bench((film, 2), (tissue, 3))
    b.state.floor[0] = 2
    b.warm([0.0, 0.0, 150.0, 100.0, 50.0]).gain()
    b.change(1e-12)
    assert_allclose(b.state.front[0], 10e-6, rtol=1e-12)


def test_nothing_changes_at_rest(bench, tissue):
    b = bench((tissue, 3), columns="rings").gain()
    booked = b.change(1.0)
    assert not any(vars(booked).values())
    assert not b.state.temperature.any()
    assert not b.state.front.any()
