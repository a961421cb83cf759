"""The verbs `spot` and `craters` as they are typed."""

import numpy as np
import pytest

LENS = ("spot", "--focal-length", "125 mm", "--input-diameter", "10 mm")


@pytest.fixture
def bench(tmp_path):
    """Craters of single pulses from a beam of 0.4 mm with a threshold of 3 mJ; row 11 is wrong."""
    energy = np.repeat(np.array([4.0, 6.0, 9.0, 14.0, 22.0, 35.0]), 2)
    cut = 200.0 * np.sqrt(2.0 * np.log(energy / 3.0)) + 3.0 * np.random.default_rng(4).standard_normal(12)
    cut[9] *= 1.4
    path = tmp_path / "bench.csv"
    lines = [f"{e:g},{d:.1f},1" for e, d in zip(energy, cut, strict=True)]
    path.write_text("\n".join(["pulse energy [mJ],crater diameter [um],pulses", *lines]))
    return path


def test_spot_says_waist_depth_of_focus_irradiance_and_both_wanted_places(call, tmp_path):
    answer = call(*LENS, "--power", "25 W", "--wanted", "1.6 mm", "--picture", tmp_path / "caustic.png")
    assert answer.code == 0 and answer.err == ""
    # 4 lambda f / (pi D) = 169 um, zR = 2.11 mm, 2 P / (pi w0^2) = 2.24 kW/mm2 by hand.
    for wanted in (
        "169 um",
        "2.11 mm",
        "4.22 mm",
        "2240 W/mm2",
        "-19.9 mm",
        "+19.9 mm",
        "1/e2",
        "Lasers burn",
    ):
        assert wanted in answer.out, wanted
    assert (tmp_path / "caustic.png").stat().st_size > 10_000


def test_spot_in_json_is_si(call):
    found = call(*LENS, "--beam-quality", "1.2", "--defocus", "-4 mm", "--json").json
    assert found["defocus"] == -0.004 and found["irradiance_peak"] is None
    # 1.2 times the diffraction limit.
    assert abs(found["waist_diameter"] / 1.2 / 168.7e-6 - 1.0) < 1e-3


WRONG_SPOTS = [
    (("spot",), "--focal-length: "),
    (("spot", "--focal-length", "125 mm"), "--input-diameter: "),
    ((*LENS, "--focal-length", "125"), "--focal-length: "),
    ((*LENS, "--beam-quality", "0.9"), "--beam-quality: expected at least 1"),
    ((*LENS, "--defocus", "4"), "--defocus: "),
    ((*LENS, "--power", "-2 W"), "--power: "),
    ((*LENS, "--wanted", "0.1 mm"), "--wanted: expected at least 0.169 mm"),
    ((*LENS, "--picture", "caustic.gif"), "--picture: "),
]


@pytest.mark.parametrize(("arguments", "named"), WRONG_SPOTS)
def test_wrong_spot_is_named(call, arguments, named):
    answer = call(*arguments)
    assert (answer.code, answer.out) == (2, "")
    assert named in answer.err and "Traceback" not in answer.err


def test_craters_say_beam_threshold_outlier_and_save_all(call, bench, tmp_path):
    picture, laser = tmp_path / "fit.svg", tmp_path / "laser.toml"
    answer = call(
        *("craters", bench, "--pulse-duration", "0.1 ms", "--picture", picture),
        *("--save", laser, "--dial", "focus", "--wavelength", "10.6 um"),
    )
    assert answer.code == 0 and answer.err == ""
    for wanted in (
        "beam diameter (1/e2)",
        "Left out as outlier",
        "row 11",
        "Liu 1982",
        "eye protection",
        "dial focus",
    ):
        assert wanted in " ".join(answer.out.split()), wanted
    assert picture.exists() and 'dial = "focus"' in laser.read_text()


def test_craters_in_json_are_si_and_keep_all_keeps_all(call, bench):
    found = call("craters", bench, "--json").json
    assert [one["row"] for one in found["outliers"]] == [11]
    beam = found["beam_diameter"]
    assert beam["low"] < 400e-6 < beam["high"]
    kept = call("craters", bench, "--keep-all", "--json").json
    assert kept["outliers"] == [] and [one["row"] for one in kept["outliers_kept"]] == [11]


WRONG_CRATERS = [
    (("--pulses", "0"), "--pulses: "),
    (("--pulse-duration", "4"), "--pulse-duration: "),
    (("--dial", "1"), "--dial: expected --save"),
    (("--wavelength", "10.6 um"), "--wavelength: expected --save"),
    (("--save", "laser.txt", "--wavelength", "10.6 um"), "--save: "),
    (("--picture", "fit.gif"), "--picture: "),
]


@pytest.mark.parametrize(("arguments", "named"), WRONG_CRATERS)
def test_wrong_option_of_craters_is_named(call, bench, arguments, named):
    answer = call("craters", bench, *arguments)
    assert (answer.code, answer.out) == (2, "")
    assert named in answer.err and "Traceback" not in answer.err


def test_wrong_file_of_craters_is_named_with_its_row(call, bench):
    bench.write_text(bench.read_text().replace("\n35,", "\n-35,", 1))
    answer = call("craters", bench)
    assert answer.code == 2
    assert f'{bench}: row 12, column "pulse energy"' in answer.err
