"""Widths, depth and volume of craters with a known shape."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.measure import crater
from spotdwell.model import columns
from spotdwell.model.beam import Beam

H = 10e-6
"""Width of a column [m]."""
DEPTH = 200e-6
RING_EDGES = np.arange(81) * H


def paraboloid(radius):
    return lambda r: DEPTH * (1.0 - (r / radius) ** 2)


def cylinder(radius):
    return lambda r: np.where(r < radius, DEPTH, 0.0)


def edge_errors(outcome_of, shape, cell):
    """Error of the edge, in columns, for radii spread evenly over one column and cells of height `cell`."""
    edges = np.arange(round(400e-6 / cell) + 1) * cell
    radii = 400e-6 + (np.arange(50) + 0.5) / 50 * H
    rings = columns.rings(RING_EDGES)
    found = [crater.edge_radius(crater.cut_of(outcome_of(rings, edges, shape(r)))) for r in radii]
    return (np.array(found) - radii) / H


def test_paraboloid_has_its_volume(outcome_of, depth_edges):
    found = crater.volume(outcome_of(columns.rings(RING_EDGES), depth_edges, paraboloid(400e-6)))
    # Midpoint rule over 40 rings errs by (h/R)^2 / 2 = 3e-4; a last ring under one cell deep adds 1e-4.
    assert_allclose(found, np.pi * 400e-6**2 * DEPTH / 2, rtol=1e-3)


def test_cylinder_that_ends_at_a_face_has_its_volume_and_width_exactly(outcome_of, depth_edges):
    outcome = outcome_of(columns.rings(RING_EDGES), depth_edges, cylinder(400e-6))
    cut = crater.cut_of(outcome)
    # Round-off only: every ring is either all or not removed.
    assert_allclose(crater.volume(outcome), np.pi * 400e-6**2 * DEPTH, rtol=1e-12)
    assert_allclose([crater.width(cut), crater.width_half_depth(cut)], 800e-6, rtol=1e-12)


@pytest.mark.parametrize("cell", [1e-6, 4e-6])
def test_edge_of_a_paraboloid_is_found_within_a_twentieth_of_a_column(outcome_of, cell):
    errors = edge_errors(outcome_of, paraboloid, cell)
    # Chord against tangent of the parabola: a gap or two before the edge, h / 2R = 1/80 of a gap each.
    assert np.abs(errors).max() < 0.05


@pytest.mark.parametrize("cell", [1e-6, 4e-6])
def test_edge_of_a_vertical_wall_is_found_within_half_a_column_without_bias(outcome_of, cell):
    errors = edge_errors(outcome_of, cylinder, cell)
    # A wall can stand anywhere in the gap between two centres: half a column is all that can be known.
    assert np.abs(errors).max() < 0.5
    assert abs(errors.mean()) < 0.01


def test_edge_of_a_shallow_gaussian_crater_converges_from_inside_with_the_cell(outcome_of):
    def shape(radius):
        return lambda r: 30e-6 * (2.0 * np.exp(np.log(0.5) * (r / radius) ** 2) - 1.0)

    largest = [np.abs(edge_errors(outcome_of, shape, cell)).max() for cell in (4e-6, 2e-6, 1e-6, 0.5e-6)]
    # The front falls by 1 um a column: a first cell of 4 um can hide four columns' width, one of 0.5 um none,
    # where chord against tangent (under 1/40 of a gap) and the wall's share are left.
    assert np.all(np.diff(largest) < 0.0)
    assert largest[-1] < 0.1


@pytest.mark.parametrize("share", [0.5, 1.0])
def test_edge_checks_reject_a_rule_that_takes_a_fixed_place(outcome_of, monkeypatch, share):
    monkeypatch.setattr(crater, "_edge_share", lambda cut, last, gap: share)
    assert np.abs(edge_errors(outcome_of, paraboloid, 4e-6)).max() > 0.4
    assert (abs(edge_errors(outcome_of, cylinder, 4e-6).mean()) > 0.1) == (share == 1.0)


def test_half_depth_width_of_a_paraboloid(outcome_of, depth_edges):
    cut = crater.cut_of(outcome_of(columns.rings(RING_EDGES), depth_edges, paraboloid(400e-6)))
    # Chord of the parabola errs by h^2 / 8R = 0.03 um a side; the axis column lies 0.01 um above the vertex.
    assert_allclose(crater.width_half_depth(cut), 800e-6 / np.sqrt(2.0), rtol=0, atol=0.1e-6)


def test_axis_column_reads_low_by_what_its_docstring_says(outcome_of, depth_edges):
    beam = Beam(10.6e-6, 40 * H)
    share = columns.rings(RING_EDGES).beam_shares(beam)[0] / (np.pi * H**2)
    # One ring's mean of the gaussian, to the next order in (h/w)^2.
    assert_allclose(1.0 - share / beam.peak_irradiance, 6.25e-4, rtol=1e-3)


def test_annular_crater_is_measured_at_its_outer_wall(outcome_of, depth_edges):
    ring = lambda r: np.where((r > 100e-6) & (r < 300e-6), DEPTH, 0.0)  # noqa: E731
    cut = crater.cut_of(outcome_of(columns.rings(RING_EDGES), depth_edges, ring))
    assert cut.front[0] == 0.0
    assert_allclose([crater.width(cut), crater.width_half_depth(cut)], 600e-6, rtol=1e-12)


def test_no_crater_has_no_width_and_no_volume(outcome_of, depth_edges):
    outcome = outcome_of(columns.rings(RING_EDGES), depth_edges)
    cut = crater.cut_of(outcome)
    assert crater.width(cut) == crater.width_half_depth(cut) == crater.volume(outcome) == 0.0


def test_crater_of_the_axis_column_alone_ends_at_its_face(outcome_of, depth_edges):
    cut = crater.cut_of(outcome_of(columns.rings(RING_EDGES), depth_edges, cylinder(H)))
    assert_allclose(crater.width(cut), 2 * H, rtol=1e-12)


def test_crater_over_all_columns_is_as_wide_as_they_are(outcome_of, depth_edges):
    cut = crater.cut_of(outcome_of(columns.rings(RING_EDGES), depth_edges, cylinder(1.0)))
    assert_allclose([crater.width(cut), crater.width_half_depth(cut)], 1600e-6, rtol=1e-12)


def test_slab_has_volume_but_no_width(outcome_of, depth_edges):
    outcome = outcome_of(columns.slab(1e-6), depth_edges, lambda r: 0.0 * r + 123e-6)
    cut = crater.cut_of(outcome)
    assert crater.width(cut) is None
    assert crater.width_half_depth(cut) is None
    assert_allclose(crater.volume(outcome), 123e-12, rtol=1e-12)


@pytest.mark.parametrize(
    ("low", "symmetry", "centre"),
    [(0.0, 4.0, (0.0, 0.0)), (-800e-6, 1.0, (0.0, 0.0)), (-800e-6, 1.0, (52e-6, -31e-6))],
)
def test_round_crater_reads_the_same_on_a_lattice_and_on_rings(
    outcome_of, depth_edges, low, symmetry, centre
):
    edges = np.arange(low, 800.5e-6, H)
    spot = Beam(10.6e-6, 200e-6, centre=centre)
    outcome = outcome_of(columns.lattice(edges, edges, symmetry), depth_edges, paraboloid(400e-6), beam=spot)
    cut = crater.cut_of(outcome)
    # Edge as on rings, a tenth of a column a side; half depth by a chord of at most sqrt(2) columns.
    assert_allclose(crater.width(cut), 800e-6, rtol=0, atol=0.2 * H)
    assert_allclose(crater.width_half_depth(cut), 800e-6 / np.sqrt(2.0), rtol=0, atol=0.2e-6)
    # 5000 squares over the disc: its edge is shallow, so the sum errs by about (h/R)^2.
    assert_allclose(crater.volume(outcome), np.pi * 400e-6**2 * DEPTH / 2, rtol=2e-3)
    assert_allclose(cut.front[0], DEPTH, rtol=1e-3)


def test_cut_of_a_lattice_is_the_profile_by_distance_from_the_centre(outcome_of, depth_edges):
    edges = np.arange(61) * H
    cut = crater.cut_of(outcome_of(columns.lattice(edges, edges, 4.0), depth_edges, paraboloid(400e-6)))
    # First column at (h/2, h/2). Round-off alone: the row aside of the centre is allowed for.
    assert_allclose(cut.distance[0], H / np.sqrt(2.0), rtol=1e-12)
    hit = cut.front > 0.0
    assert_allclose(cut.front[hit], paraboloid(400e-6)(cut.distance[hit]), rtol=1e-12)


@pytest.mark.parametrize("round_off", [-1e-18, 0.0, 1e-18])
def test_of_two_columns_equally_near_the_centre_the_farther_along_is_taken(round_off):
    assert crater._nearest(np.array([-15e-6, -5e-6 + round_off, 5e-6, 15e-6]), 0.0) == 2
    assert crater._nearest(np.array([-15e-6, -4e-6, 6e-6, 16e-6]), 0.0) == 1


def test_half_of_a_scanned_groove_is_cut_across_its_path(outcome_of, depth_edges):
    half = columns.lattice(np.arange(-200e-6, 600.5e-6, 2 * H), np.arange(0.0, 500.5e-6, H), 2.0)
    scan = Beam(10.6e-6, 200e-6, scan_speed=4e-3)
    cut = crater.cut_of(outcome_of(half, depth_edges, paraboloid(300e-6), beam=scan))
    # 100 ms at 4 mm/s: the middle of the path is 200 um on, between the lines at 190 and 210 um.
    assert_allclose(half.x[cut.columns // 50], 210e-6, rtol=1e-12)
    assert_allclose(cut.distance, half.y, rtol=1e-12)
    assert_allclose(crater.width(cut), 600e-6, rtol=0, atol=0.2 * H)


def test_radius_of_a_depth_that_is_nowhere_reached_is_0(outcome_of, depth_edges):
    cut = crater.cut_of(outcome_of(columns.rings(RING_EDGES), depth_edges, paraboloid(400e-6)))
    assert crater.radius_at(cut, 1.01 * DEPTH) == 0.0
