"""One test for each way to get a scenario wrong: the error says where, what was expected and what was got."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from spotdwell.base.errors import InputError
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import read_scenario, scenario_from_text

Complaint = Callable[[dict[str, Any]], InputError]

ONE_KEY = [
    ("beam.power", "0 W", "more than 0 W", '"0 W"'),
    ("beam.power", "-5 W", "more than 0 W", '"-5 W"'),
    ("beam.power", "nan W", "a quantity in W", "not a finite number"),
    ("beam.power", "inf W", "a finite quantity", '"inf W"'),
    ("beam.power", 25, "a quantity in W", "the bare number 25"),
    ("beam.power", None, "a power", "nothing"),
    ("beam.diameter", "0 mm", "more than 0 mm", '"0 mm"'),
    ("beam.diameter", "5 W", "a quantity in m", '"5 W"'),
    ("beam.diameter", None, "a diameter, or [beam.optics]", "neither"),
    ("beam.wavelength", None, 'a quantity, such as wavelength = "10.6 um"', "nothing"),
    ("beam.profile", "round", '"gaussian"', '"round"'),
    ("beam.definition", "FWHM", '"D4sigma"', '"FWHM"'),
    ("beam.order", 4, 'no order unless profile = "super-gaussian"', "gaussian"),
    ("beam.plume_transmittance", 1.5, "at most 1", "1.5"),
    ("beam.plume_transmittance", "0.5", "a number", '"0.5"'),
    ("beam.plume_transmittance", float("nan"), "a finite number", "NaN"),
    ("beam.scan_speed", "5 mm/s", "a beam that rests on the axis", "axisymmetric"),
    ("beam.centre", ["1 mm", "0 mm"], "a beam that rests on the axis", "axisymmetric"),
    ("exposure.dwell_time", "0 ms", "more than 0 ms", '"0 ms"'),
    ("exposure.dwell_time", "nan s", "a quantity in s", "not a finite number"),
    ("exposure.dwell_time", None, "dwell_time, or on_time, off_time and count", "neither"),
    ("target.layers", [], "at least one entry", "an empty one"),
    ("target.layers", None, "the table [[target.layers]]", "nothing"),
    ("target.backing", "steel", '"insulated", "held" or "open air"', '"steel"'),
    ("target.backing_temperature", "20 degC", "no backing_temperature", "insulated"),
    ("target.initial_temperature", "-300 degC", "degC or K", "below absolute zero"),
    ("grid.symmetry", 3, "1, 2 or 4", "3"),
    ("grid.symmetry", 4, "no symmetry", "one"),
    ("grid.area", "1 mm2", 'no area, as geometry = "axisymmetric"', "one"),
    ("grid.refinement", 0, "more than 0", "0"),
    ("steps.largest_rise", "60 degC", "a quantity in K", '"60 degC"'),
    ("run.thermal_dose", "yes", "true or false", '"yes"'),
    ("title", 5, "a text in quotes", "5"),
]


@pytest.mark.parametrize(("key", "value", "expected", "got"), ONE_KEY)
def test_a_bad_value_is_named_with_its_key(
    complaint: Complaint, key: str, value: Any, expected: str, got: str
) -> None:
    error = complaint({key: value})
    assert error.where == f"shot.toml: {key}"
    assert expected in error.expected
    assert got in error.got


@pytest.mark.parametrize(
    ("key", "advice"),
    [
        ("beam.powr", "power"),
        ("beam.diametre", "diameter"),
        ("exposure.dwell", "dwell_time"),
        ("target.lairs", "layers"),
    ],
)
def test_an_unknown_key_comes_with_the_nearest_one(complaint: Complaint, key: str, advice: str) -> None:
    error = complaint({key: "1 m"})
    assert (error.where, error.expected) == (f"shot.toml: {key}", "a known key")
    assert error.advice == f"Did you mean {advice}?"


def test_an_unknown_key_like_no_other_comes_with_all_of_them(complaint: Complaint) -> None:
    assert complaint({"exposure.zzz": 1}).advice == (
        "Known keys: dwell_time, on_time, off_time, count, carrier."
    )


def test_a_missing_table_is_named(complaint: Complaint) -> None:
    assert complaint({"exposure": None}).expected == "the table [exposure]"


def test_a_diameter_beside_optics_is_refused(complaint: Complaint) -> None:
    optics = {"focal_length": "125 mm", "input_diameter": "10 mm"}
    error = complaint({"beam.optics": optics})
    assert (error.where, error.got) == ("shot.toml: beam.diameter", "both")


def test_an_annular_beam_needs_its_inner_ratio(complaint: Complaint) -> None:
    assert complaint({"beam.profile": "annular"}).where == "shot.toml: beam.inner_ratio"


def test_pulses_that_overlap_are_refused(complaint: Complaint) -> None:
    error = complaint({"exposure.carrier": {"pulse_duration": "6 ms", "repetition_rate": "200 Hz"}})
    assert error.where == "shot.toml: exposure.carrier.pulse_duration"
    assert "5.00 ms" in error.expected
    assert "overlap" in error.advice


def test_a_power_that_its_peak_contradicts_is_refused(complaint: Complaint) -> None:
    carrier = {"pulse_duration": "400 us", "repetition_rate": "140 Hz", "peak_power": "80 W"}
    error = complaint({"exposure.carrier": carrier, "beam.power": "4.6 W"})
    assert error.where == "shot.toml: beam.power"
    assert "4.480 W" in error.expected


def test_more_pulses_than_anybody_waits_for_are_refused(complaint: Complaint) -> None:
    error = complaint({"exposure": {"on_time": "1 ms", "off_time": "1 ms", "count": 2_000_000}})
    assert "at most 1000000 pulses" in error.expected


def test_a_dwell_time_beside_a_train_is_refused(complaint: Complaint) -> None:
    assert complaint({"exposure.count": 3}).got == "both"


def test_a_train_needs_all_of_its_keys(complaint: Complaint) -> None:
    error = complaint({"exposure": {"on_time": "1 ms", "count": 3}})
    assert error.where == "shot.toml: exposure.off_time"


def test_a_fraction_of_a_pulse_is_refused(complaint: Complaint) -> None:
    error = complaint({"exposure": {"on_time": "1 ms", "off_time": "1 ms", "count": 2.5}})
    assert error.expected == "a whole number"


def test_only_the_last_layer_may_be_thick(complaint: Complaint) -> None:
    error = complaint({"target.layers": [{"material": "skin"}, {"material": "muscle"}]})
    assert error.where == "shot.toml: target.layers[0].thickness"


def test_a_sheet_over_open_air_needs_a_thickness(complaint: Complaint) -> None:
    error = complaint({"target.backing": "open air"})
    assert error.where == "shot.toml: target.layers[0].thickness"


def test_a_slab_needs_its_area(complaint: Complaint) -> None:
    assert complaint({"grid.geometry": "slab"}).where == "shot.toml: grid.area"


def test_a_save_after_the_end_is_refused(complaint: Complaint) -> None:
    error = complaint({"run": {"end_time": "1 s", "save_times": ["80 ms", "2 s"]}})
    assert (error.where, error.got) == ("shot.toml: run.save_times", "2 s")


def test_a_target_warmer_than_the_end_needs_an_end_time(build: Callable[[dict[str, Any]], Any]) -> None:
    with pytest.raises(InputError, match=r"shot\.toml: run\.end_temperature"):
        problem_of(build({"target.initial_temperature": "50 degC"}))
    problem_of(build({"target.initial_temperature": "50 degC", "run.end_time": "1 s"}))
    problem_of(build({"target.layers": [{"material": "apple"}], "run.end_temperature": "30 degC"}))


def test_an_unknown_material_comes_with_near_names(complaint: Complaint) -> None:
    error = complaint({"target.layers": [{"material": "softtissue"}]})
    assert error.where == "shot.toml: target.layers[0].material"
    assert error.advice.startswith("Did you mean soft_tissue")


def test_every_unknown_material_is_reported(complaint: Complaint) -> None:
    error = complaint({"target.layers": [{"material": "skim", "thickness": "1 mm"}, {"material": "livre"}]})
    assert error.got == "2 problems"
    assert "skin" in str(error)
    assert "liver" in str(error)


def test_a_material_file_that_is_not_there_is_named(complaint: Complaint) -> None:
    error = complaint({"target.layers": [{"material": "mine/ham.toml"}]})
    assert "a material file at mine/ham.toml" in error.expected
    assert error.got == "no such file or directory"


def test_all_problems_of_a_file_are_told_at_once(complaint: Complaint) -> None:
    text = str(complaint({"beam.power": 25, "beam.diametre": "1 mm", "exposure.dwell_time": "80 mm"}))
    assert "3 problems" in text
    for line in ("beam.power: expected", "beam.diametre: expected", "exposure.dwell_time: expected"):
        assert f"\n  shot.toml: {line}" in text


def test_text_that_is_no_toml_is_refused_with_its_line() -> None:
    with pytest.raises(InputError, match=r"shot\.toml: expected TOML, .*line 2"):
        scenario_from_text("[beam]\npower = 25 W\n", "shot.toml")


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="expected a scenario file, got no such file"):
        read_scenario(tmp_path / "none.toml")


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    (tmp_path / "shot.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="not utf-8 text"):
        read_scenario(tmp_path / "shot.toml")


@pytest.mark.parametrize(
    ("key", "value", "expected"),
    [
        ("beam", 3, "shot.toml: beam: expected a table, got 3"),
        ("beam", [], "shot.toml: beam: expected a table, got []"),
        ("target.layers", 3, "shot.toml: target.layers: expected a list, got 3"),
        ("target.layers", [3], "shot.toml: target.layers[0]: expected a table, got 3"),
    ],
)
def test_a_value_in_place_of_a_table_is_refused(
    complaint: Complaint, key: str, value: Any, expected: str
) -> None:
    # Nothing more: a list whose entries are wrong is not called too short as well.
    assert str(complaint({key: value})) == expected
