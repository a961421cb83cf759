"""Beam and threshold from craters: exact, covering the truth, and loud where biased."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

import spotdwell
from spotdwell import exact
from spotdwell.base.errors import InputError
from spotdwell.craters.result import Craters
from spotdwell.craters.run import fit_craters
from spotdwell.craters.warnings import Conditions
from spotdwell.model.beam import Profile, beam_radius

W, E_TH = 0.2e-3, 3e-3
H_TH = 2.0 * E_TH / (np.pi * W**2)
ENERGIES = np.repeat(np.array([4.0, 6.0, 9.0, 14.0, 22.0, 35.0]) * 1e-3, 2)
ONE_PULSE = Conditions(pulses=1, pulse_duration=1e-6)


def craters_of(energy, diameter, pulses=None):
    energy, diameter = np.asarray(energy, dtype=float), np.asarray(diameter, dtype=float)
    return Craters("bench.csv", np.arange(2, 2 + len(energy)), energy, diameter, pulses)


def diameters(energy, w=W, threshold=E_TH):
    return np.sqrt(2.0 * w**2 * np.log(np.asarray(energy) / threshold))


def noisy(generator, noise=6e-6, energies=ENERGIES):
    return craters_of(energies, diameters(energies) + noise * generator.standard_normal(len(energies)))


def test_craters_worked_by_hand_give_their_beam_and_threshold():
    # No measured table of craters with its fit was found to cite; worked by hand from Liu's formula instead.
    # w = 100 um, E_th = 1 mJ: D^2 = 2 w^2 ln(E / E_th) is 2, 4 and 9 times w^2 at e, e^2 and e^4.5 mJ, so
    # D = 141.42, 200 and 300 um, and the peak threshold 2 E_th / (pi w^2) = 6.366 J/cm2.
    fit = fit_craters(craters_of([2.71828e-3, 7.38906e-3, 90.0171e-3], [141.421e-6, 200e-6, 300e-6]))
    # The inputs have six digits.
    assert_allclose(fit.beam_diameter.value, 200e-6, rtol=1e-5)
    assert_allclose(fit.threshold_energy.value, 1e-3, rtol=1e-5)
    assert_allclose(fit.threshold_exposure.value, 6.3662e4, rtol=2e-5)


def test_craters_of_the_closed_form_are_inverted():
    energies = np.array([2e-3, 4e-3, 7.07e-3, 15e-3])
    w, threshold = 150e-6, 3e4
    cut = [exact.crater_diameter(2.0 * one / (np.pi * w**2), threshold, w) for one in energies]
    # Worked apart from this code: 20 J/cm2 over a threshold of 3 J/cm2 (7.07 mJ) cut 292.2 um.
    assert_allclose(cut[2], 292.2e-6, rtol=5e-4)
    fit = fit_craters(craters_of(energies, cut))
    # Round-off, and the stop of the iteration at 1e-12 of D^2.
    assert_allclose(fit.beam_diameter.value, 2.0 * w, rtol=1e-10)
    assert_allclose(fit.threshold_exposure.value, threshold, rtol=1e-10)


def trials(count, noise, keep_all=True):
    generator = np.random.default_rng(20260)
    return [fit_craters(noisy(generator, noise), keep_all=keep_all) for _ in range(count)]


@pytest.mark.parametrize("keep_all", [True, False])
@pytest.mark.parametrize("noise", [6e-6, 15e-6])
def test_intervals_cover_the_truth_as_often_as_they_claim(noise, keep_all):
    fits = trials(400, noise, keep_all)
    # 95 % of 400 is 380 with a standard deviation of 4.4; 364 to 394 leaves 0.1 % on either side.
    for name, truth in (("beam_diameter", 2.0 * W), ("threshold_energy", E_TH), ("threshold_exposure", H_TH)):
        found = [getattr(fit, name) for fit in fits]
        assert 364 <= sum(one.low <= truth <= one.high for one in found) <= 394, name
        # The mean's own error is a twentieth of a trial's spread; three of them, and a bias of a tenth.
        values = np.array([one.value for one in found])
        assert abs(values.mean() - truth) < (3.0 / 20.0 + 0.1) * values.std(), name


def test_weights_make_the_threshold_more_certain_than_a_plain_line():
    energies = np.repeat(np.array([3.3, 5.0, 10.0, 20.0, 40.0]) * 1e-3, 2)
    generator = np.random.default_rng(7)
    weighted, plain = [], []
    for _ in range(200):
        craters = noisy(generator, 6e-6, energies)
        weighted.append(fit_craters(craters, keep_all=True).threshold_energy.value)
        slope, level = np.polyfit(np.log(energies), craters.diameter**2, 1)
        plain.append(np.exp(-level / slope))
    errors = [np.sqrt(np.mean((np.array(one) / E_TH - 1.0) ** 2)) for one in (weighted, plain)]
    # Small craters have a twentieth of the variance in D^2; 0.8 leaves room for 200 trials' 7 %.
    assert errors[0] < 0.8 * errors[1]


def test_a_wrong_row_is_left_out_and_named_and_can_be_kept():
    craters = noisy(np.random.default_rng(11))
    craters.diameter[8] *= 1.35
    fit = fit_craters(craters, ONE_PULSE)
    assert list(fit.outliers.rows) == [10] and fit.used.count == 11
    assert "row 10" in fit.warnings[0] and "keep all" in fit.warnings[0]
    assert fit.beam_diameter.low <= 2.0 * W <= fit.beam_diameter.high
    kept = fit_craters(craters, ONE_PULSE, keep_all=True)
    assert kept.used.count == 12 and kept.outliers.count == 0
    assert list(kept.suspects.rows) == [10] and "row 10" in kept.warnings[0]
    # Forty-eight standard deviations of one crater widen the interval by far.
    assert kept.scatter > 5.0 * fit.scatter


def test_outliers_are_found_in_good_craters_no_more_often_than_stated():
    generator = np.random.default_rng(3)
    found = sum(fit_craters(noisy(generator)).outliers.count > 0 for _ in range(400))
    # 5 % of 400 is 20 with a standard deviation of 4.4; the bounds leave 0.1 % on either side.
    assert 7 <= found <= 35


def test_no_more_than_a_quarter_of_the_craters_is_left_out():
    craters = noisy(np.random.default_rng(2), 1e-6)
    craters.diameter[::2] *= 1.0 + 0.3 * np.arange(6)
    assert fit_craters(craters).outliers.count <= 3


@pytest.mark.parametrize(
    ("order", "words"), [(6.0, "flatter than a gaussian"), (1.0, "wings or rings outside a gaussian")]
)
def test_a_beam_that_is_not_gaussian_bends_the_line(order, words):
    # Super-gaussian exp(-2 (r/w)^n): it falls to the threshold at D = 2 w (ln(E / E_th) / 2)^(1/n).
    unit = beam_radius(1.0, "1/e2", Profile.SUPER_GAUSSIAN, order)
    cut = 2.0 * W * 2.0 * unit * (np.log(ENERGIES / E_TH) / 2.0) ** (1.0 / order)
    noise = 3e-6 * np.random.default_rng(5).standard_normal(len(cut))
    fit = fit_craters(craters_of(ENERGIES, cut + noise), ONE_PULSE, keep_all=True)
    assert any(words in text for text in fit.warnings)


def test_a_gaussian_beam_is_called_bent_no_more_often_than_stated():
    fits = trials(400, 6e-6)
    # 1 % of 400 is 4; more than 12 has a chance of 0.03 %.
    assert sum("D^2 bends" in " ".join(fit.warnings) for fit in fits) <= 12


def test_good_craters_of_single_short_pulses_bring_no_warning():
    assert fit_craters(noisy(np.random.default_rng(11)), ONE_PULSE).warnings == ()


@pytest.mark.parametrize(
    ("chosen", "bench", "words"),
    [
        (slice(0, 12, 4), ONE_PULSE, "There are 3 craters"),
        (slice(4, 10), ONE_PULSE, "span a factor 2.4"),
        (slice(0, 12), Conditions(pulses=1), "was not checked"),
        (slice(0, 12), Conditions(None, 1e-6), "not told"),
        (slice(0, 12), Conditions(20, 1e-6), "incubation"),
        (slice(0, 12), Conditions(1, 0.1), "Heat spreads"),
    ],
)
def test_what_biases_the_method_is_told(chosen, bench, words):
    energies = ENERGIES[chosen]
    fit = fit_craters(noisy(np.random.default_rng(11), energies=energies), bench)
    assert any(words in text for text in fit.warnings)


def test_heat_that_spreads_is_sized_by_conduction():
    # alpha = 1.2e-7 m2/s for 10 ms: 8 alpha t = 9.6e-9 m2, so w grows by sqrt(1 + 9.6e-9 / 4e-8) = 1.11.
    fit = fit_craters(craters_of(ENERGIES, diameters(ENERGIES)), Conditions(1, 10e-3))
    assert any("up to 11 % too large" in text for text in fit.warnings)


def test_craters_near_the_threshold_and_pulses_without_one_are_told_by_row():
    energies = np.append(ENERGIES, [3.3e-3, 2e-3, 12e-3])
    cut = np.append(diameters(ENERGIES), [diameters(3.3e-3), 0.0, 0.0])
    fit = fit_craters(craters_of(energies, cut), ONE_PULSE)
    assert list(fit.unmarked.rows) == [15, 16]
    near = next(text for text in fit.warnings if "Near the threshold" in text)
    assert "row 14" in near and "row 2" not in near
    late = next(text for text in fit.warnings if "No crater" in text)
    assert "row 16" in late and "row 15" not in late


def test_pulses_that_differ_among_spots_are_told():
    craters = craters_of(ENERGIES, diameters(ENERGIES), np.array([1.0] * 6 + [5.0] * 6))
    assert any("1 to 5 pulses" in text for text in fit_craters(craters).warnings)


def test_intervals_of_three_craters_are_wide():
    three = fit_craters(noisy(np.random.default_rng(11), energies=ENERGIES[::5]))
    many = fit_craters(noisy(np.random.default_rng(11)))
    # Student's t for 95 % is 12.7 with one degree of freedom and 2.2 with ten.
    assert_allclose([three.quantile, many.quantile], [12.706, 2.228], rtol=1e-3)


def test_a_slope_that_may_be_0_bounds_nothing_and_says_so():
    fit = fit_craters(craters_of([4e-3, 9e-3, 20e-3], [200e-6, 290e-6, 250e-6]), ONE_PULSE)
    assert (fit.beam_diameter.low, fit.threshold_energy.high) == (0.0, np.inf)
    assert any("may as well be 0" in text for text in fit.warnings)


@pytest.mark.parametrize(
    ("energy", "diameter", "expected"),
    [
        ([4e-3, 9e-3], [100e-6, 200e-6], "at least 3 craters"),
        ([4e-3, 9e-3, 20e-3], [100e-6, 200e-6, 0.0], "at least 3 craters"),
        ([4e-3, 4e-3, 4e-3], [100e-6, 101e-6, 102e-6], "several pulse energies"),
        ([4e-3, 9e-3, 20e-3], [300e-6, 200e-6, 100e-6], "grow with the pulse energy"),
    ],
)
def test_craters_that_give_no_line_are_refused(energy, diameter, expected):
    with pytest.raises(InputError, match=expected):
        fit_craters(craters_of(energy, diameter))


@pytest.mark.parametrize("option", [{"pulses": 0}, {"pulse_duration": "0 ms"}, {"diffusivity": "3 mm"}])
def test_wrong_option_is_named(tmp_path, option):
    with pytest.raises(InputError) as caught:
        spotdwell.spot_from_craters(tmp_path / "none.csv", **option)
    assert caught.value.where == next(iter(option))


def test_file_is_fitted_in_its_units(tmp_path):
    path = tmp_path / "bench.csv"
    rows = "".join(
        f"{1e6 * e:.6f},{1e3 * d:.9f}\n" for e, d in zip(ENERGIES, diameters(ENERGIES), strict=True)
    )
    path.write_text(f"Energy (uJ),Crater_Diameter [mm]\n{rows}")
    fit = spotdwell.spot_from_craters(path, pulses=1)
    # Diameters are written to a picometre, 1e-8 of them.
    assert_allclose(fit.beam_diameter.value, 2.0 * W, rtol=1e-7)
    assert_allclose(fit.threshold_exposure.value, H_TH, rtol=1e-7)
    assert fit.used.source == "bench.csv"
