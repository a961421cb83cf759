"""Gaussian spots and moving sources: quoted values, limits of each other, the heat equation, their energy."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell import exact

K, C, V = 0.5, 1050.0 * 3600.0, 5e-3
ALPHA = K / C
P, W = 0.1, 1e-4


@pytest.mark.parametrize(
    ("t", "expected"),
    [
        (1e-4, 52.069),
        (1e-3, 159.75),
        (1e-2, 406.13),
        (0.1, 646.39),
        (1, 748.66),
        (10, 782.27),
        (math.inf, 797.885),
    ],
)
def test_gaussian_spot_centre(t, expected):
    # Carslaw & Jaeger 1959, 10.5; five digits quoted.
    assert_allclose(exact.spot_centre_rise(t, P, W, K, C), expected, rtol=2e-5)


@pytest.mark.parametrize(("ratio", "expected"), [(0.5, 0.79102), (1, 0.46576), (1.5, 0.28743), (2, 0.20700)])
def test_gaussian_spot_steady_profile(ratio, expected):
    # Lax 1977; five decimals quoted.
    assert_allclose(exact.spot_steady_profile(ratio * W, W), expected, atol=6e-6)


@pytest.mark.parametrize(
    ("product", "expected"),
    [
        (0.1, 0.15727),
        (0.2, 0.24430),
        (0.5, 0.40240),
        (1, 0.54363),
        (2, 0.68282),
        (5, 0.83038),
        (10, 0.90358),
        (20, 0.94808),
        (50, 0.97820),
        (100, 0.98891),
    ],
)
def test_finite_absorption_lowers_the_centre_as_lax_found(product, expected):
    # Lax 1977; five decimals quoted.
    assert_allclose(exact.finite_absorption_ratio(product), expected, atol=6e-6)


def test_very_strong_absorption_is_opaque():
    # 1 - ratio = 2 / (sqrt(pi) W) to first order.
    assert_allclose(1.0 - exact.finite_absorption_ratio(1e5), 2 / (math.sqrt(math.pi) * 1e5), rtol=1e-4)


@pytest.mark.parametrize("t", [1e-4, 1e-2, 1.0, math.inf])
def test_spot_integral_gives_the_closed_centre(t):
    # Both are exact; the integral's tolerance is 1e-10.
    assert_allclose(exact.spot_rise(0, 0, 0, t, P, W, K, C), exact.spot_centre_rise(t, P, W, K, C), rtol=1e-9)


def test_spot_integral_gives_the_closed_steady_profile():
    r = W * np.array([0.0, 0.5, 1.0, 2.0, 5.0])
    found = exact.spot_rise(r, 0, 0, math.inf, P, W, K, C)
    # The tolerance 1e-10 is relative to the centre, 15 times the last value.
    assert_allclose(found / found[0], exact.spot_steady_profile(r, W), rtol=1e-8)


@pytest.mark.parametrize("product", [0.1, 1.0, 10.0, 100.0])
def test_spot_integral_with_absorption_gives_lax_steady_centre(product):
    mu = product * math.sqrt(2.0) / W
    ratio = exact.spot_rise(0, 0, 0, math.inf, P, W, K, C, mu) / exact.spot_centre_rise(math.inf, P, W, K, C)
    assert_allclose(ratio, exact.finite_absorption_ratio(product), rtol=1e-8)  # integral to 1e-10


def test_wide_spot_is_the_one_dimensional_solution():
    w, mu, z = 0.1, 6e4, np.array([0.0, 1e-5, 5e-5])
    q = 1e7
    found = exact.spot_rise(0, 0, z, 1e-3, q * math.pi * w**2 / 2, w, K, C, mu)
    # The beam spreads by 8 alpha t / w^2 = 1e-7.
    assert_allclose(found, exact.absorption_rise(z, 1e-3, q, mu, K, C), rtol=1e-6)


def test_strong_absorption_is_a_surface_spot():
    z = np.array([2e-5, 1e-4])
    found = exact.spot_rise(5e-5, 0, z, 0.02, P, W, K, C, 1e9)
    # Heat lies 1 / mu = 1e-9 m deeper: 1e-5 of the spot.
    assert_allclose(found, exact.spot_rise(5e-5, 0, z, 0.02, P, W, K, C), rtol=3e-5)


@pytest.mark.parametrize("mu", [6e4, math.inf])
@pytest.mark.parametrize("v", [0.0, V])
def test_spot_satisfies_the_heat_equation(mu, v):
    t, x, y, z = 5e-3, 3e-5, 2e-5, 2e-5
    d, dt = 2e-7, 1e-5

    def rise(dx=0.0, dy=0.0, dz=0.0, later=0.0):
        return float(exact.spot_rise(x + dx, y + dy, z + dz, t + later, P, W, K, C, mu, v, 1e-13))

    laplacian = sum(
        (rise(**{axis: d}) - 2 * rise() + rise(**{axis: -d})) / d**2 for axis in ("dx", "dy", "dz")
    )
    rate = (rise(later=dt) - rise(later=-dt)) / (2 * dt)
    carried = v * (rise(dx=d) - rise(dx=-d)) / (2 * d)
    peak = 2 * P / (math.pi * W**2)
    source = 0.0 if math.isinf(mu) else mu * peak * math.exp(-mu * z - 2 * (x**2 + y**2) / W**2)
    # Seen from the beam, C (dT/dt - v dT/dx) = k laplacian + source; 1e-4 of its largest term by differences.
    terms = [C * rate, -C * carried, -K * laplacian, -source]
    assert abs(sum(terms)) < 1e-4 * max(abs(term) for term in terms)


def test_absorbed_energy_is_all_under_the_spot():
    t, mu = 2e-3, 6e4
    nodes, weights = np.polynomial.legendre.leggauss(60)
    r = 4e-4 * 0.5 * (nodes + 1)
    z = 3e-4 * 0.5 * (nodes + 1)
    rise = exact.spot_rise(r[:, None], 0.0, z[None, :], t, P, W, K, C, mu)
    heat = C * np.einsum("i,j,ij", 2e-4 * weights * 2 * math.pi * r, 1.5e-4 * weights, rise)
    # At the far edges, 4 beam radii and 9 diffusion lengths off, less than 1e-8 is left out.
    assert_allclose(heat, P * t, rtol=1e-7)


@pytest.mark.parametrize(
    ("place", "expected"),
    [
        ((-1e-3, 0, 0), 318.31),
        ((-1e-3, 0, 0.2e-3), 214.67),
        ((-0.5e-3, 0, 0.1e-3), 517.71),
        ((0, 0.2e-3, 0), 36.32),
    ],
)
def test_moving_point_source_of_rosenthal(place, expected):
    # Rosenthal 1946; five digits, four in the last row.
    digits = 2e-5 if expected > 100 else 2e-4
    assert_allclose(exact.moving_point_rise(*place, 1.0, K, C, V), expected, rtol=digits)


def test_moving_point_satisfies_the_steady_moving_heat_equation():
    place, d = np.array([-2e-4, 1e-4, 1.5e-4]), 1e-7

    def rise(shift):
        return float(exact.moving_point_rise(*(place + shift), 1.0, K, C, V))

    axes = np.eye(3) * d
    laplacian = sum((rise(a) - 2 * rise(0.0 * a) + rise(-a)) / d**2 for a in axes)
    carried = V * (rise(axes[0]) - rise(-axes[0])) / (2 * d)
    assert_allclose(ALPHA * laplacian, -carried, rtol=1e-4)  # second differences over 1e-3 of the distance


def test_small_moving_spot_becomes_the_moving_point():
    place = (np.array([-1e-3, -3e-4, 0.0]), np.array([0.0, 1e-4, 2e-4]), np.array([0.0, 1e-4, 0.0]))
    small = exact.spot_rise(*place, math.inf, 1.0, 2e-6, K, C, v=V)
    # The spot's size enters as its square: (w / distance)^2 times a few (distance v / alpha ~ 10).
    assert_allclose(small, exact.moving_point_rise(*place, 1.0, K, C, V), rtol=2e-3)


def test_slow_spot_is_a_still_spot():
    still = exact.spot_rise(3e-5, 0, 1e-5, 0.01, P, W, K, C)
    # Moved by 1e-10 m in 0.01 s: 1e-6 of the radius.
    assert_allclose(exact.spot_rise(3e-5, 0, 1e-5, 0.01, P, W, K, C, v=1e-8), still, rtol=5e-6)


def test_still_spot_is_round_and_moving_spot_trails():
    ahead, behind, aside = exact.spot_rise(np.array([W, -W, 0]), np.array([0, 0, W]), 0, 0.05, P, W, K, C)
    assert_allclose([ahead, behind], aside, rtol=1e-8)  # integral to 1e-10 of the largest
    ahead, behind = exact.spot_rise(np.array([W, -W]), 0, 0, 0.05, P, W, K, C, v=V)
    assert behind > 1.5 * ahead
