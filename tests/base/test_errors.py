"""Errors carry where they are, so that they can be told in other words and travel between processes."""

from __future__ import annotations

import pickle

import pytest

from spotdwell.base.errors import InputError, check_workers, together

POWER = InputError("power", "a quantity in W", '"25"', "The unit is missing.")
SPOT = InputError("over spot", "a range", "one value")


def test_an_error_says_where_what_was_expected_and_got_and_what_to_do() -> None:
    assert str(POWER) == 'power: expected a quantity in W, got "25". The unit is missing.'
    assert str(SPOT) == "over spot: expected a range, got one value"


def test_several_errors_are_listed_and_one_stays_itself() -> None:
    both = together([POWER, SPOT], "settings")
    assert str(both).splitlines() == [
        "settings: expected valid input, got 2 problems. Correct each:",
        f"  {POWER}",
        f"  {SPOT}",
    ]
    assert together([POWER], "settings") is POWER


def test_all_places_of_an_error_are_renamed_and_nothing_else() -> None:
    other = together([POWER, SPOT], "settings").renamed(lambda where: f"<{where}>")
    assert [other.where, *(one.where for one in other.problems)] == ["<settings>", "<power>", "<over spot>"]
    assert str(other.problems[0]) == f"<{POWER.where}>{str(POWER).removeprefix('power')}"
    assert POWER.where == "power"


def test_an_error_travels_between_processes() -> None:
    both = together([POWER, SPOT], "settings")
    again = pickle.loads(pickle.dumps(both))
    assert str(again) == str(both) and again.problems[1].where == "over spot"


def test_a_number_of_workers_is_at_least_one() -> None:
    check_workers(None)
    check_workers(1)
    with pytest.raises(InputError, match=r"^workers: expected a whole number from 1, got 0"):
        check_workers(0)
