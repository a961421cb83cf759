"""Material files and what they become at one wavelength."""

from __future__ import annotations

import math
from typing import Any

import pytest
from numpy.testing import assert_allclose

from spotdwell.base import constants
from spotdwell.base.errors import InputError
from spotdwell.inputs.material import Material
from spotdwell.inputs.medium import cautions, debris_at, medium_of, water_lines
from spotdwell.inputs.read import material_from_text, material_text, shipped_material

BARE = """
density = "1100 kg/m3"
water_mass_fraction = 0.5
specific_heat_solid = "1500 J/kg/K"
conductivity = "0.5 W/m/K"
conductivity_dry = "0.2 W/m/K"

[[absorption]]
wavelength = "10.6 um"
value = "1e4 1/m"
"""

RUPTURES = """
[rupture_temperature]
value = "240 degC"

[steam_escape_time]
value = "2 ms"
"""
DEBRIS = """
[[debris]]
wavelength = "2.5 um"
value = "1 kJ/cm3"

[[debris]]
wavelength = "11.2 um"
value = "3 kJ/cm3"
"""


def tissue_with(mu_a: float, mu_s: float) -> Material:
    """A dry material with these coefficients at 10.6 um [1/m]."""
    return Material.model_validate(
        {
            "density": "1000 kg/m3",
            "water_mass_fraction": 0.0,
            "specific_heat_solid": "1500 J/kg/K",
            "conductivity": "0.5 W/m/K",
            "reflectance": 0.0,
            "absorption": [{"wavelength": "10.6 um", "value": f"{mu_a} 1/m"}],
            "scattering": {"amplitude": f"{mu_s} 1/m", "exponent": 0.0},
        }
    )


def test_densities_split_by_the_water_mass_fraction() -> None:
    medium = medium_of(material_from_text(BARE), 10.6e-6, "wet")
    assert (medium.water_density, medium.solid_density) == (550.0, 550.0)
    assert medium.name == "wet"
    assert medium.removal is None
    assert medium.pyrolysis is None


def test_absorption_adds_water_and_solids() -> None:
    medium = medium_of(material_from_text(BARE), 10.6e-6)
    expected = 84600.0 * 550.0 / constants.WATER_DENSITY + 1e4
    # Round-off of a few operations.
    assert_allclose(medium.absorption_coefficient, expected, rtol=1e-12)


def test_reflectance_is_water_s_unless_stated() -> None:
    assert medium_of(material_from_text(BARE), 10.6e-6).reflectance == 0.007
    assert medium_of(material_from_text("reflectance = 0.1\n" + BARE), 10.6e-6).reflectance == 0.1


def test_what_is_absent_takes_the_next_property() -> None:
    medium = medium_of(material_from_text(BARE), 10.6e-6)
    assert medium.conductivity_char == medium.conductivity_dry == 0.2
    assert medium_of(shipped_material("water_film"), 10.6e-6).is_liquid


@pytest.mark.parametrize(
    ("wavelength", "known"), [(10.65e-6, True), (10.55e-6, True), (10.5e-6, False), (5e-6, False)]
)
def test_a_wavelength_matches_a_line_within_half_a_percent(wavelength: float, known: bool) -> None:
    material = shipped_material("skin")
    if known:
        assert medium_of(material, wavelength).absorption_coefficient_water == 84600.0
        return
    with pytest.raises(InputError, match=r"10\.6 um, 9\.6 um, 9\.3 um, 2\.94 um"):
        medium_of(material, wavelength)


@pytest.mark.parametrize("name", ["soft_tissue", "skin", "liver", "muscle", "oral_mucosa"])
@pytest.mark.parametrize("wavelength", [0.98e-6, 1.064e-6])
def test_light_that_tissue_scatters_is_refused_with_both_numbers(name: str, wavelength: float) -> None:
    with pytest.raises(InputError) as raised:
        medium_of(shipped_material(name), wavelength, name, "wavelength")
    assert raised.value.where == "wavelength"
    assert raised.value.got.count("1/cm") == 2
    assert "diffuses" in raised.value.advice


def test_skin_s_reduced_scattering_is_the_published_law_s() -> None:
    scattering = shipped_material("skin").scattering
    assert scattering is not None
    # 15.7 1/cm at 1.064 um: Jacques, Phys Med Biol 2013;58:R37, from memory, to its three digits.
    assert_allclose(scattering.coefficient(1.064e-6), 1570.0, rtol=5e-3)


@pytest.mark.parametrize(
    ("ratio", "refused", "cautioned"),
    [(1.99, True, False), (2.01, False, True), (9.9, False, True), (10.1, False, False)],
)
def test_scattering_is_refused_below_2_and_cautioned_below_10(
    ratio: float, refused: bool, cautioned: bool
) -> None:
    material = tissue_with(1000.0 * ratio, 1000.0)
    if refused:
        with pytest.raises(InputError, match="absorbs at least 2 times"):
            medium_of(material, 10.6e-6)
    else:
        medium_of(material, 10.6e-6)
        assert any("reduced scattering" in note for note in cautions(material, 10.6e-6, "x")) is cautioned


def test_co2_light_is_never_refused_or_cautioned_in_tissue() -> None:
    for name in ("soft_tissue", "skin", "liver", "muscle", "oral_mucosa"):
        assert cautions(shipped_material(name), 10.6e-6, name) == ()


def test_a_liquid_is_not_said_to_burn_off() -> None:
    # It goes once it has boiled away, whatever it would take to rupture.
    assert not any("burns off" in note for note in cautions(shipped_material("water_film"), 10.6e-6, "film"))


