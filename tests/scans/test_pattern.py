"""Patterns: where the beam is, when, and what is refused."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError
from spotdwell.inputs.scan import Way
from spotdwell.scans.pattern import Pattern, corner_of, course_of, joined, resting
from spotdwell.scans.request import corner_plan, plan_of, scenario_of_scan


def course(way=Way.BACK_AND_FORTH, **more):
    settings = {"length": 8e-3, "width": 4e-3, "spacing": 1e-3, "speed": 0.4} | more
    return course_of(Pattern(way, **settings), 1e-4)


def test_lines_fill_the_area_evenly_and_take_their_time():
    found = course(passes=2, line_pause=0.01, pass_pause=1.0)
    assert_allclose(found.begin[:4, 1], [-1.5e-3, -0.5e-3, 0.5e-3, 1.5e-3])
    assert_allclose(found.start[:4], [0.0, 0.03, 0.06, 0.09])
    assert_allclose(found.stop - found.start, 0.02)
    assert found.start[4] == pytest.approx(0.11 + 1.0)
    assert found.on_time == pytest.approx(8 * 0.02)


def test_back_and_forth_turns_and_one_way_does_not():
    assert_allclose(course().begin[:, 0], [-4e-3, 4e-3, -4e-3, 4e-3])
    assert_allclose(course(Way.ONE_WAY).begin[:, 0], -4e-3)


def test_a_turned_pass_goes_along_the_other_side():
    found = course(passes=2, turned=True)
    second = found.number == 1
    assert second.sum() == 8
    assert_allclose(found.begin[second][:, 0], np.arange(-3.5e-3, 4e-3, 1e-3))
    assert_allclose(np.abs(found.end[second][:, 1]), 2e-3)


def test_points_rest_on_a_grid():
    found = course(Way.POINTS, speed=0.0, dwell=2e-3)
    assert found.start.size == 32
    assert_allclose(found.begin, found.end)
    assert found.on_time == pytest.approx(32 * 2e-3)


def test_a_spiral_keeps_its_speed_and_reaches_the_rim():
    found = course(Way.SPIRAL, length=4e-3, spacing=0.2e-3)
    lengths = np.hypot(*(found.end - found.begin).T)
    assert_allclose(lengths / (found.stop - found.start), 0.4)
    assert np.hypot(*found.end[-1]) == pytest.approx(2e-3)
    assert lengths.sum() == pytest.approx(np.pi * 4e-6 / 0.2e-3, rel=0.02)


def test_spans_that_touch_are_one():
    start, stop = joined(np.array([0.0, 1.0, 3.0]), np.array([1.0, 2.0, 4.0]))
    assert_allclose(start, [0.0, 3.0])
    assert_allclose(stop, [2.0, 4.0])


def asked(**more):
    scan = {"length": "8 mm", "spacing": "0.1 mm", "speed": "465 mm/s"} | more
    return scenario_of_scan("soft_tissue", "30 W", "0.2 mm", scan)


@pytest.mark.parametrize(
    ("more", "where", "expected"),
    [
        ({"spacing": "0.3 mm"}, "spacing", "at most the spot's"),
        ({"spacing": "0.1 um"}, "spacing", "at most 20000 lines"),
        ({"spacing": "9 mm"}, "spacing", "within the area"),
        ({"speed": None}, "speed", "a speed"),
        ({"way": "points"}, "dwell", "a dwell"),
        ({"way": "points", "dwell": "1 ms"}, "speed", "no speed"),
        ({"way": "zigzag"}, "way", ""),
        ({"way": "spiral", "width": "4 mm"}, "width", "no other width"),
        ({"length": None}, "length", "a quantity"),
        ({"model": "slice", "speed": "5 mm/s"}, "model", "a block"),
        ({"model": "slice", "turned": True, "passes": 2}, "model", "a block"),
        ({"passes": 0}, "passes", ""),
        ({"line_pause": "-1 s"}, "line_pause", ""),
    ],
)
def test_a_bad_pattern_gets_one_message(more, where, expected):
    with pytest.raises(InputError) as caught:
        plan_of(asked(**more))
    assert caught.value.where.startswith(where), str(caught.value)
    assert expected in caught.value.expected


def test_a_block_that_no_memory_holds_is_refused():
    plan = plan_of(asked(model="block"))
    with pytest.raises(InputError, match="at most 3e"):
        plan.problem()


def test_what_cannot_be_a_slice_becomes_a_block():
    assert plan_of(asked()).model == "slice"
    slow = plan_of(asked(speed="5 mm/s"))
    assert slow.model == "block" and "below 10" in slow.reasons[0]
    assert plan_of(asked(way="spiral")).model == "block"


def test_pulses_are_refused():
    scan = {"length": "8 mm", "spacing": "0.1 mm", "speed": "465 mm/s"}
    pulses = {"pulse_duration": "100 us", "repetition_rate": "500 Hz"}
    with pytest.raises(InputError, match="a steady beam"):
        plan_of(scenario_of_scan("soft_tissue", "30 W", "0.2 mm", scan, **pulses))


def test_a_corner_keeps_the_times_of_the_whole():
    pattern = Pattern(Way.BACK_AND_FORTH, 8e-3, 4e-3, 1e-3, 0.4, line_pause=0.01)
    whole = course_of(pattern, 1e-4)
    found = corner_of(whole, pattern, 2e-3)
    assert_allclose(found.begin[:, 1], [-0.5e-3, 0.5e-3])
    assert_allclose(found.begin[:, 0], [-1e-3, 1e-3])
    assert_allclose(found.stop - found.start, 2e-3 / 0.4)
    # The first line begins there and the second ends there.
    assert_allclose(found.start, [0.0, 0.03 + 0.015])


def test_a_corner_that_the_area_has_not_is_refused():
    plan = plan_of(asked())
    assert corner_plan(plan, 1e-3).model == "block"
    with pytest.raises(InputError, match="to the area's"):
        corner_plan(plan, 9e-3)
    with pytest.raises(InputError, match="lines side by side"):
        corner_plan(plan_of(asked(way="spiral")), 1e-3)


def test_spots_at_rest_take_the_places_and_the_time_of_the_lines():
    lines = course(passes=2, line_pause=0.01)
    spots = resting(lines, 1e-3)
    assert spots.start.size == 8 * lines.start.size
    assert spots.on_time == pytest.approx(lines.on_time)
    assert spots.total_time == pytest.approx(lines.total_time)
    assert_allclose(spots.begin, spots.end)
    assert_allclose(spots.begin[:8, 0], -3.5e-3 + 1e-3 * np.arange(8))
    assert_allclose(spots.begin[8:16, 0], 3.5e-3 - 1e-3 * np.arange(8))
    assert_allclose(spots.start[1:8], spots.stop[:7])
