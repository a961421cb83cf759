"""Common practice, no source: what whoever uses such a laser expects, in direction and rough size.

Cells are twice to four times the tool's own: thicknesses move by some micrometres and most time is saved.
"""

from functools import lru_cache

import pytest

from spotdwell.measure.verdict import Word
from spotdwell.output.result import Result
from spotdwell.pipeline import shot

pytestmark = pytest.mark.compiled

TISSUES = ["soft_tissue", "oral_mucosa"]
WOOD = {"initial_temperature": "22 degC", "thickness": "1.6 mm", "cell_width": "60 um"}


@lru_cache
def bite(material: str, power: str, spot: str, dwell: str) -> Result:
    return shot(material, power, spot, dwell, cell_depth="8 um", cell_width="40 um")


def amount(result: Result, name: str) -> float:
    value = result.measures[name]
    assert value is not None
    return value


@pytest.mark.parametrize("material", TISSUES)
def test_half_the_exposure_takes_about_half_the_bite(material: str) -> None:
    long, short = (bite(material, "60 W", "2.75 mm", dwell) for dwell in ("100 ms", "50 ms"))
    # Below a half, as warming to boiling comes first.
    assert 0.35 < amount(short, "deepest") / amount(long, "deepest") < 0.6


@pytest.mark.parametrize("material", TISSUES)
@pytest.mark.parametrize("spot", ["2.5 mm", "2.75 mm", "3 mm"])
def test_sixty_watts_for_a_tenth_of_a_second_take_a_clean_shallow_bite(material: str, spot: str) -> None:
    result = bite(material, "60 W", spot, "100 ms")
    assert 0.4e-3 < amount(result, "deepest") < 1.5e-3  # of the order of 1 mm
    assert amount(result, "crater_width") > 2.0 * amount(result, "deepest")
    assert result.verdict.word is Word.CLEAN


@pytest.mark.parametrize("material", TISSUES)
def test_a_tenth_of_that_time_barely_marks_moist_tissue(material: str) -> None:
    result = bite(material, "60 W", "2.75 mm", "10 ms")
    # Superheated tissue goes sooner than boiled tissue would: some 30 to 60 um, and none of it chars.
    assert amount(result, "deepest") < 75e-6
    assert amount(result, "char_volume") == 0.0


def test_a_soaked_strip_stays_unmarked_while_its_film_of_water_boils() -> None:
    result = shot("hardwood_soaked", "60 W", "2.75 mm", "10 ms", film="100 um", cell_depth="8 um", **WOOD)
    assert 0.0 < amount(result, "deepest") < 100e-6  # water only
    assert amount(result, "char_volume") == 0.0
    assert amount(result, "dried_thickness_floor") == 0.0


def test_a_dry_strip_gets_a_faint_mark() -> None:
    result = shot("hardwood_dry", "60 W", "2.75 mm", "10 ms", cell_depth="8 um", **WOOD)
    assert amount(result, "char_volume") > 0.0
    assert 0.0 < amount(result, "deepest") < 0.1 * 2.75e-3


def test_sixty_watts_on_less_than_a_millimetre_go_through_a_soaked_strip() -> None:
    result = shot(
        "hardwood_soaked", "60 W", "0.9 mm", "100 ms", backing="open air", cell_depth="20 um", **WOOD
    )
    assert amount(result, "perforation_time") < 0.1
    assert result.verdict.word is Word.PERFORATED


@pytest.mark.parametrize("material", TISSUES)
def test_a_third_of_the_power_at_the_same_irradiance_goes_as_deep_and_less_wide(material: str) -> None:
    wide = bite(material, "60 W", "2.75 mm", "100 ms")
    narrow = bite(material, "20 W", "1.588 mm", "100 ms")  # 2.75 mm / sqrt(3)
    assert 0.9 < amount(narrow, "deepest") / amount(wide, "deepest") < 1.1
    # The widths are in proportion to the spots, 0.58, but for heat that escapes sideways.
    assert 0.5 < amount(narrow, "crater_width") / amount(wide, "crater_width") < 0.65


@pytest.mark.parametrize("material", TISSUES)
def test_a_spot_too_large_for_the_power_burns(material: str) -> None:
    fit, large = (bite(material, "60 W", spot, "100 ms") for spot in ("2.75 mm", "4 mm"))
    assert amount(large, "crater_volume") < 0.7 * amount(fit, "crater_volume")
    assert amount(large, "char_per_removed_volume") > 2.0 * amount(fit, "char_per_removed_volume")
    assert large.verdict.word is Word.CHARRED


@pytest.mark.parametrize("material", TISSUES)
def test_high_irradiance_for_a_short_time_is_cleaner_than_low_for_long(material: str) -> None:
    high, low = bite(material, "60 W", "2.75 mm", "100 ms"), bite(material, "20 W", "2.75 mm", "300 ms")
    assert 0.85 < amount(low, "deepest") / amount(high, "deepest") < 1.15  # the wanted depth, for both
    for layer in ("char_thickness_floor", "char_thickness_wall", "coagulation_thickness_floor"):
        assert amount(low, layer) > 1.2 * amount(high, layer)
    assert (high.verdict.word, low.verdict.word) == (Word.CLEAN, Word.CHARRED)