def test_tissue_with_too_little_water_to_rupture_is_said_to_burn_off_only() -> None:
    wood = material_from_text(BARE.replace("0.5", "0.1", 1) + RUPTURES)
    (note,) = cautions(wood, 10.6e-6, "wood")
    assert note.startswith("wood: it holds 110 kg/m3 of water")
    assert "rupture temperature of 240 degC: this material only burns off" in note
    assert cautions(material_from_text(BARE + RUPTURES), 10.6e-6, "wet") == ()


def test_holmium_light_is_absorbed_less_by_hot_water() -> None:
    # -0.104 1/cm/K at 2.09 um: Lange, Brinkmann and Birngruber, Appl Opt 2002; 25 to 34 % less at 100 degC.
    medium = medium_of(shipped_material("soft_tissue"), 2.1e-6)
    assert 0.25 < medium.absorption_slope * 75.0 < 0.34
    assert medium_of(shipped_material("soft_tissue"), 1.94e-6).absorption_slope == 0.0


def test_a_material_may_state_a_slope_of_its_own() -> None:
    text = BARE + 'water_slope = "2e-3 1/K"\n'
    assert medium_of(material_from_text(text), 10.6e-6).absorption_slope == 2e-3
    lines = {line.wavelength: line.slope for line in water_lines()}
    assert medium_of(material_from_text(BARE), 10.6e-6).absorption_slope == lines[10.6e-6]


def test_the_debris_line_nearest_in_ratio_stands_for_a_wavelength() -> None:
    lines = material_from_text(BARE + DEBRIS).debris
    # 5.3 um lies as far from 2.5 as from 11.2; 3 um is nearer to the first.
    found = [debris_at(lines, wavelength) for wavelength in (2e-6, 3e-6, 5.2e-6, 5.4e-6, 20e-6)]
    assert found == [1e9, 1e9, 1e9, 3e9, 3e9]
    assert debris_at((), 10.6e-6) == 0.0


def test_removal_is_what_the_material_states() -> None:
    removal = medium_of(material_from_text(BARE + RUPTURES + DEBRIS), 10.6e-6).removal
    assert removal is not None
    assert (removal.rupture_temperature, removal.steam_escape_time, removal.debris_heat) == (
        513.15,
        2e-3,
        3e9,
    )
    assert (removal.rupture_water_share, removal.film_thickness) == (0.0, 0.0)


def test_water_absorbs_1_over_12_um_at_10_6_um() -> None:
    line = next(line for line in water_lines() if math.isclose(line.wavelength, 10.6e-6))
    # 11.8 um: Segelstein 1981, to its three digits.
    assert_allclose(1.0 / line.absorption, 11.8e-6, rtol=5e-3)


@pytest.mark.parametrize(
    ("old", "new", "where", "said"),
    [
        ('"1100 kg/m3"', '"1100 g"', "density.value", "a quantity in kg/m3"),
        ("= 0.5", "= 1.5", "water_mass_fraction.value", "at most 1"),
        ("= 0.5", '= "0.5"', "water_mass_fraction.value", "a number"),
        ('conductivity_dry = "0.2 W/m/K"', "", "conductivity_dry", "the key conductivity_dry"),
        ('density = "1100 kg/m3"', "", "density", "the table [density]"),
        ('value = "1e4 1/m"', "", "absorption[0].value", "a quantity"),
        ("density =", "densiti =", "densiti", "a known key"),
        (
            'density = "1100 kg/m3"',
            'density = {value = "1100 kg/m3", range = ["1 kg/m3", "2 kg/m3"]}',
            "density.value",
            "between 1 and 2",
        ),
        (
            'density = "1100 kg/m3"',
            'density = {value = "1100 kg/m3", range = ["2000 kg/m3", "1000 kg/m3"]}',
            "density.range",
            "a lowest and a highest",
        ),
        (
            'density = "1100 kg/m3"',
            'density = {value = "1100 kg/m3", basis = "guess"}',
            "density.basis",
            '"measured"',
        ),
    ],
)
def test_a_bad_material_is_named_with_its_key(old: str, new: str, where: str, said: str) -> None:
    with pytest.raises(InputError) as raised:
        material_from_text(BARE.replace(old, new, 1), "ham.toml")
    assert f"ham.toml: {where}: expected" in str(raised.value)
    assert said in str(raised.value)


@pytest.mark.parametrize(
    ("added", "missing"),
    [
        ('rupture_temperature = "240 degC"\n', "steam_escape_time"),
        (
            'rupture_temperature = "240 degC"\nsteam_escape_time = "2 ms"\nfilm_thickness = "30 um"\n',
            "film_growth",
        ),
    ],
)
def test_rupture_needs_the_time_in_which_steam_escapes_and_a_film_its_growth(
    added: str, missing: str
) -> None:
    with pytest.raises(InputError, match=missing):
        material_from_text(added + BARE)


def test_steam_may_escape_at_once() -> None:
    text = RUPTURES.replace("2 ms", "0 s")
    assert text != RUPTURES
    removal = medium_of(material_from_text(BARE + text), 10.6e-6).removal
    assert removal is not None
    assert removal.steam_escape_time == 0.0


@pytest.mark.parametrize("name", ["soft_tissue", "pmma", "water_film", "hardwood_soaked", "potato"])
def test_the_text_of_a_material_reads_back_as_the_same(name: str) -> None:
    material: Any = shipped_material(name)
    text = material_text(material)
    assert material_from_text(text) == material
    # A copy stands alone: it says where values came from, and asks for no other file.
    assert "based_on" not in text
    assert ("borrowed_from" in text) is (name in ("soft_tissue", "hardwood_soaked", "potato"))
