"""Thickness of charred, dried and coagulated zones whose boundaries are known."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.measure import zones
from spotdwell.measure.crater import cut_of
from spotdwell.model import columns
from spotdwell.model.beam import Beam
from spotdwell.model.target import Layer

H = 10e-6
RINGS = columns.rings(np.arange(81) * H)
SLAB = columns.slab(1e-6)


def flat(depth):
    return lambda r: depth + 0.0 * r


def omega_of(margin):
    """Omega whose logarithm is `margin` of distance and depth."""
    return lambda r, z: np.exp(margin(r, z))


def places(outcome, zone):
    """Thickness at floor, wall and rim."""
    cut = cut_of(outcome)
    return (
        zones.floor_thickness(cut, zone),
        zones.wall_thickness(cut, zone),
        zones.rim_thickness(cut, zone),
    )


@pytest.mark.parametrize("boundary", [60.1e-6, 71e-6, 99.9e-6])
@pytest.mark.parametrize("front", [0.0, 40e-6, 50.3e-6])
def test_floor_thickness_is_exact_where_the_logarithm_of_damage_is_linear(
    outcome_of, depth_edges, front, boundary
):
    outcome = outcome_of(
        SLAB, depth_edges, flat(front), omega=omega_of(lambda r, z: (boundary - z) / 9e-6 + 0 * r)
    )
    found = zones.floor_thickness(cut_of(outcome), zones.coagulated(outcome))
    assert_allclose(found, boundary - front, rtol=1e-10)  # round-off of the logarithm


def test_damage_interpolated_without_its_logarithm_would_be_seen(outcome_of, depth_edges):
    outcome = outcome_of(SLAB, depth_edges, omega=omega_of(lambda r, z: (71e-6 - z) / 2e-6 + 0 * r))
    zone = zones.coagulated(outcome)
    plain = dataclasses.replace(zone, margin=np.exp(zone.margin) - 1.0)
    error = zones.floor_thickness(cut_of(outcome), plain) - 71e-6
    assert error > 0.1e-6


def test_floor_thickness_is_exact_for_linear_conversion_and_water(outcome_of, depth_edges):
    outcome = outcome_of(
        SLAB,
        depth_edges,
        flat(40e-6),
        conversion=lambda r, z: np.clip(0.5 + (63e-6 - z) / 80e-6, 0, 1) + 0 * r,
        water_share=lambda r, z: np.clip(0.5 + (z - 91e-6) / 150e-6, 0, 1) + 0 * r,
    )
    cut = cut_of(outcome)
    assert_allclose(zones.floor_thickness(cut, zones.charred(outcome)), 23e-6, rtol=1e-10)
    assert_allclose(zones.floor_thickness(cut, zones.dried(outcome)), 51e-6, rtol=1e-10)


def test_thresholds_are_half_converted_half_dry_and_omega_1(outcome_of, depth_edges):
    for nudge, expected in ((1e-9, 600e-6), (-1e-9, 0.0)):
        outcome = outcome_of(
            SLAB,
            depth_edges,
            omega=lambda r, z, n=nudge: 1.0 + n + 0 * (r + z),
            conversion=lambda r, z, n=nudge: 0.5 + n + 0 * (r + z),
            water_share=lambda r, z, n=nudge: 0.5 - n + 0 * (r + z),
        )
        for zone in (zones.charred, zones.dried, zones.coagulated):
            assert_allclose(zones.floor_thickness(cut_of(outcome), zone(outcome)), expected, rtol=1e-12)


def test_cell_that_never_warmed_bounds_the_zone_within_its_neighbour_gap(outcome_of, depth_edges):
    outcome = outcome_of(SLAB, depth_edges, omega=lambda r, z: np.where(z < 40e-6, 1e6, 0.0) + 0 * r)
    found = zones.floor_thickness(cut_of(outcome), zones.coagulated(outcome))
    assert 38e-6 < found < 42e-6  # the last and the first centre on either side


@pytest.mark.parametrize("turn", [0.3, 0.8, 1.2])
def test_wall_thickness_around_a_cone_is_the_known_one_along_the_normal(outcome_of, depth_edges, turn):
    depth, thickness = 200e-6, 53e-6
    radius = depth / np.tan(turn)
    to_surface = lambda r, z: (z - depth * (1.0 - r / radius)) * np.cos(turn)  # noqa: E731
    outcome = outcome_of(
        RINGS,
        depth_edges,
        lambda r: depth * (1.0 - r / radius),
        omega=omega_of(lambda r, z: (thickness - to_surface(r, z)) / 8e-6),
    )
    found = zones.wall_thickness(cut_of(outcome), zones.coagulated(outcome))
    # Everything is linear: bilinear samples, profile and chord are exact, round-off is left.
    assert_allclose(found, thickness, rtol=1e-7)
    # The same zone measured sideways or straight down would be thicker by far more than that.
    assert min(thickness / np.sin(turn), thickness / np.cos(turn)) > 1.04 * thickness


@pytest.mark.parametrize("thickness", [15e-6, 80e-6])
def test_wall_thickness_around_a_hemisphere_is_the_radial_one(outcome_of, depth_edges, thickness):
    outcome = outcome_of(
        columns.rings(np.arange(161) * 5e-6),
        depth_edges,
        lambda r: np.sqrt(np.maximum(250e-6**2 - r**2, 0.0)),
        omega=omega_of(lambda r, z: (250e-6 + thickness - np.hypot(r, z)) / 10e-6),
    )
    found = places(outcome, zones.coagulated(outcome))
    # Bilinear and chord errors are h^2 / 8R = 0.02 um; across the floor, slopes up to 0.27 are followed where
    # the front is, not along the radius: 0.4 % of the thickness.
    assert_allclose(found[:2], thickness, rtol=0.004, atol=0.1e-6)
    # The rim starts at the edge, where the wall is vertical and so known to half a column.
    assert_allclose(found[2], thickness, rtol=0, atol=2.5e-6)


def test_fields_of_gone_cells_change_nothing(outcome_of, depth_edges):
    outcome = outcome_of(
        RINGS,
        depth_edges,
        lambda r: 200e-6 * (1.0 - (r / 300e-6) ** 2),
        omega=omega_of(lambda r, z: (330e-6 - np.hypot(r, z)) / 10e-6),
    )
    known = places(outcome, zones.coagulated(outcome))
    for value in (0.0, 1e30):
        outcome.final.damage[0][outcome.final.gone()] = value
        assert places(outcome, zones.coagulated(outcome)) == known
    outcome.final.damage[0][~outcome.final.gone()] *= 2.0
    assert all(np.array(places(outcome, zones.coagulated(outcome))) > known)


def test_untouched_wall_and_floor_have_no_zone(outcome_of, depth_edges):
    outcome = outcome_of(RINGS, depth_edges, lambda r: 200e-6 * (1.0 - (r / 300e-6) ** 2))
    for zone in (zones.charred, zones.dried, zones.coagulated):
        assert places(outcome, zone(outcome)) == (0.0, 0.0, 0.0)


def test_zone_at_the_wall_alone_is_found_there_and_not_under_the_floor(outcome_of, depth_edges):
    outcome = outcome_of(
        RINGS,
        depth_edges,
        lambda r: np.where(r < 200e-6, 200e-6, 0.0),
        conversion=lambda r, z: np.where((r < 240e-6) & (z < 180e-6), 1.0, 0.0),
    )
    floor, wall, _ = places(outcome, zones.charred(outcome))
    assert floor == 0.0
    # From the face at 200 um to the face at 240 um; the wall's chord leans by 10 um in 200: 0.1 % longer.
    assert_allclose(wall, 40e-6, rtol=2e-3)


@pytest.mark.parametrize(("crater_radius", "edge"), [(200e-6, 200e-6), (0.0, 0.0)])
def test_rim_is_read_from_the_edge_or_from_the_axis_without_crater(
    outcome_of, depth_edges, crater_radius, edge
):
    outcome = outcome_of(
        RINGS,
        depth_edges,
        lambda r: np.where(r < crater_radius, 100e-6, 0.0),
        omega=omega_of(lambda r, z: (287e-6 - r) / 12e-6 + 0 * z),
    )
    found = zones.rim_thickness(cut_of(outcome), zones.coagulated(outcome))
    assert_allclose(found, 287e-6 - edge, rtol=1e-9)  # linear in r: round-off


def test_rim_reaches_the_outermost_ring_that_an_annular_beam_marked(outcome_of, depth_edges):
    outcome = outcome_of(
        RINGS, depth_edges, omega=omega_of(lambda r, z: 5 - np.abs(r - 200e-6) / 10e-6 + 0 * z)
    )
    floor, wall, rim = places(outcome, zones.coagulated(outcome))
    assert (floor, wall) == (0.0, None)
    assert_allclose(rim, 250e-6, rtol=1e-9)


def test_zone_through_the_whole_target_ends_at_its_bounds(outcome_of, depth_edges):
    outcome = outcome_of(
        RINGS, depth_edges, lambda r: np.where(r < 200e-6, 100e-6, 0.0), omega=lambda r, z: 5.0 + 0 * (r + z)
    )
    floor, wall, rim = places(outcome, zones.coagulated(outcome))
    assert_allclose([floor, rim], [500e-6, 600e-6], rtol=1e-12)
    # Out of the far side at r = 800 um: a normal that leans by 1 in 10 from r = 200 um.
    assert_allclose(wall, 600e-6 * np.hypot(1.0, 0.1), rtol=1e-9)


def test_film_that_is_still_there_is_looked_through(outcome_of, depth_edges, media):
    layers = (Layer(media.water, 40e-6), Layer(media.tissue, np.inf))
    outcome = outcome_of(
        RINGS,
        depth_edges,
        lambda r: np.where(r < 100e-6, 80e-6, 0.0),
        layers=layers,
        omega=omega_of(lambda r, z: np.where(z > 40e-6, (240e-6 - r - z) / 12e-6, -30.0)),
    )
    # First row of tissue under the film: centre at 42 um, so the boundary is at r = 240 - 42 = 198 um.
    found = zones.rim_thickness(cut_of(outcome), zones.coagulated(outcome))
    assert_allclose(found, 98e-6, rtol=1e-9)


def test_floor_under_a_whole_film_is_the_tissue_below_it(outcome_of, depth_edges, media):
    layers = (Layer(media.water, 40e-6), Layer(media.tissue, np.inf))
    outcome = outcome_of(
        SLAB,
        depth_edges,
        flat(12e-6),
        layers=layers,
        omega=omega_of(lambda r, z: (95e-6 - z) / 9e-6 + 0 * r),
    )
    assert_allclose(zones.floor_thickness(cut_of(outcome), zones.coagulated(outcome)), 55e-6, rtol=1e-9)


def test_char_ends_at_the_face_of_a_layer_that_leaves_none(outcome_of, depth_edges, media):
    layers = (Layer(media.tissue, 60e-6), Layer(media.acrylic, np.inf))
    outcome = outcome_of(
        SLAB, depth_edges, flat(20e-6), layers=layers, conversion=lambda r, z: 1.0 + 0 * (r + z)
    )
    zone = zones.charred(outcome)
    assert_allclose(zones.floor_thickness(cut_of(outcome), zone), 40e-6, rtol=1e-12)
    assert_allclose(zones.zone_volume(outcome, zone), 40e-12, rtol=1e-12)


def test_wall_zone_ends_at_the_face_of_a_layer_that_cannot_show_it(outcome_of, depth_edges, media):
    layers = (Layer(media.tissue, 120e-6), Layer(media.acrylic, np.inf))
    outcome = outcome_of(
        RINGS,
        depth_edges,
        lambda r: 200e-6 * (1.0 - r / 400e-6),
        layers=layers,
        conversion=lambda r, z: 1.0 + 0 * (r + z),
    )
    # From 100 um down to the face at 120 um, along a normal that descends 2 in sqrt(5); steps are 1 um.
    found = zones.wall_thickness(cut_of(outcome), zones.charred(outcome))
    assert_allclose(found, 20e-6 * np.sqrt(5.0) / 2.0, rtol=0, atol=1e-6)


def test_zone_goes_on_through_layers_of_different_water_content(outcome_of, depth_edges, media):
    wetter = dataclasses.replace(media.tissue, water_density=950.0)
    outcome = outcome_of(
        SLAB,
        depth_edges,
        layers=(Layer(media.tissue, 60e-6), Layer(wetter, np.inf)),
        water_share=lambda r, z: np.clip(0.5 + (z - 91e-6) / 150e-6, 0, 1) + 0 * r,
    )
    assert_allclose(zones.floor_thickness(cut_of(outcome), zones.dried(outcome)), 91e-6, rtol=1e-10)


def test_perforated_axis_has_a_wall_but_no_floor(outcome_of, depth_edges):
    outcome = outcome_of(
        RINGS,
        depth_edges,
        lambda r: np.where(r < 200e-6, 1e-3, 0.0),
        omega=omega_of(lambda r, z: (250e-6 - r) / 10e-6 + 0 * z),
        perforation_time=0.05,
    )
    floor, wall, rim = places(outcome, zones.coagulated(outcome))
    assert floor is None
    # The chord of the wall leans by 10 um in 600: 0.014 % longer than straight out.
    assert_allclose([wall, rim], 50e-6, rtol=2e-4)


def test_media_that_cannot_show_a_zone_have_none_to_measure(outcome_of, depth_edges, media):
    outcome = outcome_of(RINGS, depth_edges, lambda r: 200e-6 - r, layers=(Layer(media.acrylic, np.inf),))
    for zone in (zones.charred, zones.dried, zones.coagulated):
        assert places(outcome, zone(outcome)) == (None, None, None)
        assert zones.zone_volume(outcome, zone(outcome)) is None


def test_slab_has_a_floor_zone_only(outcome_of, depth_edges):
    outcome = outcome_of(SLAB, depth_edges, flat(20e-6), omega=lambda r, z: 2.0 + 0 * (r + z))
    floor, wall, rim = places(outcome, zones.coagulated(outcome))
    assert_allclose(floor, 580e-6, rtol=1e-12)
    assert wall is rim is None


def test_zone_that_ends_above_a_front_in_the_lower_half_of_its_cell_has_no_thickness(outcome_of, depth_edges):
    outcome = outcome_of(
        SLAB, depth_edges, flat(43.9e-6), omega=omega_of(lambda r, z: (42.5e-6 - z) / 9e-6 + 0 * r)
    )
    assert zones.floor_thickness(cut_of(outcome), zones.coagulated(outcome)) == 0.0


def test_zone_that_ends_inside_the_crater_has_no_rim(outcome_of, depth_edges):
    outcome = outcome_of(
        RINGS,
        depth_edges,
        lambda r: np.where(r < 200e-6, 100e-6, 0.0),
        omega=omega_of(lambda r, z: (150e-6 - r) / 12e-6 + 0 * z),
    )
    assert zones.rim_thickness(cut_of(outcome), zones.coagulated(outcome)) == 0.0


def test_crater_over_all_columns_has_no_wall(outcome_of, depth_edges):
    outcome = outcome_of(RINGS, depth_edges, flat(100e-6), omega=lambda r, z: 2.0 + 0 * (r + z))
    assert zones.wall_thickness(cut_of(outcome), zones.coagulated(outcome)) is None


def test_char_volume_counts_what_is_left_only_and_down_to_the_bottom(outcome_of, depth_edges):
    outcome = outcome_of(
        RINGS,
        depth_edges,
        lambda r: np.where(r < 400e-6, 1e-3, 0.0),
        conversion=lambda r, z: 1.0 + 0 * (r + z),
    )
    found = zones.zone_volume(outcome, zones.charred(outcome))
    assert_allclose(found, np.pi * (800e-6**2 - 400e-6**2) * 600e-6, rtol=1e-12)


@pytest.mark.parametrize("front", [40e-6, 41e-6, 43e-6])
def test_char_volume_of_a_flat_floor_is_its_area_times_the_thickness(outcome_of, depth_edges, front):
    outcome = outcome_of(
        RINGS,
        depth_edges,
        flat(front),
        conversion=lambda r, z: np.clip(0.5 + (63e-6 - z) / 80e-6, 0, 1) + 0 * r,
    )
    found = zones.zone_volume(outcome, zones.charred(outcome))
    assert_allclose(found, np.pi * 800e-6**2 * (63e-6 - front), rtol=1e-10)


def test_char_volume_of_a_buried_layer_and_of_perforated_columns(outcome_of, depth_edges):
    outcome = outcome_of(
        RINGS,
        depth_edges,
        lambda r: np.where(r < 400e-6, 1e-3, 0.0),
        conversion=lambda r, z: np.clip(0.5 + (50e-6 - np.abs(z - 200e-6)) / 200e-6, 0, 1) + 0 * r,
    )
    found = zones.zone_volume(outcome, zones.charred(outcome))
    assert_allclose(found, np.pi * (800e-6**2 - 400e-6**2) * 100e-6, rtol=1e-10)


def test_quarter_lattice_and_rings_give_the_same_zones(outcome_of, depth_edges):
    fields = {
        "omega": omega_of(lambda r, z: (330e-6 - np.hypot(r, z)) / 10e-6),
        "conversion": lambda r, z: np.clip(0.5 + (280e-6 - np.hypot(r, z)) / 200e-6, 0, 1),
    }
    crater = lambda r: 200e-6 * (1.0 - (r / 250e-6) ** 2)  # noqa: E731
    quarter = columns.lattice(np.arange(61) * H, np.arange(61) * H, 4.0)
    on_rings = outcome_of(RINGS, depth_edges, crater, **fields)
    on_quarter = outcome_of(quarter, depth_edges, crater, beam=Beam(10.6e-6, 200e-6), **fields)
    for zone in (zones.charred, zones.coagulated):
        # Columns lie at other distances on the two, so edge and crossings differ by interpolation: under 1 um
        # in floor and wall (h^2 / 8R and the axis column), a tenth of a column at the edge.
        a, b = places(on_rings, zone(on_rings)), places(on_quarter, zone(on_quarter))
        assert_allclose(a[:2], b[:2], rtol=0, atol=0.5e-6)
        assert_allclose(a[2], b[2], rtol=0, atol=1.5e-6)
        volumes = [zones.zone_volume(o, zone(o)) for o in (on_rings, on_quarter)]
        assert_allclose(volumes[0], volumes[1], rtol=2e-3)  # (h/R)^2 of the sum over squares
