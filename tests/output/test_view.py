"""The view shows the whole crater at equal scales, unless that would leave a thread of it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.output.pictures.key import round_length
from spotdwell.output.pictures.section import section_of
from spotdwell.output.pictures.view import content_of, seen_part, view_of

BOX = (5.0, 3.0)
SKY = 0.5


def view_of_result(result, fill=False):
    section = section_of(result)
    return section, view_of(section, content_of(section, float(result.beam["radius"])), BOX, SKY, fill)


def test_a_usual_crater_is_drawn_at_equal_scales_within_the_box(make):
    _, view = view_of_result(make())
    assert view.stretch == 1.0 and view.stretch_note == ""
    # Both scales come from one number; only round-off parts them.
    assert_allclose(view.size[0] / view.width, view.size[1] / view.height, rtol=1e-12)
    assert view.size[0] <= BOX[0] * (1 + 1e-12) and view.size[1] <= BOX[1] * (1 + 1e-12)


def test_crater_and_zones_are_inside_the_view(make):
    section, view = view_of_result(make())
    aside, deep = section.extent_of("coagulated")
    assert view.left < -aside * view.scale and aside * view.scale < view.right
    assert deep * view.scale < view.bottom


@pytest.mark.parametrize(
    ("width", "depth", "words"),
    [
        # 25 um over 2.6 mm is 1:100, which 10 times makes 1:10; 1.2 mm over 0.15 mm is 8, half of it 4.
        (2.6e-3, 25e-6, "depth drawn 10 times larger than width"),
        (0.15e-3, 1.2e-3, "width drawn 2 times larger than depth"),
    ],
)
def test_flat_marks_and_deep_holes_are_stretched_and_it_is_said(make, width, depth, words):
    section = bare(section_of(make()), width, depth)
    view = view_of(section, content_of(section, 1e-5), BOX, SKY, False)
    down, across = view.size[1] / view.height, view.size[0] / view.width
    assert_allclose(down / across, view.stretch, rtol=1e-12)
    assert view.stretch_note == words


def bare(section, width, depth):
    """A hole of this width and depth [m] with no zones around it."""
    layers = tuple(
        dataclasses.replace(layer, margins={zone: -np.ones_like(m) for zone, m in layer.margins.items()})
        for layer in section.layers
    )
    inside = np.abs(section.across) <= 0.5 * width
    return dataclasses.replace(section, layers=layers, front=np.where(inside, depth, 0.0))


def test_what_lies_outside_the_view_is_left_out_and_nothing_else(make):
    section, view = view_of_result(make())
    seen = seen_part(section, view)
    whole, part = section.layers[0], seen.layers[0]
    assert part.depth.size < 0.8 * whole.depth.size
    inside = (np.abs(whole.across) < view.right / view.scale)[None, :] & (
        whole.depth < view.bottom / view.scale
    )
    for zone, margin in whole.margins.items():
        assert np.sum(margin[inside] >= 0.0) == np.sum(
            (part.margins[zone] >= 0.0)
            & (np.abs(part.across) < view.right / view.scale)[None, :]
            & (part.depth < view.bottom / view.scale)
        )


@pytest.mark.parametrize(("room", "length"), [(1.0, 1.0), (1.99, 1.0), (4.9, 2.0), (0.07, 0.05), (730, 500)])
def test_scale_bars_have_the_longest_round_length_that_fits(room, length):
    assert_allclose(round_length(room), length, rtol=1e-12)
