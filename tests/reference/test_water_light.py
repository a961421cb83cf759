"""Water's absorption lines against two published tables of its complex index, by the rows around each line.

Hale & Querry, Appl. Opt. 1973;12:555, and Segelstein, M.S. thesis, University of Missouri-Kansas City 1981,
both at 25 degC, as tabulated in the refractiveindex.info database (CC0).
"""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from spotdwell.inputs.medium import WaterLine, line_at, water_lines

Row = tuple[float, float, float]
"""Wavelength [um], refractive index n, extinction coefficient k."""

SEGELSTEIN: dict[float, tuple[Row, Row]] = {
    0.98: ((0.97948997, 1.322080, 3.4181423e-6), (0.98401110, 1.321994, 3.3364924e-6)),
    1.064: ((1.0592537, 1.320596, 1.2989431e-6), (1.0690549, 1.320416, 1.2588968e-6)),
    1.47: ((1.4689263, 1.312715, 3.3868046e-4), (1.4791084, 1.312525, 3.0184928e-4)),
    1.94: ((1.9319683, 1.298681, 1.9221627e-3), (1.9408859, 1.298590, 1.9089306e-3)),
    2.01: ((2.0090928, 1.296499, 9.9035328e-4), (2.0183664, 1.296066, 8.8877155e-4)),
    2.1: ((2.0989399, 1.291899, 4.6429087e-4), (2.1086281, 1.291353, 4.4034203e-4)),
    2.79: ((2.7861212, 1.127959, 1.0204463e-1), (2.7925438, 1.127558, 1.1188971e-1)),
    2.94: ((2.9376496, 1.263935, 2.8040783e-1), (2.9512092, 1.285942, 2.8235153e-1)),
    9.3: ((9.2896640, 1.226967, 4.2343831e-2), (9.3540566, 1.224439, 4.2932892e-2)),
    9.6: ((9.5940066, 1.214136, 4.5372232e-2), (9.6605085, 1.211068, 4.6003423e-2)),
    10.6: ((10.592537, 1.153843, 7.0923497e-2), (10.641430, 1.150368, 7.3585144e-2)),
}
HALE_QUERRY: dict[float, tuple[Row, Row]] = {
    0.98: ((0.975, 1.327, 3.48e-6), (1.0, 1.327, 2.89e-6)),
    2.01: ((2.0, 1.306, 1.10e-3), (2.2, 1.296, 2.89e-4)),
    2.1: ((2.0, 1.306, 1.10e-3), (2.2, 1.296, 2.89e-4)),
    2.79: ((2.75, 1.157, 0.059), (2.80, 1.142, 0.115)),
    2.94: ((2.90, 1.201, 0.268), (2.95, 1.292, 0.298)),
    9.3: ((9.2, 1.255, 0.0415), (9.4, 1.247, 0.0433)),
    9.6: ((9.6, 1.239, 0.0454), (9.8, 1.229, 0.0479)),
    10.6: ((10.5, 1.185, 0.0662), (11.0, 1.153, 0.0968)),
}
"""Without 1.064, 1.47 and 1.94 um, where the table's steps of 0.2 um skip the bands."""
AGREE = {0.98: 0.02, 2.01: 0.05, 2.1: 0.23, 2.79: 0.07, 2.94: 0.04, 9.3: 0.01, 9.6: 0.003, 10.6: 0.002}
"""Most by which the two tables differ; 23 % at 2.1 um lies in the middle of a step of the older one."""


def between(rows: tuple[Row, Row], wavelength: float) -> tuple[float, float]:
    """Index and extinction at `wavelength` [um]; k spans decades, so its logarithm is interpolated."""
    (left, n_left, k_left), (right, n_right, k_right) = rows
    share = (wavelength - left) / (right - left)
    return n_left + share * (n_right - n_left), k_left * (k_right / k_left) ** share


def absorption(rows: tuple[Row, Row], wavelength: float) -> float:
    """4 pi k / lambda [1/m]."""
    return 4.0 * math.pi * between(rows, wavelength)[1] / (wavelength * 1e-6)


def reflectance(index: float, extinction: float) -> float:
    """At normal incidence from air."""
    return ((index - 1.0) ** 2 + extinction**2) / ((index + 1.0) ** 2 + extinction**2)


def line(wavelength: float) -> WaterLine:
    return line_at(water_lines(), wavelength * 1e-6, "water", "wavelength")


def test_every_line_of_the_file_is_checked() -> None:
    assert sorted(round(one.wavelength * 1e6, 3) for one in water_lines()) == sorted(SEGELSTEIN)


@pytest.mark.parametrize("wavelength", SEGELSTEIN)
def test_absorption_is_4_pi_k_over_lambda_of_segelsteins_table(wavelength: float) -> None:
    # The file keeps three to four digits; interpolation between rows 0.5 % apart may differ by as much again.
    expected = absorption(SEGELSTEIN[wavelength], wavelength)
    assert_allclose(line(wavelength).absorption, expected, rtol=6e-3, atol=0.0)


@pytest.mark.parametrize("wavelength", HALE_QUERRY)
def test_hale_and_querrys_table_agrees_as_far_as_stated_and_lies_in_the_range(wavelength: float) -> None:
    other, one = absorption(HALE_QUERRY[wavelength], wavelength), line(wavelength)
    assert abs(other / one.absorption - 1.0) < AGREE[wavelength]
    low, high = one.range
    assert low * (1.0 - 2e-3) <= other <= high * (1.0 + 2e-3)  # ends of the range keep three digits


@pytest.mark.parametrize("wavelength", SEGELSTEIN)
def test_index_and_reflectance_follow_from_the_same_rows(wavelength: float) -> None:
    index, extinction = between(SEGELSTEIN[wavelength], wavelength)
    # 10.6 um holds the mean of both tables, 1.153 and 1.179; the others three decimals of Segelstein.
    assert_allclose(line(wavelength).index, index, rtol=0.0, atol=0.014 if wavelength == 10.6 else 1e-3)
    assert_allclose(line(wavelength).reflectance, reflectance(index, extinction), rtol=0.0, atol=1.1e-3)


@pytest.mark.parametrize(("wavelength", "slope"), [(2.01, -25.9), (2.1, -10.4)])
def test_near_2_um_water_loses_a_third_of_its_absorption_on_the_way_to_boiling(
    wavelength: float, slope: float
) -> None:
    """Linear loss from 20 to 100 degC, -0.259 1/cm/K at 2.014 um and -0.104 at 2.090 um.

    Lange, Brinkmann & Birngruber, Appl. Opt. (about 2002). The tool's slope is that loss over the values of
    the two tables.
    """
    one = line(wavelength)
    loss = -slope * 80.0 / one.absorption
    assert_allclose(loss, 0.32, rtol=0.0, atol=0.03)  # "about one third"; wavelengths differ by 0.01 um
    assert one.slope_range is not None
    ends = [-slope / value for value in (one.range[1], one.range[0])]
    # The file keeps two digits.
    assert_allclose(one.slope_range, ends, rtol=0.02)
    assert one.slope_range[0] <= one.slope <= one.slope_range[1]
