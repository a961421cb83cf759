"""Absorption: Beer and Lambert's law per cell, and every watt accounted for (eq. 4, 5, 6)."""

import dataclasses

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.kernels import absorb
from spotdwell.kernels.entry import called
from spotdwell.kernels.layout import Falling
from spotdwell.kernels.slots import Term

POWER = np.array([2.0, 1.0, 0.0])


def absorbed(bench):
    """Power taken by each column [W]."""
    return bench.work.source @ bench.mesh.cell * bench.mesh.area


def coefficient(bench, power=1.0):
    """Absorption coefficient of a slab's floor cell, from what it takes of the `power` on it [1/m]."""
    k = bench.state.floor[0]
    share = bench.work.source[0, k] * bench.mesh.cell[k] * bench.mesh.area[0] / power
    return -np.log1p(-share) / (bench.mesh.cell[k] * bench.state.left[0])


def test_each_cell_takes_its_share_of_what_reaches_it(bench, dry):
    b = bench((dry, 8))
    b.shine([3.0])
    depth = np.arange(9) * 5e-6
    wanted = 3.0 / 1e-6 * -np.diff(np.exp(-5e4 * depth)) / 5e-6
    assert_allclose(b.work.source[0], wanted, rtol=1e-12)


def test_no_watt_is_lost_between_plume_face_target_and_back(bench, tissue):
    shiny = dataclasses.replace(tissue, reflectance=0.1)
    b = bench((shiny, 4), columns="rings")
    (reflected, plume, transmitted), _ = b.shine(POWER, transmittance=0.8)
    assert_allclose(plume, 0.2 * 3.0, rtol=1e-14)
    assert_allclose(reflected, 0.1 * 0.8 * 3.0, rtol=1e-14)
    assert_allclose(absorbed(b).sum() + reflected + plume + transmitted, 3.0, rtol=1e-14)
    assert transmitted > 0.0
    assert absorbed(b)[2] == 0.0


def test_a_perforated_column_lets_its_beam_through(bench, tissue):
    b = bench((tissue, 4), columns="rings")
    b.state.floor[0] = 4
    (reflected, _, transmitted), _ = b.shine([2.0, 0.0, 0.0])
    assert (reflected, transmitted) == (0.0, 2.0)


def test_absorption_begins_at_the_floor(bench, dry):
    b = bench((dry, 6))
    b.state.floor[0] = 2
    b.shine([1.0])
    assert_allclose(b.work.source[0, :2], 0.0)
    assert_allclose(b.work.source[0, 2], 1e6 * -np.expm1(-0.25) / 5e-6, rtol=1e-12)


@pytest.mark.parametrize("left", [0.5, 1.4])
def test_a_cell_takes_by_the_height_that_burning_has_left_of_it(bench, dry, left):
    b = bench((dry, 6))
    b.state.left[0] = left
    b.shine([1.0])
    assert_allclose(b.work.source[0, 0], 1e6 * -np.expm1(-0.25 * left) / 5e-6, rtol=1e-12)


def test_dried_tissue_absorbs_with_its_solids_alone(bench, tissue):
    b = bench((tissue, 3))
    b.state.water[0, 0] = 0.0
    b.shine([1.0])
    assert_allclose(b.work.source[0, 0], 1e6 * -np.expm1(-1e4 * 5e-6) / 5e-6, rtol=1e-12)


@pytest.mark.parametrize("depth", [1e-7, 1e-3, 0.05, 0.5, 2.0, 8.0, 11.0])
def test_shares_by_doubling_are_those_of_the_exponential(bench, tissue, depth):
    # A dried cell takes the way of changed ones, by arithmetic alone. From 11.5 on the cell gets the rest.
    thin = dataclasses.replace(tissue, absorption_coefficient_solid=depth / 5e-6)
    b = bench((thin, 2))
    b.state.water[0, 0] = 0.0
    b.shine([1.0])
    # Round-off of 24 products; the series itself ends at 1e-16.
    assert_allclose(b.work.source[0, 0] * 5e-6 * 1e-6, -np.expm1(-depth), rtol=1e-12)


def test_changed_and_untouched_cells_of_one_absorption_take_the_same(bench, tissue):
    b = bench((tissue, 40))
    b.shine([1.0])
    plain = b.work.source.copy()
    sloped = dataclasses.replace(tissue, absorption_slope=1e-15)
    c = bench((sloped, 40))
    c.shine([1.0])
    assert_allclose(c.work.source, plain, rtol=1e-11)


