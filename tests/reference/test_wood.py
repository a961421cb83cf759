"""Wood against the USDA Wood Handbook, ch. 4: conductivity by eq. 4-15, heat by Glass & Zelinka 2010."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from spotdwell.base import constants
from spotdwell.inputs.medium import medium_of
from spotdwell.inputs.read import shipped_material

CO2 = 10.6e-6


def conductivity(gravity: float, moisture: float) -> float:
    """Across the grain [W/m/K], near 24 degC and below 25 % of moisture, good to 20 %."""
    return gravity * (0.1941 + 0.004064 * moisture) + 0.01864


def specific_heat_dry(temperature: float) -> float:
    """Of oven-dry wood [J/kg/K] at `temperature` [K]."""
    return 103.1 + 3.867 * temperature


def specific_heat(temperature: float, moisture: float) -> float:
    """Of moist wood [J/kg/K]: mixing, and below 30 % what binding the water to the walls adds."""
    bound = moisture * (-0.06191 + 2.36e-4 * temperature - 1.33e-4 * moisture) if moisture < 30.0 else 0.0
    mixed = (specific_heat_dry(temperature) + 4180.0 * moisture / 100.0) / (1.0 + moisture / 100.0)
    return mixed + 1000.0 * bound


def test_the_formulas_give_the_handbooks_own_example() -> None:
    # Table entry 1.91 kJ/kg/K at 12 % and 340 K, to three digits.
    assert_allclose(specific_heat(340.0, 12.0), 1910.0, rtol=0.0, atol=10.0)


def test_dry_wood_conducts_as_the_formula_says() -> None:
    """Yellow birch, specific gravity 0.62 at 12 % and the same wood without its water."""
    material = shipped_material("hardwood_dry")
    assert material.conductivity_dry is not None
    # The file keeps three digits.
    assert_allclose(material.conductivity.value, conductivity(0.62, 12.0), rtol=5e-3, atol=0.0)
    assert_allclose(material.conductivity_dry.value, conductivity(0.62, 0.0), rtol=5e-3, atol=0.0)


@pytest.mark.parametrize("name", ["conductivity", "conductivity_dry"])
def test_stated_ranges_are_the_formulas_20_percent(name: str) -> None:
    value = getattr(shipped_material("hardwood_dry"), name)
    assert_allclose(
        value.range, (0.8 * value.value, 1.2 * value.value), rtol=0.0, atol=6e-4
    )  # three decimals


def test_soaked_wood_once_dried_conducts_as_the_formula_says() -> None:
    dried = shipped_material("hardwood_soaked").conductivity_dry
    assert dried is not None
    assert_allclose(dried.value, conductivity(0.55, 0.0), rtol=5e-3, atol=0.0)  # three digits


def test_soaked_wood_lies_between_the_drawn_out_formula_and_a_steeper_slope() -> None:
    """No formula holds at 100 % of moisture; MacLean 1941, from memory, is steeper by 0.038/0.028."""
    drawn_out = conductivity(0.55, 100.0)
    steeper = 0.55 * (0.1941 + 0.004064 * 0.038 / 0.028 * 100.0) + 0.01864
    value = shipped_material("hardwood_soaked").conductivity
    assert value.range is not None
    assert drawn_out < value.value < steeper
    assert value.range[0] < drawn_out
    assert steeper < value.range[1]


@pytest.mark.parametrize("name", ["hardwood_dry", "hardwood_soaked"])
def test_the_solids_specific_heat_is_dry_wood_at_340_k(name: str) -> None:
    """In between a shot's start and boiling; the range holds the formula from 20 degC to 400 K."""
    value = shipped_material(name).specific_heat_solid
    assert value is not None
    assert value.range is not None
    assert_allclose(value.value, specific_heat_dry(340.0), rtol=5e-3, atol=0.0)  # three digits
    ends = (specific_heat_dry(293.15), specific_heat_dry(400.0))
    assert_allclose(value.range, ends, rtol=5e-3, atol=0.0)


def test_air_dry_wood_takes_6_percent_too_much_heat_at_20_degc_and_10_too_little_at_340_k() -> None:
    """The tool mixes; the handbook adds what binding the water does, and follows temperature."""
    medium = medium_of(shipped_material("hardwood_dry"), CO2)
    mixed = medium.heat_capacity / medium.density
    assert_allclose(mixed / specific_heat(340.0, 12.0) - 1.0, -0.103, rtol=0.0, atol=3e-3)
    assert_allclose(mixed / specific_heat(293.15, 12.0) - 1.0, 0.057, rtol=0.0, atol=3e-3)


def test_free_water_in_soaked_wood_mixes_as_the_handbook_says() -> None:
    medium = medium_of(shipped_material("hardwood_soaked"), CO2)
    mixed = medium.heat_capacity / medium.density
    # Above fibre saturation the handbook mixes too; 0.5 % for the constants' digits.
    assert_allclose(mixed, specific_heat(340.0, 100.0), rtol=5e-3, atol=0.0)
    assert_allclose(medium.water_density / medium.density * constants.WATER_SPECIFIC_HEAT, 2091.0, rtol=1e-3)
