"""Quantity strings: what is read, what is refused, and that what is written reads back."""

from __future__ import annotations

import contextlib
import math
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spotdwell.base import units
from spotdwell.base.errors import InputError

UNITS = ["m", "m2", "s", "W", "K", "J/kg", "J/mol", "1/s", "Hz", "W/m2/K", "kg/m3", "J/kg/K", "W/m/K", "1/m"]


def read(text: object, unit: str, **kind: bool) -> float:
    return units.parse(text, unit, where="beam.power", example=f"1 {unit}", **kind)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("250 um", "m", 250e-6),
        ("0.25 mm", "m", 250e-6),
        ("250 µm", "m", 250e-6),
        ("250um", "m", 250e-6),
        (" 25  W ", "W", 25.0),
        ("37 degC", "K", 310.15),
        ("37 °C", "K", 310.15),
        ("310.15 K", "K", 310.15),
        ("-10 degC", "K", 263.15),
        ("10 W/m2/K", "W/m2/K", 10.0),
        ("10 W/m2/degC", "W/m2/K", 10.0),
        ("inf W/m2/K", "W/m2/K", math.inf),
        ("1e12 1/s", "1/s", 1e12),
        ("2 kHz", "Hz", 2000.0),
        ("18.9 1/cm", "1/m", 1890.0),
        ("18.9 cm-1", "1/m", 1890.0),
        ("3 W/mm^2", "W/m2", 3e6),
        ("3 mm²", "m2", 3e-6),
        ("160 kJ/mol", "J/mol", 160e3),
        ("10 W / (m2 K)", "W/m2/K", 10.0),
        ("10 W m-2 K-1", "W/m2/K", 10.0),
        ("3 m**2", "m2", 3.0),
    ],
)
def test_a_quantity_reads_as_its_si_value(text: str, unit: str, value: float) -> None:
    # Exact: the reader rounds to 15 digits, so that equal quantities are equal floats.
    assert read(text, unit) == value


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        (25, "W", "the bare number 25"),
        (25.0, "W", "Write the number and its unit in quotes"),
        ("25", "W", "The unit is missing"),
        ("5 W", "m", '"W" is a unit of power'),
        ("nan W", "W", "not a finite number"),
        ("1e999 W", "W", "not a finite number"),
        ("1,6 mm", "m", "decimal point, not a comma"),
        ("wide", "m", 'got "wide"'),
        ("5 parsnips", "m", '"parsnips" is not a unit'),
        ("5 __import__('os')", "m", "is not a unit"),
        ("5 " + "m*" * 40 + "m", "m", "is not a unit"),
        ("0.3 m**(9**9**9)", "m", "is not a unit"),
        ("0.3 m*9**9**9**9", "m", "is not a unit"),
        ("5 m2**9", "m", "is not a unit"),
        ("5 m22", "m", "is not a unit"),
        ("5 9**9*m", "m", "is not a unit"),
        ("25 dBm", "W", "does not grow in proportion"),
        ("٣ mm", "m", 'got "٣ mm"'),
        ("25 C", "K", "C is the coulomb: write degC"),
        ("300 degF", "K", "degC or K"),
        ("-300 degC", "K", "below absolute zero"),
        (True, "W", "bool True"),
        (["25 W"], "W", "list"),
        ("", "W", 'got ""'),
    ],
)
def test_what_is_no_such_quantity_is_refused_with_its_place(text: object, unit: str, said: str) -> None:
    with pytest.raises(InputError) as raised:
        read(text, unit)
    assert said in str(raised.value)
    assert str(raised.value).startswith("beam.power: expected a quantity in ")
    assert f'such as "1 {unit}"' in raised.value.expected


def test_a_difference_of_temperatures_is_read_in_kelvin_only() -> None:
    assert read("60 K", "K", rise=True) == 60.0
    with pytest.raises(InputError, match="difference of temperatures: write it in K"):
        read("60 degC", "K", rise=True)


@settings(deadline=None)  # the first example imports pint
@given(value=st.floats(min_value=1e-30, max_value=1e30), unit=st.sampled_from(UNITS))
def test_what_is_written_reads_back_as_the_same_float(value: float, unit: str) -> None:
    assert read(units.written(value, unit), unit) == value


@settings(deadline=None)
@given(value=st.floats(min_value=1e-3, max_value=1e4))
def test_a_written_difference_reads_back_as_the_same_float(value: float) -> None:
    assert read(units.written(value, "K", rise=True), "K", rise=True) == value


@settings(deadline=None)
@given(number=st.integers(min_value=1, max_value=9999), scale=st.sampled_from([("um", 1e-6), ("mm", 1e-3)]))
def test_a_short_number_is_written_without_spurious_digits(number: int, scale: tuple[str, float]) -> None:
    text = units.written(read(f"{number} {scale[0]}", "m"), "m")
    # A length of up to four digits needs no more than four digits, zeros before or behind, and a point.
    assert sum(one.isdigit() for one in text.split()[0].strip("0.")) <= 4


@pytest.mark.parametrize(
    ("value", "unit", "display_unit", "text"),
    [
        (253.4e-6, "m", "um", "253 um"),
        (310.15, "K", "degC", "37.0 degC"),
        (1273.15, "K", "degC", "1000 degC"),
        (3.3e9, "J/m3", "J/mm3", "3.30 J/mm3"),
        (0.0, "m", "um", "0 um"),
        (12345e-6, "m", "um", "12300 um"),
        (0.25, "1", "1", "0.250"),
        (1e12, "1/s", "1/s", "1e12 1/s"),
        (math.inf, "m", "um", "inf um"),
    ],
)
def test_a_value_is_displayed_with_three_significant_digits(
    value: float, unit: str, display_unit: str, text: str
) -> None:
    assert units.display(value, unit, display_unit) == text


def test_pint_is_loaded_only_once_a_unit_is_looked_up() -> None:
    code = "import sys, spotdwell.base.units; print('pint' in sys.modules)"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "False"


@settings(deadline=5000)  # a unit that is arithmetic took for ever
@given(text=st.text(alphabet="m*9^/() -2sW.e", max_size=40))
def test_no_text_behind_a_number_takes_long_or_fails_otherwise(text: str) -> None:
    with contextlib.suppress(InputError):
        read(f"3 {text}", "m")


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (0.0, "m", ""),
        (math.inf, "m", ""),
        (1e-3, "m", ""),
        (1e104, "1/s", ""),
        (-1e300, "m", "at most 1e+06 m"),
        (1e-30, "m", "at least 1e-12 m"),
        (1e200, "J/kg", "at most 1e+60 J/kg"),
    ],
)
def test_sizes_beyond_arithmetic_are_told_with_their_limit(value: float, unit: str, said: str) -> None:
    assert units.beyond(value, unit) == said


@pytest.mark.parametrize(
    ("text", "unit"), [(text, unit) for unit, known in units._USUAL.items() for text in known]
)
def test_usual_units_have_the_size_that_the_reader_of_units_gives_them(text, unit, monkeypatch):
    usual = units._USUAL[unit][text]
    monkeypatch.setattr(units, "_USUAL", {})
    assert usual == units._scale(text, unit)