def test_an_opaque_target_takes_all_in_its_first_cell(bench, dry):
    b = bench((dataclasses.replace(dry, absorption_coefficient_solid=1e9), 3))
    (_, _, transmitted), _ = b.shine([1.0])
    assert transmitted == 0.0
    assert_allclose(b.work.source[0], [1e6 / 5e-6, 0.0, 0.0], rtol=1e-12)


def test_a_transparent_target_takes_nothing(bench, dry):
    b = bench((dataclasses.replace(dry, absorption_coefficient_solid=0.0), 3))
    (_, _, transmitted), (fastest, _) = b.shine([1.0])
    assert (transmitted, fastest) == (1.0, 0.0)


def test_fastest_heating_is_that_of_the_surface(bench, dry):
    b = bench((dry, 4))
    _, (fastest, _) = b.shine([1.0])
    assert_allclose(fastest, b.work.source[0, 0] / dry.heat_capacity, rtol=1e-12)


@pytest.mark.parametrize("columns", ["slab", "rings"])
def test_darkness_clears_what_was_lit(bench, dry, columns):
    b = bench((dry, 4), columns=columns)
    b.shine(np.ones(b.mesh.area.size))
    budget = np.ones(len(Term))
    called(absorb.darken)(b.mesh, b.work, b.state.floor, b.lit, budget)
    assert not b.work.source.any()
    assert not budget[[Term.REFLECTED, Term.PLUME, Term.TRANSMITTED]].any()


@pytest.mark.parametrize(
    ("slope", "degrees", "share"),
    [(4e-3, 25.0, 1.0), (4e-3, 125.0, 0.6), (4e-3, 5.0, 1.08), (4e-3, 240.0, 0.3), (-1.5e-3, 125.0, 1.15)],
    ids=["cold", "warm", "colder", "floor", "rising"],
)
def test_water_absorbs_less_with_each_kelvin_but_never_under_0_3(bench, tissue, slope, degrees, share):
    b = bench((dataclasses.replace(tissue, absorption_slope=slope), 3))
    b.warm(degrees - 37.0)
    b.shine([1.0])
    wet = 8.46e4 * 763.0 / 997.05
    # What the solids add knows no temperature.
    assert_allclose(coefficient(b), wet * share + 1e4, rtol=1e-9)


def test_a_liquid_does_not_grow_clear_with_heat(bench, film):
    b = bench((dataclasses.replace(film, absorption_slope=4e-3), 3))
    b.warm(60.0)
    b.shine([1.0])
    assert_allclose(coefficient(b), 8.46e4 * 997.0 / 997.05, rtol=1e-9)


def filmed(tissue, thickness=30e-6, growth=0.2):
    """Tissue on whose front a film grows."""
    removal = dataclasses.replace(tissue.removal, film_thickness=thickness, film_growth=growth)
    return dataclasses.replace(tissue, removal=removal)


@pytest.mark.parametrize("thrown", [0.0, 50e-6, 150e-6, 1.0])
def test_a_film_spreads_light_over_its_thickness_as_depth_is_thrown_out(bench, tissue, thrown):
    b = bench((filmed(tissue), 8))
    b.state.thrown[0] = thrown
    b.shine([1.0])
    mu = tissue.absorption_coefficient
    film = 30e-6 * (1.0 - np.exp(-0.2 * thrown / 30e-6))
    depth = np.arange(9) * 5e-6
    wanted = -np.diff(np.exp(-mu / (1.0 + mu * film) * depth)) / 5e-12
    assert_allclose(b.work.source[0], wanted, rtol=1e-9)


def test_dried_cells_know_no_film(bench, tissue):
    b = bench((filmed(tissue), 2))
    b.state.thrown[0], b.state.water[0, 0] = 1.0, 0.0
    b.shine([1.0])
    assert_allclose(coefficient(b), 1e4, rtol=1e-9)


def test_a_film_is_measured_across_a_sloping_front(bench, tissue):
    # Fronts on a plane that falls by 3/4 of a cell's width along x and by 1 along y.
    b = bench((filmed(tissue), 4), columns="even")
    i, j = np.divmod(np.arange(9), 3)
    b.state.front[:] = 0.75 * 20e-6 * i + 1.0 * 30e-6 * j
    b.state.thrown[:] = 1.0
    b.shine(b.mesh.area * 1e6)
    mu, k = tissue.absorption_coefficient, 4
    # Only the middle column has a neighbour on every side.
    film = 30e-6 * np.sqrt(1.0 + 0.75**2 + 1.0)
    share = b.work.source[k, 0] * 5e-6 / 1e6
    assert_allclose(share, -np.expm1(-5e-6 * mu / (1.0 + mu * film)), rtol=1e-9)


