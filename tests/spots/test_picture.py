"""The caustic and the D-squared plot: words, units, marks, told apart in grey, the same to the byte."""

import re

import numpy as np
import pytest
from PIL import Image

from spotdwell.base.errors import InputError
from spotdwell.craters.picture import draw_threshold
from spotdwell.craters.result import Craters
from spotdwell.craters.run import fit_craters
from spotdwell.spots.picture import Caustic, Mark, draw_caustic


def caustic():
    z = np.linspace(-10e-3, 10e-3, 101)
    marks = [Mark(4e-3, 0.36e-3, "surface: 362 um"), Mark(-8e-3, 0.66e-3, "wanted")]
    return Caustic(z, 0.17e-3 * np.hypot(1.0, z / 2.1e-3), 2.1e-3, "Waist 169 um (1/e2)", marks)


def fit(keep_all=False):
    energy = np.repeat(np.array([2.0, 4.0, 6.0, 9.0, 14.0, 22.0, 35.0]) * 1e-3, 2)
    cut = 0.2e-3 * np.sqrt(2.0 * np.log(np.maximum(energy / 3e-3, 1.0)))
    cut += (cut > 0.0) * 3e-6 * np.random.default_rng(4).standard_normal(len(cut))
    cut[9] *= 1.4
    return fit_craters(Craters("bench.csv", np.arange(2, 16), energy, cut), keep_all=keep_all)


PICTURES = [(draw_caustic, caustic), (draw_threshold, fit)]


def words_of(path):
    return re.findall(r"<text[^>]*>([^<]+)</text>", path.read_text(encoding="utf-8"))


def test_the_caustic_names_axes_marks_and_depth_of_focus(tmp_path):
    draw_caustic(caustic(), tmp_path / "one.svg")
    words = words_of(tmp_path / "one.svg")
    for wanted in (
        "Waist 169 µm (1/e²)",
        "defocus [mm]: distance of the surface from the waist, away from the lens",
        "distance from the axis [µm]",
        "depth of focus (2 Rayleigh ranges)",
        "surface: 362 µm",
        "wanted",
    ):
        assert wanted in words, wanted


def test_the_threshold_plot_names_axes_intervals_and_outliers(tmp_path):
    draw_threshold(fit(), tmp_path / "one.svg")
    words = words_of(tmp_path / "one.svg")
    for wanted in (
        "pulse energy E [mJ], logarithmic",
        "squared crater diameter D² [mm²]",
        "outlier, left out",
        "row 11",
        "no crater",
        "95 % band of the line",
    ):
        assert wanted in words, wanted
    assert any(
        re.fullmatch(r"Beam diameter \(1/e²\) [34]\d\d µm, .* with 95 % confidence", word) for word in words
    )
    assert any(re.match(r"threshold \(peak radiant exposure\) 4\.\d\d J/cm²", word) for word in words)


def test_an_outlier_that_is_kept_is_marked_as_such(tmp_path):
    draw_threshold(fit(keep_all=True), tmp_path / "one.svg")
    words = words_of(tmp_path / "one.svg")
    assert "outlier, kept" in words and "outlier, left out" not in words and "row 11" in words


def test_the_beam_and_its_depth_of_focus_are_told_apart_in_grey(tmp_path):
    draw_caustic(caustic(), tmp_path / "one.png")
    grey = np.asarray(Image.open(tmp_path / "one.png").convert("L")).ravel()
    share = np.bincount(grey, minlength=256) / grey.size
    beam, focus = (
        int(np.asarray(Image.new("RGB", (1, 1), colour).convert("L"))[0, 0])
        for colour in ("#e0b9b1", "#f6f6f6")
    )
    # Each covers a hundredth of the picture with its own level, and they are a tenth of white apart.
    assert min(share[level - 1 : level + 2].sum() for level in (beam, focus)) > 0.01
    assert focus - beam > 25


@pytest.mark.parametrize(("draw", "make"), PICTURES)
def test_the_same_gives_the_same_picture_and_an_unknown_suffix_is_refused(tmp_path, draw, make):
    for name in ("one.svg", "two.svg"):
        draw(make(), tmp_path / name)
    assert (tmp_path / "one.svg").read_bytes() == (tmp_path / "two.svg").read_bytes()
    with pytest.raises(InputError, match="suffix"):
        draw(make(), tmp_path / "one.gif")


def test_three_craters_with_an_open_interval_are_drawn(tmp_path):
    craters = Craters(
        "bench.csv", np.arange(2, 5), np.array([4e-3, 9e-3, 20e-3]), np.array([2e-4, 2.9e-4, 2.5e-4])
    )
    draw_threshold(fit_craters(craters), tmp_path / "one.png")
    assert (tmp_path / "one.png").stat().st_size > 10_000
