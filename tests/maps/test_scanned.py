"""Maps of scans: each point is the scan that the verb solves, and what no slice stands for is refused."""

from itertools import pairwise

import numpy as np
import pytest

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.inputs.read import scenario_from_text
from spotdwell.maps.cube import OUTLINES
from spotdwell.maps.picture import draw_map
from spotdwell.maps.plan import map_plan
from spotdwell.maps.store import load_cube

pytestmark = pytest.mark.compiled

PATCH = {
    "material": "soft_tissue",
    "power": "30 W",
    "spot": "0.2 mm",
    "length": "2 mm",
    "width": "0.4 mm",
    "cell_width": "25 um",
}
OVER = ("speed: 600 mm/s, 1200 mm/s", "spacing: 80 um, 140 um")


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    path = tmp_path_factory.mktemp("scans") / "scans.h5"
    return spotdwell.map_shots(PATCH, *OVER, workers=1, out=path), path


def test_a_point_is_the_scan_itself(kept):
    cube, _ = kept
    found = spotdwell.scan(**PATCH, speed="1200 mm/s", spacing="80 um")
    assert found.model == "slice"
    assert cube.word[1, 0] == str(found.verdict.word)
    for name in ("crater_depth", "coagulation_thickness_floor", "crater_volume", "peak_temperature"):
        assert cube.measures[name][1, 0] == found.record.measures[name]


def test_slower_and_closer_lines_cut_deeper(kept):
    depth = kept[0].measures["crater_depth"]
    assert np.all(np.diff(depth, axis=0) < 0.0)
    assert np.all(np.diff(depth, axis=1) < 0.0)


def test_outlines_lie_in_order_across_the_lines(kept):
    cube, _ = kept
    lines = [cube.outlines[name][1, 0] for name in OUTLINES]
    assert all(np.all(below >= above) for above, below in pairwise(lines))
    # Deep in the middle of the patch, untouched well beside it.
    assert lines[0][0] > 0.8 * cube.measures["crater_depth"][1, 0]
    assert lines[-1][-1] == 0.0


def test_it_is_kept_and_drawn(kept, tmp_path):
    cube, path = kept
    again = load_cube(path)
    assert [axis.name for axis in again.axes] == ["speed", "spacing"]
    np.testing.assert_array_equal(again.measures["crater_depth"], cube.measures["crater_depth"])
    assert "2 mm x 0.4 mm" in again.setting["scan"]
    assert "mm/s" not in again.setting["scan"]
    draw_map(again, tmp_path / "map.png")
    assert (tmp_path / "map.png").stat().st_size > 10_000


def scenario(more: str = ""):
    return scenario_from_text(f"""
[beam]
wavelength = "10.6 um"
power = "30 W"
diameter = "0.2 mm"
definition = "1/e2"
[scan]
length = "2 mm"
width = "0.4 mm"
spacing = "0.1 mm"
speed = "600 mm/s"
{more}
[[target.layers]]
material = "soft_tissue"
""")


@pytest.mark.parametrize(
    ("more", "over", "options", "where", "said"),
    [
        ("", "dwell: 1 ms, 2 ms", {}, "over dwell", "a setting of a scan"),
        ("", "speed: 1 mm/s, 2 m/s", {"intervals": True}, "intervals", "shots at rest"),
        ("", "speed: 1 m/s, 2 m/s", {"equal": "energy"}, "equal", "shots at rest"),
        ("", "spacing: 0.1 mm, 0.3 mm", {}, "scan.spacing", "the spot's"),
        ('model = "block"', "speed: 1 m/s, 2 m/s", {}, "scan", "a slice"),
    ],
)
def test_what_no_slice_stands_for_is_refused(more, over, options, where, said):
    with pytest.raises(InputError, match=said) as caught:
        map_plan(scenario(more), over, **options)
    assert where in str(caught.value)


def test_a_shot_has_no_speed():
    shot = spotdwell.scenario_of_shot("skin", "10 W", "1 mm", "10 ms")
    with pytest.raises(InputError, match=r"over speed: .*scans/patch"):
        map_plan(shot, "speed: 1 m/s, 2 m/s")


def test_a_point_too_slow_for_a_slice_says_so():
    cube = spotdwell.map_shots(scenario(), "speed: 1 mm/s, 1.2 m/s", workers=1)
    assert list(cube.word) == ["failed", "clean"]
    assert "heat flows along the line" in str(cube.failure[0])


def test_no_page_is_made_of_scans(kept, tmp_path):
    with pytest.raises(InputError, match="shots at rest"):
        spotdwell.class_page(kept[0], tmp_path / "page.html")
