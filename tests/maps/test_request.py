"""Ranges from texts, what they set in a scenario, and the errors of those that cannot be read."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError
from spotdwell.base.names import AXES
from spotdwell.base.settings import MAPPED
from spotdwell.inputs.read import shipped_scenario
from spotdwell.inputs.shot import scenario_of_shot
from spotdwell.maps.request import check_mapped, key_of, range_of, ranges_of, scenario_at, text_of


def test_a_linear_range_holds_both_ends_and_equal_steps() -> None:
    found = range_of("power: 5 W to 40 W, 8")
    assert (found.name, found.unit, found.scale) == ("power", "W", "linear")
    # Twelve digits are kept.
    assert_allclose(found.values, [5, 10, 15, 20, 25, 30, 35, 40], rtol=1e-11)


def test_a_log_range_has_equal_ratios_in_si() -> None:
    found = range_of("dwell: 1 ms to 1 s, log, 4")
    assert (found.unit, found.scale) == ("ms", "log")
    assert_allclose(found.values, [1e-3, 1e-2, 1e-1, 1.0], rtol=1e-11)


def test_a_list_is_sorted_and_words_keep_their_order() -> None:
    assert range_of("spot: 0.5 mm, 200 um").values == (200e-6, 500e-6)
    assert range_of("material: skin, liver").values == ("skin", "liver")


def test_names_are_read_as_options_and_people_write_them() -> None:
    names = [range_of(f"{name}: 1 ms, 2 ms").name for name in ("pulse-duration", "Pulse duration")]
    assert names == ["pulse_duration"] * 2


@pytest.mark.parametrize("name", AXES)
def test_the_example_of_each_input_reads_and_its_values_are_written_back_exactly(name: str) -> None:
    found = range_of(f"{name}: {MAPPED[name].ranges}")
    again = range_of(f"{name}: {', '.join(text_of(name, value) for value in found.values)}")
    assert again.values == found.values


BAD = [
    ("power", 'expected an input, a colon and its values, such as "power: 5 W to 40 W, 20"'),
    ("power:", "expected values of power"),
    ("powr: 5 W to 6 W, 3", 'got "powr". Did you mean power'),
    ("power: 40 W to 5 W, 20", "expected the smaller end first, got 40 W first. Write it as 5 W to 40 W."),
    ("power: 5 W to 5 W, 3", "one value"),
    ("power: 5 W", 'got one value. One value is no range: give it as power "5 W".'),
    ("power: 5 W to 40 W, 1", "expected 2 to 500 values, got 1"),
    ("power: 5 W to 40 W, 501", "expected 2 to 500 values, got 501"),
    ("power: 5 W to 40 W", "expected how many values"),
    ("power: 5 W to 40 W, 20, lgo", 'got "20, lgo"'),
    ("power: 5 to 40 W, 20", 'got "5". The unit is missing.'),
    ("power: 5 mm to 6 mm, 3", '"mm" is a unit of length.'),
    ("power: 0,5 W to 4 W, 4", "Write a decimal point, not a comma."),
    ("power: 0 W to 4 W, 4", "more than 0"),
    ("power: 5 W, 20", "expected two ends with to between them"),
    ("power: 5 W, 5000 mW", 'expected values that differ, got "5000 mW" twice'),
    ("power: 5 W to 5.00000000000001 W, 9", "expected ends farther apart"),
    ("dwell: 1 ms to inf s, 3", "finite"),
    ("pause: 0 s to 1 s, 4, log", "above 0 for log"),
    ("count: 1 to 10, 4, log", "expected whole numbers"),
    ("count: 1.5, 2", "expected whole numbers, got 1.5"),
    ("material: skin", 'give it as material "skin"'),
    ("material: skin,, liver", "got nothing"),
]


@pytest.mark.parametrize(("text", "said"), BAD)
def test_a_bad_range_is_quoted_with_what_is_wrong(text: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        range_of(text)
    assert str(caught.value).startswith("over")
    assert said in str(caught.value)


def test_a_map_needs_an_input_each_once() -> None:
    assert [one.name for one in ranges_of(["power: 5 W, 6 W"])] == ["power"]
    with pytest.raises(InputError, match="expected an input, got none"):
        ranges_of([])
    with pytest.raises(InputError, match="got power twice"):
        ranges_of(["power: 5 W, 6 W", "power: 7 W, 8 W"])


def test_a_point_sets_every_input_in_the_scenario() -> None:
    base = scenario_of_shot("skin", "5 W", "1 mm", dwell="1 ms", pause="9 ms", count=2, film="50 um")
    point = {"power": 7.0, "spot": 2e-3, "dwell": 3e-3, "count": 5.0, "pause": 0.02, "material": "liver"}
    made = scenario_at(base, {**point, "wavelength": 9.3e-6})
    assert (made.beam.power, made.beam.diameter, made.beam.wavelength) == (7.0, 2e-3, 9.3e-6)
    assert made.exposure.gate == (3e-3, 0.02, 5)
    assert [layer.material for layer in made.target.layers] == ["water_film", "liver"]


def test_the_dwell_is_the_only_exposure_where_there_is_no_train() -> None:
    assert key_of("dwell", shipped_scenario("spot")) == "exposure.dwell_time"
    assert key_of("dwell", shipped_scenario("gated_train")) == "exposure.on_time"


@pytest.mark.parametrize(
    ("scenario", "names", "said"),
    [
        ("superpulsed_train", ["power", "dwell"], "over power: expected no power beside a peak power"),
        ("spot", ["count"], "over count: expected a train of exposures"),
        ("spot", ["repetition_rate"], "over repetition_rate: expected pulse_duration beside it"),
    ],
)
def test_an_input_that_contradicts_the_base_is_refused(scenario: str, names: list[str], said: str) -> None:
    with pytest.raises(InputError) as caught:
        check_mapped(shipped_scenario(scenario), names)
    assert str(caught.value).startswith(said)
