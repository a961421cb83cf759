"""A film has a frame for each saved moment, marks where it is, stays small, and is whole or absent."""

from __future__ import annotations

import dataclasses
import subprocess

import numpy as np
import pytest
from numpy.testing import assert_allclose
from PIL import Image

from spotdwell.base.errors import InputError, RunError
from spotdwell.films import file as film_file
from spotdwell.films.file import film, film_times
from spotdwell.films.film import frames
from spotdwell.model.columns import Geometry
from spotdwell.model.exposure import carried, gated, steady


def times_of(exposure, end=2.0, count=48):
    return np.array(film_times(exposure.start, exposure.stop, end, count))


def test_moments_begin_at_zero_ascend_and_end_with_the_run():
    times = times_of(steady(25.0, 0.08))
    assert times[0] == 0.0 and np.all(np.diff(times) > 0.0)
    assert_allclose(times[-1], 2.0, rtol=1e-12)


def test_moments_are_even_in_the_exposure_and_logarithmic_after_it():
    times = times_of(steady(25.0, 0.08))
    assert_allclose(np.diff(times[times <= 0.08]), 0.08 / 48, rtol=1e-9)
    cooling = np.diff(np.log(times[times > 0.08] - 0.08))
    assert_allclose(cooling, cooling.mean(), rtol=1e-6)


def test_every_pulse_of_a_train_ends_in_a_moment():
    exposure = gated(4.0, 0.01, 0.09, 10)
    times = times_of(exposure)
    for stop in exposure.stop:
        assert np.isclose(times, stop, rtol=1e-12, atol=0).any()
    # As many frames while it is on, a tenth of the time, as while it is off.
    on = sum(
        np.sum((times > a) & (times <= b * (1 + 1e-12)))
        for a, b in zip(exposure.start, exposure.stop, strict=True)
    )
    assert 20 <= on <= 30


def test_very_many_pulses_take_no_more_frames_than_asked():
    exposure = carried(gated(4.0, 0.1, 0.0, 1), 80.0, 1e-4, 5000.0)
    times = times_of(exposure)
    during = times[(times > 0.0) & (times <= exposure.end)]
    assert 40 <= during.size <= 48
    assert all(np.isclose(exposure.stop, moment, rtol=1e-12, atol=0).any() for moment in during)


def test_no_moment_lies_beyond_the_end_and_a_dark_run_has_moments_too():
    assert times_of(steady(25.0, 0.08), end=0.05).max() <= 0.05
    assert film_times(np.empty(0), np.empty(0), 1.0, 4) == (0.0, 0.25, 0.5, 0.75, 1.0)


@pytest.mark.parametrize("geometry", list(Geometry))
def test_a_gif_has_a_frame_for_each_moment_and_none_alike(make, tmp_path, geometry):
    result = make(geometry)
    seen = []
    film(result, tmp_path / "run.gif", lambda done, total: seen.append((done, total)))
    with Image.open(tmp_path / "run.gif") as picture:
        assert picture.n_frames == len(result.snapshots) == 3
        assert picture.size == (960, 540)
    assert seen == [(1, 3), (2, 3), (3, 3)]
    # A hundred such frames are a few megabytes.
    assert (tmp_path / "run.gif").stat().st_size < 3 * 60_000


def test_the_crater_grows_from_frame_to_frame_and_the_mark_moves(make):
    _, early, late, _ = (np.asarray(frame).astype(int) for frame in frames(make()))
    untouched = np.array([0xEA, 0xB9, 0xAC])
    left = [np.sum(np.abs(frame - untouched).sum(axis=2) < 12) for frame in (early, late)]
    assert left[1] < left[0]
    red = np.array([0x8C, 0x1C, 0x13])
    marks = [
        np.flatnonzero((np.abs(frame[:, 700:] - red).sum(axis=2) < 60).sum(axis=0) > 200)
        for frame in (early, late)
    ]
    # The exposure lasts 80 ms: at 40 ms the line stands in the middle of its panel, at 80 ms at its end.
    assert marks[0].size and marks[1].size and marks[1].mean() > marks[0].mean() + 40


def test_the_colours_of_a_film_are_those_of_a_frame_with_the_beam(make):
    # From a frame without it, the beam of the others came out grey.
    colours, *drawn = (np.asarray(frame) for frame in frames(make()))
    assert [np.array_equal(colours, frame) for frame in drawn] == [False, True, False]


def test_too_few_moments_and_unknown_suffixes_are_input_errors(make, tmp_path):
    result = make()
    with pytest.raises(InputError, match="at least 2 saved moments"):
        film(dataclasses.replace(result, snapshots=result.snapshots[-1:]), tmp_path / "run.gif")
    with pytest.raises(InputError, match=r"\.gif or \.mp4"):
        film(result, tmp_path / "run.avi")
    assert not list(tmp_path.iterdir())


def test_mp4_without_ffmpeg_says_what_to_do(make, tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(InputError, match=r"Install ffmpeg, or name it run\.gif"):
        film(make(), tmp_path / "run.mp4")


@pytest.mark.skipif(film_file.shutil.which("ffmpeg") is None, reason="ffmpeg is not installed")
def test_mp4_plays_all_frames_and_holds_the_last(make, tmp_path):
    film(make(), tmp_path / "run.mp4")
    shown = subprocess.run(
        ["ffmpeg", "-i", str(tmp_path / "run.mp4"), "-f", "framecrc", "-"],
        capture_output=True,
        text=True,
        check=True,
    )
    rows = [line for line in shown.stdout.splitlines() if not line.startswith("#")]
    # Two moments of 1/12 s and the last for 2.5 s, 30 of them.
    assert len(rows) == 2 + 30


def test_a_failing_encoder_is_a_run_error_with_its_words(make, tmp_path, monkeypatch):
    program = tmp_path / "bin" / "ffmpeg"
    program.parent.mkdir()
    program.write_text("#!/bin/sh\necho no such codec >&2\nexit 3\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{program.parent}:/usr/bin:/bin")
    with pytest.raises(RunError, match=r"no such codec.*\.gif"):
        film(make(), tmp_path / "run.mp4")
    assert not (tmp_path / "run.mp4").exists()


@pytest.mark.parametrize("failure", [KeyboardInterrupt, ZeroDivisionError])
def test_a_film_that_is_stopped_leaves_the_old_one_and_no_half(make, tmp_path, failure):
    path = tmp_path / "run.gif"
    path.write_bytes(b"old")

    def stop(done, total):
        if done == 2:
            raise failure

    with pytest.raises(failure):
        film(make(), path, stop)
    assert path.read_bytes() == b"old"
    assert [file.name for file in tmp_path.iterdir()] == ["run.gif"]


def test_drawing_frames_leaves_the_users_own_plot_settings_alone(make):
    import matplotlib

    before = dict(matplotlib.rcParams)
    drawn = frames(make())
    next(drawn)
    assert dict(matplotlib.rcParams) == before
    drawn.close()
