"""Front that ruptures while steam escapes: its equations, balances, limits, and where it ends."""

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad, solve_ivp

from spotdwell import exact

FRONT = exact.RuptureFront(
    q=3e7,
    mu=6e4,
    k=0.459,
    C=3.826e6,
    boiling=63.0,
    rupture=213.0,
    latent_heat=2.256e6,
    escape_time=1e-3,
)
FRONTS = [
    FRONT,
    replace(FRONT, q=2e8, escape_time=2e-4),
    replace(FRONT, q=1e9, mu=3e3, escape_time=1e-2),
    replace(FRONT, q=2e7),
]
SPARE = 509.0


@pytest.mark.parametrize("front", FRONTS)
def test_superheated_zone_and_warming_tissue_satisfy_their_equations(front):
    alpha, d = front.k / front.C, 1e-3 * front.zone
    for z in np.array([0.1, 0.5, 0.9, 1.3, 2.0]) * front.zone:
        T = front.rise_at(z + d * np.array([-1.0, 0.0, 1.0]))
        escapes = max(T[1] - front.boiling, 0.0) / front.escape_time
        lit = front.mu * front.q * math.exp(-front.mu * z) / front.C
        terms = [
            alpha * (T[2] - 2 * T[1] + T[0]) / d**2,
            front.v * (T[2] - T[0]) / (2 * d),
            -escapes,
            lit,
        ]
        # Differences over a thousandth of the zone.
        assert abs(sum(terms)) < 2e-5 * max(abs(term) for term in terms)


@pytest.mark.parametrize("front", FRONTS)
def test_face_is_insulated_at_its_rupture_and_the_zone_ends_at_boiling_without_a_kink(front):
    # The face's layer, in which conduction flattens it, is alpha / v thick.
    T = front.rise_at(1e-3 * front.k / (front.C * front.v) * np.arange(3))
    assert_allclose(T[0], front.rupture, rtol=1e-12)
    # One-sided second-order differences against first-order ones, which see the curvature.
    assert abs(-3 * T[0] + 4 * T[1] - T[2]) < 2e-3 * abs(T[0] - T[2])
    d = 1e-4 * front.zone
    above, at, below = front.rise_at(front.zone + d * np.array([-1.0, 0.0, 1.0]))
    assert_allclose(at, front.boiling, rtol=1e-9)
    assert_allclose(above - at, at - below, rtol=1e-3)  # curvature over a step of 1e-4


@pytest.mark.parametrize("front", FRONTS)
def test_front_balances_its_energy_and_its_water(front):
    """Neither integral enters the solution: the steam is summed over the zone."""
    excess, _ = quad(
        lambda z: front.C * (float(front.rise_at(z)) - front.boiling), 0, front.zone, epsabs=0, epsrel=1e-10
    )
    lost = excess / (front.escape_time * front.v * front.latent_heat)
    assert_allclose(front.evaporated, lost, rtol=1e-6)  # the closed one is a small difference of fluxes
    spent = front.v * (front.C * front.rupture + front.latent_heat * lost)
    assert_allclose(spent, front.q, rtol=1e-8)
    assert front.evaporated_at(front.zone * 1.5) == pytest.approx(0.0, abs=1e-9)


def test_front_agrees_with_an_independent_march():
    """The heat equation in the frame of the closed form's speed, by lines: its face comes to rupture."""
    h, alpha = 0.25e-6, FRONT.k / FRONT.C
    z = (np.arange(800) + 0.5) * h
    v, light = FRONT.v, FRONT.mu * FRONT.q / FRONT.C * np.exp(-FRONT.mu * z)

    def change(_, T):
        up = np.concatenate([[T[0]], T[:-1]])
        down = np.append(T[1:], 0.0)
        flow = v * (down - up) / (2 * h)
        steam = np.maximum(T - FRONT.boiling, 0.0) / FRONT.escape_time
        return alpha * (up - 2 * T + down) / h**2 + flow - steam + light

    run = solve_ivp(change, (0.0, 20e-3), np.zeros(z.size), "BDF", rtol=1e-8, atol=1e-8)
    # Central differences, whose error falls as h^2; a speed 0.1 % higher leaves the face 0.4 K colder.
    assert_allclose(run.y[:, -1], FRONT.rise_at(z), atol=0.05)


