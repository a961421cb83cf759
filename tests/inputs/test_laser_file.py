"""Laser files: what is written reads back, and what is wrong is named with its key."""

import pytest

from spotdwell.base.errors import InputError
from spotdwell.inputs.laser_file import LaserSpot, laser_from_text, laser_text, read_laser

FULL = """
title = "CO2 laser, room 2"

[wavelength]
value = "10.6 um"
interval = ["10.55 um", "10.65 um"]
source = "data sheet"

[delivered_share]
value = 0.9
interval = [0.86, 0.94]
source = "power meter at the handpiece, 5 readings"

[[diameter]]
dial = "1"
value = "0.4 mm"
interval = ["0.39 mm", "0.41 mm"]
source = "craters in birch"

[[diameter]]
dial = "2"
value = "1.6 mm"
interval = ["1.5 mm", "1.75 mm"]
definition = "D4sigma"
source = "camera"
"""


def test_what_is_read_is_si_with_intervals_and_sources():
    laser = laser_from_text(FULL)
    assert laser.wavelength.value == 10.6e-6
    assert laser.dials == ("1", "2")
    assert laser.spot("2").value == 1.6e-3
    assert laser.spot("2").interval == (1.5e-3, 1.75e-3)
    assert (laser.spot("1").definition, laser.spot("2").definition) == ("1/e2", "D4sigma")
    assert laser.on_target(20.0) == 18.0


def test_what_is_written_reads_back_as_the_same():
    laser = laser_from_text(FULL)
    assert laser_from_text(laser_text(laser)) == laser


def test_a_laser_with_one_spot_needs_no_dial_and_delivers_what_is_set():
    text = FULL[: FULL.index("[[diameter]]", FULL.index("craters"))]
    text = text.replace('dial = "1"\n', "").replace(text[text.index("[deliv") : text.index("[[dia")], "")
    laser = laser_from_text(text)
    assert laser.spot().value == 0.4e-3
    assert laser.on_target(20.0) == 20.0


@pytest.mark.parametrize(("dial", "got"), [(None, "nothing"), ("3", '"3"')])
def test_a_dial_position_that_is_not_there_is_refused_with_those_that_are(dial, got):
    with pytest.raises(InputError) as caught:
        laser_from_text(FULL).spot(dial)
    assert (caught.value.where, caught.value.expected, caught.value.got) == ("dial", '"1" or "2"', got)


def test_a_new_spot_replaces_that_of_its_dial_position_only():
    laser = laser_from_text(FULL)
    spot = LaserSpot.model_validate(
        {"dial": "2", "value": "1.7 mm", "interval": ["1.6 mm", "1.8 mm"], "source": "again"}
    )
    changed = laser.with_spot(spot)
    assert changed.dials == ("1", "2")
    assert (changed.spot("1"), changed.spot("2")) == (laser.spot("1"), spot)
    assert changed.with_spot(spot.model_copy(update={"dial": "3"})).dials == ("1", "2", "3")


WRONG = [
    ("title =", "title", "laser", "TOML"),
    ('value = "10.6 um"', "value = 10.6", "laser: wavelength.value", "a quantity in m"),
    ('value = "0.4 mm"', 'value = "0.4"', "laser: diameter[0].value", "a quantity in m"),
    ('value = "0.4 mm"', 'value = "-0.4 mm"', "laser: diameter[0].value", "more than 0"),
    ('["0.39 mm", "0.41 mm"]', '["0.41 mm", "0.39 mm"]', "laser: diameter[0].interval", "low and high"),
    ('["1.5 mm", "1.75 mm"]', '["1.5 mm", "1.55 mm"]', "laser: diameter[1].interval", "around the value"),
    ("[0.86, 0.94]", "[0.92, 0.94]", "laser: delivered_share.interval", "around the value"),
    ("value = 0.9", "value = 90", "laser: delivered_share.value", "at most 1"),
    ('interval = ["0.39 mm", "0.41 mm"]\n', "", "laser: diameter[0].interval", "interval"),
    ('source = "camera"', 'source = ""', "laser: diameter[1].source", "a text"),
    ('dial = "2"', 'dial = "1"', "laser: diameter[1].dial", "each dial position once"),
    ("definition", "defintion", "laser: diameter[1].defintion", "a known key"),
    ('"D4sigma"', '"fwhm"', "laser: diameter[1].definition", '"1/e2"'),
]


@pytest.mark.parametrize(("old", "new", "where", "expected"), WRONG)
def test_what_is_wrong_is_named_with_its_key(old, new, where, expected):
    assert old in FULL
    text = FULL.replace('title = "CO2 laser, room 2"', new) if old == "title =" else FULL.replace(old, new)
    with pytest.raises(InputError) as caught:
        laser_from_text(text.replace("title\n", "title =\n"))
    assert caught.value.where == where
    assert expected in caught.value.expected


def test_an_empty_file_lacks_wavelength_and_diameter():
    with pytest.raises(InputError) as caught:
        laser_from_text("")
    assert "wavelength" in str(caught.value) and "diameter" in str(caught.value)


def test_a_file_that_is_not_there_is_named_with_how_to_make_one(tmp_path):
    with pytest.raises(InputError) as caught:
        read_laser(tmp_path / "laser.toml")
    assert caught.value.where == str(tmp_path / "laser.toml")
    assert "spotdwell craters" in caught.value.advice
