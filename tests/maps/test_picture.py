"""Pictures of maps: regions in colour and grey, contours with units, panels, and points without a verdict."""

from __future__ import annotations

import itertools
import re

import numpy as np
import pytest
from numpy.testing import assert_allclose
from PIL import Image

from spotdwell.base.errors import InputError, RunError
from spotdwell.base.names import MEASURES
from spotdwell.maps.choice import Choice
from spotdwell.maps.cube import OUTLINES, Axis, Cube
from spotdwell.maps.picture import draw_map
from spotdwell.maps.regions import TONES, levels_of, places_of
from spotdwell.maps.view import at_position, check_panels, sides_of, spacing, view_of
from spotdwell.measure.verdict import Limits, Word

POWER = Axis("power", tuple(np.linspace(5.0, 40.0, 14).tolist()), "W", "linear")
DWELL = Axis("dwell", tuple(np.geomspace(1e-3, 1.0, 12).tolist()), "ms", "log")
SPOT = Axis("spot", (0.4e-3, 0.8e-3, 1.6e-3), "mm", "list")
MATERIAL = Axis("material", ("skin", "oral_mucosa"), "", "list")
BANDS = (
    Word.UNMARKED,
    Word.DRIED,
    Word.COAGULATED,
    Word.SCORCHED,
    Word.CHARRED,
    Word.UNVERIFIED,
    Word.CLEAN,
    Word.TOO_DEEP,
    Word.PERFORATED,
)


def cube_of(*axes: Axis) -> Cube:
    """A cube whose verdicts go through all words along the first axis; depth grows along both."""
    shape = tuple(len(axis.values) for axis in axes)
    first, second = [*np.indices(shape), np.zeros(shape, dtype=int)][:2]
    measures = {name: np.full(shape, np.nan) for name in MEASURES}
    measures["crater_depth"] = 60e-6 * (first + second)
    measures["coagulation_thickness_floor"] = 20e-6 + 10e-6 * second
    word = np.array([str(one) for one in BANDS], dtype="U16")[first * len(BANDS) // shape[0]]
    word[(0,) * len(shape)] = ""
    word[(1,) * len(shape)] = "failed"
    for values in measures.values():
        values[(word == "") | (word == "failed")] = np.nan
    return Cube(
        axes=axes,
        measures=measures,
        word=word,
        failure=np.where(word == "failed", "why", ""),
        seconds=np.ones(shape),
        radius=np.zeros((*shape, 4)),
        outlines={name: np.zeros((*shape, 4)) for name in OUTLINES},
        limits=Limits(depth=1e-3),
        setting={"target": "soft_tissue", "wavelength": "10.6 um"},
        scenario_text="",
        versions={},
    )


def choice_at(*position: float) -> Choice:
    measures = dict.fromkeys(MEASURES) | {"char_thickness_floor": 5e-6}
    return Choice(300e-6, {"power": 20.0, "dwell": 0.01}, position, "dwell", measures, "clean")


def words_of(path):
    return re.findall(r"<text[^>]*>([^<]+)</text>", path.read_text(encoding="utf-8"))


def lightness(colour):
    """L* of a colour such as #9fc9ea (CIE 1976, relative to the white of sRGB)."""
    values = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in values]
    return 116.0 * float(np.dot([0.2126, 0.7152, 0.0722], linear)) ** (1 / 3) - 16.0


def test_every_two_regions_differ_in_lightness_by_a_tenth_or_in_hatch_and_lightness():
    assert set(TONES) == {str(word) for word in Word}
    for one, other in itertools.combinations(TONES, 2):
        apart = abs(lightness(TONES[one].colour) - lightness(TONES[other].colour))
        hatched = TONES[one].hatch != TONES[other].hatch
        assert apart >= 10.0 or (hatched and apart >= 5.0), (one, other)


def test_the_drawn_regions_have_their_own_grey(tmp_path):
    draw_map(cube_of(POWER, DWELL), tmp_path / "map.png")
    grey = np.asarray(Image.open(tmp_path / "map.png").convert("L")).ravel()
    share = np.bincount(grey, minlength=256) / grey.size
    for word, tone in TONES.items():
        rgb = tuple(int(tone.colour[i : i + 2], 16) for i in (1, 3, 5))
        level = int(np.asarray(Image.new("RGB", (1, 1), rgb).convert("L"))[0, 0])
        # A ninth of the panel each, less hatches and labels: far more than a hundredth of the picture.
        assert share[level - 1 : level + 2].sum() > 1e-2, word


