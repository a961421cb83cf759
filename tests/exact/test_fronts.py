"""Moving fronts: quoted values, limits, the heat equation in the moving frame, and heat balances."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from spotdwell import exact

RISE, K, C = 63.0, 0.459, 1090.0 * 3510.0
"""Tissue of 70 % water, 37 to 100 degC."""
LATENT, WATER, MU = 2.2564e6, 0.7 * 1090.0, 59200.0
L = LATENT * WATER
PURE = {"k": 0.6, "C": 998.0 * 4180.0, "rise": 80.0, "L": 998.0 * 2.2565e6}
"""Pure water, 20 to 100 degC."""


def steady_residual(front, z, source, k=K, c=C):
    """k T'' + C v T' + source in the frame of the front, over the largest term."""
    d = 1e-3 * z
    curvature = (front.rise_at(z + d) - 2 * front.rise_at(z) + front.rise_at(z - d)) / d**2
    slope = (front.rise_at(z + d) - front.rise_at(z - d)) / (2 * d)
    terms = [k * float(curvature), c * front.v * float(slope), source]
    return abs(sum(terms)) / max(abs(term) for term in terms)


# E: Stefan and Neumann


@pytest.mark.parametrize(
    ("ste", "root"),
    [
        (0.01, 0.070593),
        (0.05, 0.156821),
        (0.1, 0.220016),
        (0.2, 0.306424),
        (0.5, 0.464786),
        (1, 0.620063),
        (2, 0.800601),
        (5, 1.059687),
    ],
)
def test_stefan_root(ste, root):
    # Carslaw & Jaeger 1959, 11.2; six decimals quoted.
    assert_allclose(exact.stefan_root(ste), root, atol=6e-7)


def test_neumann_without_subcooling_is_stefan():
    root = exact.drying_front(50.0, 0.0, 2e9, (K, C), (0.3, 2e6))
    assert_allclose(root, exact.stefan_root(C * 50.0 / 2e9), rtol=1e-12)


def test_neumann_front_takes_up_its_heat():
    dry, wet, over, under, heat, t = (0.2, 1.2e6), (0.459, 3.83e6), 150.0, 63.0, 1.72e9, 0.5
    root = exact.drying_front(over, under, heat, dry, wet)
    front = 2 * root * math.sqrt(dry[0] / dry[1] * t)
    d = 1e-4 * front
    z = front + d * np.array([-2.0, -1.0, -1e-9, 1e-9, 1.0, 2.0])
    T = exact.drying_front_rise(z, t, over, under, heat, dry, wet)
    assert_allclose(T[2:4], under, rtol=1e-9)
    inflow = -dry[0] * (T[0] - 4 * T[1] + 3 * T[2]) / (2 * d)
    outflow = -wet[0] * (-3 * T[3] + 4 * T[4] - T[5]) / (2 * d)
    speed = front / (2 * t)
    assert_allclose(inflow - outflow, heat * speed, rtol=1e-6)  # one-sided second-order differences


def test_neumann_ends_at_surface_and_initial_temperature():
    T = exact.drying_front_rise(np.array([0.0, 1.0]), 0.5, 150.0, 63.0, 1.72e9, (0.2, 1.2e6), (0.459, 3.83e6))
    assert_allclose(T, [213.0, 0.0], atol=1e-12)


# F: Landau


@pytest.mark.parametrize(("q", "expected"), [(1e5, 0.5474), (1e6, 5.474e-3), (1e7, 54.74e-6)])
def test_preheat_time(q, expected):
    assert_allclose(exact.preheat_time(RISE, q, K, C), expected, rtol=1e-4)  # Landau 1950; four digits


def test_preheat_ends_when_the_surface_flux_solution_says():
    t = exact.preheat_time(RISE, 1e6, K, C)
    assert_allclose(exact.surface_flux_rise(0.0, t, 1e6, K, C), RISE, rtol=1e-13)


