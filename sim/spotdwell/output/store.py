"""Store: a result as HDF5 that reads as labelled arrays, netCDF-4 style (the only importer of h5py).

Groups and names are those of `output.layout`. Each array has named dimensions, units and a long_name.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import h5py
import numpy as np

from spotdwell.base.errors import InputError
from spotdwell.output.layout import Labelled, attributes_of, groups_of, result_from
from spotdwell.output.result import Result
from spotdwell.output.whole_file import whole_file

FORMAT = "spotdwell result"
FORMAT_VERSION = 1

_LARGE = 1000
"""Values from which an array is compressed, which also checksums it."""

_DAMAGE = (OSError, KeyError, ValueError, RuntimeError, TypeError, IndexError, AttributeError)
"""What reading a damaged file can raise."""


def save(result: Result, path: str | os.PathLike[str]) -> None:
    """Write `result` to `path`, whole or not at all. Raises RunError where the file cannot be written."""
    # Made in memory: the HDF5 library may crash where it meets a full disk itself.
    with h5py.File("result", "w", driver="core", backing_store=False, track_order=True) as file:
        _write(file, result)
        file.flush()
        image = file.id.get_file_image()
    with whole_file(Path(path)) as temporary:
        temporary.write_bytes(image)


def load(path: str | os.PathLike[str]) -> Result:
    """The result kept at `path`, equal to the one saved.

    Raises InputError if there is no such file, or it is no result, damaged, or of a newer format.
    """
    path = Path(path)
    if not path.is_file():
        got = "a folder" if path.is_dir() else "no such file"
        raise InputError(str(path), "a result file", got, "Name a file that a run wrote")
    try:
        if not h5py.is_hdf5(path):
            raise _foreign(path, "a file that is not HDF5")
        with h5py.File(path, "r") as file:
            _check_format(file, path)
            return result_from(dict(file.attrs), _read(file))
    except _DAMAGE as error:
        advice = "It is cut off, damaged or locked: run the scenario again"
        raise InputError(str(path), "a readable result file", f"an error ({error})", advice) from error


def _check_format(file: h5py.File, path: Path) -> None:
    if file.attrs.get("format") != FORMAT:
        raise _foreign(path, "an HDF5 file of another kind")
    version = int(file.attrs["format_version"])
    if version > FORMAT_VERSION:
        expected, got = f"format version {FORMAT_VERSION} or older", f"version {version}"
        raise InputError(str(path), expected, got, "Update spotdwell to read it")


def _foreign(path: Path, got: str) -> InputError:
    return InputError(str(path), "a result that spotdwell saved", got, "Name a file that a run wrote")


def _write(file: h5py.File, result: Result) -> None:
    file.attrs["format"] = FORMAT
    file.attrs["format_version"] = FORMAT_VERSION
    for name, value in attributes_of(result).items():
        file.attrs[name] = value
    for path, items in groups_of(result).items():
        group = file if path == "/" else file.create_group(path, track_order=True)
        for item in items:
            _write_array(group, item)


def _write_array(group: h5py.Group, item: Labelled) -> None:
    array = np.asarray(np.nan if item.values is None else item.values)
    text = array.dtype.kind in "UO"
    if text:
        dataset = group.create_dataset(item.name, data=array.astype(object), dtype=h5py.string_dtype())
    else:
        dataset = group.create_dataset(item.name, data=array, **_packing(array))
    if item.values is None:
        # A NaN alone could be an error.
        dataset.attrs["not_applicable"] = 1
    if item.is_coordinate:
        dataset.make_scale(item.name)
    else:
        for axis, dim in enumerate(item.dims):
            dataset.dims[axis].attach_scale(group[dim])
    for name, value in (("units", item.unit), ("long_name", item.meaning)):
        if value:
            dataset.attrs[name] = value


def _packing(array: Any) -> dict[str, Any]:
    if array.size < _LARGE:
        return {}
    return {"chunks": True, "compression": "gzip", "compression_opts": 1, "shuffle": True}


def _read(file: h5py.File) -> dict[str, dict[str, Any]]:
    groups: dict[str, dict[str, Any]] = {"/": {}}
    for name, item in file.items():
        if isinstance(item, h5py.Group):
            groups[name] = {inner: _read_array(dataset) for inner, dataset in item.items()}
        else:
            groups["/"][name] = _read_array(item)
    return groups


def _read_array(dataset: h5py.Dataset) -> Any:
    if "not_applicable" in dataset.attrs:
        return None
    if h5py.check_string_dtype(dataset.dtype):
        values = dataset.asstr()[()]
        return tuple(values) if dataset.ndim else str(values)
    return dataset[()] if dataset.ndim else float(dataset[()])
