"""Outlines: craters and zones given by formulas, read back at the radii of an outline."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from spotdwell.base.errors import InputError
from spotdwell.measure.crater import cut_of, edge_radius
from spotdwell.measure.outlines import MARGIN, outlines_of
from spotdwell.measure.summary import measures_of
from spotdwell.model.columns import lattice, rings, slab
from spotdwell.model.target import Layer

CELL = 4e-6
EDGES = np.linspace(0.0, 500e-6, 126)
CHAR, DRY, BURNT = 20e-6, 44e-6, 90e-6
"""How far zones reach below the crater, or below the surface around it [m]."""
COUNT = 64


def crater(r):
    return np.clip(200e-6 * (1.0 - (r / 250e-6) ** 2), 0.0, None)


def below(r, z):
    """Depth below the crater; zones thin out and end at 375 um from the axis."""
    return (z - crater(r)) / np.clip(1.5 - r / 250e-6, 1e-3, 1.0)


ZONES = {
    "conversion": lambda r, z: np.clip(0.5 + (CHAR - below(r, z)) / 200e-6, 0.0, 1.0),
    "water_share": lambda r, z: np.clip(0.5 + (below(r, z) - DRY) / 200e-6, 0.0, 1.0),
    "omega": lambda r, z: np.exp(np.clip((BURNT - below(r, z)) / 20e-6, -200.0, 50.0)),
}


@pytest.fixture
def outcome(outcome_of):
    return outcome_of(rings(EDGES), np.arange(151) * CELL, crater, **ZONES)


def test_each_zone_is_met_within_a_cell_at_every_radius_of_the_crater(outcome):
    radius, lines = outlines_of(outcome, COUNT)
    inside = radius < 200e-6
    for line, thickness in zip(lines, (0.0, CHAR, DRY, BURNT), strict=True):
        exact = crater(radius) + thickness * np.clip(1.5 - radius / 250e-6, 0.0, 1.0)
        # Straight lines between columns, and fields known at cell centres: a quarter of a cell is enough.
        assert_allclose(line[inside], exact[inside], rtol=0.0, atol=0.25 * CELL)


def test_outlines_agree_with_the_measures(outcome):
    radius, lines = outlines_of(outcome, COUNT)
    found = measures_of(outcome)
    assert_allclose(lines[0, 0], found["crater_depth"], rtol=0.0, atol=0.25 * CELL)
    assert_allclose(lines[3, 0] - lines[0, 0], found["coagulation_thickness_floor"], rtol=0.0, atol=CELL)
    reach = edge_radius(cut_of(outcome)) + found["coagulation_thickness_rim"]
    assert radius[-1] == pytest.approx(MARGIN * reach, rel=1e-12)
    # The outermost mark lies within one spacing of the radii inside the reach.
    assert reach - radius[lines[3] > 0.0][-1] < 2.0 * radius[1]
    assert_array_equal(lines[:, radius > reach], 0.0)


def test_radii_are_even_from_the_axis_and_lines_never_cross(outcome):
    radius, lines = outlines_of(outcome, COUNT)
    assert radius[0] == 0.0
    assert_allclose(np.diff(radius), radius[-1] / (COUNT - 1), rtol=1e-9)
    assert np.all(np.diff(lines, axis=0) >= 0.0)


def test_an_absent_zone_is_equal_to_the_one_above_it(outcome_of, media):
    burnt = outcome_of(
        rings(EDGES),
        np.arange(151) * CELL,
        crater,
        layers=(Layer(media.acrylic, np.inf),),
        omega=ZONES["omega"],
    )
    _, lines = outlines_of(burnt, COUNT)
    assert_array_equal(lines[1:], lines[:1].repeat(3, axis=0))
    assert lines[0, 0] > 0.0


def test_an_unmarked_target_is_flat_out_to_beyond_the_beam(outcome_of):
    untouched = outcome_of(rings(EDGES), np.arange(151) * CELL)
    radius, lines = outlines_of(untouched, COUNT)
    assert_array_equal(lines, 0.0)
    assert radius[-1] == pytest.approx(MARGIN * untouched.problem.beam.radius)


def test_zones_under_a_film_begin_below_it(outcome_of, media):
    film = 10 * CELL
    layers = (Layer(media.water, film), Layer(media.tissue, np.inf))
    warm = outcome_of(
        rings(EDGES),
        np.arange(151) * CELL,
        layers=layers,
        omega=lambda r, z: np.exp(np.clip((film + BURNT - z) / 20e-6, -50.0, 50.0)) * (r < 200e-6),
    )
    _, lines = outlines_of(warm, COUNT)
    assert_allclose(lines[3, 0], film + BURNT, rtol=0.0, atol=0.25 * CELL)
    assert_array_equal(lines[:3, 0], 0.0)


def test_a_zone_that_reaches_the_bottom_and_a_hole_through_end_there(outcome_of, depth_edges):
    bottom = depth_edges[-1]
    through = outcome_of(
        rings(EDGES),
        depth_edges,
        lambda r: np.where(r < 100e-6, 1.0, 0.0),
        omega=lambda r, z: 9.0 + 0.0 * (r + z),
    )
    _, lines = outlines_of(through, COUNT)
    assert_array_equal(lines[:, 0], bottom)
    assert lines[3].max() == bottom


def test_a_slab_is_level_and_a_lattice_is_refused(outcome_of, depth_edges):
    level = outcome_of(slab(1e-6), depth_edges, lambda r: 100e-6 + 0.0 * r)
    radius, lines = outlines_of(level, COUNT)
    assert_array_equal(lines[0], lines[0, 0])
    assert lines[0, 0] == pytest.approx(100e-6)
    assert radius[-1] == pytest.approx(1e-3)
    square = lattice(np.linspace(0.0, 400e-6, 9), np.linspace(0.0, 400e-6, 9), symmetry=4.0)
    with pytest.raises(InputError, match="lattice"):
        outlines_of(outcome_of(square, depth_edges), COUNT)