@pytest.mark.parametrize(
    ("q", "v", "length", "isotherm"),
    [
        (1e6, 0.5095e-3, 235.5e-6, 191e-6),
        (1e7, 5.095e-3, 23.55e-6, 19.1e-6),
        (1e8, 50.95e-3, 2.355e-6, 1.91e-6),
    ],
)
def test_steady_ablation_of_an_opaque_target(q, v, length, isotherm):
    # Landau 1950; three to four digits. 65 degC is 28 K above 37 degC.
    speed = exact.ablation_speed(RISE, q, C, L)
    assert_allclose(speed, v, rtol=1e-4)
    assert_allclose(K / C / speed, length, rtol=3e-4)
    assert_allclose(exact.ablation_rise(isotherm, RISE, speed, K, C), 28.0, rtol=3e-3)


def test_opaque_front_stores_the_heat_of_its_profile():
    v = exact.ablation_speed(RISE, 1e7, C, L)
    heat, _ = quad(lambda z: C * float(exact.ablation_rise(z, RISE, v, K, C)), 0, 1e-3)
    assert_allclose(heat, exact.ablation_stored_heat(RISE, v, K), rtol=1e-8)  # quad's tolerance


def test_transient_ablation_stays_between_its_bounds():
    """An independent solution in the front's own frame, by lines on 400 stretched points."""
    q, t0 = 1e7, exact.preheat_time(RISE, 1e7, K, C)
    y = 4e-4 * np.linspace(0.0, 1.0, 401) ** 2
    gap = np.diff(y)
    volume = np.diff(np.concatenate([[0.0], 0.5 * (y[1:] + y[:-1]), [y[-1]]]))

    def change(_, state):
        T = np.concatenate([[RISE], state[:-1]])
        slope = np.append(np.diff(T) / gap, 0.0)
        speed = max(0.0, (q + K * slope[0]) / L)
        conducted = K / C * np.diff(slope) / volume[1:]
        return np.append(conducted + speed * 0.5 * (slope[1:] + slope[:-1]), speed)

    start = exact.surface_flux_rise(y[1:], t0, q, K, C)
    times = t0 * np.array([2.0, 20.0, 100.0, 600.0])
    run = solve_ivp(change, (t0, times[-1]), np.append(start, 0.0), "BDF", times, rtol=1e-6, atol=1e-9)
    for t, depth in zip(run.t, run.y[-1], strict=True):
        least, greatest = exact.ablation_depth_bounds(t, RISE, q, K, C, L)
        assert least < depth < greatest
    # After 7 times alpha / v^2 the front is steady to 1 % of the heat it stores; the grid errs by 1 %.
    v = exact.ablation_speed(RISE, q, C, L)
    stored = q * times[-1] - run.y[-1][-1] * (L + C * RISE)
    assert_allclose(stored, exact.ablation_stored_heat(RISE, v, K), rtol=3e-2)


# G: absorption below an evaporating surface


@pytest.mark.parametrize(
    ("mu", "q", "v", "celsius", "depth"),
    [
        (84600.0, 1e6, 0.3867e-3, 111.42, 22.62e-6),
        (84600.0, 1e7, 3.8674e-3, 185.28, 15.62e-6),
        (84600.0, 1e8, 38.674e-3, 400.36, 5.772e-6),
        (84600.0, 1e9, 386.74e-3, 576.36, 1.277e-6),
        (1.2e6, 1e7, 3.8674e-3, 108.16, 1.625e-6),
        (1.2e6, 1e8, 38.674e-3, 165.16, 1.210e-6),
        (3000.0, 1e7, 3.8674e-3, 497.87, 86.7e-6),
    ],
)
def test_peak_below_an_evaporating_water_surface(mu, q, v, celsius, depth):
    # After Dabby & Paek 1972; four to five digits, three in the last depth.
    front = exact.VolumetricFront(q=q, mu=mu, **PURE)
    assert_allclose(front.v, v, rtol=2e-4)
    assert_allclose(front.peak_rise + 20.0, celsius, atol=0.011)
    assert_allclose(front.peak_depth, depth, rtol=6e-4)


