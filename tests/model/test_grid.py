"""The automatic grid: layers met exactly, cells fine where it matters, clear refusals."""

import dataclasses
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError
from spotdwell.model.beam import Beam
from spotdwell.model.columns import Geometry
from spotdwell.model.exposure import steady
from spotdwell.model.grid import GridRequest, choose_grid, depth_bound, reached_share
from spotdwell.model.material import Medium, Removal
from spotdwell.model.target import Layer, Target

REMOVAL = Removal(rupture_temperature=513.15, steam_escape_time=2e-3)
TISSUE = Medium("tissue", 327.0, 763.0, 1550.0, 0.46, 0.15, 0.1, 8.46e4, 1e4, removal=REMOVAL)
FILM = Medium("film", 0.0, 997.0, 1000.0, 0.6, 0.6, 0.6, 8.46e4, 0.0)
BEAM = Beam(10.6e-6, 0.8e-3)
SHOT = steady(25.0, 80e-3)


def grid_of(*layers: Layer, beam: Beam = BEAM, **request):
    return choose_grid(Target(layers), beam, SHOT, GridRequest(**request))


def test_every_layer_boundary_is_a_cell_edge():
    grid = grid_of(Layer(FILM, 50e-6), Layer(TISSUE, 333e-6), Layer(TISSUE, math.inf))
    for boundary in (50e-6, 383e-6):
        assert_allclose(np.abs(grid.depth_edges - boundary).min(), 0.0, atol=1e-15)
    layer_above = grid.layer_of_cell[np.searchsorted(grid.depth_edges, 50e-6 - 1e-12) - 1]
    assert (layer_above, grid.layer_of_cell[-1]) == (0, 2)
    assert np.all(np.diff(grid.depth_edges) > 0.0)


def test_a_transparent_target_has_a_grid():
    # What takes no light never boils, and must not be divided by.
    clear = dataclasses.replace(TISSUE, absorption_coefficient_water=0.0, absorption_coefficient_solid=0.0)
    assert grid_of(Layer(clear, math.inf)).depth_edges[-1] > 6e-3


def test_cells_are_even_down_to_where_craters_reach():
    grid = grid_of(Layer(TISSUE, math.inf))
    bound = depth_bound(Target((Layer(TISSUE, math.inf),)), BEAM, SHOT, GridRequest())
    share = reached_share(Target((Layer(TISSUE, math.inf),)), BEAM, SHOT, GridRequest())
    heights = np.diff(grid.depth_edges)[grid.depth_edges[1:] < share * bound + 150e-6]
    assert_allclose(heights, heights[0], rtol=1e-9)
    assert 0.6 <= share < 1.0


PEAK = 2.0 * 2.0 / (math.pi * 0.8e-3**2)
"""Peak radiant exposure of the shot [J/m2]."""
SUPERHEATED = (327.0 * 1550.0 + 763.0 * 4181.3) * 203.0
"""Heat of the tissue at its rupture temperature [J/m3]."""

BURNT = 763.0 * (4181.3 * 63.0 + TISSUE.latent_heat) + 327.0 * 1550.0 * 963.0
"""Heat that dries the tissue and brings its solids to their burn-off temperature [J/m3]."""


def bound_of(medium):
    return depth_bound(Target((Layer(medium, math.inf),)), BEAM, SHOT, GridRequest())


def test_the_crater_bound_is_the_peak_exposure_over_the_removal_enthalpy():
    # Tissue that is thrown out needs heating to rupture alone.
    assert_allclose(bound_of(TISSUE), PEAK / SUPERHEATED, rtol=1e-9)


def test_what_debris_takes_of_the_beam_bounds_the_crater_too():
    loaded = dataclasses.replace(TISSUE, removal=dataclasses.replace(REMOVAL, debris_heat=1e9))
    assert_allclose(bound_of(loaded), PEAK / (SUPERHEATED + 1e9), rtol=1e-9)
    # Debris never takes more than nine tenths of the beam.
    lasting = dataclasses.replace(REMOVAL, debris_heat=1e12, burn_off_temperature=1e5)
    heavy = dataclasses.replace(TISSUE, removal=lasting)
    assert_allclose(bound_of(heavy), PEAK * 0.1 / SUPERHEATED, rtol=1e-9)


