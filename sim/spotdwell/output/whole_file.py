"""Files written whole or not at all, and which files may be replaced."""

from __future__ import annotations

import csv
import io
import os
import uuid
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from pathlib import Path

from spotdwell.base.errors import InputError, RunError
from spotdwell.output.sealed import is_sealed

MAKER = "spotdwell"
"""By which our pictures and documents are known: they carry it in their metadata."""
RESULT, MAP = "spotdwell result", "spotdwell map"

_SIGNATURES = {
    ".png": b"\x89PNG",
    ".pdf": b"%PDF",
    ".gif": b"GIF8",
    ".svg": b"<",
    ".html": b"<",
    ".htm": b"<",
    ".md": b"#",
}
_MOST = 64_000_000
_TABLES = ("verdict", "run", "regime")
"""Columns of which every table of ours has one."""
_FITTED = b"95 % interval"
"""In the sources of every laser and material file that a fit wrote."""

_forced: ContextVar[bool] = ContextVar("forced", default=False)


@contextmanager
def replacing(force: bool) -> Iterator[None]:
    """Within, `force` lets any file be replaced."""
    token = _forced.set(force)
    try:
        yield
    finally:
        _forced.reset(token)


class WouldReplace(InputError):
    """A file is in the way that must not be replaced without being asked to."""


def check_replaceable(path: Path, kind: str = RESULT) -> None:
    """Raise WouldReplace if a file at `path` would be lost that is not of the same kind of ours.

    `kind` is that of an HDF5 file; other kinds are known by the suffix.
    """
    if _forced.get() or not path.exists() or path.is_dir():
        return
    if not path.is_file():
        raise InputError(str(path), "a file", "a device or a pipe", "Name another.")
    if path.stat().st_size == 0 or _is_ours(path, kind):
        return
    raise WouldReplace(
        str(path),
        "a new name, or that of a file of the same kind which spotdwell wrote",
        _named(path),
        "Choose another name.",
    )


def _named(path: Path) -> str:
    for kind in (RESULT, MAP):
        if is_sealed(path, kind):
            return f"a file that is there already, a {kind}"
    return "a file that is there already, and holds something else"


def _is_ours(path: Path, kind: str) -> bool:
    suffix = path.suffix.lower()
    if suffix in (".h5", ".hdf5"):
        return is_sealed(path, kind)
    with suppress(OSError):
        with path.open("rb") as file:
            data = file.read(_MOST)
        if suffix == ".csv":
            return _is_table(data)
        if suffix == ".toml":
            return _FITTED in data
        if suffix == ".mp4":
            return data[4:8] == b"ftyp" and MAKER.encode() in data
        signature = _SIGNATURES.get(suffix)
        return signature is not None and data.startswith(signature) and MAKER.encode() in data
    return False


def _is_table(data: bytes) -> bool:
    """Whether CSV is a table of results, or a card whose blanks nobody has filled in yet."""
    lines = [line for line in data.decode("utf-8", "replace").splitlines() if line and line[0] != "#"]
    with suppress(csv.Error):
        header, *rows = csv.reader(lines)
        if "depth [um]" in header and "repeat" in header:
            place = header.index("depth [um]")
            return not any(row[place].strip() for row in rows if len(row) > place)
        return any(name in header for name in _TABLES) and any(name.startswith("deepest") for name in header)
    return False


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Yield a temporary path beside `path`; what is written there takes the name when the block succeeds.

    Any failure, an interrupt included, deletes the temporary file and leaves an older file as it was.
    Raises RunError where the file system refuses.
    """
    temporary = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.part")
    try:
        # Opened by Python first: the libraries' own messages about a refused file are hard to read.
        temporary.touch(exist_ok=False)
        yield temporary
        os.replace(temporary, path)
    except OSError as error:
        raise RunError(_refusal(path, error)) from error
    finally:
        # A folder that refused the file refuses its removal too, and has been reported already.
        with suppress(OSError):
            temporary.unlink(missing_ok=True)


@contextmanager
def whole_bytes(path: Path) -> Iterator[io.BytesIO]:
    """Yield a file in memory, which becomes the one at `path` when the block succeeds.

    For libraries that fail in ways of their own where they meet a full disk. Raises as `whole_file`.
    """
    memory = io.BytesIO()
    yield memory
    with whole_file(path) as temporary:
        temporary.write_bytes(memory.getvalue())


def check_writable(path: Path, kind: str = RESULT) -> None:
    """Raise RunError now if `path` cannot be written, so that no long run is lost for it.

    Raises InputError for a file that must not be replaced; `kind` is that of an HDF5 file.
    """
    check_replaceable(path, kind)
    if path.is_dir():
        raise RunError(f"{path}: cannot be written: it is a folder. Name a file in it")
    probe = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.part")
    try:
        probe.touch(exist_ok=False)
        probe.unlink()
    except OSError as error:
        raise RunError(_refusal(path, error)) from error


def _refusal(path: Path, error: OSError) -> str:
    reason = error.strerror or str(error)
    if not path.parent.is_dir():
        return f"{path}: cannot be written: there is no folder {path.parent}. Create it or choose another"
    return f"{path}: cannot be written: {reason}. Choose another file or folder, or free some space"
