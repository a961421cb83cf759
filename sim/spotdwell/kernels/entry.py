"""Entry: an `outer` kernel, which Python calls by its machine code alone, without the compiler that made it.

The compiler is loaded where something must be compiled, and nowhere else: it takes longer to load than a shot
takes to compute. The machine code takes one row of words: every number, and what describes every array, of
all arguments in order. While it runs other threads of Python do as well.
"""

from __future__ import annotations

import ctypes
import os
import struct
import threading
from dataclasses import dataclass
from functools import partial
from typing import Any
from weakref import ref

import numpy as np

from spotdwell.kernels import compiling, keeping
from spotdwell.kernels.compiled import Kernel
from spotdwell.kernels.keeping import ENTRY, Code

_RESULTS: dict[str, type[ctypes.c_int64] | type[ctypes.c_double]] = {
    "int64": ctypes.c_int64,
    "float64": ctypes.c_double,
}
_ROWS, _COLUMNS, _OTHERS = 0x1, 0x2, 0x100 | 0x400
"""Flags of an array for which code is compiled: rows or else columns without gaps, aligned, writeable."""

Kinds = tuple[str, ...]
Word = int | float


def outer(kernel: Kernel) -> Kernel:
    """`kernel`, compiled for calls from Python and kept in files."""
    return kernel if _is_interpreted() else Entry(kernel)


def bound(kernel: Kernel, *arguments: Any) -> Kernel:
    """`kernel` with its first `arguments`, whose arrays stay where they are: described once for all calls."""
    if isinstance(kernel, Entry):
        return _Bound(kernel, arguments)
    return partial(kernel, *arguments)


def called(kernel: Kernel) -> Kernel:
    """An inner `kernel`, compiled by itself for calls from Python and kept nowhere: for tests and timing."""
    return kernel if _is_interpreted() else compiling.called(kernel)


def _is_interpreted() -> bool:
    """Whether the compiler is switched off, as for tests that look for reads out of range."""
    return os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0")


class Entry:
    """A kernel that is loaded, or else compiled, at its first call with arguments of some types."""

    def __init__(self, kernel: Kernel) -> None:
        self.kernel = kernel
        self.__name__, self.__doc__ = kernel.__name__, kernel.__doc__
        self.compiled = 0
        """Times that this process had to compile it."""
        self._machine: dict[Kinds, _Machine] = {}
        self._lock = threading.Lock()

    def __call__(self, *arguments: Any) -> int | float:
        """What the kernel returns: a number."""
        return self.go_on((), [], [], arguments)

    def go_on(
        self, before: tuple[Any, ...], words: list[Word], kinds: list[str], more: tuple[Any, ...]
    ) -> int | float:
        """What the kernel returns for arguments of which `words` of `kinds` describe those `before`."""
        _spell(more, words, kinds)
        types = tuple(kinds)
        machine = self._machine.get(types) or self._made(types, before + more)
        return machine(words)

    def _made(self, kinds: Kinds, arguments: tuple[Any, ...]) -> _Machine:
        with self._lock:
            if kinds not in self._machine:
                kept = keeping.Kept(self.kernel, kinds)
                code = kept.read()
                if code is None:
                    code = compiling.compiled(self.kernel, arguments, kept.is_possible)
                    self.compiled += 1
                    kept.write(code)
                self._machine[kinds] = _loaded(code, kinds)
            return self._machine[kinds]


class _Bound:
    """A kernel with its first arguments."""

    def __init__(self, entry: Entry, arguments: tuple[Any, ...]) -> None:
        self._entry, self._arguments = entry, arguments
        self._words: list[Word] = []
        self._kinds: list[str] = []
        _spell(arguments, self._words, self._kinds)

    def __call__(self, *arguments: Any) -> int | float:
        return self._entry.go_on(self._arguments, self._words.copy(), self._kinds.copy(), arguments)


@dataclass(frozen=True)
class _Machine:
    """Machine code in memory."""

    function: Any
    row: struct.Struct
    result: type[ctypes.c_int64] | type[ctypes.c_double]
    engine: Any
    """Owns the code."""

    def __call__(self, words: list[Word]) -> int | float:
        found = self.result()
        status = self.function(self.row.pack(*words), ctypes.byref(found))
        if status:
            raise SystemError(f"a compiled kernel ended with status {status}")
        return found.value


def _spell(values: tuple[Any, ...], words: list[Word], kinds: list[str]) -> None:
    """Add what describes `values` to `words`, in the compiler's own order, and their types to `kinds`."""
    for value in values:
        if type(value) is float:
            words.append(value)
            kinds.append("float")
            continue
        seen = _seen.get(id(value))
        if seen is not None and seen[0]() is value:
            words += seen[1]
            kinds.append(seen[2])
        elif isinstance(value, np.ndarray):
            _, more, kind = _described(value)
            words += more
            kinds.append(kind)
        elif isinstance(value, tuple):
            kinds.append(f"{type(value).__name__}{len(value)}")
            _spell(value, words, kinds)
        elif isinstance(value, float):
            words.append(value)
            kinds.append("float")
        else:
            words.append(int(value))
            kinds.append("bool" if isinstance(value, (bool, np.bool_)) else "int")


_Described = tuple["ref[np.ndarray]", tuple[int, ...], str]
_seen: dict[int, _Described] = {}
"""Arrays that live, with their words and kinds: a march hands over the same hundred at every call, and to ask
them anew costs two hundredths of a shot. Nothing here gives an array another shape or place in memory."""


def _described(array: np.ndarray) -> _Described:
    """Words and kind of an `array`, which are forgotten as it is."""
    flags, shape = array.flags.num, array.shape
    flags &= _OTHERS | (_ROWS if flags & _ROWS else _COLUMNS)
    place = id(array)
    words = (0, 0, array.size, array.itemsize, array.ctypes.data, *shape, *array.strides)
    found = (
        ref(array, lambda _: _seen.pop(place, None)),
        words,
        f"{len(shape)}:{array.dtype.char}:{flags}",
    )
    _seen[place] = found
    return found


def _row(kinds: Kinds) -> struct.Struct:
    """How the words of arguments of these types lie in memory: eight bytes each."""
    text = ""
    for kind in kinds:
        dimensions, is_array, _ = kind.partition(":")
        if is_array:
            text += "q" * (5 + 2 * int(dimensions))
        elif kind in ("int", "bool", "float"):
            text += "d" if kind == "float" else "q"
    return struct.Struct(f"={text}")


def _loaded(code: Code, kinds: Kinds) -> _Machine:
    """The machine code put into memory."""
    from llvmlite import binding

    binding.initialize_native_target()
    binding.initialize_native_asmprinter()
    machine = binding.Target.from_triple(binding.get_process_triple()).create_target_machine()
    engine = binding.create_mcjit_compiler(binding.parse_assembly(""), machine)
    for part in code.objects:
        engine.add_object_file(binding.ObjectFileRef.from_data(part))
    engine.finalize_object()
    call = ctypes.CFUNCTYPE(ctypes.c_int32, ctypes.c_char_p, ctypes.c_void_p)
    function = call(engine.get_function_address(ENTRY))
    return _Machine(function, _row(kinds), _RESULTS[code.result], engine)
