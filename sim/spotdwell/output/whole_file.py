"""Whole files: an output is either complete under its name or not there at all."""

from __future__ import annotations

import io
import os
import uuid
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from spotdwell.base.errors import RunError
from spotdwell.output.replacing import RESULT, check_replaceable


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
