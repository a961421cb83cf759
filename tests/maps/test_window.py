"""The cleanest setting for a depth, on cubes made by hand."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError
from spotdwell.base.names import MEASURES
from spotdwell.maps.cube import OUTLINES, Axis, Cube
from spotdwell.maps.window import cleanest
from spotdwell.measure.verdict import Limits

POWER = Axis("power", (10.0, 20.0, 40.0), "W", "list")
DWELL = Axis("dwell", (1e-3, 1e-2, 1e-1), "ms", "log")


def cube_of(depth, char, limits=None, coagulation=50e-6, **other):
    """Cube over power and dwell of these crater depths and char thicknesses [um], shape (3, 3)."""
    depth, char = (1e-6 * np.asarray(values, dtype=float) for values in (depth, char))
    measures = {name: np.full((3, 3), np.nan) for name in MEASURES}
    measures |= {"crater_depth": depth, "deepest": depth, "crater_width": np.full((3, 3), 1e-3)}
    measures |= {f"char_thickness_{place}": np.broadcast_to(char, (3, 3)) for place in ("floor", "wall")}
    measures |= {"solid_volume": 1e-6 * depth, "trusted_wall": np.zeros((3, 3))}
    measures["coagulation_thickness_floor"] = np.broadcast_to(coagulation, (3, 3))
    measures |= {name: np.asarray(values) for name, values in other.items()}
    word = np.where(np.isnan(depth), "failed", "clean").astype("U16")
    lines = {name: np.zeros((3, 3, 4)) for name in OUTLINES}
    rest = (np.ones((3, 3)), np.zeros((3, 3, 4)), lines, limits or Limits(), {}, "", {})
    return Cube((POWER, DWELL), measures, word, np.full((3, 3), ""), *rest)


RISING = [[100, 200, 400], [150, 300, 600], [200, 400, 800]]


def test_a_computed_point_of_the_wanted_depth_is_taken_as_it_is():
    found = cleanest(cube_of(RISING, [[9, 9, 9], [9, 1, 9], [9, 9, 9]]), 300e-6)
    assert found is not None
    assert (found.point, found.between, found.word) == ({"power": 20.0, "dwell": 1e-2}, "", "clean")
    assert (found.position, found.nearest) == ((1.0, 1.0), (1, 1))


def test_between_two_points_setting_and_measures_are_interpolated():
    char = [[20, 20, 20], [20, 20, 20], [5, 10, 20]]
    found = cleanest(cube_of(RISING, char), 250e-6)
    assert found is not None and found.between == "dwell"
    # A quarter of the way from 200 to 400 um, in the logarithm of the dwell; char from 5 to 10 um.
    assert found.point["power"] == 40.0
    assert_allclose(found.point["dwell"], 1e-3 * 10**0.25, rtol=1e-12)
    assert_allclose(found.measures["char_thickness_floor"], 6.25e-6, rtol=1e-12)
    assert_allclose(found.measures["crater_depth"], 250e-6, rtol=1e-12)


def test_of_equal_char_the_thinner_coagulation_wins():
    under = np.array([[50, 50, 50], [50, 50, 50], [40, 40, 40]]) * 1e-6
    found = cleanest(cube_of(RISING, 3, coagulation=under), 250e-6)
    assert found is not None and found.point["power"] == 40.0


def test_a_clean_setting_goes_before_one_with_less_char_that_is_too_deep_for_its_width():
    narrow = np.array([[1.0, 1.0, 1.0], [1.0, 1.0, 1.0], [0.05, 0.05, 0.05]]) * 1e-3
    char = [[20, 20, 20], [20, 20, 20], [1, 1, 1]]
    found = cleanest(cube_of(RISING, char, crater_width=narrow), 250e-6)
    assert found is not None and found.word == "clean" and found.point["power"] != 40.0


def test_where_nothing_is_clean_the_least_charred_is_given_with_its_verdict():
    found = cleanest(cube_of(RISING, [[90, 90, 90], [90, 60, 90], [90, 90, 90]]), 300e-6)
    assert found is not None and (found.word, found.point["power"]) == ("charred", 20.0)


def test_failed_perforated_and_uncut_points_are_no_neighbours():
    nan = np.nan
    through = np.full((3, 3), nan)
    through[2] = 1e-3
    depth = [[0, 400, 800], [100, nan, 600], [100, 200, 800]]
    assert cleanest(cube_of(depth, 5, perforation_time=through), 150e-6) is None
    # The same depths without the holes: some pair passes 150 um.
    assert cleanest(cube_of(depth, 5), 150e-6) is not None


def test_a_depth_that_no_point_reaches_gives_none_and_one_beyond_the_limit_an_error():
    assert cleanest(cube_of(RISING, 5), 900e-6) is None
    with pytest.raises(InputError, match="depth: expected at most the depth limit, 200 um"):
        cleanest(cube_of(RISING, 5, Limits(depth=200e-6)), 300e-6)
