"""Keeping machine code: beside the sources, in the user's own folder, or nowhere.

A kernel is made of those that it calls, wherever they stand: what is kept of it holds for one state of all
the files beside its own, known by their contents, for one processor and one compiler.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import cache, cached_property
from importlib.metadata import version
from pathlib import Path
from typing import Any

ENTRY = "spotdwell_entry"
"""Name of the function in machine code that Python calls."""
SUFFIX = ".kernel"
_DIGEST = 32
"""Bytes before all others of a file that tell whether these are sound."""


@dataclass(frozen=True)
class Code:
    """Machine code of a kernel."""

    result: str
    """Type of what it returns: int64 or float64."""
    objects: tuple[bytes, ...]
    """Object files, of which one has the function `ENTRY`."""


class Kept:
    """Where the machine code of `kernel` is kept for arguments of some `kinds`."""

    def __init__(self, kernel: Callable[..., Any], kinds: tuple[str, ...]) -> None:
        self._source = kernel.__code__.co_filename
        made_for = "\n".join((_machine(), *kinds)).encode()
        self._name = (
            f"{kernel.__module__}.{kernel.__name__}-{hashlib.sha256(made_for).hexdigest()[:16]}{SUFFIX}"
        )

    @cached_property
    def _stamp(self) -> str:
        return stamp(self._source)

    def read(self) -> Code | None:
        """What is kept; None where nothing is, or where it is damaged or of other sources."""
        for folder in _folders(self._source):
            try:
                content = (folder / self._name).read_bytes()
            except OSError:
                continue
            if (code := _code(content, self._stamp)) is not None:
                return code
        return None

    @property
    def is_possible(self) -> bool:
        """Whether some folder can be written."""
        return any(map(_is_writable, _folders(self._source)))

    def write(self, code: Code) -> None:
        """Keep `code` where a folder and room can be found: else the next command compiles again."""
        content = _content(code, self._stamp)
        for folder in _folders(self._source):
            with suppress(OSError):
                _replace(folder / self._name, content)
                return


def _content(code: Code, stamp: str) -> bytes:
    head = {"sources": stamp, "result": code.result, "sizes": [len(one) for one in code.objects]}
    body = b"\n".join((json.dumps(head).encode(), b"".join(code.objects)))
    return hashlib.sha256(body).digest() + body


def _code(content: bytes, stamp: str) -> Code | None:
    body = content[_DIGEST:]
    if not body or hashlib.sha256(body).digest() != content[:_DIGEST]:
        return None
    first, _, rest = body.partition(b"\n")
    head = json.loads(first)
    if head["sources"] != stamp:
        return None
    objects = []
    for size in head["sizes"]:
        objects.append(rest[:size])
        rest = rest[size:]
    return Code(head["result"], tuple(objects))


def _folders(source: str) -> Iterator[Path]:
    """Folders that may hold what is kept of a source: the stated one alone, or beside it and the user's."""
    beside = Path(source).parent
    own = hashlib.sha256(str(beside).encode()).hexdigest()[:16]
    if stated := os.environ.get("NUMBA_CACHE_DIR"):
        yield Path(stated) / own
        return
    yield beside / "__pycache__"
    with suppress(RuntimeError):  # a user without a home
        yield _user_folder() / "spotdwell" / own


def _user_folder() -> Path:
    """Where a user's programs keep what they can make again."""
    if sys.platform == "win32" and (local := os.environ.get("LOCALAPPDATA")):
        return Path(local)
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")


def _is_writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _replace(path: Path, content: bytes) -> None:
    """Write a file so that whoever reads it meanwhile finds the whole old or the whole new one."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        part.write_bytes(content)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


@cache
def _machine() -> str:
    """The processor and the compiler that machine code is for."""
    from llvmlite import binding

    features = binding.get_host_cpu_features().flatten()
    parts = (binding.get_process_triple(), binding.get_host_cpu_name(), features)
    return "\n".join((*parts, *(version(name) for name in ("numba", "llvmlite", "numpy"))))


def stamp(source: str) -> str:
    """What tells one state of a source and of the files beside it from another: contents, not dates."""
    found = sorted(Path(source).parent.glob("*.py"))
    states = tuple((str(path), path.stat().st_mtime_ns, path.stat().st_size) for path in found)
    return _digest(states)


@cache
def _digest(states: tuple[tuple[str, int, int], ...]) -> str:
    """Digest of some files, read again once their dates or sizes change."""
    digest = hashlib.sha256()
    for name, _, _ in states:
        path = Path(name)
        digest.update(path.name.encode() + b"\0" + hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()
