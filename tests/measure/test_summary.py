"""The table of all measures."""

from __future__ import annotations

import time

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.base.names import MEASURES
from spotdwell.measure.summary import measures_of
from spotdwell.model import columns
from spotdwell.model.target import Layer


@pytest.fixture
def ablated(outcome_of, depth_edges):
    """A paraboloid with concentric zones on 80 rings of 150 cells."""
    return outcome_of(
        columns.rings(np.arange(81) * 10e-6),
        depth_edges,
        lambda r: 200e-6 * (1.0 - (r / 250e-6) ** 2),
        omega=lambda r, z: np.exp((330e-6 - np.hypot(r, z)) / 10e-6),
        conversion=lambda r, z: np.clip(0.5 + (280e-6 - np.hypot(r, z)) / 200e-6, 0, 1),
        water_share=lambda r, z: np.clip(0.5 + (np.hypot(r, z) - 300e-6) / 200e-6, 0, 1),
    )


def test_measures_are_those_of_the_vocabulary_in_its_order(ablated):
    found = measures_of(ablated)
    assert list(found) == list(MEASURES)
    assert [name for name, value in found.items() if value is None] == ["perforation_time"]
    assert all(type(value) is float for value in found.values() if value is not None)


def test_each_measure_stands_under_its_own_name(ablated):
    found = measures_of(ablated)
    floors = [found[f"{zone}_thickness_floor"] for zone in ("char", "dried", "coagulation")]
    # Spheres of 280, 300 and 330 um about a floor at 200 um: over 53 um of floor the spheres and the
    # paraboloid differ in slope, which takes at most 1 % off the thickness.
    assert_allclose(floors, [80e-6, 100e-6, 130e-6], rtol=0.01)
    # The parabola is exact for a paraboloid, and deeper than the deepest column, 5 um off the axis.
    assert_allclose([found["crater_depth"], found["deepest"]], 200e-6, rtol=1e-9)
    assert_allclose(found["energy_per_removed_volume"], 1.0 / found["crater_volume"], rtol=1e-12)
    assert_allclose(
        found["char_per_removed_volume"], found["char_volume"] / found["crater_volume"], rtol=1e-12
    )
    assert (found["crater_mass"], found["peak_temperature"], found["end_time"]) == (2e-9, 600.0, 0.5)


def test_slab_measures_its_floor_and_nothing_sideways(outcome_of, depth_edges):
    found = measures_of(outcome_of(columns.slab(1e-6), depth_edges, lambda r: 50e-6 + 0 * r))
    absent = {name for name, value in found.items() if value is None}
    sideways = {name for name in MEASURES if any(word in name for word in ("_wall", "_rim", "_width"))}
    sideways -= {"trusted_wall"}
    assert absent == sideways | {"perforation_time"}


def test_nothing_removed_leaves_ratios_and_walls_out(outcome_of, depth_edges):
    found = measures_of(outcome_of(columns.rings(np.arange(81) * 10e-6), depth_edges))
    absent = {name for name, value in found.items() if value is None}
    walls = {name for name in MEASURES if name.endswith("thickness_wall")}
    assert absent == walls | {"energy_per_removed_volume", "char_per_removed_volume", "perforation_time"}


def test_perforation_time_is_passed_on(outcome_of, depth_edges):
    outcome = outcome_of(columns.slab(1e-6), depth_edges, lambda r: 1e-3 + 0 * r, perforation_time=0.04)
    found = measures_of(outcome)
    assert found["perforation_time"] == 0.04
    assert found["char_thickness_floor"] is None


def test_all_measures_of_80_by_150_cells_take_under_20_ms(ablated):
    measures_of(ablated)  # the first call imports scipy.ndimage
    spent = []
    for _ in range(5):
        start = time.process_time()
        measures_of(ablated)
        spent.append(time.process_time() - start)
    assert min(spent) < 20e-3


def test_tissue_that_boiled_dry_counts_as_coagulated_however_short_the_heat(outcome_of, depth_edges):
    slight = {"omega": lambda r, z: 0.1 + 0.0 * (r + z)}
    dry = {"water_share": lambda r, z: np.where(z < 40e-6, 0.0, 1.0)}
    plain, short = (
        measures_of(outcome_of(columns.slab(1e-6), depth_edges, **f)) for f in (slight, slight | dry)
    )
    assert plain["coagulation_thickness_floor"] == 0.0
    assert short["coagulation_thickness_floor"] == short["dried_thickness_floor"] > 30e-6


def test_only_solids_count_as_removed_volume_of_solids(outcome_of, media, depth_edges):
    layers = (Layer(media.water, 100e-6), Layer(media.tissue, np.inf))
    found = measures_of(outcome_of(columns.slab(1e-6), depth_edges, lambda r: 130e-6 + 0 * r, layers=layers))
    assert_allclose([found["crater_volume"], found["solid_volume"]], [130e-12, 30e-12], rtol=1e-9)
    film = measures_of(outcome_of(columns.slab(1e-6), depth_edges, lambda r: 60e-6 + 0 * r, layers=layers))
    assert (film["solid_volume"], film["crater_volume"] > 0.0) == (0.0, True)
