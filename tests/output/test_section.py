"""The drawn section has the crater and the zones where the fields have them."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.model.columns import Geometry
from spotdwell.output.pictures.section import section_of

DEPTH = 0.6e-3
CELL = 10e-6
"""Cell depth of the results made by hand [m]."""
REACH = {"charred": 20e-6, "dried": 45e-6, "coagulated": 140e-6}
"""How far each zone was made to reach below the front [m]."""


@pytest.mark.parametrize("zone", list(REACH))
def test_a_zone_on_the_axis_ends_where_it_was_made_to_end(make, zone):
    section = section_of(make())
    layer = section.layers[0]
    middle = layer.across.size // 2
    margin, below = layer.margins[zone][:, middle], layer.depth[:, middle] - section.front[middle - 1]
    inside = np.flatnonzero(margin >= 0.0)
    ends = slice(inside[-1], inside[-1] + 2)
    crossing = np.interp(0.0, -margin[ends], below[ends])
    # Margins (of Omega its logarithm) were made linear in depth; the water's clip rounds one cell by a tenth.
    assert_allclose(crossing, REACH[zone], rtol=0, atol=0.1 * CELL)


def test_rings_are_mirrored_about_the_axis(make):
    section = section_of(make())
    assert_allclose(section.across, -section.across[::-1], rtol=0, atol=0)
    assert_allclose(section.front, section.front[::-1], rtol=0, atol=0)
    assert section.edges == (-1.5e-3, 1.5e-3)


def test_the_zones_mesh_starts_at_the_front(make):
    section = section_of(make())
    assert_allclose(section.layers[0].depth[0, 1:-1], section.front, rtol=0, atol=0)


def test_extents_cover_the_zone_and_no_more(make):
    result = make()
    section = section_of(result)
    aside, deep = section.extent_of("coagulated")
    # On the axis the zone ends 140 um below the front; the mesh is read every third of a cell.
    assert_allclose(deep, result.fields.crater_depth[0] + REACH["coagulated"], rtol=0, atol=CELL / 3)
    # At the surface 250 um * (r / 0.55 mm - 1) = 140 um less half a cell, at a ring of 18.75 um.
    assert_allclose(aside, 0.55e-3 * (1.0 + 135.0 / 250.0), rtol=0, atol=18.75e-6)


def test_a_result_without_changes_has_no_zones_and_no_crater(make):
    result = make()
    fields = result.fields
    untouched = dataclasses.replace(
        fields,
        water=np.broadcast_to(result.initial_water, fields.water.shape),
        conversion=np.zeros_like(fields.conversion),
        damage=np.zeros_like(fields.damage),
        floor=np.zeros_like(fields.floor),
        crater_depth=np.zeros_like(fields.crater_depth),
    )
    section = section_of(dataclasses.replace(result, snapshots=(untouched,)))
    assert not section.has_crater
    assert [section.extent_of(zone) for zone in REACH] == [None, None, None]


def test_a_film_of_liquid_is_neither_charred_nor_dried(make):
    section = section_of(make(film=True))
    film, tissue = section.layers
    assert film.liquid and not tissue.liquid
    assert film.bottom == tissue.top == 100e-6
    assert film.margins["charred"].max() < 0.0 and film.margins["dried"].max() < 0.0
    assert tissue.margins["charred"].max() > 0.0


def test_a_layer_that_is_gone_everywhere_is_left_out(make):
    section = section_of(make(Geometry.SLAB, film=True))
    assert [layer.name for layer in section.layers] == ["soft_tissue"]


def test_a_still_beam_on_a_quarter_lattice_is_cut_along_x_and_mirrored(make):
    result = make(Geometry.LATTICE)
    section = section_of(result)
    front = result.fields.crater_depth.reshape(12, 10)[:, 0]
    assert_allclose(section.front, np.concatenate([front[::-1], front]), rtol=0, atol=0)


def test_a_scanned_beam_is_cut_across_its_path_half_way(make):
    result = make(Geometry.LATTICE)
    # Exposed for 80 ms from x = 0.1 mm at 5 mm/s: half way is x = 0.3 mm, in the column of index 2.
    result = dataclasses.replace(result, symmetry=2.0, beam=dict(result.beam, x=0.1e-3, scan_speed=5e-3))
    section = section_of(result)
    front = result.fields.crater_depth.reshape(12, 10)[2]
    assert front.max() > 0.0
    assert_allclose(section.front, np.concatenate([front[::-1], front]), rtol=0, atol=0)
    assert section.beam_at == 0.0
