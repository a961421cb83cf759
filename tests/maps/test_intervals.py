"""Intervals of a map: those that a shot prints, kept, read back, refused where damaged, shown everywhere."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace

import h5py
import numpy as np
import pytest
from numpy.testing import assert_array_equal
from rich.console import Console

from spotdwell.base.errors import InputError
from spotdwell.base.names import MEASURES
from spotdwell.maps.bands import BANDED, NOTHING, WORDS, blank_bands, is_sound_band
from spotdwell.maps.bands_shown import percent_of, tenths
from spotdwell.maps.choice import Choice
from spotdwell.maps.cube import OUTLINES, RADII, Axis, Point, blank_cube, failed_point
from spotdwell.maps.picture import draw_map
from spotdwell.maps.plan import map_plan
from spotdwell.maps.shown import map_text, plain_of
from spotdwell.maps.store import GrowingFile, load_cube, resumed_cube, save_cube
from spotdwell.maps.table import write_table
from spotdwell.maps.view import choice_text
from spotdwell.measure.interval import Interval
from spotdwell.measure.verdict import Limits

POWER = Axis("power", (5.0, 10.0, 20.0, 40.0), "W", "list")
DWELL = Axis("dwell", (1e-3, 1e-2), "ms", "log")
MATERIAL = Axis("material", ("skin", "liver"), "", "list")
SHARES = (1.0, 0.875, 0.75, 0.5)
"""Of the draws with the verdict of a point, along the power."""


def interval_of(number: int, share: float = 1.0) -> Interval:
    ends = dict.fromkeys(BANDED, (1e-06 * number, 1e-06 * (number + 200)))
    ends["char_thickness_wall"] = None
    words = {"clean": share} | ({"charred": 1.0 - share} if share < 1.0 else {})
    return Interval(ends, words, 8, "It covers this.")


def cube_of(*axes: Axis):
    """A cube without an interval at its last point but one, whose last point failed."""
    shape = tuple(len(axis.values) for axis in axes)
    cube = blank_cube(axes, Limits(), {"target": "skin"}, "", {}, blank_bands(shape, 8, "It covers this."))
    for number, index in enumerate(np.ndindex(*shape)):
        measures = np.full(len(MEASURES), 1e-6 * (number + 100))
        outlines = np.zeros((len(OUTLINES), RADII))
        cube.fill(
            index,
            Point(measures, "clean", "", 0.1, outlines[0], outlines, interval_of(number, SHARES[index[0]])),
        )
    if cube.word.size > 4:
        bare = tuple(one - 1 for one in shape)
        cube.fill(bare, failed_point("why", 0.1, NOTHING))
    return cube


@pytest.fixture
def kept(tmp_path):
    path = tmp_path / "map.h5"
    save_cube(cube_of(POWER, DWELL), path, {"axes": "power, dwell"})
    return path


def assert_same_bands(one, other):
    assert (one.bands.draws, one.bands.covers) == (other.bands.draws, other.bands.covers)
    assert_array_equal(one.bands.shares, other.bands.shares)
    for name in BANDED:
        assert_array_equal(one.bands.low[name], other.bands.low[name])
        assert_array_equal(one.bands.high[name], other.bands.high[name])


def test_a_material_that_no_row_saw_is_refused_and_one_of_several_is_not():
    base = {"spot": "0.6 mm", "dwell": "2 ms"}
    with pytest.raises(InputError, match=r"intervals: .*published rows saw.*hardwood_dry"):
        map_plan({"material": "hardwood_dry", **base}, "power: 4 W, 8 W", intervals=True)
    assert map_plan(base | {"power": "4 W"}, "material: hardwood_dry, skin", intervals=True).intervals


def test_a_file_gives_the_intervals_back_and_knows_that_it_has_some(kept):
    assert_same_bands(load_cube(kept), cube_of(POWER, DWELL))
    assert load_cube(kept).interval((3, 1)) is None and load_cube(kept).odds((1, 0)) == "9 in 10"
    with h5py.File(kept) as file:
        assert file.attrs["format_version"] == 4 and file["crater_depth_low"].attrs["units"] == "m"
        assert list(file["word"].asstr()) == list(WORDS)


def test_a_file_without_them_is_as_it_was_and_loads(tmp_path):
    save_cube(replace(cube_of(POWER), bands=None), tmp_path / "old.h5")
    assert load_cube(tmp_path / "old.h5").bands is None and load_cube(tmp_path / "old.h5").odds((0,)) == ""
    with h5py.File(tmp_path / "old.h5") as file:
        assert file.attrs["format_version"] == 3 and "word" not in file and "crater_depth_low" not in file


def test_points_entered_one_by_one_make_the_same_file(kept, tmp_path):
    whole, blank = cube_of(POWER, DWELL), tmp_path / "grown.h5"
    empty = blank_cube(
        (POWER, DWELL), Limits(), {"target": "skin"}, "", {}, blank_bands((4, 2), 8, "It covers this.")
    )
    save_cube(empty, blank, {"axes": "power, dwell"})
    with GrowingFile(blank, (4, 2)) as file:
        for number, index in enumerate(np.ndindex(4, 2)):
            if index == (3, 1):
                file.enter(index, failed_point("why", 0.1, NOTHING))
                continue
            outlines = np.zeros((len(OUTLINES), RADII))
            measures = np.full(len(MEASURES), 1e-6 * (number + 100))
            interval = interval_of(number, SHARES[index[0]])
            file.enter(index, Point(measures, "clean", "", 0.1, outlines[0], outlines, interval))
    assert blank.read_bytes() == kept.read_bytes()
    assert_same_bands(load_cube(blank), whole)


def test_a_damaged_interval_costs_its_point_alone(kept):
    with h5py.File(kept) as file:
        place = file["deepest_high"].id.get_offset() + 8 * 2
    data = bytearray(kept.read_bytes())
    data[place : place + 8] = np.float64(np.pi).tobytes()
    kept.write_bytes(data)
    with pytest.raises(InputError, match="1 damaged points"):
        load_cube(kept)
    assert np.argwhere(resumed_cube(kept, {"axes": "power, dwell"}).missing).tolist() == [[1, 0]]


@pytest.mark.parametrize(
    "spoilt",
    [
        replace(interval_of(1), measures={"crater_depth": (2.0, 1.0)}),
        replace(interval_of(1), words={"clean": 0.5}),
        replace(interval_of(1), measures={"crater_depth": (0.0, np.inf)}),
        replace(interval_of(1), words={}),
    ],
)
def test_an_interval_that_no_run_leaves_is_not_believed(spoilt):
    assert is_sound_band(interval_of(1)) and is_sound_band(NOTHING) and not is_sound_band(spoilt)


def test_another_map_than_one_with_intervals_is_not_gone_on_with(kept):
    with pytest.raises(InputError, match="intervals = from 8 draws"):
        resumed_cube(kept, {"axes": "power, dwell", "intervals": "from 8 draws"})


def printed(cube):
    console = Console(width=100, file=io.StringIO())
    for part in map_text(cube, None, None):
        console.print(part)
    return console.file.getvalue()


def test_table_screen_and_json_have_ends_share_and_sentence(tmp_path):
    cube = cube_of(POWER, DWELL)
    write_table(cube, tmp_path / "map.csv")
    with (tmp_path / "map.csv").open(newline="") as file:
        assert file.readline().startswith("# Lasers") and file.readline() == "# It covers this.\n"
        rows = list(csv.DictReader(file))
    assert [rows[2][f"crater_depth_{end} [m]"] for end in ("low", "high")] == [repr(2e-6), repr(1e-6 * 202)]
    assert [row["verdict_share [1]"] for row in rows][::2] == ["1.0", "0.875", "0.75", "0.5"]
    assert rows[-1]["crater_depth_low [m]"] == rows[-1]["verdict_share [1]"] == ""
    found = json.loads(json.dumps(plain_of(cube, None)))["intervals"]
    assert found["low"]["crater_depth"][1] == [2e-6, 3e-6] and found["low"]["crater_depth"][3][1] is None
    assert found["verdicts"]["charred"][2] == [0.25, 0.25] and found["covers"] == "It covers this."
    text = printed(cube)
    assert "In how many of 10 draws" in text and "= 9 8 5" in text and "= 9 8 ?" in text
    assert "It covers this." in text and "intervals" not in plain_of(replace(cube, bands=None), None)


def test_a_map_over_one_range_prints_ends_and_shares():
    text = printed(cube_of(POWER))
    assert "90 % intervals [um]" in text and re.search(r"40 +50 % +3\.00 to 203", text), text
    assert "90 % intervals" not in printed(replace(cube_of(POWER), bands=None))


def test_only_all_of_the_draws_are_all():
    assert [percent_of(one) for one in (1.0, 0.9999, 0.0, np.nan)] == ["100 %", "99 %", "0 %", "-"]
    assert "".join(tenths(np.array([1.0, 0.9999, 0.14, 0.0, np.nan]))) == "=910?"


def texts_of(cube, path):
    draw_map(cube, path)
    return " ".join(re.findall(r"<text[^>]*>([^<]+)</text>", path.read_text(encoding="utf-8")))


def test_bands_are_drawn_around_the_curves_and_named(tmp_path):
    cube = cube_of(POWER)
    words = texts_of(cube, tmp_path / "curves.svg")
    assert "90 % interval 90 % interval, wall" in words and "It covers this." in words
    assert "coagulated [µm]" in words and "charred [µm]" in words
    bare = texts_of(replace(cube, bands=None), tmp_path / "bare.svg")
    assert "interval" not in bare and "reach [µm]" in bare
    apart = blank_cube((MATERIAL,), Limits(), {}, "", {}, blank_bands((2,), 8, "It covers this."))
    outlines = np.zeros((len(OUTLINES), RADII))
    for number in range(2):
        measures = np.full(len(MEASURES), 1e-4)
        apart.fill((number,), Point(measures, "clean", "", 0.1, outlines[0], outlines, interval_of(number)))
    assert "90 % interval (wall: right)" in texts_of(apart, tmp_path / "apart.svg")


def test_a_band_lies_where_its_interval_is():
    from matplotlib.figure import Figure

    from spotdwell.maps.curves import paint_curves

    figure, cube = Figure(), cube_of(POWER)
    cube.bands.low["deepest"][:], cube.bands.high["deepest"][:] = 40e-6, 170e-6
    paint_curves(figure, cube)
    band = next(one for one in figure.axes[0].collections if one.get_facecolor()[0, 3] < 0.5)
    corners = band.get_paths()[0].get_extents()
    np.testing.assert_allclose([corners.y0, corners.y1], [40.0, 170.0], rtol=1e-9)
    # In grey a quarter of the ink lies over the verdicts, with an edge around it.
    assert band.get_edgecolor()[0, 3] == 1.0 and 0.2 < band.get_facecolor()[0, 3] < 0.4


def test_points_of_doubtful_verdict_are_marked_on_two_ranges_and_the_marks_explained(tmp_path):
    from matplotlib.figure import Figure

    from spotdwell.maps.picture import paint

    figure = Figure()
    paint(figure, cube_of(POWER, DWELL))
    marks = {
        line.get_markersize(): line.get_xdata().tolist()
        for line in figure.axes[0].lines
        if line.get_markerfacecolor() == "white"
    }
    # 7 in 8 is told as 9 in 10; the last point failed.
    assert marks == {3.2: [20.0, 20.0], 6.0: [40.0]}
    words = texts_of(cube_of(POWER, DWELL), tmp_path / "map.svg")
    assert "verdict in 4 of 5 draws or fewer" in words and "It covers this." in words


def test_the_cleanest_setting_has_odds_where_it_was_computed():
    cube = cube_of(POWER, DWELL)
    at = dict.fromkeys(MEASURES) | {"char_thickness_floor": 5e-6}
    point = Choice(1e-4, {"power": 20.0, "dwell": 1e-3}, (2.0, 0.0), "", at, "clean")
    assert "(clean, 3 in 4, char 5 µm" in choice_text(cube, point)
    assert "(clean, char 5 µm" in choice_text(cube, replace(point, between="power"))
