"""The spot behind a lens: closed forms, their inverse, and where they mislead."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.model.beam import Beam, focused_radius


@pytest.mark.parametrize(
    ("focal_length", "input_radius", "waist_radius", "rayleigh_range"),
    [
        (125, 5, 84.3e-6, 2.11e-3),
        (50, 4, 42.2e-6, 0.527e-3),
        (200, 5, 135e-6, 5.40e-3),
        (400, 5, 270e-6, 21.6e-3),
    ],
)
def test_waist_and_rayleigh_range_are_those_worked_by_hand(
    focal_length, input_radius, waist_radius, rayleigh_range
):
    # w0 = M2 lambda f / (pi w_in) and zR = pi w0^2 / (M2 lambda), ISO 11146-1, at 10.6 um and M2 = 1;
    # worked out apart from this code to three digits, hence the tolerance.
    spot = spotdwell.spot_of(f"{focal_length} mm", f"{2 * input_radius} mm")
    assert_allclose(spot.waist_diameter / 2.0, waist_radius, rtol=6e-3)
    assert_allclose(spot.rayleigh_range, rayleigh_range, rtol=6e-3)


def test_surgical_spot_of_0_8_mm_with_a_400_mm_lens_implies_a_beam_of_6_7_mm_times_m2():
    # Common practice, no source: about 0.8 mm in focus with 400 mm. The formula then asks for
    # D = 4 M2 lambda f / (pi 0.8 mm) on the lens: 6.75 mm for M2 = 1, 8.10 mm for M2 = 1.2.
    for beam_quality, input_diameter in ((1.0, "6.75 mm"), (1.2, "8.10 mm")):
        spot = spotdwell.spot_of("400 mm", input_diameter, beam_quality)
        assert_allclose(spot.waist_diameter, 0.8e-3, rtol=1e-3)  # the diameters have three digits


def test_spot_is_the_one_that_a_scenario_with_the_same_lens_gets():
    spot = spotdwell.spot_of("125 mm", "8 mm", 1.3, "9.3 um", "-4 mm")
    assert spot.diameter == 2.0 * focused_radius(0.125, 8e-3, 1.3, 9.3e-6, -4e-3)


def test_depth_of_focus_ends_where_its_definition_says():
    spot = spotdwell.spot_of("125 mm", "10 mm", 1.2)
    edge = spot.diameter_at(spot.depth_of_focus / 2.0)
    assert_allclose(edge / spot.waist_diameter, math.sqrt(2.0), rtol=1e-12)
    assert_allclose(spot.diameter_at(spot.flat_depth / 2.0) / spot.waist_diameter, 1.05, rtol=1e-12)


def test_far_from_focus_the_diameter_grows_as_the_cone_of_the_lens():
    # Far away the beam spreads by D / f whatever M2 is; 1e-4 is (zR / z)^2 / 2 for M2 = 2.
    for beam_quality in (1.0, 2.0):
        spot = spotdwell.spot_of("125 mm", "10 mm", beam_quality)
        assert_allclose(spot.diameter_at(0.5) / 0.5, 10.0 / 125.0, rtol=1e-4)


def test_irradiances_are_those_of_a_gaussian_of_that_power():
    spot = spotdwell.spot_of("125 mm", "10 mm", power="25 W", defocus="4 mm")
    w = spot.diameter / 2.0
    r = np.linspace(0.0, 4.0 * w, 4001)
    profile = spot.peak_irradiance_at(spot.defocus) * np.exp(-2.0 * (r / w) ** 2)
    # The trapezium rule's error here is (dr / w)^2 / 6.
    assert_allclose(np.trapezoid(2.0 * np.pi * r * profile, r), 25.0, rtol=1e-6)
    assert_allclose(spot.mean_irradiance_at(spot.defocus), 25.0 / (np.pi * w**2), rtol=1e-12)
    # 1 - exp(-2), which ISO 11146 rounds to 86.5 %.
    assert_allclose(Beam(10.6e-6, w).encircled(np.array([w]))[0], 0.865, atol=5e-4)


def test_wanted_spot_is_found_on_both_sides_of_the_focus():
    spot = spotdwell.spot_of("125 mm", "10 mm", 1.1, wanted="1.6 mm")
    nearer, farther = spot.defocuses
    assert nearer == -farther < 0.0
    assert_allclose([spot.diameter_at(nearer), spot.diameter_at(farther)], 1.6e-3, rtol=1e-12)


def test_wanted_spot_wider_than_the_beam_on_the_lens_lies_beyond_the_focus_only():
    spot = spotdwell.spot_of("50 mm", "4 mm", wanted="6 mm")
    assert spot.defocuses[0] is None
    assert spot.defocuses[1] > 0.05


def test_wanted_spot_of_the_waist_is_in_focus():
    spot = spotdwell.spot_of("125 mm", "10 mm")
    assert spot.defocus_for(spot.waist_diameter)[1] == 0.0


def test_wanted_spot_below_the_waist_is_refused_with_the_lens_that_would_reach_it():
    with pytest.raises(InputError) as caught:
        spotdwell.spot_of("400 mm", "10 mm", wanted="0.2 mm")
    assert caught.value.where == "wanted"
    assert "0.540 mm" in caught.value.expected  # 4 lambda f / (pi D)
    # Both ways out reach it: 0.2 / 0.53987 of the focal length, or the inverse of the beam.
    assert "148 mm" in caught.value.advice and "27.0 mm" in caught.value.advice
    assert_allclose(spotdwell.spot_of("148 mm", "10 mm").waist_diameter, 0.2e-3, rtol=3e-3)
    assert_allclose(spotdwell.spot_of("400 mm", "27.0 mm").waist_diameter, 0.2e-3, rtol=3e-3)


def test_a_lens_that_does_not_narrow_the_beam_is_refused_with_both_diameters():
    # A wavelength in millimetres for one in micrometres: the waist would be 4 lambda f / (pi D) = 169 mm.
    with pytest.raises(InputError) as caught:
        spotdwell.spot_of("125 mm", "10 mm", wavelength="10.6 mm")
    assert "narrows the beam of 10.0 mm" in caught.value.expected and caught.value.got == "a waist of 169 mm"
    assert "units" in caught.value.advice


def blur_by_rays(focal_length, input_diameter, index):
    """Least blur of parallel rays through a plano-convex lens, traced by Snell's law."""
    R = focal_length * (index - 1.0)
    y = np.linspace(0.02, 1.0, 200) * input_diameter / 2.0
    thickness = R - math.sqrt(R**2 - (input_diameter / 2.0) ** 2)
    sag = R - np.sqrt(R**2 - y**2)
    incidence = np.arcsin(y / R)
    inside = incidence - np.arcsin(np.sin(incidence) / index)
    at_plane = y - (thickness - sag) * np.tan(inside)
    slope = np.tan(np.arcsin(index * np.sin(inside)))
    planes = np.linspace(0.95, 1.0, 20001) * focal_length
    return min(2.0 * float(np.abs(at_plane - slope * plane).max()) for plane in planes)


