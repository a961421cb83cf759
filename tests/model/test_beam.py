"""Beam profiles and diameters (eq. 20)."""

import copy
import math
import pickle
from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from spotdwell.base.errors import InputError
from spotdwell.model.beam import Beam, Definition, Profile, Shape, beam_radius, focused_radius
from spotdwell.model.columns import lattice, rings, slab

PROFILES = [Beam(10.6e-6, 0.5e-3, profile, order=6.0, inner_ratio=0.4) for profile in Profile]
"""Each of the table; one that has no use for the order or the ratio pays them no heed."""
NAMES = [str(beam.profile) for beam in PROFILES]


def integral(beam: Beam, power: int, reach: float) -> float:
    """Integral of 2 pi r^(1 + power) I(r) from the axis to `reach`, split where profiles break."""
    breaks = sorted({0.0, min(reach, beam.inner_ratio * beam.radius), min(reach, beam.radius), reach})
    parts = [
        quad(lambda r: 2.0 * math.pi * r ** (1 + power) * float(beam.irradiance(np.array(r))), a, b)[0]
        for a, b in pairwise(breaks)
    ]
    return sum(parts)


@pytest.mark.parametrize("beam", PROFILES, ids=NAMES)
def test_encircled_power_is_the_integral_of_the_irradiance(beam):
    for reach in (0.15e-3, 0.3e-3, 0.5e-3, 0.8e-3):
        # quad's own error is 1e-8 of the power.
        assert_allclose(beam.encircled(np.array(reach)), integral(beam, 0, reach), rtol=1e-7, atol=1e-9)


@pytest.mark.parametrize("beam", PROFILES, ids=NAMES)
def test_a_millionth_of_the_power_at_most_lies_beyond_the_reach(beam):
    assert 1.0 - float(beam.encircled(np.array(beam.reach))) <= 1.0000001e-6


@pytest.mark.parametrize("beam", PROFILES, ids=NAMES)
def test_second_moment_diameter_comes_back_from_the_profile(beam):
    moment = math.sqrt(integral(beam, 2, 4.0 * beam.radius) / 2.0)
    radius = beam_radius(4.0 * moment, Definition.D4SIGMA, beam.profile, beam.order, beam.inner_ratio)
    assert_allclose(radius, beam.radius, rtol=1e-6)


@pytest.mark.parametrize("beam", PROFILES, ids=NAMES)
def test_the_86_percent_circle_holds_that_share(beam):
    radius = beam_radius(1e-3, Definition.D86, beam.profile, beam.order, beam.inner_ratio)
    scaled = Beam(10.6e-6, radius, beam.profile, beam.order, beam.inner_ratio)
    # 1 - exp(-2) = 0.8647, the share in the 1/e2 circle of a gaussian (ISO 11146-1).
    assert_allclose(scaled.encircled(np.array(0.5e-3)), 1.0 - math.exp(-2.0), rtol=1e-12)


@pytest.mark.parametrize("beam", PROFILES, ids=NAMES)
def test_the_highest_irradiance_is_the_highest_there_is(beam):
    assert_allclose(
        beam.irradiance(np.linspace(0.0, beam.reach, 1001)).max(), beam.peak_irradiance, rtol=1e-12
    )


def test_a_profile_without_formulas_cannot_be_built():
    with pytest.raises(TypeError, match="shape"):
        Profile._new_member_(Profile, "round")
    with pytest.raises(TypeError, match="peak"):
        Shape(**{name: formula for name, formula in vars(Profile.GAUSSIAN.shape).items() if name != "peak"})


def test_profiles_survive_their_word_and_a_copy():
    assert all(Profile(str(profile)) is profile is copy.deepcopy(profile) for profile in Profile)
    assert all(pickle.loads(pickle.dumps(profile)) is profile for profile in Profile)


def test_a_gaussian_has_one_diameter_by_all_definitions():
    assert {round(beam_radius(1e-3, d), 15) for d in Definition} == {0.5e-3}


@pytest.mark.parametrize("beam", PROFILES, ids=NAMES)
def test_rings_take_the_whole_beam(beam):
    columns = rings(np.linspace(0.0, 2e-3, 41))
    assert_allclose(columns.beam_shares(beam).sum(), beam.encircled(np.array(2e-3)), rtol=1e-12)


@pytest.mark.parametrize("beam", PROFILES, ids=NAMES)
def test_a_quarter_lattice_takes_a_quarter_of_the_beam(beam):
    edges = np.linspace(0.0, 1.5e-3, 61)
    columns = lattice(edges, edges, symmetry=4.0)
    # Midpoint samples of a profile with a sharp edge miss its area by about the share of cells on the edge.
    assert_allclose(columns.beam_shares(beam).sum(), 0.25, rtol=1e-3)


def test_a_moving_beam_is_where_its_speed_takes_it():
    beam = Beam(10.6e-6, 0.1e-3, centre=(-0.5e-3, 0.0), scan_speed=0.1)
    edges = np.linspace(-1e-3, 1e-3, 41)
    columns = lattice(edges, edges)
    shares = columns.beam_shares(beam, time=7e-3).reshape(40, 40)
    assert_allclose((shares.sum(axis=1) @ columns.x), -0.5e-3 + 0.1 * 7e-3, atol=1e-9)


def test_a_slab_takes_the_whole_power_evenly():
    assert_allclose(slab(1e-6).beam_shares(Beam(10.6e-6, 1e-3)), [1.0])


@pytest.mark.parametrize(
    ("focal_length", "input_radius", "waist"),
    [(125e-3, 5e-3, 84.3e-6), (50e-3, 4e-3, 42.2e-6), (200e-3, 5e-3, 135e-6), (400e-3, 5e-3, 270e-6)],
)
def test_focus_follows_gaussian_optics(focal_length, input_radius, waist):
    # w0 = M2 lambda f / (pi w_in) at 10.6 um with M2 = 1, evaluated to the digits given.
    found = focused_radius(focal_length, 2.0 * input_radius, 1.0, 10.6e-6, 0.0)
    assert_allclose(found, waist, rtol=3e-3)


def test_one_rayleigh_range_off_focus_the_radius_grows_by_root_two():
    # f = 125 mm, w_in = 5 mm: z_R = 2.11 mm.
    at_focus = focused_radius(125e-3, 10e-3, 1.0, 10.6e-6, 0.0)
    away = focused_radius(125e-3, 10e-3, 1.0, 10.6e-6, math.pi * at_focus**2 / 10.6e-6)
    assert_allclose(away, math.sqrt(2.0) * at_focus, rtol=1e-12)


def test_a_beam_better_than_diffraction_is_refused():
    with pytest.raises(InputError, match="M2 of at least 1"):
        focused_radius(0.1, 0.01, 0.9, 10.6e-6, 0.0)