def test_the_film_of_a_level_front_has_its_own_thickness(bench, tissue):
    b = bench((filmed(tissue), 4), columns="even")
    b.state.front[:] = 80e-6
    b.state.thrown[:] = 1.0
    b.shine(b.mesh.area * 1e6)
    mu = tissue.absorption_coefficient
    assert_allclose(b.work.source[:, 0] * 5e-12, -np.expm1(-5e-6 * mu / (1.0 + mu * 30e-6)), rtol=1e-9)


def test_debris_pays_what_it_owes_over_the_clearing_time(bench, tissue):
    b = bench((tissue, 4))
    owed, step, plume = 10.0, 2e-5, 0.0
    b.state.debris[0] = owed
    for count in range(1, 11):
        # So strong a beam that the next cell would follow sooner.
        (_, taken, _), _ = b.shine([1e3], step=step)
        assert_allclose(b.state.paid[0], taken / 1e-6, rtol=1e-12)
        plume += taken * step
        b.gain()
        b.change(step)
        left = owed * np.exp(-count * step / 1e-4)
        assert_allclose(b.state.debris[0], left, rtol=1e-9)
        assert_allclose(plume, (owed - left) * 1e-6, rtol=1e-9)


def test_a_cell_s_debris_pays_over_the_time_in_which_the_next_cell_follows(bench, tissue):
    b = bench((tissue, 4))
    b.state.debris[0] = 10.0
    (_, taken, _), _ = b.shine([1.0], step=1e-3)
    medium = b.problem.target.layers[0].medium
    follows = 5e-6 * medium.removal_enthalpy(b.problem.target.initial_temperature) / 1e6
    assert follows > 1e-3
    assert_allclose(taken, 10.0 * -np.expm1(-1e-3 / follows) / 1e-3 * 1e-6, rtol=1e-9)


def test_debris_takes_at_most_nine_tenths_of_the_beam(bench, tissue):
    b = bench((tissue, 4))
    b.state.debris[0] = 1e9
    budget, _ = b.shine([2.0], transmittance=0.8)
    assert_allclose(budget[1], 0.2 * 2.0 + 0.9 * 1.6, rtol=1e-12)
    assert_allclose(b.state.paid[0], 0.9 * 1.6 / 1e-6, rtol=1e-12)
    assert_allclose(absorbed(b)[0] + budget.sum(), 2.0, rtol=1e-14)
    assert absorbed(b)[0] > 0.0


def test_each_column_pays_for_its_own_debris(bench, tissue):
    b = bench((tissue, 4), columns="rings")
    b.state.debris[1] = 5.0
    power = b.mesh.area * 1e9
    budget, _ = b.shine(power)
    paid = 5.0 * -np.expm1(-0.1) / 1e-5
    assert_allclose(b.state.paid, [0.0, paid, 0.0], rtol=1e-12)
    assert_allclose(budget[1], paid * b.mesh.area[1], rtol=1e-12)
    assert_allclose(absorbed(b).sum() + budget.sum(), power.sum(), rtol=1e-14)


def test_what_falls_in_a_step_is_the_mean_over_it(bench, dry):
    b = bench((dry, 2), columns="rings")
    n = b.mesh.area.size
    rng = np.random.default_rng(3)
    light = Falling(0.5, 0.1, rng.random(4), rng.random((4, n)))
    edges = 0.5 + 0.1 * np.arange(5)
    fell = np.empty(n)
    for begin, end in ((0.5, 0.55), (0.53, 0.71), (0.5, 0.9), (0.89, 0.9)):
        sent = called(absorb.falling)(b.mesh, light, begin, end - begin, fell)
        share = np.clip(np.minimum(edges[1:], end) - np.maximum(edges[:-1], begin), 0.0, None) / (end - begin)
        assert_allclose(sent, share @ light.sent, rtol=1e-12)
        assert_allclose(fell, share @ light.power, rtol=1e-12)


def test_columns_that_rest_take_no_light_and_keep_their_debris(bench, dry):
    b = bench((dry, 2), columns="rings")
    n = b.mesh.area.size
    b.state.debris[:] = 1.0
    b.mesh = b.mesh._replace(marching=np.array([0]))
    b.last[1:] = -1
    b.shine(np.ones(n))
    assert b.work.source[0].any()
    assert not b.work.source[1:].any()
    b.rest(1.0)
    assert b.state.debris[0] < 1e-6
    assert np.all(b.state.debris[1:] == 1.0)
