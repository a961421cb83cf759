"""Each word of the verdict, their order, and the numbers in the reasons."""

from __future__ import annotations

import pytest

from spotdwell.base.names import MEASURES
from spotdwell.measure.verdict import Limits, Word, verdict_of

UNTOUCHED = dict.fromkeys(MEASURES, 0.0) | {
    "perforation_time": None,
    "char_thickness_wall": None,
    "coagulation_thickness_wall": None,
    "trusted_wall": 50e-6,
    "cell_depth": 2e-6,
}
CRATER = UNTOUCHED | {
    "deepest": 250e-6,
    "solid_volume": 2e-11,
    "crater_width": 400e-6,
    "char_thickness_floor": 12e-6,
    "char_thickness_wall": 8e-6,
    "char_volume": 1e-13,
    "coagulation_thickness_floor": 90e-6,
    "coagulation_thickness_wall": 70e-6,
}


def word(measures, **limits):
    return verdict_of(measures, Limits(**limits)).word


def test_untouched_target_is_unmarked():
    assert word(UNTOUCHED) is Word.UNMARKED


@pytest.mark.parametrize("place", ["floor", "rim"])
def test_coagulation_without_removal_is_coagulated(place):
    assert word(UNTOUCHED | {f"coagulation_thickness_{place}": 1e-6}) is Word.COAGULATED


def test_char_without_removal_is_scorched_however_thin():
    measures = UNTOUCHED | {"char_volume": 1e-15, "char_thickness_floor": 1e-6}
    assert word(measures) is Word.SCORCHED


@pytest.mark.parametrize("place", ["floor", "rim"])
def test_what_only_lost_its_water_is_dried(place):
    assert word(UNTOUCHED | {f"dried_thickness_{place}": 5e-6}) is Word.DRIED


@pytest.mark.parametrize(
    ("changes", "limits", "taken", "borderline"),
    [
        ({}, {}, Word.CLEAN, False),
        ({"char_thickness_wall": 50e-6}, {}, Word.CLEAN, True),
        ({"char_thickness_wall": 54e-6}, {}, Word.CHARRED, True),
        ({"char_thickness_wall": 54e-6, "char_thickness_floor": 80e-6}, {}, Word.CHARRED, False),
        ({"char_thickness_wall": 60e-6}, {}, Word.CHARRED, False),
        ({"char_thickness_wall": 60e-6, "cell_depth": 30e-6}, {}, Word.CHARRED, True),
        ({"coagulation_thickness_wall": 51e-6}, {}, Word.CLEAN, True),
        ({"coagulation_thickness_wall": 49e-6}, {}, Word.UNVERIFIED, True),
        ({"coagulation_thickness_wall": 40e-6}, {}, Word.UNVERIFIED, False),
        ({}, {"depth": 253e-6}, Word.CLEAN, True),
        ({}, {"depth": 248e-6}, Word.TOO_DEEP, True),
        ({}, {"depth": 200e-6}, Word.TOO_DEEP, False),
        ({"deepest": 780e-6}, {}, Word.CLEAN, True),
    ],
)
def test_what_the_grid_could_turn_is_borderline(changes, limits, taken, borderline):
    verdict = verdict_of(CRATER | {"cell_depth": 5e-6} | changes, Limits(**limits))
    assert (verdict.word, verdict.is_borderline) == (taken, borderline)
    assert verdict.text == (f"{taken}, borderline" if borderline else str(taken))


def test_removal_with_little_char_is_clean():
    assert word(CRATER) is Word.CLEAN


@pytest.mark.parametrize(("place", "limit"), [("floor", 52e-6), ("wall", 52e-6), ("rim", 65e-6)])
def test_removal_with_char_over_the_limit_anywhere_is_charred(place, limit):
    measures = CRATER | {f"char_thickness_{place}": limit + 0.1e-6}
    assert word(measures) is Word.CHARRED
    assert word(measures, char_thickness=52.2e-6) is Word.CLEAN


@pytest.mark.parametrize(
    ("changes", "taken"),
    [
        ({}, Word.CLEAN),
        ({"coagulation_thickness_wall": 49e-6}, Word.UNVERIFIED),
        ({"coagulation_thickness_wall": 0.0}, Word.UNVERIFIED),
        ({"coagulation_thickness_wall": None}, Word.CLEAN),
        ({"coagulation_thickness_wall": None, "coagulation_thickness_floor": 40e-6}, Word.UNVERIFIED),
        ({"trusted_wall": None}, Word.UNVERIFIED),
        ({"trusted_wall": 0.0, "coagulation_thickness_wall": 0.0}, Word.CLEAN),
    ],
)
def test_clean_never_stands_beside_a_wall_that_is_not_to_be_trusted(changes, taken):
    assert word(CRATER | changes) is taken