def test_the_picture_names_regions_axes_units_limits_contours_and_the_chosen_setting(tmp_path):
    draw_map(cube_of(POWER, DWELL), tmp_path / "map.svg", choice_at(5.0, 4.5))
    words = [word.replace("\N{NO-BREAK SPACE}", " ") for word in words_of(tmp_path / "map.svg")]
    for wanted in (
        "Map over power and dwell time",
        "soft tissue · 10.6 µm",
        "Limits: char 52 µm at floor and wall, depth 1 mm, depth over width 2.",
        "power [W]",
        "dwell time [ms]",
        "crater depth",
        "coagulation under the floor",
        "500 µm",
        "1 mm",
        "failed",
        "not computed",
        "cleanest for 300 µm",
    ):
        assert wanted in words, wanted
    for word in BANDS:
        # Once in its region and once in the key.
        assert words.count(str(word)) == 2, word
    assert any("power 20 W, dwell 10 ms (clean, char 5 µm" in word for word in words)
    assert any("no ground for a treatment decision" in word for word in words)


@pytest.mark.parametrize("suffix", ["png", "svg", "pdf"])
def test_the_same_map_gives_the_same_file(tmp_path, suffix):
    for name in ("one", "two"):
        draw_map(cube_of(POWER, DWELL), tmp_path / f"{name}.{suffix}", choice_at(5.0, 4.5))
    assert (tmp_path / f"one.{suffix}").read_bytes() == (tmp_path / f"two.{suffix}").read_bytes()


def test_a_third_axis_makes_panels_at_one_scale(tmp_path):
    draw_map(cube_of(POWER, DWELL, SPOT), tmp_path / "map.svg")
    words = words_of(tmp_path / "map.svg")
    assert [word for word in words if word.startswith("spot ")] == [
        "spot 0.4 mm",
        "spot 0.8 mm",
        "spot 1.6 mm",
    ]
    # Labelled once at the left, and under each panel of the last row.
    assert (words.count("dwell time [ms]"), words.count("power [W]")) == (1, 3)


def test_materials_go_up_and_no_line_joins_them(tmp_path):
    view = view_of((MATERIAL, POWER))
    assert (view.across, view.up) == (1, 0)
    draw_map(cube_of(POWER, MATERIAL), tmp_path / "map.svg")
    words = words_of(tmp_path / "map.svg")
    assert "oral mucosa" in words and "crater depth" not in words
    assert any(word.startswith("Figures: crater depth over coagulation") for word in words)


def test_more_panels_than_a_page_holds_are_refused_with_what_to_do():
    many = Axis("spot", tuple(np.linspace(1e-4, 2e-3, 13).tolist()), "mm", "linear")
    with pytest.raises(InputError, match="at most 12 panels, got 13, over spot"):
        check_panels((POWER, DWELL, many))
    check_panels((POWER, DWELL, SPOT, MATERIAL))


def test_cells_lie_around_their_values_and_touch():
    centres, edges = sides_of(DWELL)
    assert_allclose(centres, 1e3 * np.array(DWELL.values), rtol=1e-12)
    # On a logarithmic side each centre is the geometric mean of its edges.
    assert_allclose(np.sqrt(edges[1:] * edges[:-1]), centres, rtol=1e-12)
    assert at_position(DWELL, 0.5) == pytest.approx(np.sqrt(centres[0] * centres[1]), rel=1e-12)
    # Listed numbers are drawn to scale, words side by side.
    assert at_position(SPOT, 1.5) == pytest.approx(1.2)
    assert at_position(MATERIAL, 0.5) == 0.5
    assert spacing(SPOT) == "linear" and spacing(Axis("spot", (1e-4, 1e-3), "mm", "list")) == "log"


def test_a_map_over_one_axis_is_drawn_as_curves_over_its_verdicts(tmp_path):
    draw_map(cube_of(POWER), tmp_path / "curves.svg", choice_at(2.0))
    words = words_of(tmp_path / "curves.svg")
    for wanted in (
        "Map over power",
        "depth [µm]",
        "reach [µm]",
        "power [W]",
        "limit of char",
    ):
        assert any(wanted in word for word in words), wanted


def test_contour_levels_are_round_and_within_the_values():
    assert levels_of(np.array([0.0, 30e-6, np.nan, 900e-6])) == [50e-6, 100e-6, 200e-6, 500e-6]
    close = levels_of(np.array([31e-6, 48e-6]))
    assert len(close) >= 3 and all(31e-6 < level < 48e-6 for level in close)
    assert levels_of(np.zeros(5)) == []


def test_a_region_is_named_in_its_middle_and_a_speck_is_not():
    words = np.full((9, 9), "clean", dtype="U16")
    words[0, 0] = "charred"
    assert list(places_of(words)) == [("clean", 4, 4)]


def test_a_map_that_cannot_be_written_leaves_nothing(tmp_path):
    with pytest.raises(InputError, match="suffix"):
        draw_map(cube_of(POWER, DWELL), tmp_path / "map.gif")
    with pytest.raises(RunError, match="no folder"):
        draw_map(cube_of(POWER, DWELL), tmp_path / "none" / "map.png")
    assert list(tmp_path.iterdir()) == []