def test_where_debris_would_cost_more_it_is_burning_that_bounds_the_crater():
    heavy = dataclasses.replace(TISSUE, removal=dataclasses.replace(REMOVAL, debris_heat=1e12))
    assert_allclose(bound_of(heavy), PEAK / BURNT, rtol=1e-9)


def test_what_does_not_rupture_has_to_dry_and_burn():
    burning = dataclasses.replace(TISSUE, removal=Removal(burn_off_temperature=1273.15))
    assert_allclose(bound_of(burning), PEAK / BURNT, rtol=1e-9)


def test_a_liquid_has_to_evaporate():
    heat = 997.0 * (4181.3 * 63.0 + FILM.latent_heat)
    assert_allclose(bound_of(FILM), PEAK / heat, rtol=1e-9)


def test_the_reached_share_falls_as_steam_has_time_to_escape():
    slow, fast = (
        dataclasses.replace(TISSUE, removal=dataclasses.replace(REMOVAL, steam_escape_time=time))
        for time in (1e-4, 20e-3)
    )
    shares = [
        reached_share(Target((Layer(medium, math.inf),)), BEAM, SHOT, GridRequest())
        for medium in (slow, TISSUE, fast)
    ]
    assert 0.6 <= shares[0] < shares[1] < shares[2] < 1.0


def test_a_sheet_bounds_the_crater():
    assert depth_bound(Target((Layer(TISSUE, 0.3e-3),)), BEAM, SHOT, GridRequest()) == 0.3e-3


def test_refinement_halves_every_fine_cell():
    plain, fine = (grid_of(Layer(TISSUE, math.inf), refinement=r) for r in (1.0, 2.0))
    assert_allclose(plain.depth_edges[1] / fine.depth_edges[1], 2.0, rtol=1e-12)
    assert_allclose(plain.columns.x_edges[1] / fine.columns.x_edges[1], 2.0, rtol=1e-12)


def test_reasons_name_the_penetration_depth():
    reasons = grid_of(Layer(TISSUE, math.inf)).reasons
    assert any("penetration depth" in reason for reason in reasons)


def test_a_layer_thinner_than_an_asked_cell_is_refused():
    with pytest.raises(
        InputError, match=r"layers\[0\].thickness: expected at least one cell of 10 um, got 4 um"
    ):
        grid_of(Layer(FILM, 4e-6), Layer(TISSUE, math.inf), cell_depth=10e-6)


def test_a_beam_wider_than_the_grid_is_refused():
    with pytest.raises(InputError, match="half_width"):
        grid_of(Layer(TISSUE, math.inf), half_width=1e-3)


def test_a_grid_that_ends_above_its_last_layer_is_refused():
    with pytest.raises(InputError, match=r"grid.depth"):
        grid_of(Layer(FILM, 2e-3), Layer(TISSUE, math.inf), depth=1e-3)


def test_a_moving_beam_has_no_quarter_symmetry():
    beam = Beam(10.6e-6, 0.1e-3, scan_speed=0.1)
    with pytest.raises(InputError, match="symmetry"):
        grid_of(Layer(TISSUE, math.inf), beam=beam, geometry=Geometry.LATTICE, symmetry=4)


def test_a_lattice_mirrors_its_lines_about_the_axis():
    beam = Beam(10.6e-6, 0.1e-3)
    whole = grid_of(Layer(TISSUE, math.inf), beam=beam, geometry=Geometry.LATTICE, cell_width=50e-6)
    edges = whole.columns.x_edges
    assert_allclose(edges, -edges[::-1], atol=1e-15)
    quarter = grid_of(
        Layer(TISSUE, math.inf), beam=beam, geometry=Geometry.LATTICE, cell_width=50e-6, symmetry=4
    )
    assert whole.columns.count == 4 * quarter.columns.count


def test_model_and_kernels_hold_the_same_constants_of_removal():
    """Kernels import nothing of ours and freeze what they hold, so that each has its own copy."""
    from spotdwell.kernels import absorb, char
    from spotdwell.model import material

    assert material.MOST_SHADE == absorb.MOST_SHADE
    assert material.BURN_OFF_SPEED == char.BURN_OFF_SPEED
