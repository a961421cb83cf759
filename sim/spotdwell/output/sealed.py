"""Seal: a checksum at the end of a file, by which a changed, damaged or foreign one is known before use.

The library that reads HDF5 may hang or crash on damaged bytes, so nothing is opened that does not bear out
its seal. It stands behind what HDF5 calls the end of the file, and is read without that library:

    record (JSON: format, version, size, varying) | sha256 of the sealed bytes and the record | length | mark

Regions that vary, because points are entered there later, are left out of the sum: they carry their own.
"""

from __future__ import annotations

import hashlib
import json
import os
import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from spotdwell.base.errors import InputError

SIGNATURE = b"\x89HDF\r\n\x1a\n"
"""First bytes of every HDF5 file."""

Regions = Mapping[str, tuple[int, int]]
"""Start and length [bytes] by name."""

_MARK = b"spotseal"
_TAIL = struct.Struct(f"<q{len(_MARK)}s")
_DIGEST = 64
_LONGEST_RECORD = 1_000_000
_BLOCK = 1 << 20


@dataclass(frozen=True)
class Seal:
    """What a seal says of its file."""

    format: str
    """Kind of file, such as "spotdwell map"."""
    version: int
    size: int
    """Bytes before the seal."""
    varying: dict[str, tuple[int, int]]
    """Regions that the checksum leaves out, by name."""


def sealed(image: bytes, kind: str, version: int, varying: Regions | None = None) -> bytes:
    """`image` with its seal behind it."""
    record = {"format": kind, "version": version, "size": len(image), "varying": dict(varying or {})}
    text = json.dumps(record).encode()
    digest = hashlib.sha256()
    for start, stop in _gaps(varying or {}, len(image)):
        digest.update(image[start:stop])
    digest.update(text)
    return image + text + digest.hexdigest().encode() + _TAIL.pack(len(text), _MARK)


def seal_of(path: Path, kind: str, version: int | tuple[int, ...], what: str, advice: str) -> Seal:
    """The seal of the file at `path`, borne out by its bytes.

    Raises InputError for a file that is not there, is no HDF5, is not as it was written, or is not of the
    `kind` and `version`, or one of several; `what` is how a person calls the kind, `advice` what to do
    instead.
    """
    if not path.is_file():
        got = "a folder" if path.is_dir() else "no such file" if not path.exists() else "no plain file"
        raise InputError(str(path), what, got, advice)
    try:
        with path.open("rb") as file:
            found, sound = _read(file, path.stat().st_size)
    except OSError as error:
        raise InputError(str(path), what, f"an error ({error.strerror or error})", advice) from None
    if found is None and not sound:
        raise InputError(str(path), what, "a file that is not HDF5", advice)
    if found is None:
        got = (
            "an HDF5 file of another kind, or one that was cut off or damaged, or changed by another program"
        )
        raise InputError(str(path), what, got, advice)
    if not sound:
        got = "one that was cut off or damaged, or changed by another program: its checksum does not fit"
        raise InputError(str(path), what, got, advice)
    if found.format != kind:
        raise InputError(str(path), what, f"an HDF5 file of another kind, a {found.format}", advice)
    known = version if isinstance(version, tuple) else (version,)
    if found.version not in known:
        update = "Update spotdwell to read it" if found.version > max(known) else advice
        expected = f"format version {' or '.join(map(str, known))}"
        raise InputError(str(path), expected, f"version {found.version}", update)
    return found


def is_sealed(path: Path, kind: str) -> bool:
    """Whether the file at `path` is one of the `kind` that ours wrote, of any version, whole or not."""
    try:
        with path.open("rb") as file:
            found, _ = _read(file, path.stat().st_size, whole=False)
    except OSError:
        return False
    return found is not None and found.format == kind


def varying_of(path: Path) -> Regions | None:
    """The varying regions of the sealed file at `path`, or None where there are none."""
    try:
        with path.open("rb") as file:
            found, _ = _read(file, path.stat().st_size, whole=False)
    except OSError:
        return None
    return found.varying if found is not None and found.varying else None


def _read(file: BinaryIO, size: int, whole: bool = True) -> tuple[Seal | None, bool]:
    """The seal, if there is one, and whether the file bears it out; without one, whether it is HDF5."""
    hdf5 = file.read(len(SIGNATURE)) == SIGNATURE
    if not hdf5 or size < len(SIGNATURE) + _DIGEST + _TAIL.size:
        return None, hdf5
    file.seek(size - _TAIL.size)
    length, mark = _TAIL.unpack(file.read(_TAIL.size))
    begin = size - _TAIL.size - _DIGEST - length
    if mark != _MARK or not 0 < length <= _LONGEST_RECORD or begin < len(SIGNATURE):
        return None, True
    file.seek(begin)
    text, written = file.read(length), file.read(_DIGEST)
    found = _seal_from(text)
    if found is None or found.size != begin:
        return None, True
    if not whole:
        return found, True
    digest = hashlib.sha256()
    for start, stop in _gaps(found.varying, begin):
        file.seek(start)
        for piece in _pieces(file, stop - start):
            digest.update(piece)
    digest.update(text)
    return found, digest.hexdigest().encode() == written


def _seal_from(text: bytes) -> Seal | None:
    """The seal whose record is `text`, or None if that is none."""
    try:
        record: dict[str, Any] = json.loads(text)
        varying = {
            str(name): (int(start), int(length)) for name, (start, length) in record["varying"].items()
        }
        return Seal(str(record["format"]), int(record["version"]), int(record["size"]), varying)
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def _gaps(varying: Regions, size: int) -> Iterator[tuple[int, int]]:
    """What lies between the varying regions, up to `size`."""
    place = 0
    for start, length in sorted(varying.values()):
        if place < start <= size:
            yield place, start
        place = max(place, start + max(length, 0))
    if place < size:
        yield place, size


def _pieces(file: BinaryIO, length: int) -> Iterator[bytes]:
    while length > 0 and (piece := file.read(min(length, _BLOCK))):
        length -= len(piece)
        yield piece


def begins_as_hdf5(path: str | os.PathLike[str]) -> bool:
    """Whether the plain file at `path` begins as HDF5 does."""
    path = Path(path)
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(SIGNATURE)) == SIGNATURE