TISSUE_ROWS = [
    (1e6, 120.7, 8.99, 306e-6),
    (1e7, 224.2, 3.88, 85e-6),
    (3e7, 316.8, 3.50, 59e-6),
    (1e8, 416.6, 3.37, 52e-6),
    (1e9, 520.8, 3.32, 49e-6),
]


@pytest.mark.parametrize(("q", "celsius", "stored", "isotherm"), TISSUE_ROWS)
def test_tissue_front_peak_stored_heat_and_65_degree_isotherm(q, celsius, stored, isotherm):
    # After Dabby & Paek 1972; peak to 0.1 K, heat to 0.01 J/cm2, depth to 1 um.
    front = exact.VolumetricFront(q, MU, K, C, RISE, L)
    assert_allclose(front.peak_rise + 37.0, celsius, atol=0.06)
    assert_allclose(front.stored_heat, stored * 1e4, atol=60.0)
    depth = brentq(lambda z: float(front.rise_at(z)) - 28.0, front.peak_depth, 2e-3)
    assert_allclose(depth, isotherm, atol=0.6e-6)


def test_volumetric_front_satisfies_the_heat_equation():
    front = exact.VolumetricFront(1e7, MU, K, C, RISE, L)
    for z in (5e-6, 2e-5, 8e-5):
        # Second differences over 1e-3 z.
        assert steady_residual(front, z, MU * 1e7 * math.exp(-MU * z)) < 1e-4


def test_volumetric_front_feeds_its_evaporation_by_conduction():
    front = exact.VolumetricFront(1e7, MU, K, C, RISE, L)
    d = 1e-9
    slope = (-3 * front.rise_at(0.0) + 4 * front.rise_at(d) - front.rise_at(2 * d)) / (2 * d)
    assert_allclose(K * slope, front.v * L, rtol=1e-5)  # round-off 1e-14 over 1e-9 against 1e7 K/m


def test_volumetric_front_stores_the_heat_of_its_profile():
    front = exact.VolumetricFront(1e7, MU, K, C, RISE, L)
    heat, _ = quad(lambda z: C * float(front.rise_at(z)), 0, 2e-3, limit=200)
    assert_allclose(heat, front.stored_heat, rtol=1e-7)  # quad's tolerance


def test_volumetric_front_of_strong_absorption_is_the_opaque_front():
    front = exact.VolumetricFront(1e7, 1e10, K, C, RISE, L)
    z = np.array([1e-6, 2e-5])
    # The subsurface peak adds v L / (k mu) = 3e-1 K at mu = 1e8, 3e-3 K here.
    assert_allclose(front.rise_at(z), exact.ablation_rise(z, RISE, front.v, K, C), atol=4e-3)


def test_volumetric_front_passes_smoothly_where_its_two_decays_meet():
    q = 1e7
    decay = exact.ablation_speed(RISE, q, C, L) * C / K
    near = [exact.VolumetricFront(q, decay * f, K, C, RISE, L) for f in (1 - 1e-7, 1.0, 1 + 1e-7)]
    z = np.array([1e-6, 2e-5, 1e-4])
    for front in near:
        # A relative change of 1e-7 in mu moves both by about as much.
        assert_allclose(front.rise_at(z), near[1].rise_at(z), rtol=1e-6)
        assert_allclose(front.peak_depth, near[1].peak_depth, rtol=1e-6)


def test_volumetric_front_without_latent_heat_is_hottest_at_its_surface():
    front = exact.VolumetricFront(1e7, MU, K, C, RISE, 0.0)
    assert front.peak_depth == 0.0
    assert float(front.rise_at(1e-6)) < RISE


# F6: a face that burns back


