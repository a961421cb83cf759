"""Water as the tool holds it, constant, against IAPWS-95 as CoolProp evaluates it over the liquid range.

Wagner & Pruß, J. Phys. Chem. Ref. Data 2002;31:387; conductivity by the IAPWS formulation of 2011.
"""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from spotdwell.base import constants
from spotdwell.inputs.medium import medium_of
from spotdwell.inputs.read import shipped_material
from spotdwell.library import Shelf, names

Array = NDArray[np.float64]

ATMOSPHERE = 101325.0
LIQUID = np.linspace(293.15, 373.05, 81)
"""20 to 99.9 degC [K]: above, water at 1 atm is steam."""


def of_water(name: str, temperature: Array | float) -> Array:
    """Property of water at 1 atm, by CoolProp's letter for it."""
    return np.asarray(PropsSI(name, "T", temperature, "P", ATMOSPHERE, "Water"))


def departure(constant: float, true: Array) -> tuple[float, float]:
    """Most that a constant lies below and above the true values, relative to them."""
    relative = constant / true - 1.0
    return float(relative.min()), float(relative.max())


def conductivity() -> float:
    return medium_of(shipped_material("water_film"), 10.6e-6).conductivity


@pytest.mark.parametrize(
    ("constant", "name"),
    [(constants.WATER_DENSITY, "D"), (constants.WATER_SPECIFIC_HEAT, "C"), (conductivity(), "L")],
)
def test_constants_are_those_of_25_degc_to_their_digits(constant: float, name: str) -> None:
    # Four to five digits are kept, of which the last is rounded.
    assert_allclose(constant, of_water(name, 298.15), rtol=1e-4, atol=0.0)


@pytest.mark.parametrize(
    ("constant", "name", "below", "above"),
    [
        (constants.WATER_DENSITY, "D", -0.0012, 0.0403),
        (constants.WATER_SPECIFIC_HEAT, "C", -0.0082, 0.0005),
        (conductivity(), "L", -0.1044, 0.0142),
    ],
    ids=["density", "specific heat", "conductivity"],
)
def test_from_20_to_100_degc_a_constant_departs_by_no_more_than_this(
    constant: float, name: str, below: float, above: float
) -> None:
    # The bounds are the departures themselves, so that a better or worse constant has to change them.
    assert_allclose(departure(constant, of_water(name, LIQUID)), (below, above), rtol=0.0, atol=1e-4)


def test_heat_per_volume_departs_by_up_to_3_percent_and_diffusivity_by_up_to_13() -> None:
    """What fronts depend on: conductivity rises on the way to boiling, heat per volume falls."""
    capacity = constants.WATER_DENSITY * constants.WATER_SPECIFIC_HEAT
    true = of_water("D", LIQUID) * of_water("C", LIQUID)
    assert_allclose(departure(capacity, true), (-0.0018, 0.0319), rtol=0.0, atol=1e-4)
    spread = departure(conductivity() / capacity, of_water("L", LIQUID) / true)
    assert_allclose(spread, (-0.1320, 0.0160), rtol=0.0, atol=1e-4)


@pytest.mark.parametrize("start", [293.15, 310.15])
def test_heat_from_start_to_dry_steam_is_right_to_5_parts_in_10000(start: float) -> None:
    """Per mass, all that removal costs: 2591 kJ/kg from 20 degC, 2521 kJ/kg from 37 degC."""
    steam = PropsSI("H", "P", ATMOSPHERE, "Q", 1, "Water")
    true = steam - float(of_water("H", start))
    warm = constants.WATER_SPECIFIC_HEAT * (constants.WATER_BOILING_TEMPERATURE - start)
    # The mean specific heat up to 100 degC is 0.2 to 0.3 % above that of 25 degC: 1 kJ of 2521 kJ.
    assert_allclose(warm + constants.WATER_LATENT_HEAT, true, rtol=5e-4, atol=0.0)


def test_boiling_point_and_latent_heat_are_those_of_one_atmosphere() -> None:
    boiling = PropsSI("T", "P", ATMOSPHERE, "Q", 0, "Water")
    # IAPWS-95 gives 99.974 degC; the tool says 100.
    assert_allclose(constants.WATER_BOILING_TEMPERATURE, boiling, rtol=0.0, atol=0.03)
    evaporated = [PropsSI("H", "P", ATMOSPHERE, "Q", quality, "Water") for quality in (1, 0)]
    assert_allclose(constants.WATER_LATENT_HEAT, evaporated[0] - evaporated[1], rtol=1e-4, atol=0.0)


@pytest.mark.parametrize(
    ("celsius", "excess"),
    [(120.0, 0.0247), (150.0, 0.0675), (200.0, 0.1633), (250.0, 0.3156), (300.0, 0.6064)],
)
def test_latent_heat_of_superheated_water_is_overstated_by_this_much(celsius: float, excess: float) -> None:
    """The tool boils at 100 degC however fast: water that a pulse superheats would take less to evaporate."""
    kelvin = celsius + constants.ZERO_CELSIUS
    true = PropsSI("H", "T", kelvin, "Q", 1, "Water") - PropsSI("H", "T", kelvin, "Q", 0, "Water")
    assert_allclose(constants.WATER_LATENT_HEAT / true - 1.0, excess, rtol=0.0, atol=5e-4)


@pytest.mark.parametrize("celsius", [150.0, 300.0, 500.0])
def test_steam_at_one_atmosphere_holds_too_little_heat_to_matter(celsius: float) -> None:
    """Eq. 2 gives steam no heat capacity: at 1 atm it is below 0.5 % of any dried material's."""
    steam = float(of_water("D", celsius + 273.15) * of_water("C", celsius + 273.15))
    for name in names(Shelf.MATERIALS):
        medium = medium_of(shipped_material(name), 10.6e-6)
        if medium.solid_density > 0.0:
            assert steam < 5e-3 * medium.solid_density * medium.specific_heat_solid, name


def test_no_dried_material_conducts_less_than_the_steam_in_it() -> None:
    """Steam at 150 degC, 0.029 W/m/K, fills what dries: the least that a porous solid can conduct."""
    steam = float(of_water("L", 423.15))
    for name in names(Shelf.MATERIALS):
        material = shipped_material(name)
        for value in (material.conductivity_dry, material.conductivity_char):
            if value is not None:
                assert value.value > steam, name
