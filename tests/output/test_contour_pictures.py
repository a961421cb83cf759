"""Contours lie where the temperature is what they say, and what is not there is refused."""

from __future__ import annotations

import re

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError
from spotdwell.output.pictures.contours import check_contours, hottest_state, state_at
from spotdwell.output.pictures.plots import cross_section


def depth_of(figure, celsius):
    """Depths [mm] of the line at `celsius` on the axis."""
    from matplotlib.contour import ContourSet

    axes = figure.axes[0]
    lines = [
        c for c in axes.collections if isinstance(c, ContourSet) and list(c.levels) == [celsius + 273.15]
    ]
    points = np.concatenate([segment for line in lines for segment in line.allsegs[0]])
    return points[np.argmin(np.abs(points[:, 0])), 1]


def test_a_contour_on_the_axis_is_as_deep_as_the_field_says(make):
    from matplotlib.figure import Figure

    from spotdwell.output.pictures.cross_section import paint

    result = make()
    figure = Figure()
    paint(figure, result, contours=(373.15, 573.15), state=result.fields)
    for celsius in (100.0, 300.0):
        # Below the front T = 37 degC + 700 K exp(-z / 60 um), by how the result was made.
        below = 60e-6 * np.log(700.0 / (celsius - 37.0))
        expected = 1e3 * (result.fields.crater_depth[0] + below)
        unit = 1e-3 if "µm" in figure.axes[0].get_ylabel() else 1.0
        # Linear interpolation of an exponential over a cell of 10 um: (h / L)^2 / 8 of L, 0.2 um.
        assert_allclose(unit * depth_of(figure, celsius), expected, rtol=0, atol=1e-3)


def test_contours_are_labelled_in_degrees_and_the_moment_is_named(make, tmp_path):
    result = make()
    cross_section(result, tmp_path / "run.svg", contours=(333.15, 373.15), state=result.snapshots[1])
    words = re.findall(r"<text[^>]*>([^<]+)</text>", (tmp_path / "run.svg").read_text(encoding="utf-8"))
    assert "60 °C" in words and "100 °C" in words
    assert any(word.startswith("Shown at 80.0 ms") for word in words)


def test_temperatures_that_are_not_reached_are_an_input_error_that_names_those_that_are(make):
    state = make().fields
    with pytest.raises(InputError, match=r"between 37\.0 degC and 7\d\d degC"):
        check_contours(state, (1500.0,))
    check_contours(state, (1500.0, 373.15))


def test_a_moment_that_was_not_saved_is_an_input_error_that_lists_the_saved(make):
    result = make()
    assert state_at(result, 0.04) is result.snapshots[0]
    with pytest.raises(InputError, match=r"40\.00 ms, 80\.00 ms, 3000 ms"):
        state_at(result, 0.05)


def test_the_hottest_moment_is_the_last_of_those_nearly_as_hot(make):
    import dataclasses

    result = make()
    cold = dataclasses.replace(
        result.snapshots[2], temperature=0.0 * result.snapshots[2].temperature + 310.15
    )
    warmer = dataclasses.replace(result.snapshots[0], temperature=1.05 * result.snapshots[0].temperature)
    states = (warmer, result.snapshots[1], cold)
    assert hottest_state(dataclasses.replace(result, snapshots=states)) is result.snapshots[1]