def test_without_escape_it_is_the_superheated_front_without_latent_heat():
    z = np.linspace(0.0, 2e-4, 50)
    closed = replace(FRONT, escape_time=math.inf)
    other = exact.VolumetricFront(FRONT.q, FRONT.mu, FRONT.k, FRONT.C, FRONT.rupture, 0.0)
    assert_allclose(closed.v, other.v, rtol=1e-14)
    assert_allclose(closed.rise_at(z), other.rise_at(z), rtol=1e-9, atol=1e-9)
    assert abs(closed.evaporated) < 1e-6
    slow = replace(FRONT, escape_time=1e3)
    # Superheat stays for zone / v = 1.1 ms of 1000 s.
    assert_allclose(slow.v, other.v, rtol=2e-6)
    assert_allclose(slow.rise_at(z), other.rise_at(z), rtol=1e-5, atol=1e-5)


def test_opaque_it_is_landaus_front_with_the_latent_heat_of_what_escapes():
    front = replace(FRONT, mu=1e9)
    speed = exact.ablation_speed(front.rupture, front.q, front.C, front.latent_heat * front.evaporated)
    assert_allclose(front.v, speed, rtol=1e-12)
    # Without escape the profile is Landau's too; 1 / mu = 1 nm moves it by 2e-4 of the conduction length.
    closed = replace(front, escape_time=math.inf)
    z = np.array([1e-6, 1e-5])
    landau = exact.ablation_rise(z, front.rupture, closed.v, front.k, front.C)
    assert_allclose(closed.rise_at(z), landau, rtol=1e-3)


def test_slow_front_is_refused_at_the_least_irradiance_and_crawls_above_it():
    least = FRONT.least_irradiance
    with pytest.raises(ValueError, match="steam takes"):
        _ = replace(FRONT, q=least).v
    crawling = replace(FRONT, q=least * 1.001)
    assert crawling.v < 1e-3 * FRONT.v * 10
    assert crawling.evaporated > 1e4


def test_least_irradiance_brings_a_standing_face_to_its_rupture():
    """D e'' - e / t_e + mu I e^(-mu z) = 0 under an insulated face: e(0) by its Green's function."""
    length = math.sqrt(FRONT.k / FRONT.C * FRONT.escape_time)
    source, _ = quad(lambda z: math.exp(-z / length - FRONT.mu * z), 0.0, 50.0 * length, epsrel=1e-12)
    face = FRONT.mu * FRONT.least_irradiance * source * length / (FRONT.k / FRONT.C)
    assert_allclose(face, FRONT.C * (FRONT.rupture - FRONT.boiling), rtol=1e-9)


@pytest.mark.parametrize("escape", [1e-4, 1e-3, 1e-1])
@pytest.mark.parametrize("spare", [50.0, SPARE])
def test_at_the_drying_irradiance_the_front_needs_all_its_water(escape, spare):
    front = replace(FRONT, escape_time=escape)
    limit = exact.drying_irradiance(front, spare)
    assert limit > front.least_irradiance
    assert_allclose(replace(front, q=limit).evaporated, spare, rtol=1e-8)
    assert replace(front, q=1.05 * limit).evaporated < spare < replace(front, q=0.99 * limit).evaporated


def test_drying_irradiance_falls_with_escape_time():
    quick, slow = (
        exact.drying_irradiance(replace(FRONT, escape_time=escape), SPARE) for escape in (1e-3, 4e-3)
    )
    # Between 1 / sqrt(t_e), where conduction carries heat off, and 1 / t_e, where absorption spreads it.
    assert 2.0 < quick / slow < 4.0
