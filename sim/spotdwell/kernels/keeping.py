"""Keeping machine code: beside the sources, in the user's own folder, or nowhere.

The compiler refuses to load a function at all where it can write in no folder, fails where the disk is
full, and reports a damaged file of its own with a traceback. Ours are then compiled in memory.

A kernel is made of those that it calls, wherever they stand: what is kept of it holds for one state of all
the files beside its own, known by their contents.
"""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

from llvmlite.binding import add_symbol
from numba.core.caching import FunctionCache
from numba.core.dispatcher import Dispatcher
from numba.core.runtime import _nrt_python  # type: ignore[attr-defined]

_PACKAGE = __name__.partition(".")[0]
_OTHERS = Dispatcher.enable_caching
"""How functions that are not ours are kept."""


class _Kept(FunctionCache):
    """Machine code in files, none of which is needed."""

    def __init__(self, py_func: Any) -> None:
        kept: Any = super()
        kept.__init__(py_func)
        self._cache_file: Any
        self._cache_file._source_stamp = _stamp(py_func.__code__.co_filename)

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        kept: Any = super()
        try:
            # The compiler would first load all that it can compile, which takes longer than a shot.
            _name_runtime()
            return kept._load_overload(sig, target_context)
        except Exception:  # damaged or half-written files raise whatever their bytes happen to ask for
            return None

    def save_overload(self, sig: Any, data: Any) -> None:
        kept: Any = super()
        try:
            kept.save_overload(sig, data)
        except Exception:  # a full disk, or an index that is damaged: the next command compiles again
            self._enabled = False


@cache
def _name_runtime() -> None:
    """Tell the linker where the runtime is that machine code may call, as the compiler does."""
    for name, address in _nrt_python.c_helpers.items():
        add_symbol(name if name.startswith("_") else f"NRT_{name}", address)


def _stamp(source: str) -> str:
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


def _enable_caching(dispatcher: Any) -> None:
    if not dispatcher.py_func.__module__.startswith(f"{_PACKAGE}."):
        _OTHERS(dispatcher)
        return
    try:
        make: Any = _Kept
        dispatcher._cache = make(dispatcher.py_func)
    except (RuntimeError, OSError):
        return  # no folder can be written: the function is compiled in memory


def keep_machine_code() -> None:
    """Have functions of this package kept where that is possible, from now on."""
    setattr(Dispatcher, "enable_caching", _enable_caching)  # noqa: B010 - the compiler declares it final


def is_in_file(function: Any) -> bool:
    """Whether a compiled function is kept in files."""
    return isinstance(function._cache, _Kept)


def can_keep(module: ModuleType) -> bool:
    """Whether the functions of a module are kept in files."""
    return all(isinstance(one._cache, _Kept) for one in _functions(module))


def _functions(module: ModuleType) -> list[Any]:
    found = [value for value in vars(module).values() if isinstance(value, Dispatcher)]
    return [one for one in found if one.py_func.__module__ == module.__name__]
