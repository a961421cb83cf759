"""Files that were damaged, changed or made by others: each is refused, by its name, and not believed."""

from __future__ import annotations

import json
import random
import time

import h5py
import numpy as np
import pytest

from spotdwell.base.errors import InputError
from spotdwell.maps import store as cube_store
from spotdwell.maps.cube import Axis, Point, blank_cube, failed_point
from spotdwell.maps.store import GrowingFile, load_cube, resumed_cube, save_cube
from spotdwell.measure.verdict import Limits
from spotdwell.output import store
from spotdwell.output.result import load
from spotdwell.output.sealed import is_sealed, seal_of, sealed
from spotdwell.output.store import save


def resealed(path, edit):
    """Change the file at `path` by `edit` of the open HDF5 file, and seal it anew as an attacker could."""
    kind, version = store.FORMAT, store.FORMAT_VERSION
    if is_sealed(path, cube_store.FORMAT):
        kind, version = cube_store.FORMAT, cube_store.FORMAT_VERSION
    with h5py.File(path, "r+") as file:
        edit(file)
    path.write_bytes(sealed(path.read_bytes(), kind, version))


@pytest.fixture
def kept(make, tmp_path):
    path = tmp_path / "kept.h5"
    save(make(), path)
    return path.read_bytes()


def cube():
    axes = (Axis("power", (5.0, 10.0), "W", "linear"), Axis("material", ("skin", "liver"), "", "list"))
    made = blank_cube(axes, Limits(depth=1e-3), {"target": "skin"}, 'title = "x"\n', {"spotdwell": "0"})
    chance = np.random.default_rng(3)
    for index in np.ndindex(made.shape):
        point = failed_point("", 0.1)
        outlines = chance.random(point.outlines.shape)
        made.fill(index, Point(chance.random(point.measures.size), "clean", "", 0.1, outlines[0], outlines))
    return made


@pytest.fixture
def map_file(tmp_path):
    path = tmp_path / "map.h5"
    save_cube(cube(), path)
    return path


def test_every_flipped_bit_of_a_result_is_found(kept, tmp_path):
    path, chance = tmp_path / "run.h5", random.Random(1)
    for _ in range(300):
        data = bytearray(kept)
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        path.write_bytes(data)
        with pytest.raises(InputError):
            load(path)


def test_every_flipped_bit_of_a_map_is_found_or_of_a_number_that_does_not_count(map_file):
    whole, chance = map_file.read_bytes(), random.Random(2)
    for _ in range(300):
        data = bytearray(whole)
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        map_file.write_bytes(data)
        with pytest.raises(InputError):
            load_cube(map_file)


@pytest.mark.parametrize("length", [1, 16, 512, 4096])
def test_zeroed_bytes_are_refused_at_once(kept, tmp_path, length):
    # Some of these hung the library for ever, past Ctrl-C.
    path, chance = tmp_path / "run.h5", random.Random(length)
    began = time.perf_counter()
    for _ in range(50):
        start = chance.randrange(len(kept) - length)
        if not any(kept[start : start + length]):
            continue
        path.write_bytes(kept[:start] + bytes(length) + kept[start + length :])
        with pytest.raises(InputError, match=str(path)):
            load(path)
    assert time.perf_counter() - began < 20.0


def replaced(name, values, **how):
    def edit(file):
        group, _, last = name.rpartition("/")
        place = file[group] if group else file
        del place[last]
        if values is not None:
            place.create_dataset(last, data=values, **how)

    return edit


def external(file):
    del file["initial_water"]
    file["initial_water"] = h5py.ExternalLink("/etc/passwd", "/")


def soft(file):
    del file["initial_water"]
    file["initial_water"] = h5py.SoftLink("/temperature")


def raw_storage(file):
    shape = file["initial_water"].shape
    del file["initial_water"]
    file.create_dataset("initial_water", shape, "f8", external=[("/etc/passwd", 0, 8 * shape[0])])


def unallocated(file):
    shape = file["temperature"].shape
    del file["temperature"]
    file.create_dataset("temperature", (10**6, *shape[1:]), "f8", chunks=True, compression="gzip")


def virtual(file):
    layout = h5py.VirtualLayout(file["initial_water"].shape, "f8")
    layout[:] = h5py.VirtualSource("/tmp/other.h5", "x", file["initial_water"].shape)
    del file["initial_water"]
    file.create_virtual_dataset("initial_water", layout)


def attribute(name, value):
    return lambda file: file.attrs.__setitem__(name, value)