@pytest.mark.parametrize("index", [2.40, 1.51])
def test_blur_by_third_order_theory_is_that_of_traced_rays(index):
    spot = spotdwell.spot_of("100 mm", "10 mm")
    # Fifth-order terms are (y / f)^2, a quarter of a percent, times a number of some 5; the lens is not thin.
    assert_allclose(spot.blur(index), blur_by_rays(0.1, 0.01, index), rtol=0.03)


@pytest.mark.parametrize(
    ("lens", "words"),
    [
        (("20 mm", "12 mm"), "f-number"),
        (("63 mm", "14 mm"), "Spherical aberration is noticeable"),
        (("400 mm", "4 mm"), "spreads by itself"),
    ],
)
def test_lens_for_which_the_formula_misleads_is_told(lens, words):
    assert any(words in text for text in spotdwell.spot_of(*lens).warnings)


def test_lens_for_which_it_holds_has_no_warning():
    assert spotdwell.spot_of("125 mm", "8 mm").warnings == ()


def test_shrinking_by_a_beam_that_spreads_is_that_of_gaussian_beam_optics():
    # Waist at the lens: q = i zR_in, then 1/q' = 1/q - 1/f; the new waist lies where Re q' = 0.
    spot = spotdwell.spot_of("400 mm", "4 mm")
    q = 1.0 / (1.0 / (1j * spot.input_rayleigh_range) - 1.0 / 0.4)
    waist = 2.0 * math.sqrt(q.imag * spot.wavelength / math.pi)
    nearer = 1e3 * (0.4 + q.real)
    assert any(
        f"{nearer:.1f} mm nearer" in text and f"{waist / spot.waist_diameter:.2f} times" in text
        for text in spot.warnings
    )


def test_irradiance_without_a_power_is_an_error():
    with pytest.raises(ValueError, match="power"):
        spotdwell.spot_of("125 mm", "10 mm").peak_irradiance_at(0.0)


def test_a_lens_that_would_focus_below_the_wavelength_is_refused():
    with pytest.raises(
        InputError, match=r"no less than the wavelength, 10\.6 um, got one that .* to 5\.62 um"
    ) as caught:
        spotdwell.spot_of("125 mm", "300 mm")
    assert caught.value.where == "input_diameter" and "unit" in caught.value.advice
    # 4 lambda f / (pi D) is the wavelength at 159.2 mm.
    spotdwell.spot_of("125 mm", "159 mm")
