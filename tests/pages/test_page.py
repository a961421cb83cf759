"""The class page: one file that fetches nothing, whose data are the cube's, and questions that it answers."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError, RunError
from spotdwell.base.names import MEASURES
from spotdwell.base.units import convert
from spotdwell.maps.bands import BANDED, blank_bands
from spotdwell.maps.cube import OUTLINES, RADII, Axis, Cube, Point, blank_cube, failed_point
from spotdwell.measure.interval import Interval
from spotdwell.measure.verdict import Limits, Word, verdict_of
from spotdwell.pages.page import FIGURES, MOST_POINTS, class_page, page_data, page_text
from spotdwell.pages.questions import questions_of
from spotdwell.pages.words import setting_text

POWER = Axis("power", (5.0, 10.0, 20.0, 40.0), "W", "log")
DWELL = Axis("dwell", (1e-3, 2e-3, 4e-3, 8e-3), "ms", "log")
MATERIAL = Axis("material", ("skin", "oral_mucosa"), "", "list")
TITLE = "Größe </script><b> & Tiefe"
SCENARIO = """
[beam]
wavelength = "10.6 um"
diameter = "0.6 mm"
[target]
[[target.layers]]
material = "skin"
thickness = "0.25 mm"
[[target.layers]]
material = "liver"
[grid]
cell_depth = "10 um"
refinement = 2.0
[materials.skin]
title = "Skin"
[materials.skin.density]
value = "1125 kg/m3"
basis = "measured"
source = "A paper <of> 1999"
"""


def point_of(power: float, dwell: float) -> Point:
    """A shot by a law of thumb: depth goes with energy over a threshold, char with dwell."""
    energy = power * dwell
    depth = max(0.0, (energy - 15e-3) * 2e-3)
    char, coagulated = (8e-6 * dwell / 1e-3 if depth else 0.0), 40e-6 + 5e-3 * dwell
    found = {
        "crater_depth": depth,
        "deepest": depth,
        "solid_volume": depth * 1e-7,
        "crater_width": 0.6e-3 if depth else 0.0,
        "char_thickness_floor": char,
        "char_thickness_wall": 0.5 * char,
        "coagulation_thickness_floor": coagulated,
        "coagulation_thickness_wall": coagulated,
        "trusted_wall": 25e-6,
        "char_volume": char * 1e-7,
        "incident_energy": energy,
        "peak_temperature": 500.0 + 12345.678 * dwell,
    }
    if depth:
        found["energy_per_removed_volume"] = energy / (depth * 1e-7)
    radius = np.linspace(0.0, 0.4e-3, RADII)
    shape = np.clip(1.0 - (radius / 0.3e-3) ** 2, 0.0, None)
    depths = np.cumsum([depth * shape, char * shape, 0.0 * shape, coagulated * shape], axis=0)
    measures = np.array([found.get(name, np.nan) for name in MEASURES])
    word = verdict_of(dict.fromkeys(MEASURES) | found, Limits()).word
    return Point(measures, str(word), "", 0.1, radius, depths)


def cube_of(*axes: Axis) -> Cube:
    setting = {"title": TITLE, "spot": "0.6 mm (1/e2)"}
    cube = blank_cube(axes, Limits(), setting, SCENARIO, {"spotdwell": "0.1.0"})
    for index in np.ndindex(cube.shape):
        at = {axis.name: axis.values[one] for axis, one in zip(axes, index, strict=True)}
        cube.fill(index, point_of(at.get("power", 10.0), at.get("dwell", 2e-3)))
    return cube


@pytest.fixture
def cube() -> Cube:
    return cube_of(POWER, DWELL, MATERIAL)


class Reader(HTMLParser):
    """Collects tags, attributes and the texts of scripts; complains of tags that do not match."""

    VOID = ("meta", "link", "input", "br")

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.attributes: list[tuple[str, str, str | None]] = []
        self.scripts: list[str] = []
        self.headings: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.attributes += [(tag, name, value) for name, value in attrs]
        if tag not in self.VOID:
            self.open.append(tag)
        if tag == "script":
            self.scripts.append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] == "script":
            self.scripts[-1] += data
        if self.open and self.open[-1] == "h1":
            self.headings.append(data)


def read(text: str) -> Reader:
    reader = Reader()
    reader.feed(text)
    reader.close()
    assert reader.open == []
    return reader


def data_of(text: str):
    return json.loads(read(text).scripts[0])


def test_the_page_is_well_formed_with_one_title_and_labelled_parts(cube):
    reader = read(page_text(cube))
    assert reader.headings == [TITLE]
    ids = [value for _, name, value in reader.attributes if name == "id"]
    assert len(ids) == len(set(ids))
    named = [value for _, name, value in reader.attributes if name in ("aria-labelledby", "aria-controls")]
    assert named and set(named) <= set(ids)


def test_the_page_fetches_nothing(cube):
    text = page_text(cube)
    addresses = set(re.findall(r"\b(?:https?|ftp|ws)://[^\s\"'<>`]*", text))
    # The name of SVG elements, which is not fetched.
    assert addresses == {"http://www.w3.org/2000/svg"}
    for word in ("url(http", "@import", "fetch(", "XMLHttpRequest", "innerHTML", "eval("):
        assert word not in text
    for tag, name, value in read(text).attributes:
        if name in ("src", "href"):
            assert value is not None and value.startswith(("#", "data:")), (tag, value)


def test_the_figures_in_the_page_are_the_cubes(cube):
    data = data_of(page_text(cube))
    for name in FIGURES:
        unit, shown = MEASURES[name].unit, MEASURES[name].display_unit
        kept = np.array([np.nan if one is None else one for one in data["values"][name]])
        # Kept to 6 digits; at most half a unit of the sixth is lost.
        assert_allclose(kept, convert(cube.measures[name].ravel(), unit, shown), rtol=5e-6)
    words = [data["words"][one]["word"] for one in data["word"]]
    assert words == cube.word.ravel().tolist()
    assert [one["values"] for one in data["axes"]] == [
        list(POWER.values),
        pytest.approx([1.0, 2.0, 4.0, 8.0], rel=1e-12),
        list(MATERIAL.values),
    ]


def test_the_outlines_in_the_page_are_the_cubes_to_half_a_step(cube):
    data = data_of(page_text(cube))
    assert {0.1, 1.0} == set(data["steps"])
    points = zip(np.ndindex(cube.shape), data["steps"], data["ends"], data["outlines"], strict=True)
    for index, step, end, outlines in points:
        depths = step * np.cumsum(np.reshape(outlines, (len(OUTLINES), RADII)), axis=0)
        for name, kept in zip(OUTLINES, depths, strict=True):
            assert_allclose(kept, 1e6 * cube.outlines[name][index], atol=0.501 * step, rtol=0.0)
        assert end == pytest.approx(1e6 * cube.radius[index][-1], rel=5e-6)


def test_a_reason_is_told_for_each_verdict_and_limit(cube):
    data = page_data(cube)
    assert all(data["reasons"])
    clean = data["reasons"][np.flatnonzero(cube.word.ravel() == Word.CLEAN)[-1]]
    charred = data["reasons"][np.flatnonzero(cube.word.ravel() == Word.CHARRED)[0]]
    assert "over its limit, 64 µm of 52 µm" in charred
    assert "within its limit, " in clean and " of 52 µm" in clean and " um" not in clean
    lines = " ".join(data["about"]["lines"])
    for said in (
        "spotdwell 0.1.0: 32 shots",
        "Dwell time: 4 values from 1 ms to 8 ms",
        "char 52 µm at floor",
    ):
        assert said in lines
    # Cells of 10 um refined by 2.
    assert "5 µm deep" in lines
    assert data["about"]["materials"][0]["rows"] == [
        ["density", "1125 kg/m3", "measured", "A paper <of> 1999"]
    ]
    assert (data["beam"]["across"], data["layers"], data["closed"]) == ([600.0], [250.0], False)


def test_answers_are_those_of_the_cube(cube):
    questions = questions_of(cube)
    assert all(one["answer"] for one in questions)
    char = np.fmax(cube.measures["char_thickness_floor"], cube.measures["char_thickness_wall"])
    energy, depth = cube.measures["incident_energy"], cube.measures["crater_depth"]
    least, slow, threshold, _, cheapest, _, *_ = questions
    # The same depth comes from the same energy here, and char goes with the dwell: the shortest dwell wins.
    low, high = tuple(least["a"]), tuple(least["b"])
    near = np.abs(depth - depth[low]) <= 0.2 * depth[low]
    assert char[low] == char[near].min() and char[high] == char[near].max()
    low, high = tuple(slow["a"]), tuple(slow["b"])
    assert energy[low] == pytest.approx(energy[high], rel=0.05)
    # 40 W for 1 ms leave 8 um of char, 5 W for 8 ms leave 64 um: no other pair of one energy differs more.
    assert (low[:2], high[:2]) == ((3, 0), (0, 3))
    assert "B: 64 µm; A: 8 µm" in slow["answer"] and "8.0 times as long" in slow["answer"]
    low, high = tuple(threshold["a"]), tuple(threshold["b"])
    assert depth[low] == 0.0 < depth[high] and high[0] == low[0] + 1 and low[1:] == high[1:]
    needed = cube.measures["energy_per_removed_volume"]
    assert needed[tuple(cheapest["a"])] == np.nanmin(needed)


def test_settings_that_leave_equally_little_are_counted_and_told_by_coagulation(cube):
    # Dwells of 1 ms and 2 ms, which left 8 and 16 um of char, now leave none.
    short = cube.measures["char_thickness_floor"] < 20e-6
    for place in ("floor", "wall"):
        cube.measures[f"char_thickness_{place}"][short] = 0.0
    least = questions_of(cube)[0]
    char, depth = cube.measures["char_thickness_floor"], cube.measures["crater_depth"]
    near = (np.abs(depth - 50e-6) <= 5e-6) & (char == 0.0)
    count = int(np.sum(near))
    assert count > 1 and "some 50 µm deep" in least["text"] and "at floor and wall" in least["text"]
    assert f"{count} leave 0 µm charred at floor or wall" in least["answer"]
    best = tuple(least["a"])
    coagulated = cube.measures["coagulation_thickness_floor"]
    assert near[best] and coagulated[best] == coagulated[near].min()
    assert f"{setting_text(cube, best)} coagulates least" in least["answer"]


def test_every_place_where_a_drawn_zone_is_measured_has_its_figure():
    measured = {name for name in MEASURES if "_thickness_" in name}
    assert measured and measured <= set(FIGURES)


def test_a_question_without_an_answer_in_the_data_is_not_asked():
    # Nothing is removed: no depth, no threshold, no energy per volume to ask for; reasons are left.
    cold = replace(POWER, values=(0.1, 0.2))
    questions = questions_of(cube_of(cold, DWELL))
    assert [one["text"] for one in questions] == [one["text"] for one in questions_of(cube_of(POWER))[-4:]]
    assert all(one["a"] is None and one["answer"] for one in questions)


def test_points_that_lack_are_counted_and_the_page_still_works(cube):
    cube.word[0, 0, 0] = cube.word[1, 1, 1] = ""
    cube.fill((2, 2, 0), failed_point("the beam is <wider>", 0.1))
    for values in cube.outlines.values():
        values[3, 3, 1] = np.nan
    data = data_of(page_text(cube))
    assert data["warnings"][0].startswith("2 of 32 settings are not computed yet")
    assert data["warnings"][1] == "1 of 32 settings failed, marked × in the map."
    assert "no outline was kept" in data["warnings"][2]
    flat = int(np.ravel_multi_index((2, 2, 0), cube.shape))
    assert data["reasons"][flat] == "the beam is <wider>"
    assert data["outlines"][-1] is None and data["values"]["crater_depth"][-1] is not None
    assert "30 shots" not in data["about"]["lines"][0] and "29 shots" in data["about"]["lines"][0]


def test_a_map_of_one_axis_or_without_any_outline_makes_a_page(cube):
    assert data_of(page_text(cube_of(POWER)))["roles"] == {"across": 0, "up": None}
    for values in cube.outlines.values():
        values[:] = np.nan
    assert set(data_of(page_text(cube))["outlines"]) == {None}


def test_20_by_20_settings_take_less_than_a_megabyte():
    power = Axis("power", tuple(np.linspace(5.0, 40.0, 20).tolist()), "W", "linear")
    dwell = Axis("dwell", tuple(np.geomspace(1e-3, 0.2, 20).tolist()), "ms", "log")
    assert len(page_text(cube_of(power, dwell)).encode()) < 1e6


def test_what_makes_no_page_is_refused_and_leaves_nothing(cube, tmp_path):
    many = replace(POWER, values=tuple(np.linspace(1.0, 2.0, MOST_POINTS // 4 + 1).tolist()))
    with pytest.raises(InputError, match=f"at most {MOST_POINTS} points"):
        class_page(blank_cube((many, DWELL), Limits(), {}, "", {}), tmp_path / "page.html")
    with pytest.raises(InputError, match="a map with a solved point, got none"):
        class_page(blank_cube((POWER, DWELL), Limits(), {}, "", {}), tmp_path / "page.html")
    with pytest.raises(RunError, match="no folder"):
        class_page(cube, tmp_path / "none" / "page.html")
    assert list(tmp_path.iterdir()) == []


def test_the_same_map_gives_the_same_page(cube, tmp_path):
    for name in ("one", "two"):
        class_page(cube, tmp_path / name)
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()


def test_intervals_and_odds_are_in_the_page_where_the_map_has_them_and_nothing_where_not(cube):
    assert not {"intervals", "odds", "covers"} & set(page_data(cube))
    bands = blank_bands(cube.shape, 8, "It covers this.")
    ends = dict.fromkeys(BANDED, (0.0001, 0.0003456789)) | {"char_thickness_rim": None}
    bands.fill((0, 0, 1), Interval(ends, {str(cube.word[0, 0, 1]): 0.75, "charred": 0.25}, 8, ""))
    bands.fill((0, 1, 0), Interval({}, {str(cube.word[0, 1, 0]): 1.0}, 8, ""))
    data = page_data(replace(cube, bands=bands))
    assert data["odds"][:4] == [None, "3 in 4", "all draws", None] and data["covers"] == "It covers this."
    assert data["intervals"]["crater_depth"][:3] == [None, [100.0, 345.679], None]
    assert data["intervals"]["char_thickness_rim"][1] is None
    assert any("8 joint draws" in line and "It covers this." in line for line in data["about"]["lines"])
    assert not any("joint draws" in line for line in page_data(cube)["about"]["lines"])
