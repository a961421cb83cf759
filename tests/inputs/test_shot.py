"""Scenarios from options, and scenarios with a few changes."""

from __future__ import annotations

import inspect
from typing import Any, get_args

import pytest

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.base.settings import SETTINGS, Setting
from spotdwell.inputs.build import problem_of, target_of
from spotdwell.inputs.quantities import QuantityType
from spotdwell.inputs.read import scenario_from_text, scenario_text, shipped_scenario
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_of_shot, scenario_with


def test_a_shot_is_the_scenario_that_a_file_would_say() -> None:
    shot = scenario_of_shot("soft_tissue", "25 W", "1.6 mm", "80 ms")
    filed = shipped_scenario("spot")
    assert (shot.beam, shot.exposure) == (filed.beam, filed.exposure)
    assert target_of(shot) == target_of(filed)
    assert scenario_from_text(scenario_text(shot)) == shot


def test_a_film_lies_on_top() -> None:
    shot = scenario_of_shot("skin", "25 W", "1.6 mm", "80 ms", film="50 um", thickness="2 mm")
    assert [layer.material for layer in shot.target.layers] == ["water_film", "skin"]
    assert [layer.thickness for layer in shot.target.layers] == [50e-6, 2e-3]


def test_a_superpulsed_shot_needs_no_power() -> None:
    shot = scenario_of_shot(
        "skin", None, "0.5 mm", "50 ms", peak_power="80 W", pulse_duration="400 us", repetition_rate="140 Hz"
    )
    assert shot.peak_power == 80.0


@pytest.mark.parametrize("setting", SETTINGS.values(), ids=lambda one: one.name)
def test_every_setting_sets_a_key_of_the_scenario(setting: Setting) -> None:
    table: Any = Scenario
    if not setting.key:
        assert setting.name in ("material", "thickness", "film")  # which make the layers
        return
    for step in setting.key.split("."):
        field = table.model_fields[step]
        inner = [
            one for one in (field.annotation, *get_args(field.annotation)) if hasattr(one, "model_fields")
        ]
        table = inner[0] if inner else None
    units = [kind.unit for kind in field.metadata if isinstance(kind, QuantityType)]
    assert not units or units == [setting.unit]


def test_python_names_every_setting_and_refuses_any_other() -> None:
    assert set(inspect.signature(spotdwell.shot).parameters) == {*SETTINGS, "progress", "values"}
    with pytest.raises(InputError, match=r"^dwel: expected a setting of a shot.*Did you mean dwell"):
        spotdwell.shot("skin", "5 W", "1 mm", dwel="1 ms")


def test_a_train_is_dwell_pause_and_count() -> None:
    train = scenario_of_shot("skin", "5 W", "1 mm", "1 ms", pause="9 ms", count=4)
    assert train.exposure.gate == (1e-3, 9e-3, 4)


def test_times_to_keep_are_a_list_or_a_text() -> None:
    kept = [scenario_of_shot("skin", "5 W", "1 mm", "1 ms", save_times=one) for one in (["2 ms"], "2 ms")]
    assert kept[0].run.save_times == kept[1].run.save_times == (2e-3,)


BAD: list[tuple[dict[str, Any], str]] = [
    ({"material": "potatoe"}, "material: expected a known material"),
    ({"power": "25"}, "power: expected a quantity in W"),
    ({"power": None}, 'power: expected a quantity, such as "25 W", got nothing'),
    ({"spot": "0 mm"}, "spot: expected more than 0 mm"),
    ({"spot": None}, 'spot: expected a quantity, such as "1.6 mm"'),
    ({"dwell": "5 W"}, "dwell: expected a quantity in s"),
    ({"dwell": None}, 'dwell: expected a quantity, such as "80 ms"'),
    ({"count": 3}, "pause: expected count and pause together"),
    ({"film": "thin"}, "film: expected a quantity in m"),
    ({"thickness": "0 mm"}, "thickness: expected more than 0 mm"),
    ({"backing": "open air"}, "thickness: expected a thickness"),
    ({"pulse_duration": "9 ms", "repetition_rate": "200 Hz"}, "pulse_duration: expected pulses that end"),
    ({"char_limit": "20"}, "char_limit: expected a quantity in m"),
]


@pytest.mark.parametrize(("options", "said"), BAD)
def test_a_bad_option_is_named_as_it_was_typed(options: dict[str, Any], said: str) -> None:
    good = {"material": "skin", "power": "25 W", "spot": "1.6 mm", "dwell": "80 ms"}
    with pytest.raises(InputError) as raised:
        scenario_of_shot(**{**good, **options})
    assert str(raised.value).startswith(said)


def test_two_bad_options_are_both_named() -> None:
    with pytest.raises(InputError) as raised:
        scenario_of_shot("skin", "25", "1.6", "80 ms")
    assert "\n  power: " in str(raised.value)
    assert "\n  spot: " in str(raised.value)


def test_a_refused_wavelength_names_the_option() -> None:
    shot = scenario_of_shot("skin", "25 W", "1.6 mm", "80 ms", wavelength="1064 nm")
    with pytest.raises(InputError, match=r"^wavelength: expected light that skin absorbs"):
        problem_of(shot)


def test_a_change_replaces_one_value_and_no_other() -> None:
    scenario = shipped_scenario("wet_mucosa")
    changed = scenario_with(scenario, {"beam.power": "30 W", "target.layers.0.thickness": "100 um"})
    assert changed.beam.power == 30.0
    assert changed.target.layers[0].thickness == 100e-6
    assert changed.target.layers[1:] == scenario.target.layers[1:]
    assert scenario_with(changed, {"beam.power": "10 W", "target.layers.0.thickness": "50 um"}) == scenario


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"beam.powr": "30 W"}, "beam.powr: expected a known key"),
        ({"target.layers.7.thickness": "1 mm"}, "target.layers.7.thickness: expected a number of an entry"),
        ({"title.short": "a"}, "title: expected a table"),
    ],
)
def test_a_change_of_what_is_not_there_is_refused(changes: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError) as raised:
        scenario_with(shipped_scenario("spot"), changes)
    assert said in str(raised.value)


@pytest.mark.parametrize(
    ("times", "end", "kept"),
    [
        (None, None, (0.02,)),
        ("5 ms, 9 ms", None, (0.005, 0.009)),
        (None, "15 ms", ()),
        (None, "30 ms", (0.02,)),
    ],
)
def test_fields_are_kept_as_the_beam_goes_off_unless_times_are_asked_for(times, end, kept):
    shot = scenario_of_shot("skin", "10 W", "1 mm", "20 ms", save_times=times, end_time=end)
    assert problem_of(shot).save_times == kept
