"""Store: a result as HDF5 that reads as labelled arrays, netCDF-4 style and sealed.

Groups and names are those of `output.layout`. Each array has named dimensions, units and a long_name.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

import h5py
import numpy as np

from spotdwell.base.errors import InputError
from spotdwell.output.hdf5 import DAMAGE, attribute, members, values_of
from spotdwell.output.layout import Groups, Labelled, attributes_of, fields_from, groups_of
from spotdwell.output.layout_check import check_layout
from spotdwell.output.record import Record
from spotdwell.output.sealed import seal_of, sealed
from spotdwell.output.whole_file import RESULT, whole_file

FORMAT = RESULT
FORMAT_VERSION = 2
"""From 2 on a file is sealed."""

_ATTRIBUTES = {"title": str, "geometry": str, "symmetry": float}
_ADVICE = "Name a file that a run wrote, or run the scenario again"

More = TypeVar("More")

_LARGE = 1000
"""Values from which an array is compressed, which also checksums it."""


def save(result: Record, path: str | os.PathLike[str], more: Groups | None = None) -> None:
    """Write `result` and `more` groups to `path`, whole or not at all; reading the result skips those.

    Raises RunError where the file cannot be written.
    """
    # Made in memory: the HDF5 library may crash where it meets a full disk itself.
    with h5py.File("result", "w", driver="core", backing_store=False, track_order=True) as file:
        _write(file, result, more or {})
        file.flush()
        image = file.id.get_file_image()
    with whole_file(Path(path)) as temporary:
        temporary.write_bytes(sealed(image, FORMAT, FORMAT_VERSION))


def load_fields(path: str | os.PathLike[str]) -> dict[str, Any]:
    """Fields of the record kept at `path`, equal to those saved.

    Raises InputError if there is no such file, or it is no result, damaged, changed or of another format.
    """
    return load_with(path)[0]


def load_with(
    path: str | os.PathLike[str],
    group: str = "",
    read: Callable[[dict[str, Any], Mapping[str, Any]], More] | None = None,
) -> tuple[dict[str, Any], More | None]:
    """Fields of the record kept at `path`, and what `read` makes of them and of the values of a `group`.

    None for a file without that group. `read` raises ValueError or KeyError for what is not sound. Raises as
    `load_fields` does.
    """
    path = Path(path)
    if not path.exists():
        raise InputError(str(path), "a result file", "no such file", "Name a file that a run wrote")
    seal_of(path, FORMAT, FORMAT_VERSION, "a result that spotdwell saved", _ADVICE)
    try:
        with h5py.File(path, "r") as file:
            attributes = {name: attribute(file, name, kind) for name, kind in _ATTRIBUTES.items()}
            groups = _read(file)
        check_layout(attributes, groups)
        fields = fields_from(attributes, groups)
        return fields, read(fields, groups[group]) if read and group in groups else None
    except DAMAGE as error:
        raise InputError(
            str(path), "a sound result file", f"one that is damaged ({error})", _ADVICE
        ) from error


def _write(file: h5py.File, result: Record, more: Groups) -> None:
    file.attrs["format"] = FORMAT
    file.attrs["format_version"] = FORMAT_VERSION
    for name, value in attributes_of(result).items():
        file.attrs[name] = value
    for path, items in (groups_of(result) | more).items():
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
    for name, item in members(file):
        if isinstance(item, h5py.Group):
            groups[name] = {inner: _read_array(one, inner) for inner, one in members(item)}
        else:
            groups["/"][name] = _read_array(item, name)
    return groups


def _read_array(item: Any, name: str) -> Any:
    return None if "not_applicable" in item.attrs else values_of(item, name)
