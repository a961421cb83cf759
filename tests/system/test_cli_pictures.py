"""`plot` with views from above, contours, films and sizes, and `film`, as typed."""

from __future__ import annotations

import subprocess
import sys

import pytest
from PIL import Image

from spotdwell.films.shown import with_moments
from spotdwell.inputs.shot import scenario_of_shot, scenario_with
from spotdwell.shots.pictures import temperatures_of

COARSE = ("--cell-depth", "20 um", "--cell-width", "80 um")
"""Cells that make a shot of some 20 ms."""


@pytest.fixture
def kept(call, tmp_path):
    """A coarse shot with the fields at 2 ms and 5 ms, and at the end."""
    path = tmp_path / "shot.h5"
    shot = ("shot", "--on", "soft_tissue", "--power", "20 W", "--spot", "1 mm", "--dwell", "5 ms", *COARSE)
    answer = call(*shot, "--save-times", "2 ms, 5 ms", "--end-time", "0.1 s", "--quiet", "--out", path)
    assert answer.code == 0, answer.err
    return path


def test_plot_draws_all_that_is_asked_at_once(call, kept, tmp_path):
    files = {name: tmp_path / name for name in ("cut.svg", "above.png", "run.gif")}
    options = (
        "--cross-section",
        files["cut.svg"],
        "--top-view",
        files["above.png"],
        "--film",
        files["run.gif"],
    )
    answer = call("plot", kept, *options, "--contours", "60, 100 degC", "--quiet")
    assert answer.code == 0, answer.err
    assert answer.out == "".join(f"Saved {path}\n" for path in files.values())
    text = files["cut.svg"].read_text(encoding="utf-8")
    assert "60 °C" in text and "Shown at 5.00 ms" in text
    with Image.open(files["run.gif"]) as film:
        assert film.n_frames == 3


@pytest.mark.parametrize(
    ("size", "width"), [("column", 85.0 / 25.4 * 600), ("page", 170.0 / 25.4 * 300), ("slide", 1920)]
)
def test_sizes_are_those_of_print_and_projector(call, kept, tmp_path, size, width):
    assert call("plot", kept, "--cross-section", tmp_path / "cut.png", "--size", size).code == 0
    with Image.open(tmp_path / "cut.png") as picture:
        # Pixels are whole.
        assert abs(picture.width - width) <= 1
        assert size != "slide" or picture.height == 1080


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--history", "a.png", "--contours", "60 degC"), "--cross-section beside it"),
        (("--cross-section", "a.png", "--contours", "60, 100"), "a quantity in degC or K"),
        (("--cross-section", "a.png", "--contours", "60 mm"), "a quantity in degC or K"),
        (("--cross-section", "a.png", "--contours", "3000 degC"), "a temperature between"),
        (("--cross-section", "a.png", "--at", "4 ms"), "a saved time (2.000 ms, 5.000 ms, 100.0 ms)"),
        (("--history", "a.png", "--at", "5 ms"), "--cross-section or --top-view beside it"),
        (("--cross-section", "a.png", "--size", "poster"), "one of column, page, slide"),
        (("--film", "a.avi"), ".gif or .mp4"),
        (
            ("--film", "a.gif", "--top-view", "a.bmp"),
            "--top-view: expected a file name that ends in .png, .svg or .pdf",
        ),
    ],
)
def test_what_cannot_be_drawn_is_refused_and_nothing_is_written(
    call, kept, tmp_path, monkeypatch, options, words
):
    monkeypatch.chdir(tmp_path)
    answer = call("plot", kept, *options)
    assert answer.code == 2
    assert words in " ".join(answer.err.split())
    assert {path.name for path in tmp_path.iterdir()} == {"shot.h5"}


def test_a_result_without_saved_moments_makes_no_film(call, slab, tmp_path):
    call("run", slab, "--quiet", "--out", tmp_path / "slab.h5")
    answer = call("plot", tmp_path / "slab.h5", "--film", tmp_path / "run.gif")
    assert answer.code == 2
    assert "at least 2 saved moments" in answer.err


def test_temperatures_take_the_last_unit_or_their_own():
    assert temperatures_of("60, 100, 300 degC") == (333.15, 373.15, 573.15)
    assert temperatures_of("60 degC, 400 K") == (333.15, 400.0)


def test_film_solves_a_scenario_and_draws_every_moment(call, slab, tmp_path):
    out = tmp_path / "run.gif"
    answer = call("film", slab, "--out", out, "--frames", "5")
    assert (answer.code, answer.out) == (0, f"Saved {out}\n"), answer.err
    with Image.open(out) as film:
        # At 0, five in the exposure of 5 ms, and by decades until 8 ms.
        assert 6 + 2 <= film.n_frames <= 6 + 30


def test_film_refuses_before_it_solves(call, slab, tmp_path, monkeypatch):
    from spotdwell import pipeline

    monkeypatch.setattr(pipeline, "run", lambda *_: pytest.fail("it was solved"))
    assert call("film", slab, "--out", tmp_path / "run.avi").code == 2
    assert call("film", slab, "--out", tmp_path / "absent" / "run.gif").code == 1


def test_film_help_has_an_example(call):
    answer = call("film", "--help")
    assert answer.code == 0 and "Example: spotdwell film" in answer.out
    assert max(map(len, answer.out.split("\n"))) <= 80


def test_a_stopped_film_leaves_nothing_and_exits_with_130(call, slab, tmp_path, monkeypatch):
    from spotdwell.films import shown as film

    def stop(self, done, total):
        raise KeyboardInterrupt

    monkeypatch.setattr(film.Watch, "count", stop)
    answer = call("film", slab, "--out", tmp_path / "run.gif", "--frames", "5")
    assert answer.code == 130
    assert "run.gif was not drawn" in answer.err
    assert {path.name for path in tmp_path.iterdir()} == {"slab.toml"}


def test_moments_of_a_large_grid_are_thinned_and_small_ones_are_not():
    shot = scenario_of_shot("soft_tissue", "20 W", "1 mm", "5 ms", geometry="lattice", cell_width="60 um")
    few, many = (
        len(with_moments(one, 48).run.save_times)
        for one in (scenario_with(shot, {"grid.cell_width": "10 um"}), shot)
    )
    assert few < many
    assert many > 48


def test_film_adds_moments_and_changes_nothing_else_of_the_scenario():
    shot = scenario_of_shot("soft_tissue", "20 W", "1 mm", "5 ms")
    kept = with_moments(shot, 8)
    assert kept.run.save_times[0] == 0.0 and 0.005 in kept.run.save_times
    assert kept.model_copy(update={"run": shot.run}) == shot


def test_help_of_film_loads_no_solver():
    code = (
        "import sys\nfrom spotdwell.cli import main\nmain(['film', '--help'])\n"
        "print('LOADED', [n for n in ('numpy', 'numba', 'pint', 'h5py', 'matplotlib') if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=20)
    assert done.stdout.endswith("LOADED []\n")
