"""A length, a time and a range are written in one way, and the name of a file stays as it is."""

from __future__ import annotations

import pytest

from spotdwell.base.names import MEASURES
from spotdwell.document.quantities import (
    brief,
    interval_text,
    measure_text,
    quantity_text,
    range_text,
    sentence,
    setting_text,
    unit_text,
)
from spotdwell.output.pictures.style import typeset


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.8e-3, "m", "0.8 mm"),
        (47e-6, "m", "47 µm"),
        (24e-3, "m", "24 mm"),
        (7 * 0.5e-3, "m", "3.5 mm"),
        (0.01, "s", "10 ms"),
        (0.4e-3, "s", "0.4 ms"),
        (3.0, "s", "3 s"),
        (5.0, "W", "5 W"),
        (0.05, "W", "50 mW"),
    ],
)
def test_what_is_set_is_written_in_its_handiest_unit(value, unit, text):
    assert setting_text(value, unit) == text


def test_ranges_have_their_unit_once_and_long_numbers_are_brief():
    assert range_text("4 mm", "5 mm") == "4 to 5 mm"
    assert range_text("900 um", "1 mm") == "900 um to 1 mm"
    assert range_text("0.5", "1") == "0.5 to 1"
    assert range_text("100000000000 1/s", "1e13 1/s") == "1e11 to 1e13 1/s"
    assert range_text("2.00", "2.00") == "2.00"
    assert brief("1090 kg/m3") == "1090 kg/m3"


def test_measures_and_intervals_are_numbers_in_the_display_unit():
    depth = MEASURES["crater_depth"]
    assert measure_text(depth, 612.34e-6) == "610"
    assert measure_text(depth, 61.234e-6) == "61"
    assert measure_text(depth, None) == "–"
    assert interval_text(depth, 0.5e-3, 0.75e-3) == "500 to 750"
    assert interval_text(depth, None, 1e-3) == "–"


def test_units_are_set_with_their_signs():
    units = ("um", "mm3", "J/mm2", "degC", "1")
    assert [unit_text(unit) for unit in units] == ["µm", "mm³", "J/mm²", "°C", ""]
    assert quantity_text("1090 kg/m3, 8e2 J/kg/K") == "1090 kg/m³, 8e2 J/kg/K"


def test_sentences_begin_and_end_as_sentences():
    assert sentence("cells are 5 um high") == "Cells are 5 µm high."
    assert sentence("Why?") == "Why?"


def test_the_name_of_a_file_is_never_typeset():
    assert typeset("soft_tissue by my_10 um.toml") == "soft tissue by my 10 um.toml"
    for name in ("my_laser.toml", "a/b_c.h5", "$x_1$.csv", "bench_1/e2.html"):
        assert typeset(f"5 um from {name}, dial a_b") == f"5 µm from {name}, dial a b"
