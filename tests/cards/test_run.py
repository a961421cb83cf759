"""Test-shot cards: settings in the order of firing, and predictions that are those of the single shots."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.calibration.request import read_shots
from spotdwell.cards.request import CardOptions, beams_of, groups_of, numbers_of, settings_of
from spotdwell.cards.run import card, mark_of

COARSE: CardOptions = {"refinement": 0.3}
LASER = """
title = "Bench laser"

[wavelength]
value = "10.6 um"
source = "label"

[delivered_share]
value = 0.8
interval = [0.75, 0.85]
source = "power meter"

[[diameter]]
dial = "narrow"
value = "0.5 mm"
interval = ["0.45 mm", "0.55 mm"]
source = "craters"

[[diameter]]
dial = "wide"
value = "1.2 mm"
interval = ["1.1 mm", "1.3 mm"]
source = "craters"
"""


@pytest.fixture
def laser(tmp_path):
    path = tmp_path / "laser.toml"
    path.write_text(LASER)
    return str(path)


def settings(power, dwell, **options):
    return settings_of(power, dwell, beams_of(options))


def test_shots_go_from_little_to_much_whatever_the_order_typed():
    found = settings("10 W, 5 W", "50 ms, 10 ms", spot="0.5 mm, 1 mm")
    assert [(one.spot, one.power, one.dwell) for one in found] == [
        (spot, power, dwell) for spot in (1e-3, 0.5e-3) for power in (5.0, 10.0) for dwell in (0.01, 0.05)
    ]


def test_in_a_group_one_setting_alone_changes():
    for power, dwell, spot, alone in (
        ("5 W, 10 W", "10 ms, 50 ms", "0.5 mm, 1 mm", "dwell"),
        ("5 W, 10 W", "10 ms", "0.5 mm, 1 mm", "power"),
        ("5 W", "10 ms", "0.5 mm, 1 mm", "spot"),
    ):
        known = settings(power, dwell, spot=spot)
        groups = groups_of(known)
        assert sorted(number for group in groups for number in group.settings) == list(range(len(known)))
        for group in groups:
            members = [known[number] for number in group.settings]
            changing = {
                n for n in ("power", "dwell", "spot") if len({getattr(one, n) for one in members}) > 1
            }
            assert changing == {alone}
            energies = [one.energy / one.spot**2 for one in members]
            assert energies == sorted(energies)


def test_headings_say_what_to_set_and_what_goes_back():
    first, second, third = groups_of(settings("5 W, 10 W, 20 W", "10 ms, 50 ms", spot="0.8 mm"))
    assert first.heading == "Set spot 0.8 mm, power 5 W, dwell 10 ms; then change the dwell alone"
    assert second.heading == "Set power 10 W, dwell back to 10 ms; then change the dwell alone"
    assert (first.letter, second.letter, third.letter) == ("A", "B", "C")


def test_laser_file_gives_spots_wavelength_and_the_power_that_arrives(laser):
    beams = beams_of({"laser": laser})
    assert [dial for _, dial in beams.spots] == ["wide", "narrow"]
    one, *_ = settings_of("10 W", "10 ms", beams)
    assert_allclose(one.on_target, 8.0, rtol=1e-12)  # 80 % of 10 W
    assert one.power == 10.0


@pytest.mark.parametrize(
    ("options", "match"),
    [
        ({}, "spot: expected a spot, or a laser file, got neither"),
        ({"dial": "wide", "spot": "1 mm"}, "dial: expected a laser file beside it"),
        ({"laser": "", "spot": "1 mm"}, "spot: expected no spot beside a laser"),
        ({"laser": "", "definition": "1/e2"}, "definition: expected no definition beside a laser"),
        ({"laser": "", "dial": "3"}, 'dial: expected "narrow" or "wide", got "3"'),
        ({"laser": "", "dial": "wide, wide"}, "dial: expected each position once"),
        ({"laser": "", "wavelength": "9.3 um"}, "wavelength: expected 0.0106 mm, as in the laser file"),
    ],
)
def test_beams_that_contradict_themselves_are_refused(laser, options, match):
    with pytest.raises(InputError) as told:
        beams_of({name: laser if value == "" else value for name, value in options.items()})
    assert match.replace("0.0106 mm", "10.6 um") in str(told.value)


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("", "got nothing"),
        (" , ", "got nothing"),
        ("5 W, , 6 W", "between commas"),
        ("5", "The unit is missing"),
        ("5 mm", "unit of length"),
        ("0 W", "more than 0"),
        ("-3 W", "more than 0"),
        ("inf W", "finite"),
        ("-3 W", 'For example "5 W, 10 W"'),
        ("1 W to 5 W, 3", "with commas between them.*List them all"),
        ("5 W; 6 W", "with commas between them"),
        ("5 W, 5000 mW", "each value once"),
    ],
)
def test_lists_that_are_no_powers_are_refused(text, match):
    with pytest.raises(InputError, match=match) as told:
        numbers_of(text, "W", "power")
    assert told.value.where == "power"


@pytest.mark.parametrize(
    ("material", "options", "match"),
    [
        ("appel", {}, "material: expected a known material"),
        ("apple", {"against": "skim"}, "against: expected a known material"),
        ("apple", {"against": "apple"}, "against: expected another material"),
        ("apple", {"repeat": 0}, "repeat: expected 1 to 20"),
        ("apple", {"repeat": 20, "spot": "1 mm, 2 mm, 3 mm, 4 mm, 5 mm, 6 mm"}, "at most 6 sheets"),
        ("apple", {"wavelength": "1.064 um"}, "wavelength"),
        ("pmma", {"wavelength": "2.94 um"}, "wavelength"),
        ("apple", {"initial_temperature": "300"}, "initial_temperature"),
    ],
)
def test_what_cannot_be_is_told_before_anything_is_solved(material, options, match, monkeypatch):
    def solved(*_):
        raise AssertionError("solved")

    monkeypatch.setattr("spotdwell.cards.run.run_all", solved)
    with pytest.raises(InputError, match=match):
        card(material, "5 W", "1 ms", **{"spot": "1 mm", **options})


def test_wrong_workers_are_told():
    with pytest.raises(InputError, match="workers"):
        card("apple", "5 W", "1 ms", workers=0, spot="1 mm")


@pytest.mark.compiled
def test_predictions_are_those_of_the_single_shots():
    told = []
    found = spotdwell.card(
        "apple", "6 W, 15 W", "4 ms", 1, lambda *state: told.append(state), spot="0.6 mm", **COARSE
    )
    alone = spotdwell.shot(
        "apple", "15 W", "0.6 mm", "4 ms", initial_temperature="22 degC", refinement=0.3
    ).measures
    # The same run: to the last digit.
    assert found.marks[1].measures == alone
    tissue = spotdwell.shot("soft_tissue", "15 W", "0.6 mm", "4 ms", refinement=0.3).measures
    assert found.on_tissue[1].measures == tissue
    assert [done for done, _, _ in told] == [1, 2, 3, 4]
    assert found.marks[1].depth > found.marks[0].depth
    assert found.bench.temperature == 295.15
    assert found.tissue.temperature == 310.15


@pytest.mark.compiled
def test_only_what_arrives_of_the_power_is_solved(laser, tmp_path):
    found = card("apple", "10 W", "3 ms", 1, laser=laser, dial="wide", against="none", **COARSE)
    alone = spotdwell.shot(
        "apple", "8 W", "1.2 mm", "3 ms", initial_temperature="22 degC", refinement=0.3
    ).measures
    assert found.marks[0].measures == alone
    assert found.on_tissue == ()
    assert found.tissue is None


@pytest.mark.compiled
def test_filled_in_template_is_read_as_bench_shots(tmp_path):
    found = card("apple", "6 W, 15 W", "4 ms", 1, spot="0.6 mm", repeat=2, against="none", **COARSE)
    found.write_csv(tmp_path / "shots.csv")
    blank = (tmp_path / "shots.csv").read_text()
    with pytest.raises(InputError, match="an empty cell"):
        read_shots(tmp_path / "shots.csv")
    (tmp_path / "shots.csv").write_text(blank.replace(",,,,,", ",320,450,yes,no,"))
    shots = read_shots(tmp_path / "shots.csv")
    assert_allclose(shots.power, [6.0, 6.0, 15.0, 15.0], rtol=1e-12)
    assert_allclose(shots.dwell, 4e-3, rtol=1e-12)
    assert_allclose(shots.spot, 0.6e-3, rtol=1e-12)
    assert_allclose(shots.depth, 320e-6, rtol=1e-12)
    assert shots.char_seen == (True,) * 4


@pytest.mark.compiled
def test_template_of_a_laser_file_names_dial_positions(laser, tmp_path):
    found = card("apple", "6 W", "4 ms", 1, laser=laser, against="none", **COARSE)
    found.write_csv(tmp_path / "shots.csv")
    filled = (tmp_path / "shots.csv").read_text().replace(",,,,,", ",320,,,,")
    (tmp_path / "shots.csv").write_text(filled)
    assert read_shots(tmp_path / "shots.csv").dial == ("wide", "narrow")


def test_a_setting_that_cannot_be_solved_keeps_its_reason():
    data = {
        "beam": {"wavelength": "10.6 um", "power": "5 W", "diameter": "1 mm"},
        "exposure": {"dwell_time": "1 ms"},
        "target": {"layers": [{"material": "apple", "thickness": "10 um"}]},
        "grid": {"cell_depth": "20 um"},
    }
    found = mark_of(data)
    assert found.measures == {}
    assert "thick" in found.failure
