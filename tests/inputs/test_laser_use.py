"""A laser file in a shot: it fills what is not typed, takes its share of the power, and is kept."""

import pytest

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.inputs.build import exposure_of
from spotdwell.inputs.laser_file import read_laser
from spotdwell.inputs.read import scenario_from_text, scenario_text
from spotdwell.inputs.shot import scenario_of_shot, scenario_with

LASER = """
[wavelength]
value = "9.3 um"
source = "maker"
[delivered_share]
value = 0.8
interval = [0.75, 0.85]
source = "power meter"
[[diameter]]
dial = "1"
value = "400 um"
interval = ["390 um", "410 um"]
source = "craters"
"""
SECOND = """
[[diameter]]
dial = "2"
value = "1 mm"
interval = ["0.97 mm", "1.03 mm"]
definition = "D4sigma"
source = "craters"
"""


@pytest.fixture
def laser(tmp_path):
    path = tmp_path / "laser.toml"
    path.write_text(LASER + SECOND)
    return str(path)


@pytest.fixture
def one_spot(tmp_path):
    path = tmp_path / "one.toml"
    path.write_text(LASER)
    return str(path)


def shot_of(laser, dial=None, spot=None, **options):
    return scenario_of_shot("soft_tissue", "10 W", spot, "5 ms", laser=laser, dial=dial, **options)


def test_spot_definition_and_wavelength_are_the_laser_files(laser):
    beam = shot_of(laser, "2").beam
    assert (beam.diameter, beam.definition, beam.wavelength) == (1e-3, "D4sigma", 9.3e-6)


def test_what_is_typed_goes_before_the_laser_file(laser):
    beam = shot_of(laser, "2", wavelength="10.6 um", definition="86.5 %").beam
    assert (beam.diameter, beam.definition, beam.wavelength) == (1e-3, "86.5 %", 10.6e-6)


def test_the_share_of_the_power_reaches_the_target_and_the_set_power_is_kept(laser):
    scenario = shot_of(laser, "1")
    assert scenario.beam.power == 10.0
    # 0.8 of 10 W.
    assert exposure_of(scenario).peak_power == pytest.approx(8.0, rel=1e-12)
    assert exposure_of(scenario_with(scenario, {"beam.power": "20 W"})).peak_power == pytest.approx(16.0)


def test_a_superpulsed_carrier_is_delivered_in_part_too(laser):
    pulses = {"peak_power": "100 W", "pulse_duration": "400 us", "repetition_rate": "200 Hz"}
    scenario = scenario_of_shot("soft_tissue", None, None, "20 ms", laser=laser, dial="1", **pulses)
    assert exposure_of(scenario).peak_power == pytest.approx(80.0, rel=1e-12)


def test_the_file_is_recorded_and_reads_back(laser, one_spot):
    scenario = shot_of(laser, "1")
    assert scenario.laser.file == laser and scenario.laser.dial == "1"
    assert "power meter" in scenario.laser.text
    assert scenario_from_text(scenario_text(scenario)) == scenario
    assert read_laser(one_spot).dials == ("1",)


@pytest.mark.compiled
def test_the_result_is_that_of_the_delivered_power_and_says_so(laser):
    coarse = {"refinement": 0.3, "wavelength": "10.6 um", "end_time": "6 ms"}
    found = spotdwell.shot("soft_tissue", power="10 W", dwell="5 ms", laser=laser, dial="1", **coarse)
    plain = spotdwell.shot("soft_tissue", power="8 W", spot="0.4 mm", dwell="5 ms", **coarse)
    assert found.measures == plain.measures
    assert any("80 %" in note and "8.00 W of 10.0 W" in note for note in found.notes)
    assert found.setting["power"] == "10 W" and "dial 1" in found.setting["laser"]
    assert "power meter" in found.scenario_text


def test_without_a_measured_share_all_arrives_and_that_is_said(tmp_path):
    path = tmp_path / "laser.toml"
    path.write_text(LASER.replace("[delivered_share]", "[title_of_nothing]").split("[title")[0] + SECOND)
    scenario = shot_of(str(path))
    assert exposure_of(scenario).peak_power == 10.0 and scenario.laser.delivered_share is None


def test_a_laser_of_one_spot_needs_no_dial_and_takes_another_spot(one_spot):
    assert shot_of(one_spot).beam.diameter == 400e-6
    assert shot_of(one_spot, spot="1 mm").beam.diameter == 1e-3


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({}, 'dial: expected "1" or "2", got nothing'),
        ({"dial": "3"}, 'dial: expected "1" or "2", got "3"'),
        ({"spot": "1 mm"}, "spot: expected the spot once"),
        ({"dial": "1", "spot": "1 mm"}, "spot: expected the spot once"),
    ],
)
def test_what_does_not_go_together_is_named(laser, options, said):
    with pytest.raises(InputError) as caught:
        shot_of(laser, **options)
    assert str(caught.value).startswith(said)
    assert (
        "1" in caught.value.advice + caught.value.expected
        and "2" in caught.value.advice + caught.value.expected
    )


@pytest.mark.parametrize("options", [{"laser": None, "dial": "1"}, {"laser": "none.toml"}])
def test_a_dial_without_a_laser_and_a_file_that_is_not_there_are_named(options):
    with pytest.raises(InputError) as caught:
        shot_of(**options)
    assert caught.value.where == ("laser" if options["laser"] else "dial")