def test_burning_face_burns_as_fast_as_heat_brings_it_up():
    rise = exact.burning_rise(5e6, 3.78e6, 293.15, 793.15, 1e-3, 30068.0)
    burns = 1e-3 * math.exp(30068.0 / 793.15 - 30068.0 / (293.15 + rise))
    assert_allclose(burns, exact.ablation_speed(rise, 5e6, 3.78e6, 0.0), rtol=1e-10)
    assert_allclose(rise, 520.0, atol=1.0)  # worked by hand: 2.54 mm/s


def test_burning_face_is_at_its_temperature_at_its_speed_and_stays_near():
    q = 1e-3 * C * 500.0
    assert_allclose(exact.burning_rise(q, C, 300.0, 800.0, 1e-3, 3e4), 500.0, rtol=1e-10)
    # exp(E (1/800 - 1/T)) = 10 * 500 / rise: ten times the flux adds 50 K.
    assert_allclose(exact.burning_rise(10 * q, C, 300.0, 800.0, 1e-3, 3e4), 550.0, atol=0.5)


# G13 on: a liquid


LIQUID = exact.BoilingFront(1e7, MU, K, C, RISE, L)


def test_boiling_zone_meets_the_warming_liquid_without_a_kink():
    d = 1e-9
    T = LIQUID.rise_at(LIQUID.zone + d * np.array([0.0, 1.0, 2.0]))
    assert_allclose(LIQUID.rise_at(np.array([0.0, 0.5, 1.0]) * LIQUID.zone), RISE, rtol=1e-12)
    slope = (-3 * T[0] + 4 * T[1] - T[2]) / (2 * d)
    assert abs(slope) < 1e-5 * RISE * MU  # round-off 1e-14 K over 1e-9 m


def test_boiling_front_satisfies_the_heat_equation_below_its_zone():
    for z in LIQUID.zone + np.array([5e-6, 3e-5]):
        source = MU * 1e7 * math.exp(-MU * z)
        assert steady_residual(LIQUID, float(z), source) < 1e-4  # second differences over 1e-3 z


def test_boiling_zone_evaporates_what_it_absorbs():
    z, d = np.linspace(0.05, 0.95, 7) * LIQUID.zone, 1e-9
    made = -LIQUID.v * L * (LIQUID.evaporated_at(z + d) - LIQUID.evaporated_at(z - d)) / (2 * d)
    assert_allclose(made, MU * 1e7 * np.exp(-MU * z), rtol=1e-6)  # central differences over 1e-4 / mu
    assert_allclose(LIQUID.evaporated_at(np.array([0.0, LIQUID.zone])), [1.0, 0.0], atol=1e-12)


def test_boiling_front_balances_its_energy():
    # What gets under the zone warms the liquid that arrives; all of it warms and evaporates.
    assert_allclose(1e7 * math.exp(-MU * LIQUID.zone), LIQUID.v * C * RISE, rtol=1e-12)
    heat, _ = quad(lambda z: C * float(LIQUID.rise_at(z)), 0, 2e-3, points=[LIQUID.zone], limit=200)
    assert_allclose(heat, LIQUID.warm_heat, rtol=1e-7)  # quad's tolerance


def test_boiling_front_at_a_thousand_times_the_absorption_is_the_opaque_front():
    front = exact.BoilingFront(1e7, 1e3 * MU, K, C, RISE, L)
    z = np.array([1e-6, 2e-5])
    # Moved in by the zone, 2e-8 m, and 1 / mu: 2e-3 of the conduction length.
    assert_allclose(front.rise_at(z), exact.ablation_rise(z, RISE, front.v, K, C), rtol=3e-3)


def test_boiling_front_shares_speed_with_the_superheated_front_but_not_its_peak():
    other = exact.VolumetricFront(1e7, MU, K, C, RISE, L)
    assert_allclose(LIQUID.v, other.v, rtol=1e-14)
    z = np.linspace(0.0, 3e-4, 200)
    assert np.max(LIQUID.rise_at(z)) <= RISE * (1 + 1e-14) < other.peak_rise
