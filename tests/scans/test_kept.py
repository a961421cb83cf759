"""A kept scan read back: the same as it was saved, solved again, drawn; a damaged one is refused by name."""

import dataclasses
import random

import h5py
import numpy as np
import pytest

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.cli import main
from spotdwell.output import store
from spotdwell.output.sealed import sealed
from spotdwell.pipeline import scenario_at_path
from spotdwell.scans.run import scanned
from spotdwell.scans.shown import line, plain_of

pytestmark = pytest.mark.compiled
CELLS = {"cell_width": "25 um", "cell_depth": "12 um"}
PATTERNS = {
    "a slice": {"length": "2 mm", "width": "0.4 mm", "spacing": "0.1 mm", "speed": "465 mm/s", **CELLS},
    "a block": {"length": "0.4 mm", "spacing": "0.2 mm", "way": "points", "dwell": "0.4 ms", **CELLS},
}


@pytest.fixture(scope="module", params=PATTERNS.values(), ids=PATTERNS)
def kept(request, tmp_path_factory):
    """A scan, and the file that holds it."""
    result = spotdwell.scan("soft_tissue", "30 W", "0.2 mm", coagulation_limit="60 um", **request.param)
    path = tmp_path_factory.mktemp("kept") / "scan.h5"
    result.save(path)
    return result, path


def test_a_kept_scan_is_read_back_as_it_was(kept):
    result, path = kept
    again = spotdwell.load(path)
    assert type(again) is type(result)
    assert plain_of(again) == plain_of(result)
    assert line(again) == line(result)
    assert again.extent == result.extent
    for item in dataclasses.fields(result.surface):
        np.testing.assert_equal(getattr(again.surface, item.name), getattr(result.surface, item.name))
    np.testing.assert_array_equal(again.record.fields.temperature, result.record.fields.temperature)


def test_a_kept_scan_solved_again_gives_the_same_numbers(kept):
    result, path = kept
    assert scanned(scenario_at_path(path)).measures == result.measures


def test_a_kept_scan_is_drawn(kept, tmp_path):
    section, history = tmp_path / "section.png", tmp_path / "history.png"
    code = main(["plot", str(kept[1]), "--cross-section", str(section), "--history", str(history)])
    assert code == 0
    assert min(section.stat().st_size, history.stat().st_size) > 5000


@pytest.mark.parametrize(
    "more", [["--top-view", "a.png"], ["--cross-section", "a.png", "--contours", "60 degC"]]
)
def test_pictures_of_a_beam_at_rest_are_refused(kept, more, capsys):
    assert main(["plot", str(kept[1]), *more]) == 2
    assert "a scan" in capsys.readouterr().err


def without(name):
    return lambda group: group.__delitem__(name)


def replaced(name, values):
    def edit(group):
        del group[name]
        group.create_dataset(name, data=values)

    return edit


WRONG = {
    "no depth": without("depth_below_surface"),
    "a depth that is none": replaced("depth_below_surface", np.full((2, 2), np.nan)),
    "a layer of another shape": replaced("char_below_floor", np.zeros((1, 3))),
    "an edge of twos": lambda group: group["edge"].write_direct(np.full(group["edge"].shape, 2, "i1")),
    "a measure that is infinite": replaced("scan_depth_mean", np.inf),
    "a measure that is text": replaced("scan_depth_mean", "deep"),
    "no measure": without("scan_total_time"),
    "lines too few": replaced("line_meets", np.zeros(1)),
    "lines that go back in time": lambda group: group["line_time"].write_direct(
        np.arange(group["line_time"].size, 0.0, -1.0)
    ),
    "an unknown model": replaced("model", "sponge"),
    "a width below 0": replaced("width", -1.0),
}


@pytest.mark.parametrize("edit", WRONG.values(), ids=WRONG)
def test_a_sound_file_of_a_wrong_scan_is_refused(kept, edit, tmp_path):
    path = tmp_path / "wrong.h5"
    path.write_bytes(kept[1].read_bytes())
    with h5py.File(path, "r+") as file:
        edit(file["scan"])
    path.write_bytes(sealed(path.read_bytes(), store.FORMAT, store.FORMAT_VERSION))
    with pytest.raises(InputError, match="one that is damaged"):
        spotdwell.load(path)


def test_every_flipped_bit_is_found(kept, tmp_path):
    whole, path, chance = kept[1].read_bytes(), tmp_path / "flipped.h5", random.Random(5)
    for _ in range(100):
        data = bytearray(whole)
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        path.write_bytes(data)
        with pytest.raises(InputError):
            spotdwell.load(path)
