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
from spotdwell.output.layout import Labelled
from spotdwell.output.maps.cube import LONGEST_REASON, LONGEST_WORD, OUTLINES, Axis, Cube
from spotdwell.output.maps.cube_layout import (
    FAILURE,
    OUTLINE,
    RADIUS,
    SECONDS,
    VERDICT,
    arrays_of,
    coordinates_of,
)
from spotdwell.output.maps.identity import Identity, check_same
from spotdwell.output.whole_file import whole_file

FORMAT = "spotdwell map"
FORMAT_VERSION = 1

_BYTES = {VERDICT: LONGEST_WORD, FAILURE: LONGEST_REASON}
_DAMAGE = (OSError, KeyError, ValueError, RuntimeError, TypeError, IndexError, AttributeError)
"""What reading a damaged file can raise."""


def save_cube(cube: Cube, path: str | os.PathLike[str], identity: Identity | None = None) -> None:
    """Write `cube` to `path`, whole or not at all, with the `identity` by which a later run knows it.

    Raises RunError where the file cannot be written.
    """
    # Made in memory: the HDF5 library may crash where it meets a full disk itself.
    with h5py.File("map", "w", driver="core", backing_store=False, track_order=True) as file:
        _write(file, cube, identity or {})
        file.flush()
        image = file.id.get_file_image()
    with whole_file(Path(path)) as temporary:
        temporary.write_bytes(image)


def load_cube(path: str | os.PathLike[str]) -> Cube:
    """The cube kept at `path`, as far as it was computed.

    Raises InputError if there is no such file, or it is no map, damaged, or of another format version.
    """
    return _loaded(Path(path))[0]


def resumed_cube(path: str | os.PathLike[str], identity: Identity) -> Cube:
    """The cube kept at `path`, to be gone on with. Raises InputError where it is of another map."""
    cube, kept = _loaded(Path(path))
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


def _loaded(path: Path) -> tuple[Cube, Identity]:
    if not path.is_file():
        got = "a folder" if path.is_dir() else "no such file"
        raise InputError(str(path), "the file of a map", got, "Name a file that a map wrote")
    try:
        if not h5py.is_hdf5(path):
            raise _foreign(path, "a file that is not HDF5")
        with h5py.File(path, "r", locking=False) as file:
            _check_format(file, path)
            return _read(file)
    except _DAMAGE as error:
        advice = "It is cut off or damaged: name another file and compute the map again"
        raise InputError(str(path), "a readable file of a map", f"an error ({error})", advice) from error


def _check_format(file: h5py.File, path: Path) -> None:
    if file.attrs.get("format") != FORMAT:
        raise _foreign(path, "an HDF5 file of another kind")
    if (version := int(file.attrs["format_version"])) != FORMAT_VERSION:
        advice = "Use the version of spotdwell that wrote it, or name another file"
        raise InputError(str(path), f"format version {FORMAT_VERSION}", f"version {version}", advice)


def _foreign(path: Path, got: str) -> InputError:
    return InputError(str(path), "a map that spotdwell wrote", got, "Name another file")


def _read(file: h5py.File) -> tuple[Cube, Identity]:
    texts = {name: str(item.asstr()[()]) for name, item in file["provenance"].items()}
    tables = {name: json.loads(text) for name, text in texts.items() if name != "scenario"}
    dims = [dim[0].name.strip("/") for dim in file[VERDICT].dims]
    cube = Cube(
        tuple(_axis(file[name], name) for name in dims),
        {name: file[name][()] for name in MEASURES},
        _texts(file[VERDICT]),
        _texts(file[FAILURE]),
        file[SECONDS][()],
        file[RADIUS][()],
        {name: file[OUTLINE.format(name)][()] for name in OUTLINES},
        Limits(**tables["limits"]),
        tables["setting"],
        texts["scenario"],
        tables["versions"],
    )
    return cube, tables["identity"]


def _texts(dataset: h5py.Dataset) -> Any:
    return np.char.decode(dataset[()], "utf-8").astype(f"<U{_BYTES[dataset.name.strip('/')]}")


def _axis(dataset: h5py.Dataset, name: str) -> Axis:
    words = h5py.check_string_dtype(dataset.dtype) is not None
    values = dataset.asstr()[()] if words else dataset[()]
    return Axis(name, tuple(values.tolist()), dataset.attrs["display_unit"], dataset.attrs["scale"])
