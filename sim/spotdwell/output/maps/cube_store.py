"""Cube store: a cube as one HDF5 file that reads as labelled arrays over the axes, netCDF-4 style.

Its arrays have a fixed size from the start, so that `output.maps.growing_file` can enter point by point.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

import h5py
import numpy as np

from spotdwell.base.errors import InputError
from spotdwell.base.names import MEASURES
from spotdwell.measure.verdict import Limits
from spotdwell.output.hdf5 import DAMAGE, attribute, dataset_of, members, values_of
from spotdwell.output.layout import Labelled
from spotdwell.output.maps.cube import (
    LONGEST_REASON,
    LONGEST_WORD,
    OUTLINES,
    Axis,
    Cube,
    Point,
    failed_point,
)
from spotdwell.output.maps.cube_check import WORDS, check_cube
from spotdwell.output.maps.cube_layout import arrays_of, coordinates_of
from spotdwell.output.maps.identity import Identity, check_same
from spotdwell.output.maps.point_bytes import (
    CHECKSUM,
    FAILURE,
    OUTLINE,
    RADIUS,
    SECONDS,
    VERDICT,
    checksum_of,
    is_sound,
    point_at,
)
from spotdwell.output.replacing import MAP
from spotdwell.output.sealed import seal_of, sealed
from spotdwell.output.whole_file import whole_file

FORMAT = MAP
FORMAT_VERSION = 2
"""From 2 on a file is sealed, and each point has a checksum."""

_BYTES = {VERDICT: LONGEST_WORD, FAILURE: LONGEST_REASON}
_ADVICE = "Name a file that a map wrote, or another one and compute the map again"


def save_cube(cube: Cube, path: str | os.PathLike[str], identity: Identity | None = None) -> None:
    """Write `cube` to `path`, whole or not at all, with the `identity` by which a later run knows it.

    Raises RunError where the file cannot be written.
    """
    # Made in memory: the HDF5 library may crash where it meets a full disk itself.
    with h5py.File("map", "w", driver="core", backing_store=False, track_order=True) as file:
        _write(file, cube, identity or {})
        file.flush()
        regions = {item.name: _region(file[item.name]) for item in arrays_of(cube)}
        image = file.id.get_file_image()
    with whole_file(Path(path)) as temporary:
        temporary.write_bytes(sealed(image, FORMAT, FORMAT_VERSION, regions))


def load_cube(path: str | os.PathLike[str]) -> Cube:
    """The cube kept at `path`, as far as it was computed.

    Raises InputError if there is no such file, or it is no map, damaged, changed or of another format.
    """
    cube, _, damaged = _loaded(Path(path))
    if damaged:
        advice = "Run the same map again with this file: it computes what is damaged anew"
        raise InputError(str(path), "a sound map", f"one with {damaged} damaged points", advice)
    return cube


def resumed_cube(path: str | os.PathLike[str], identity: Identity) -> Cube:
    """The cube kept at `path`, to be gone on with; points that are damaged count as missing.

    Raises InputError where it is of another map.
    """
    cube, kept, _ = _loaded(Path(path))
    check_same(str(path), kept, identity)
    return cube


def _write(file: h5py.File, cube: Cube, identity: Identity) -> None:
    file.attrs["format"] = FORMAT
    file.attrs["format_version"] = FORMAT_VERSION
    for item in (*coordinates_of(cube), *arrays_of(cube)):
        dataset = file.create_dataset(item.name, data=_stored(item), dtype=_kind(item))
        if item.name in _BYTES:
            dataset.attrs["_Encoding"] = "utf-8"  # has xarray read texts instead of bytes
        if item.is_coordinate:
            dataset.make_scale(item.name)
        else:
            for number, dim in enumerate(item.dims):
                dataset.dims[number].attach_scale(file[dim])
        for name, value in (("units", item.unit), ("long_name", item.meaning)):
            if value:
                dataset.attrs[name] = value
    for axis in cube.axes:
        file[axis.name].attrs.update({"display_unit": axis.unit, "scale": axis.scale})
    group = file.create_group("provenance", track_order=True)
    for name, text in _provenance(cube, identity).items():
        group.create_dataset(name, data=text, dtype=h5py.string_dtype())


def _provenance(cube: Cube, identity: Identity) -> dict[str, str]:
    tables: dict[str, Mapping[str, Any]] = {
        "setting": cube.setting,
        "limits": asdict(cube.limits),
        "versions": cube.versions,
        "identity": identity,
    }
    texts = {name: json.dumps(table, ensure_ascii=False) for name, table in tables.items()}
    return {"scenario": cube.scenario_text, **texts}


def _kind(item: Labelled) -> Any:
    """Type in the file: texts that are entered later have a fixed size."""
    if item.name in _BYTES:
        return h5py.string_dtype("utf-8", _BYTES[item.name])
    return h5py.string_dtype() if np.asarray(item.values).dtype.kind == "U" else None


def _stored(item: Labelled) -> Any:
    values = np.asarray(item.values)
    if item.name in _BYTES:
        return np.char.encode(values, "utf-8").astype(_kind(item))
    return values.astype(object) if values.dtype.kind == "U" else values


def _loaded(path: Path) -> tuple[Cube, Identity, int]:
    """Cube and identity kept at `path`, and how many of its points are damaged: they are missing."""
    if not path.is_file():
        got = "a folder" if path.is_dir() else "no such file"
        raise InputError(str(path), "the file of a map", got, _ADVICE)
    seal_of(path, FORMAT, FORMAT_VERSION, "a map that spotdwell wrote", _ADVICE)
    try:
        with h5py.File(path, "r", locking=False) as file:
            cube, identity, sums = _read(file)
        check_cube(cube)
        return cube, identity, _blanked(cube, sums)
    except DAMAGE as error:
        raise InputError(str(path), "a sound map", f"one that is damaged ({error})", _ADVICE) from error


def _blanked(cube: Cube, sums: Any) -> int:
    """Take back what does not fit its checksum, and what a killed run left of a point without a verdict."""
    damaged = 0
    for index in np.ndindex(*cube.shape):
        if cube.word[index] != "":
            point = point_at(cube, index)
            if checksum_of(point) == int(sums[index]) and is_sound(point, WORDS):
                continue
            damaged += 1
        nothing = failed_point("", np.nan)
        cube.fill(index, Point(nothing.measures, "", "", np.nan, nothing.radius, nothing.outlines))
    return damaged


def _region(dataset: h5py.Dataset) -> tuple[int, int]:
    """Where the values of an array lie in the file: start and length [bytes]."""
    return int(dataset.id.get_offset()), int(dataset.id.get_storage_size())


def _read(file: h5py.File) -> tuple[Cube, Identity, Any]:
    items = dict(members(file))
    texts = {name: values_of(item, name) for name, item in members(items.pop("provenance"))}
    tables = {name: json.loads(text) for name, text in texts.items() if name != "scenario"}
    # The verdicts first: what is entered meanwhile then counts as missing.
    words = _texts(items[VERDICT], VERDICT)
    dims = [dim[0].name.strip("/") for dim in items[VERDICT].dims]
    arrays = {name: values_of(items[name], name) for name in (*MEASURES, SECONDS, RADIUS, CHECKSUM)}
    outlines = {name: values_of(items[OUTLINE.format(name)], name) for name in OUTLINES}
    cube = Cube(
        tuple(_axis(items[name], name) for name in dims),
        {name: arrays[name] for name in MEASURES},
        words,
        _texts(items[FAILURE], FAILURE),
        arrays[SECONDS],
        arrays[RADIUS],
        outlines,
        Limits(**tables["limits"]),
        tables["setting"],
        texts["scenario"],
        tables["versions"],
    )
    return cube, tables["identity"], arrays[CHECKSUM]


def _texts(item: Any, name: str) -> Any:
    stored = dataset_of(item, name)[()]
    if stored.dtype != np.dtype(f"S{_BYTES[name]}"):
        raise ValueError(f"{name} holds no texts of this length")
    # A byte that is no letter cannot be of a sound point, whose checksum tells.
    return np.char.decode(stored, "utf-8", "replace").astype(f"<U{_BYTES[name]}")


def _axis(dataset: h5py.Dataset, name: str) -> Axis:
    values = values_of(dataset, name)
    unit, scale = (str(attribute(dataset, one, str)) for one in ("display_unit", "scale"))
    return Axis(name, values if isinstance(values, tuple) else tuple(values.tolist()), unit, scale)
