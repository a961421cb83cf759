"""Rates at constant temperature and the crater of one pulse: quoted values and limits."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell import exact

TIMES = np.array([1e-3, 1e-2, 0.1, 1.0, 10.0, 60.0])
ROWS = [
    # Henriques & Moritz 1947; Jacques et al. 1996; Agah et al. 1994; Pearce, Thomsen et al. 1993 (the last
    # pair of constants from memory). The temperatures follow from each pair.
    ("skin burn", 3.1e98, 6.28e5, [70.4, 66.8, 63.3, 59.9, 56.6, 54.0]),
    ("liver whitening", 7.39e39, 2.577e5, [91.9, 82.3, 73.2, 64.5, 56.2, 50.1]),
    ("artery whitening", 5.6e63, 4.30e5, [96.6, 90.6, 84.8, 79.2, 73.7, 69.6]),
    ("collagen birefringence", 1.606e45, 3.06e5, [105.6, 96.8, 88.4, 80.4, 72.8, 67.0]),
]


@pytest.mark.parametrize(("A", "E", "celsius"), [row[1:] for row in ROWS], ids=[row[0] for row in ROWS])
def test_temperature_of_complete_damage(A, E, celsius):
    # 0.1 degC quoted.
    assert_allclose(exact.damage_temperature(TIMES, A, E) - 273.15, celsius, atol=0.06)


def test_damage_time_and_temperature_are_inverse():
    T = exact.damage_temperature(TIMES, 1.606e45, 3.06e5)
    assert_allclose(exact.damage_time(T, 1.606e45, 3.06e5), TIMES, rtol=1e-11)  # E / RT = 100 times round-off
    assert_allclose(exact.damage(TIMES, T, 1.606e45, 3.06e5), 1.0, rtol=1e-11)


@pytest.mark.parametrize(
    ("celsius", "seconds"), [(43.0, 60.0), (44.0, 120.0), (47.0, 960.0), (42.0, 15.0), (40.0, 0.9375)]
)
def test_thermal_dose_doubles_for_each_kelvin_above_43_and_quarters_below(celsius, seconds):
    # Sapareto & Dewey 1984; exact powers of two, but for the round-off of kelvin.
    assert_allclose(exact.thermal_dose(60.0, celsius + 273.15), seconds, rtol=1e-12)


def test_pyrolysis_starts_at_its_rate_and_ends_complete():
    A, E, T = 1e12, 1.6e5, 700.0
    rate = A * math.exp(-E / (8.314462618 * T))
    assert_allclose(exact.converted_share(1e-9 / rate, T, A, E), 1e-9, rtol=1e-8)
    assert_allclose(exact.converted_share(math.log(2.0) / rate, T, A, E), 0.5, rtol=1e-12)
    assert exact.converted_share(1e3 / rate, T, A, E) == 1.0


RATE, ESCAPE, STORE = 1e11, 1e-3, 1e9
"""Heating [W/m3], escape time [s], latent heat of all water [J/m3], which runs short at 10 ms."""


@pytest.mark.parametrize("t", [1.5e-3, 9e-3, 11e-3, 15e-3])
def test_superheated_cell_satisfies_its_balances(t):
    d = 1e-7
    (e1, e0), (w1, w0) = exact.superheated_cell(np.array([t + d, t - d]), RATE, ESCAPE, STORE)
    e, w = exact.superheated_cell(t, RATE, ESCAPE, STORE)
    taken = min(e, w) / ESCAPE
    # Central differences over 1e-4 of the escape time.
    assert_allclose((e1 - e0) / (2 * d), RATE - taken, rtol=1e-5, atol=1e-6 * RATE)
    assert_allclose((w1 - w0) / (2 * d), -taken, rtol=1e-5)


@pytest.mark.parametrize("t", [1e-3, 9.999e-3, 10.001e-3, 20e-3])
def test_superheated_cell_keeps_what_it_is_given(t):
    e, w = exact.superheated_cell(t, RATE, ESCAPE, STORE)
    assert_allclose(e + STORE - w, RATE * t, rtol=1e-13)


def test_water_of_a_superheated_cell_runs_short_when_its_latent_heat_was_given():
    e, w = exact.superheated_cell(STORE / RATE, RATE, ESCAPE, STORE)
    assert_allclose(e, w, rtol=1e-12)
    before = exact.superheated_cell(0.9 * STORE / RATE, RATE, ESCAPE, STORE)
    assert before[0] < before[1]


def test_superheated_cell_keeps_all_heat_at_first_and_then_levels_off():
    assert_allclose(exact.superheated_cell(1e-9, RATE, ESCAPE, STORE)[0], 100.0, rtol=1e-6)  # t / escape / 2
    assert_allclose(
        exact.superheated_cell(9.9e-3, RATE, ESCAPE, STORE)[0], RATE * ESCAPE, rtol=1e-4
    )  # e^-9.9


def test_rupture_time_meets_its_limit_or_never_comes():
    t = exact.rupture_time(RATE, ESCAPE, STORE, 8e7)
    assert_allclose(exact.superheated_cell(t, RATE, ESCAPE, STORE)[0], 8e7, rtol=1e-13)
    assert_allclose(exact.rupture_time(RATE, math.inf, STORE, 8e7), 8e-4, rtol=1e-12)
    assert math.isinf(exact.rupture_time(RATE, ESCAPE, STORE, 1e8))
    assert math.isinf(exact.rupture_time(RATE, ESCAPE, 1e8, 8e7))  # 1 ms of water, and 1.6 ms to come to it


CRATER = {"F0": 20e4, "threshold": 3e4}
"""20 and 3 J/cm2."""


def test_crater_diameter_of_liu():
    # Liu 1982, D^2 = 2 w^2 ln(F0 / threshold); four digits.
    assert_allclose(exact.crater_diameter(**CRATER, w=150e-6), 292.2e-6, rtol=2e-4)


def test_steady_crater():
    # Four digits; 3 kJ/cm3.
    assert_allclose(exact.steady_depth(**CRATER, h=3e9), 56.67e-6, rtol=1e-4)
    assert_allclose(exact.steady_volume(**CRATER, h=3e9, w=150e-6), 1.332e-12, rtol=5e-4)


def test_crater_volume_is_the_integral_of_its_depth():
    w = 150e-6
    r = np.linspace(0.0, exact.crater_diameter(**CRATER, w=w) / 2, 20_001)
    local = CRATER["F0"] * np.exp(-2 * (r / w) ** 2)
    depth = [exact.steady_depth(F, 3e4, 3e9) for F in local]
    volume = exact.steady_volume(**CRATER, h=3e9, w=w)
    assert_allclose(np.trapezoid(2 * math.pi * r * depth, r), volume, rtol=1e-7)  # trapezoid, 2e4 steps


def test_no_crater_at_or_below_the_threshold():
    assert exact.crater_diameter(2e4, 3e4, 1e-4) == 0.0
    assert exact.steady_volume(3e4, 3e4, 3e9, 1e-4) == 0.0
