"""Half-space solutions: quoted values, limits of each other, the heat equation itself, and their energy."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.special import jn_zeros

from spotdwell import exact

K, C = 0.5, 1050.0 * 3600.0
"""Tissue-like conductivity [W/m/K] and heat capacity [J/m3/K]."""
WATER = {"q": 1e7, "mu": 84600.0, "k": 0.6, "C": 1000.0 * 4180.0}
"""Water-like half-space under 1 kW/cm2."""


def residual(rise, z, t, source, k=K, c=C):
    """C dT/dt - k d2T/dz2 - source by central differences, over the largest of the three terms."""
    dz, dt = 1e-3 * z, 1e-4 * t
    rate = c * (rise(z, t + dt) - rise(z, t - dt)) / (2 * dt)
    conducted = k * (rise(z + dz, t) - 2 * rise(z, t) + rise(z - dz, t)) / dz**2
    return abs(rate - conducted - source) / max(abs(rate), abs(conducted), abs(source))


@pytest.mark.parametrize(("t", "expected"), [(1e-3, 25.955), (1e-2, 82.078), (0.1, 259.55), (1.0, 820.78)])
def test_surface_flux_gives_carslaw_and_jaeger_surface_rise(t, expected):
    # Carslaw & Jaeger 1959, 2.9; five digits quoted.
    assert_allclose(exact.surface_flux_rise(0.0, t, 1e6, K, C), expected, rtol=2e-5)


@pytest.mark.parametrize(
    ("F", "theta"), [(0.01, 0.0092949), (0.1, 0.0804033), (1, 0.5559627), (10, 2.7388260), (100, 10.3399327)]
)
def test_scaled_surface_rise_of_absorption(F, theta):
    # Carslaw & Jaeger 1959, 2.11; seven decimals quoted.
    assert_allclose(exact.absorption_surface_rise(F), theta, atol=6e-8)


def test_scaled_surface_rise_series_meets_the_closed_form():
    # x^16 / Gamma(9) at x = 0.1 is 2e-21; the closed form itself cancels to about 1e-14 of theta there.
    below, above = exact.absorption_surface_rise(np.array([0.01 * (1 - 1e-12), 0.01 * (1 + 1e-12)]))
    assert_allclose(below, above, rtol=1e-11)


def test_scaled_surface_rise_is_pure_heating_at_first():
    # theta = F (1 - 4 sqrt(F / pi) / 3): at F = 1e-16 the correction is 1e-8.
    assert_allclose(exact.absorption_surface_rise(1e-16), 1e-16, rtol=2e-8)


WATER_ROWS = [
    (1e-5, [1.8794, 1.3326, 0.7484, 0.2454, 0.0296, 0.0004]),
    (1e-4, [16.229, 13.288, 7.824, 2.571, 0.310, 0.0045]),
    (1e-3, [111.82, 103.88, 80.05, 36.32, 5.10, 0.075]),
    (1e-2, [548.70, 536.28, 492.76, 378.29, 188.09, 28.23]),
]


@pytest.mark.parametrize(("t", "row"), WATER_ROWS)
def test_absorption_profile_in_water(t, row):
    # Carslaw & Jaeger 1959, 2.11; half a unit of the last digit quoted.
    z = np.array([0.0, 5e-6, 11.82e-6, 25e-6, 50e-6, 100e-6])
    digits = [len(f"{value!r}".split(".")[1]) for value in row]
    atol = np.array([0.51 * 10.0 ** -max(n, 2) for n in digits])
    assert np.all(np.abs(exact.absorption_rise(z, t, **WATER) - row) <= atol + 2e-4 * np.array(row))


def test_absorption_surface_rise_agrees_with_the_profile_at_depth_zero():
    t = np.array([1e-5, 1e-3, 0.1])
    scaled = exact.absorption_surface_rise(WATER["mu"] ** 2 * WATER["k"] / WATER["C"] * t)
    surface = exact.absorption_rise(0.0, t, **WATER)
    # Round-off of the cancelling profile formula is 1e-16 / theta.
    assert_allclose(scaled * WATER["q"] / (WATER["k"] * WATER["mu"]), surface, rtol=1e-13)


def test_strong_absorption_becomes_a_surface_flux():
    # The first correction is 1 / (mu sqrt(pi alpha t)) = 1.5e-6 at mu = 1e9 and 1 s.
    assert_allclose(
        exact.absorption_rise(1e-4, 1.0, 1e6, 1e9, K, C),
        exact.surface_flux_rise(1e-4, 1.0, 1e6, K, C),
        rtol=4e-6,
    )


def test_absorption_without_conduction_heats_by_the_local_source():
    # At mu^2 alpha t = 1e-8 only conduction through the surface is felt; z = 1/mu is 5e3 lengths away.
    mu, z, t = 1e3, 1e-3, 1e-8 / (1e6 * K / C)
    local = mu * 1e6 * math.exp(-mu * z) * t / C
    assert_allclose(exact.absorption_rise(z, t, 1e6, mu, K, C), local, rtol=2e-8)


@pytest.mark.parametrize("z", [3e-6, 1e-5, 6e-5])
@pytest.mark.parametrize("t", [1e-4, 2e-3])
def test_absorption_satisfies_the_heat_equation(z, t):
    q, mu = WATER["q"], WATER["mu"]
    source = mu * q * math.exp(-mu * z)
    found = residual(lambda z, t: exact.absorption_rise(z, t, **WATER), z, t, source, WATER["k"], WATER["C"])
    # Second differences over 1e-3 z lose 1e-6 by truncation and up to 1e-4 by round-off where T is flat.
    assert found < 2e-4


def test_residual_notices_a_wrong_solution():
    wrong = residual(
        lambda z, t: exact.absorption_rise(z, 1.02 * t, **WATER),
        1e-5,
        1e-3,
        WATER["mu"] * WATER["q"] * math.exp(-WATER["mu"] * 1e-5),
        WATER["k"],
        WATER["C"],
    )
    assert wrong > 5e-3


@pytest.mark.parametrize("t", [1e-5, 1e-3, 0.1])
def test_absorbed_heat_is_all_in_the_half_space(t):
    heat, _ = quad(lambda z: WATER["C"] * float(exact.absorption_rise(z, t, **WATER)), 0, 3e-3, limit=400)
    # quad's own tolerance 1.5e-8, its limit lies 14 diffusion lengths down at most.
    assert_allclose(heat, WATER["q"] * t, rtol=1e-7)


def test_surface_flux_heat_is_all_in_the_half_space():
    heat, _ = quad(lambda z: C * float(exact.surface_flux_rise(z, 0.01, 1e6, K, C)), 0, 1e-3)
    assert_allclose(heat, 1e4, rtol=1e-7)  # quad's own tolerance


@pytest.mark.parametrize(("t", "expected"), [(1e-3, 56.0), (1e-2, 17.9), (0.1, 5.6)])
def test_plane_pulse_on_water(t, expected):
    # 0.5 J/cm2 on water at 20 degC (IAPWS-95): F / (rho c sqrt(pi alpha t)), two to three digits quoted.
    assert_allclose(exact.plane_pulse_rise(0.0, t, 5e3, 0.5980, 998.21 * 4184.1), expected, rtol=0.9e-2)


def test_plane_pulse_peaks_at_the_known_height():
    z = 150e-6
    t = z**2 / (2 * K / C)
    found = exact.plane_pulse_rise(z, t * np.array([0.99, 1.0, 1.01]), 3.3e4, K, C)
    assert found[1] == max(found)
    assert_allclose(found[1], math.sqrt(2 / (math.pi * math.e)) * 3.3e4 / (C * z), rtol=1e-12)


def test_steady_flux_is_a_sum_of_plane_pulses():
    total, _ = quad(lambda t: float(exact.plane_pulse_rise(5e-5, t, 1e6, K, C)), 0.0, 0.02)
    assert_allclose(total, exact.surface_flux_rise(5e-5, 0.02, 1e6, K, C), rtol=1e-7)  # quad's tolerance


@pytest.mark.parametrize("mu", [1e2, 6e4, 1e8])
def test_pulse_kernel_keeps_its_unit_of_heat_without_overflow(mu):
    s = 2e-4
    z = np.linspace(0.0, 14 * s + 40 / mu, 400_001)
    # Trapezoid rule, error (step mu)^2 / 12 within an absorption depth at worst.
    assert_allclose(np.trapezoid(exact.absorption_pulse_kernel(z, s, mu), z), 1.0, rtol=1e-5)


def test_pulse_kernel_starts_as_the_absorbed_profile():
    z = np.array([1e-5, 4e-5])
    found = exact.absorption_pulse_kernel(z, 1e-9, 6e4)
    # exp(mu^2 s^2) - 1 = 4e-9
    assert_allclose(found, 6e4 * np.exp(-6e4 * z), rtol=1e-8)


def test_surface_loss_tends_to_held_surface():
    z = np.array([0.0, 1e-4, 1e-3])
    held = exact.surface_loss_rise(z, 1.0, math.inf, 100.0, K, C)
    # The difference is k / (h sqrt(pi alpha t)) = 8e-7 of the drive.
    assert_allclose(exact.surface_loss_rise(z, 1.0, 1e9, 100.0, K, C), held, atol=1e-4)


def test_surface_loss_passes_the_flux_its_coefficient_says():
    h, t, step = 500.0, 0.5, 1e-7
    face, inner, deeper = exact.surface_loss_rise(np.array([0.0, step, 2 * step]), t, h, 100.0, K, C)
    gradient = (-3 * face + 4 * inner - deeper) / (2 * step)
    # Second-order one-sided difference over 4e-4 diffusion lengths, and round-off 1e-13 / 1e-7.
    assert_allclose(-K * gradient, h * (100.0 - face), rtol=1e-5)


@pytest.mark.parametrize("h", [500.0, math.inf])
def test_surface_loss_satisfies_the_heat_equation(h):
    assert residual(lambda z, t: exact.surface_loss_rise(z, t, h, 100.0, K, C), 2e-4, 0.3, 0.0) < 1e-5


def test_contact_keeps_temperature_and_flux_at_the_interface():
    upper, lower, step = (0.5, 3.8e6), (0.15, 1.0e6), 1e-8
    z = np.array([-2 * step, -step, -1e-14, 0.0, step, 2 * step])
    T = exact.contact_rise(z, 0.2, 60.0, upper, lower)
    assert_allclose(T[2], T[3], rtol=1e-9)
    above = (T[0] - 4 * T[1] + 3 * T[2]) / (2 * step)
    below = (-3 * T[3] + 4 * T[4] - T[5]) / (2 * step)
    # Round-off of 1e-14 K over 1e-8 m against a gradient of 1e5 K/m.
    assert_allclose(upper[0] * above, lower[0] * below, rtol=1e-5)


def test_contact_of_like_media_is_the_symmetric_step():
    assert_allclose(exact.contact_rise(0.0, 1.0, 60.0, (K, C), (K, C)), 30.0, rtol=1e-14)


def test_contact_leaves_both_ends_as_they_were():
    far = exact.contact_rise(np.array([-1.0, 1.0]), 1.0, 60.0, (K, C), (0.15, 1e6))
    assert_allclose(far, [60.0, 0.0], atol=1e-12)


def test_diffusion_mode_satisfies_the_heat_equation_and_is_insulated():
    root, radius, depth, alpha = float(jn_zeros(1, 2)[1]), 1e-3, 5e-4, K / C

    def mode(r, z, t):
        return exact.diffusion_mode(r, z, t, root, 3, radius, depth, alpha)

    r, z, t, d = 3e-4, 1e-4, 0.02, 1e-7
    laplacian = (mode(r + d, z, t) - 2 * mode(r, z, t) + mode(r - d, z, t)) / d**2
    laplacian += (mode(r + d, z, t) - mode(r - d, z, t)) / (2 * d * r)
    laplacian += (mode(r, z + d, t) - 2 * mode(r, z, t) + mode(r, z - d, t)) / d**2
    rate = (mode(r, z, t + 1e-6) - mode(r, z, t - 1e-6)) / 2e-6
    assert_allclose(alpha * laplacian, rate, rtol=1e-4)  # round-off 1e-16 / d^2 against curvature 1e8
    edge = (mode(radius, z, 0.0) - mode(radius - d, z, 0.0)) / d
    assert abs(edge) < 0.01 / radius  # first-order difference of a zero slope: d / 2 times the curvature