def test_char_over_the_limit_goes_before_a_wall_that_is_not_trusted():
    assert word(CRATER | {"trusted_wall": None, "char_thickness_floor": 60e-6}) is Word.CHARRED


def test_a_water_film_that_boiled_off_marks_nothing():
    film = UNTOUCHED | {"deepest": 50e-6, "crater_width": 400e-6}
    verdict = verdict_of(film, Limits())
    assert verdict.word is Word.UNMARKED
    assert verdict.reasons == (
        "Only liquid on the surface boiled off; nothing was removed, charred or coagulated.",
    )
    assert word(film | {"coagulation_thickness_floor": 30e-6}) is Word.COAGULATED


def test_depth_over_the_wanted_one_is_too_deep():
    assert word(CRATER, depth=249e-6) is Word.TOO_DEEP
    assert word(CRATER, depth=251e-6) is Word.CLEAN


def test_depth_over_twice_the_width_is_too_deep():
    assert word(CRATER | {"deepest": 801e-6}) is Word.TOO_DEEP
    assert word(CRATER | {"deepest": 799e-6}) is Word.CLEAN
    assert word(CRATER | {"deepest": 801e-6}, aspect_ratio=2.1) is Word.CLEAN


def test_slab_has_no_width_to_be_too_deep_for():
    slab = CRATER | {"crater_width": None, "char_thickness_wall": None, "deepest": 9e-3}
    assert word(slab) is Word.CLEAN


def test_words_give_way_in_their_order():
    measures = CRATER | {"perforation_time": 0.03, "deepest": 1e-3, "char_thickness_floor": 90e-6}
    taken = [word(measures)]
    measures |= {"perforation_time": None}
    taken.append(word(measures))
    measures |= {"deepest": 300e-6}
    taken.append(word(measures))
    measures |= {"char_thickness_floor": 0.0, "char_volume": 0.0}
    taken.append(word(measures))
    measures |= {"coagulation_thickness_wall": 5e-6}
    taken.append(word(measures))
    measures |= {"deepest": 0.0, "solid_volume": 0.0}
    taken.append(word(measures))
    measures |= {"coagulation_thickness_floor": 0.0}
    taken.append(word(measures))
    words = ["perforated", "too deep", "charred", "clean", "unverified", "coagulated", "unmarked"]
    assert taken == words


@pytest.mark.parametrize(
    ("changes", "limits", "parts"),
    [
        ({"perforation_time": 0.0321}, {}, ["32.1 ms"]),
        ({"perforation_time": 1.5}, {}, ["1.5 s"]),
        ({"deepest": 1.2e-3}, {"depth": 1e-3}, ["1.2 mm", "1 mm", "3 times", "400 um", "limit of 2"]),
        ({"char_thickness_wall": 63e-6}, {}, ["wall is over its limit, 63 um of 52 um"]),
        ({"char_thickness_rim": 66e-6}, {}, ["rim is over its limit, 66 um of 65 um"]),
        ({"coagulation_thickness_wall": 9e-6}, {}, ["250 um", "9.0 um", "at the wall", "100 um and more"]),
        ({"trusted_wall": None}, {}, ["250 um", "no measurement", "70 um"]),
        (
            {},
            {},
            ["250 um", "floor is within its limit, 12.0 um of", "wall is within its limit, 8.0 um of"],
        ),
        ({"deepest": 0.0, "solid_volume": 0.0, "char_volume": 0.0}, {}, ["90 um", "Nothing was removed"]),
    ],
)
def test_reasons_are_sentences_with_the_numbers_compared(changes, limits, parts):
    verdict = verdict_of(CRATER | changes, Limits(**limits))
    text = " ".join(verdict.reasons)
    assert [part for part in parts if part not in text] == []
    assert all(reason[0].isupper() and reason.endswith(".") for reason in verdict.reasons)
    assert verdict.limits == Limits(**limits)


def test_perforated_axis_without_floor_measures_has_a_verdict():
    assert word(CRATER | {"char_thickness_floor": None, "perforation_time": 0.1}) is Word.PERFORATED
