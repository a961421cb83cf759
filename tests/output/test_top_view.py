"""From above the zones have the radii of the fields, on rings and on a lattice."""

from __future__ import annotations

import dataclasses
import re

import numpy as np
import pytest
from matplotlib.colors import to_hex, to_rgb
from numpy.testing import assert_allclose
from PIL import Image

from spotdwell.base.errors import InputError
from spotdwell.model.columns import Geometry
from spotdwell.output.pictures.canvas import blank
from spotdwell.output.pictures.plots import top_view
from spotdwell.output.pictures.style import TONES
from spotdwell.output.pictures.top_view import CHAR_SHADES, VISIBLE, paint_surface, surface_of

EDGE = 0.65e-3 * np.sqrt(0.5 * np.log(1.3 / 0.3))
"""Where the crater made by hand ends [m]: 1.3 exp(-2 (r / 0.65 mm)^2) = 0.3."""


def coagulated_radius(cell=10e-6):
    """Where 250 um * (r / 0.55 mm - 1) and half a cell reach 140 um, to which the damage was made [m]."""
    return 0.55e-3 * (1.0 + (140e-6 - 0.5 * cell) / 250e-6)


# Half of a ring of 19 um, and of a cell of the lattice of 125 um.
@pytest.mark.parametrize(("geometry", "blur"), [(Geometry.AXISYMMETRIC, 10e-6), (Geometry.LATTICE, 70e-6)])
def test_zones_seen_reach_as_far_as_they_were_made_to(make, geometry, blur):
    surface = surface_of(make(geometry))
    assert_allclose(surface.reach_of("depth", 1e-6, 0.0), EDGE, rtol=0, atol=2 * blur)
    found = surface.reach_of("coagulated", VISIBLE["coagulated"], 0.0)
    assert_allclose(found, coagulated_radius(), rtol=0, atol=blur)


def test_a_quarter_lattice_looks_the_same_in_all_four_directions(make):
    surface = surface_of(make(Geometry.LATTICE))
    reaches = [surface.reach_of("dried", 0.5, turn * np.pi / 2) for turn in range(4)]
    assert_allclose(reaches[0], reaches[2], rtol=1e-12)
    assert_allclose(reaches[1], reaches[3], rtol=1e-12)
    # Columns of 125 and 120 um see the same ring.
    assert_allclose(reaches[0], reaches[1], rtol=0, atol=0.06e-3)


def test_tissue_is_seen_through_a_film_of_liquid(make):
    surface = surface_of(make(depth=0.05e-3, film=True))
    # Everywhere the film of 100 um is left, and under it the tissue is coagulated on the axis.
    assert surface.values["liquid"].min() == 1.0
    assert surface.values["coagulated"][0, 0] > VISIBLE["coagulated"]


def test_labels_say_what_is_what_and_how_wide(make, tmp_path):
    result = make()
    top_view(result, tmp_path / "above.svg")
    text = (tmp_path / "above.svg").read_text(encoding="utf-8")
    words = re.findall(r"<(?:text|tspan)[^>]*>([^<]+)</", text)
    for wanted in ("coagulated", "dried", "charred", "crater", "beam", "⌀ 1.60 mm", "0.5 mm"):
        assert wanted in words, wanted
    assert any("no photograph" in word for word in words)
    wide = float(words[words.index("coagulated") + 1].split()[1])
    assert_allclose(wide, 2e3 * coagulated_radius(), rtol=0, atol=0.02)


def test_zones_have_the_tones_of_the_section_and_darken_inwards(make):
    figure = blank(80.0, 80.0)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set(xlim=(-1e-3, 1e-3), ylim=(-1e-3, 1e-3), xticks=[], yticks=[])
    paint_surface(axes, surface_of(make()), (-1e-3, 1e-3, -1e-3, 1e-3), 52e-6)
    figure.canvas.draw()
    picture = np.asarray(figure.canvas.buffer_rgba())[..., :3]

    def ring(radius):
        """The colour that most of a ring has: hatches cover less."""
        x = np.linspace(-1e-3, 1e-3, picture.shape[0])
        there = picture[np.abs(np.hypot(*np.meshgrid(x, x)) - radius) < 8e-6]
        colours, counts = np.unique(there, axis=0, return_counts=True)
        return to_hex(colours[counts.argmax()] / 255.0)

    found = [ring(radius) for radius in (0.97e-3, 0.8e-3, 0.3e-3)]
    assert found[:2] == [TONES[name].colour for name in ("untouched", "coagulated")]
    assert found[2] in CHAR_SHADES
    grey = [float(np.dot(to_rgb(colour), [0.299, 0.587, 0.114])) for colour in found]
    assert grey[0] > grey[1] + 0.15 > grey[2] + 0.3


def test_a_slab_cannot_be_seen_from_above(make, tmp_path):
    with pytest.raises(InputError, match="a slab"):
        top_view(make(Geometry.SLAB), tmp_path / "above.png")
    assert not list(tmp_path.iterdir())


def test_a_hole_shows_the_stage_below(make, tmp_path):
    result = make(depth=1.5e-3)
    through = result.fields.crater_depth >= 1.4e-3
    fields = dataclasses.replace(
        result.fields,
        floor=np.where(through, 150, result.fields.floor),
        crater_depth=np.where(through, 1.5e-3, result.fields.crater_depth),
    )
    holed = dataclasses.replace(result, snapshots=(fields,))
    assert surface_of(holed).reach_of("through", 0.5, 0.0) > 0.0
    assert surface_of(result).reach_of("through", 0.5, 0.0) is None
    top_view(holed, tmp_path / "above.svg")
    assert "open below" in (tmp_path / "above.svg").read_text(encoding="utf-8")


def test_the_same_result_gives_the_same_picture(make, tmp_path):
    for name in ("one", "two"):
        top_view(make(), tmp_path / f"{name}.png")
    one, two = (np.asarray(Image.open(tmp_path / f"{name}.png")) for name in ("one", "two"))
    assert np.array_equal(one, two)