WRONG = {
    "a link to another file": external,
    "a soft link": soft,
    "raw storage in a system file": raw_storage,
    "a virtual array": virtual,
    "an array larger than the file": unallocated,
    "no temperature": replaced("temperature", None),
    "text for temperature": replaced("temperature", "hot"),
    "another shape": replaced("temperature", np.zeros((3, 80, 149))),
    "NaN": replaced("initial_water", np.full(150, np.nan)),
    "single precision": replaced("initial_water", np.ones(150, dtype="f4")),
    "objects": replaced("initial_water", np.zeros(150, dtype=[("a", "f8")])),
    "layer 999": replaced("layer_of_cell", np.full(150, 999)),
    "a floor beyond the grid": replaced("floor", np.full((3, 80), 151)),
    "depths that descend": replaced("depth_edge", np.linspace(1.0, 0.0, 151)),
    "an empty history": replaced("history/history_time", np.zeros(0)),
    "a measure that is infinite": replaced("measures/deepest", np.inf),
    "a measure that is text": replaced("measures/deepest", "deep"),
    "a measure too few": replaced("measures/deepest", None),
    "a term too few": replaced("ledger/latent", None),
    "no group of limits": lambda file: file.__delitem__("limits"),
    "a group for an array": lambda file: (file.__delitem__("depth"), file.create_group("depth")),
    "an unknown verdict": replaced("provenance/verdict", "splendid"),
    "a number for the scenario": replaced("provenance/scenario", 1.0),
    "control characters": replaced("provenance/scenario", 'title = "\x1b[2J"'),
    "another geometry": attribute("geometry", "torus"),
    "a geometry that is a number": attribute("geometry", 3.0),
    "a symmetry that is no number": attribute("symmetry", np.nan),
    "no title": lambda file: file.attrs.__delitem__("title"),
}


@pytest.mark.parametrize("edit", WRONG.values(), ids=WRONG)
def test_a_sound_file_with_wrong_contents_is_refused(kept, tmp_path, edit):
    path = tmp_path / "run.h5"
    path.write_bytes(kept)
    resealed(path, edit)
    with pytest.raises(InputError, match="one that is damaged"):
        load(path)


def test_an_edit_that_changes_nothing_leaves_a_sound_file(kept, tmp_path):
    path = tmp_path / "run.h5"
    path.write_bytes(kept)
    resealed(path, lambda file: None)
    load(path)


def test_a_file_changed_by_another_program_is_refused(kept, tmp_path):
    path = tmp_path / "run.h5"
    path.write_bytes(kept)
    with h5py.File(path, "r+") as file:
        file["initial_water"][0] = 1.0
    with pytest.raises(InputError, match="changed by another program"):
        load(path)


def test_a_map_is_no_result_and_a_result_no_map(kept, map_file, tmp_path):
    path = tmp_path / "run.h5"
    path.write_bytes(kept)
    with pytest.raises(InputError, match="a spotdwell result"):
        load_cube(path)
    with pytest.raises(InputError, match="a spotdwell map"):
        load(map_file)


WRONG_MAPS = {
    "a measure too few": replaced("deepest", None),
    "a measure of text": replaced("deepest", "deep"),
    "another shape": replaced("deepest", np.zeros((2, 3))),
    "an axis that descends": lambda file: file["power"].write_direct(np.array([10.0, 5.0])),
    "an axis that is not finite": lambda file: file["power"].write_direct(np.array([5.0, np.inf])),
    "an unknown scale": lambda file: file["power"].attrs.__setitem__("scale", "cubic"),
    "limits that are none": replaced("provenance/limits", json.dumps({"depth": "deep"})),
    "a setting that is a list": replaced("provenance/setting", "[1, 2]"),
    "JSON in JSON without end": replaced("provenance/versions", "[" * 100_000),
    "verdicts of another length": replaced("verdict", np.zeros((2, 2), dtype="S3")),
    "no provenance": lambda file: file.__delitem__("provenance"),
}


@pytest.mark.parametrize("edit", WRONG_MAPS.values(), ids=WRONG_MAPS)
def test_a_sound_map_with_wrong_contents_is_refused(map_file, edit):
    resealed(map_file, edit)
    with pytest.raises(InputError, match="one that is damaged"):
        load_cube(map_file)


def test_a_damaged_point_is_not_believed_and_computed_anew(map_file):
    region = seal_of(map_file, cube_store.FORMAT, cube_store.FORMAT_VERSION, "a map", "").varying["deepest"]
    data = bytearray(map_file.read_bytes())
    data[region[0] + 8 * 2] ^= 1  # of the third of four points
    map_file.write_bytes(data)
    with pytest.raises(InputError, match="1 damaged points"):
        load_cube(map_file)
    resumed = resumed_cube(map_file, {})
    assert resumed.missing.tolist() == [[False, False], [True, False]]
    with GrowingFile(map_file, resumed.shape) as file:
        file.enter((1, 0), failed_point("gone", 0.1))
    assert load_cube(map_file).failed.tolist() == [[False, False], [True, False]]


def test_a_verdict_that_no_run_gives_is_not_believed(map_file):
    made = cube()
    made.word[0, 0] = "splendid"
    save_cube(made, map_file)
    with pytest.raises(InputError, match="1 damaged points"):
        load_cube(map_file)
