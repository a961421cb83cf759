"""A map's file: made once, filled point by point, known again when a map is continued."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import h5py
import numpy as np

from spotdwell.base.errors import InputError, RunError
from spotdwell.base.names import MEASURES
from spotdwell.base.system import InUse, claim, open_to_change, write_at
from spotdwell.maps.bands import WORD, Bands, bands_from, check_bands, names_of_bands
from spotdwell.maps.cube import (
    CHECKSUM,
    FAILURE,
    LONGEST_REASON,
    LONGEST_WORD,
    OUTLINE,
    OUTLINES,
    RADIUS,
    SECONDS,
    VERDICT,
    WORDS,
    Axis,
    Cube,
    Point,
    arrays_of,
    check_cube,
    checksum_of,
    coordinates_of,
    failed_point,
    is_sound,
    point_at,
)
from spotdwell.maps.cube import bytes_of as _bytes_of
from spotdwell.measure.verdict import Limits
from spotdwell.output.hdf5 import DAMAGE, attribute, dataset_of, members, values_of
from spotdwell.output.layout import Labelled
from spotdwell.output.sealed import Regions, seal_of, sealed, varying_of
from spotdwell.output.whole_file import MAP, whole_file

Identity = Mapping[str, str]
"""Everything that results depend on: text by dotted key."""

_NOTHING = "nothing"
_NAMED = 3
"""Differences that an error names."""
_LONGEST = 50
"""Letters of a value that an error shows."""


def check_same(path: str, kept: Identity, wanted: Identity) -> None:
    """Raise InputError that says in what the file at `path` and what is `wanted` differ, if they do."""
    keys = dict.fromkeys([*wanted, *kept])
    apart = [key for key in keys if kept.get(key) != wanted.get(key)]
    if not apart:
        return
    there = [_told(key, kept, wanted) for key in apart[:_NAMED]]
    here = [_told(key, wanted, kept) for key in apart[:_NAMED]]
    if len(apart) > _NAMED:
        there.append(f"{len(apart) - _NAMED} more differences")
    raise InputError(
        path,
        f"a map with {', '.join(here)}",
        f"another map, with {', '.join(there)}",
        "Name another file, or delete this one to compute the map anew",
    )


def _told(key: str, one: Identity, other: Identity) -> str:
    """The value of `one`, shortened to where it differs from that of the `other`."""
    if key not in one:
        return f"no {key}"
    mine, theirs = one[key], other.get(key, _NOTHING)
    if len(mine) <= _LONGEST:
        return f"{key} = {mine}"
    same = next((i for i, (a, b) in enumerate(zip(mine, theirs, strict=False)) if a != b), 0)
    start = max(0, same - _LONGEST // 2)
    return f"{key} = {'...' if start else ''}{mine[start : start + _LONGEST]}..."


class GrowingFile:
    """Context that enters points into the file of a cube, each at once.

    Raises RunError where the file is in use by another run or refuses to be written.
    """

    def __init__(self, path: str | os.PathLike[str], shape: tuple[int, ...]) -> None:
        self._path, self._shape = Path(path), shape
        self._file = -1

    def __enter__(self) -> Self:
        self._places = _places_of(self._path)
        self._file = self._attempted(open_to_change, self._path)
        _claim(self._file, self._path)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            if error is None:
                self._attempted(os.fsync, self._file)
        finally:
            os.close(self._file)

    def enter(self, index: tuple[int, ...], point: Point) -> None:
        """Enter what the run at `index` found; its verdict, which makes it count as computed, comes last."""
        number = int(np.ravel_multi_index(index, self._shape))
        for name, data in _bytes_of(point):
            start = self._places[name][0] + number * len(data)
            while data:
                written = self._attempted(write_at, self._file, data, start)
                data, start = data[written:], start + written

    def _attempted(self, function: Any, *arguments: Any) -> Any:
        try:
            return function(*arguments)
        except OSError as error:
            raise RunError(
                f"{self._path}: cannot be written: {error.strerror or error}. The results so far are kept in "
                "it: free some space and run the same again to go on"
            ) from error


def _places_of(path: Path) -> Regions:
    """Where each array lies in the file, as its seal says."""
    if (found := varying_of(path)) is None:
        advice = "Name another file: this one can be read, but not gone on with"
        raise InputError(str(path), "a map as it was first written", "one that was packed anew", advice)
    return found


def _claim(file: int, path: Path) -> None:
    """Raise RunError if another run writes the file. Readers need no permission."""
    try:
        claim(file)
    except InUse:
        os.close(file)
        raise RunError(f"{path}: another run is writing it. Wait for it or name another file") from None


FORMAT = MAP
FORMAT_VERSION, WITH_INTERVALS = 3, 4
"""From 2 on a file is sealed, and each point has a checksum. A file with intervals has another version."""

_BYTES = {VERDICT: LONGEST_WORD, FAILURE: LONGEST_REASON}
_ADVICE = "Name the file that a map was saved to; if it is that, compute the map again to a new one."


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
        temporary.write_bytes(sealed(image, FORMAT, _version(cube), regions))


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


def _version(cube: Cube) -> int:
    return FORMAT_VERSION if cube.bands is None else WITH_INTERVALS


def _write(file: h5py.File, cube: Cube, identity: Identity) -> None:
    file.attrs["format"] = FORMAT
    file.attrs["format_version"] = _version(cube)
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
    if cube.bands is not None:
        tables["intervals"] = {"draws": cube.bands.draws, "covers": cube.bands.covers}
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
    seal_of(path, FORMAT, (FORMAT_VERSION, WITH_INTERVALS), "a map that spotdwell wrote", _ADVICE)
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
        _bands(items, tables["intervals"], words.shape) if "intervals" in tables else None,
    )
    return cube, tables["identity"], arrays[CHECKSUM]


def _bands(items: Mapping[str, Any], table: Mapping[str, Any], shape: tuple[int, ...]) -> Bands:
    arrays = {name: values_of(items[name], name) for name in names_of_bands()}
    found = bands_from(arrays, table["draws"], table["covers"])
    check_bands(found, shape, values_of(items[WORD], WORD))
    return found


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
