"""Absorption: Beer and Lambert's law per cell, and every watt accounted for (eq. 4, 5, 6)."""

import dataclasses

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.kernels import absorb

POWER = np.array([2.0, 1.0, 0.0])


def shine(bench, power, transmittance=1.0):
    bench.open()
    budget = np.zeros(3)
    s, w = bench.state, bench.work
    tissue = (bench.mesh, bench.media, bench.still, s)
    pace = np.zeros(2)
    absorb.absorb_beam(*tissue, power, transmittance, w, bench.lit, budget, pace)
    return budget, pace[0]


def absorbed(bench):
    """Power taken by each column [W]."""
    return bench.work.source @ bench.mesh.cell * bench.mesh.area


def test_each_cell_takes_its_share_of_what_reaches_it(bench, dry):
    b = bench((dry, 8))
    shine(b, np.array([3.0]))
    depth = np.arange(9) * 5e-6
    wanted = 3.0 / 1e-6 * -np.diff(np.exp(-5e4 * depth)) / 5e-6
    assert_allclose(b.work.source[0], wanted, rtol=1e-12)


def test_no_watt_is_lost_between_plume_face_target_and_back(bench, tissue):
    shiny = dataclasses.replace(tissue, reflectance=0.1)
    b = bench((shiny, 4), columns="rings")
    (reflected, plume, transmitted), _ = shine(b, POWER, transmittance=0.8)
    assert_allclose(plume, 0.2 * 3.0, rtol=1e-14)
    assert_allclose(reflected, 0.1 * 0.8 * 3.0, rtol=1e-14)
    assert_allclose(absorbed(b).sum() + reflected + plume + transmitted, 3.0, rtol=1e-14)
    assert transmitted > 0.0
    assert absorbed(b)[2] == 0.0


def test_a_perforated_column_lets_its_beam_through(bench, tissue):
    b = bench((tissue, 4), columns="rings")
    b.state.floor[0] = 4
    (reflected, _, transmitted), _ = shine(b, np.array([2.0, 0.0, 0.0]))
    assert (reflected, transmitted) == (0.0, 2.0)


def test_absorption_begins_at_the_floor(bench, dry):
    b = bench((dry, 6))
    b.state.floor[0] = 2
    shine(b, np.array([1.0]))
    assert_allclose(b.work.source[0, :2], 0.0)
    assert_allclose(b.work.source[0, 2], 1e6 * -np.expm1(-0.25) / 5e-6, rtol=1e-12)


def test_half_a_cell_left_by_burning_takes_less(bench, dry):
    b = bench((dry, 6))
    b.state.left[0] = 0.5
    shine(b, np.array([1.0]))
    assert_allclose(b.work.source[0, 0], 1e6 * -np.expm1(-0.125) / 5e-6, rtol=1e-12)


def test_dried_tissue_absorbs_with_its_solids_alone(bench, tissue):
    b = bench((tissue, 3))
    b.state.water[0, 0] = 0.0
    shine(b, np.array([1.0]))
    assert_allclose(b.work.source[0, 0], 1e6 * -np.expm1(-1e4 * 5e-6) / 5e-6, rtol=1e-12)


def test_an_opaque_target_takes_all_in_its_first_cell(bench, dry):
    b = bench((dataclasses.replace(dry, absorption_coefficient_solid=1e9), 3))
    (_, _, transmitted), _ = shine(b, np.array([1.0]))
    assert transmitted == 0.0
    assert_allclose(b.work.source[0], [1e6 / 5e-6, 0.0, 0.0], rtol=1e-12)


def test_a_transparent_target_takes_nothing(bench, dry):
    b = bench((dataclasses.replace(dry, absorption_coefficient_solid=0.0), 3))
    (_, _, transmitted), fastest = shine(b, np.array([1.0]))
    assert (transmitted, fastest) == (1.0, 0.0)


def test_fastest_heating_is_that_of_the_surface(bench, dry):
    b = bench((dry, 4))
    _, fastest = shine(b, np.array([1.0]))
    assert_allclose(fastest, b.work.source[0, 0] / dry.heat_capacity, rtol=1e-12)


@pytest.mark.parametrize("columns", ["slab", "rings"])
def test_darkness_clears_what_was_lit(bench, dry, columns):
    b = bench((dry, 4), columns=columns)
    shine(b, np.ones(b.mesh.area.size))
    absorb.darken(b.work, b.state.floor, b.lit)
    assert not b.work.source.any()
