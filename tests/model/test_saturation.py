"""The pressure of superheated water, against IAPWS-95 as CoolProp evaluates it."""

import pytest
from CoolProp.CoolProp import PropsSI
from numpy.testing import assert_allclose

from spotdwell.model.saturation import (
    CRITICAL_PRESSURE,
    CRITICAL_TEMPERATURE,
    rupture_text,
    rupture_words,
    saturation_pressure,
)


@pytest.mark.parametrize("celsius", [0.1, 37.0, 100.0, 164.0, 180.0, 240.0, 300.0, 309.0, 350.0, 373.0])
def test_the_saturation_pressure_is_that_of_iapws_95(celsius):
    kelvin = celsius + 273.15
    # The auxiliary equation departs from the full one by less than 0.02 % (Wagner and Pruss 2002, fig. 2.1,
    # from memory).
    assert_allclose(saturation_pressure(kelvin), PropsSI("P", "T", kelvin, "Q", 0, "Water"), rtol=2e-4)


def test_it_is_an_atmosphere_where_water_boils_and_ends_at_the_critical_point():
    assert_allclose(saturation_pressure(373.124), 101325.0, rtol=2e-4)
    assert_allclose(saturation_pressure(CRITICAL_TEMPERATURE), CRITICAL_PRESSURE, rtol=1e-12)
    assert saturation_pressure(900.0) == CRITICAL_PRESSURE


def test_a_rupture_temperature_is_told_with_its_pressure():
    assert rupture_text(513.15) == "240 degC (3.3 MPa)"
    assert rupture_words("skin", 573.15) == "skin ruptures at 300 degC (8.6 MPa)"
