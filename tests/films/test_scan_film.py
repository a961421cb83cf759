"""Film of a scan: its frames, and what the verb says of it."""

import itertools

import numpy as np
import pytest
from PIL import Image

import spotdwell
from spotdwell.cli import main
from spotdwell.films.file import film_format

pytestmark = pytest.mark.compiled
PATTERN = {"length": "1 mm", "width": "0.3 mm", "spacing": "0.1 mm", "speed": "465 mm/s"}
CELLS = {"cell_width": "25 um", "cell_depth": "12 um"}


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    path = tmp_path_factory.mktemp("scan") / "scan.h5"
    spotdwell.scan("soft_tissue", "30 W", "0.2 mm", **PATTERN, **CELLS).save(path)
    return path


def test_a_kept_scan_is_filmed_line_by_line(kept, tmp_path, capsys):
    out = tmp_path / "scan.gif"
    assert film_format(out) == "gif"
    assert main(["film", str(kept), "--out", str(out), "--frames", "6"]) == 0
    assert "Saved" in capsys.readouterr().out
    with Image.open(out) as film:
        frames = []
        for number in range(film.n_frames):
            film.seek(number)
            frames.append(np.asarray(film.convert("L"), dtype=float))
    assert film.size == (960, 540)
    assert len(frames) > 6
    changes = [np.abs(one - other).mean() for one, other in itertools.pairwise(frames)]
    assert min(changes) > 0.0  # the clock goes on
    assert max(changes[:6]) > 0.3  # a line is cut


def test_a_film_has_a_films_suffix(kept, tmp_path, capsys):
    assert main(["film", str(kept), "--out", str(tmp_path / "scan.png")]) == 2
    assert "a film's suffix" in capsys.readouterr().err
