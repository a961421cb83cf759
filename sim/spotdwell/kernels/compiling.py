"""What the compiler does, and who hears of it: nothing where machine code was kept, or where it is off.

The one file that loads the compiler, and it does so where something is compiled.
"""

from __future__ import annotations

import gc
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from itertools import islice
from typing import Any, TypeVar, cast

from spotdwell.kernels.apart import Piece, apart_in, declared, parted
from spotdwell.kernels.compiled import BORROWED, INNER, Kernel, flat
from spotdwell.kernels.keeping import ENTRY, Code, stamp
from spotdwell.kernels.sharing import Second, second_process, taken

Function = TypeVar("Function", bound=Callable[..., Any])
Hear = Callable[[int, bool], None]
"""Gets how many of our functions were compiled so far, and whether they will be kept."""

_ALONE: dict[str, Any] = BORROWED | {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
"""Without what the compiler makes for calls from Python and C: `_entry` is in its place."""
_ROOM = 2**17 + 2**10
"""Words of stack: a little more than a block of a mebibyte has, so that one of two is taken."""
_hearing: list[Hear] = []
_told = 0
"""Inner kernels of which the compiler was told."""


@contextmanager
def heard(hear: Hear) -> Iterator[None]:
    """Have `hear` called before and after each function of a kernel that is compiled in the context."""
    _hearing.append(hear)
    try:
        yield
    finally:
        _hearing.remove(hear)


@contextmanager
def telling(kept: bool, second: Second | None = None) -> Iterator[Callable[[int], None]]:
    """Tell those who hear of each function that is compiled in the context, by the `second` process too.

    Yields what tells of so many more.
    """
    from numba.core import event

    count = 0

    def tell(more: int) -> None:
        nonlocal count
        count += more
        for hear in _hearing:
            hear(count + (second.count if second else 0), kept)

    class Ear(event.Listener):
        def on_start(self, event: Any) -> None:
            if _is_ours(event):
                tell(0)

        def on_end(self, event: Any) -> None:
            if _is_ours(event):
                tell(1)

    with event.install_listener("numba:compile", Ear()):
        yield tell


def _is_ours(event: Any) -> bool:
    """Whether an event is about a function of kernels, and not one of the compiler's own."""
    return not event.data["dispatcher"].py_func.__module__.startswith("numba.")


def called(kernel: Kernel) -> Kernel:
    """A `kernel`, compiled by itself for calls from Python and kept nowhere."""
    from numba import njit

    def call(*arguments: Any) -> Any:
        return kernel(*arguments)

    load()
    compiled: Kernel = njit(**BORROWED)(call)
    return compiled


def with_room(function: Function) -> Function:
    """A `function` that has room for all the calls within it from the start.

    Python keeps calls in blocks of 16 KiB: it asks the system for one when a call needs it and gives it back
    when that returns. A compiler at work goes to and fro over the edge of a block: that took up to a fifth of
    the time. A call that says that it needs a large block itself gets one, and leaves the rest of it.
    """

    def call(*arguments: Any) -> Any:
        return function(*arguments)

    call.__code__ = call.__code__.replace(co_stacksize=_ROOM)
    return cast("Function", wraps(function)(call))


@with_room
def compiled(kernel: Kernel, arguments: tuple[Any, ...], kept: bool) -> Code:
    """Machine code of `kernel` for `arguments` of these types; those who hear learn whether it is `kept`.

    A second process helps with what is compiled apart. Raises TypeError if such a kernel does not return what
    was declared of it.
    """
    for hear in _hearing:  # before the compiler itself is loaded
        hear(0, kept)
    module = kernel.__module__ if apart_in(kernel) else ""
    with second_process(module, stamp(kernel.__code__.co_filename)) as second, _uncollected():
        from numba import typeof

        load()
        pieces: deque[Piece] = deque()

        def offer(piece: Piece) -> None:
            pieces.append(piece)
            if len(pieces) == len(apart_in(kernel)):
                second.share(pieces)

        types = tuple(typeof(one) for one in arguments)  # type: ignore[no-untyped-call]
        with telling(kept, second) as tell:
            found = _optimized(parted(kernel, offer), types)
            objects = [_object(found.library._final_module), _object(_entry(found.fndesc))]
            while second.is_busy or pieces:
                if piece := taken(pieces.popleft):
                    objects.append(piece_compiled(piece))
                else:
                    gc.collect(0)  # while there is time for it
                    second.wait()
                    tell(0)
    return Code(str(found.fndesc.restype), (*objects, *second.objects))


def piece_compiled(piece: Piece) -> bytes:
    """Object file of a `piece`."""
    found = _optimized(piece.kernel, piece.types)
    if (result := found.fndesc.restype) != declared(piece.kernel):
        name = piece.kernel.__qualname__
        raise TypeError(f"{name} returns {result}, and is declared to return {declared(piece.kernel)}")
    module = found.library._final_module
    module.get_function(found.fndesc.llvm_func_name).name = piece.symbol
    return _object(module)


def load() -> None:
    """Load the compiler, and tell it of the inner kernels that it does not know yet."""
    global _told
    from numba.core.registry import cpu_target
    from numba.extending import register_jitable

    if not _told:
        _teach_flat()
    for kernel, options in islice(INNER.items(), _told, None):
        register_jitable(**_ALONE | options)(kernel)
    _told = len(INNER)
    cpu_target.typing_context.refresh()
    cpu_target.target_context.refresh()


def _optimized(kernel: Kernel, types: tuple[Any, ...]) -> Any:
    """What the compiler knows of a `kernel` with all that it calls, for arguments of these types."""
    from numba import njit

    dispatcher: Any = njit(**_ALONE | INNER.get(kernel, {}))(kernel)
    with _unloaded(dispatcher.targetctx.codegen(), kernel.__qualname__):
        dispatcher.compile(types)
    return dispatcher.overloads[types]


def _object(module: Any) -> bytes:
    """Object file of an optimized `module`."""
    machine_code: bytes = _context().codegen()._tm.emit_object(module)
    return machine_code


def _context() -> Any:
    """The compiler's view of this machine."""
    from numba.core.registry import cpu_target

    return cpu_target.target_context


@contextmanager
def _uncollected() -> Iterator[None]:
    """Leave rings among what the compiler makes for later: they live as long as it does."""
    collects = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collects:
            gc.enable()


@contextmanager
def _unloaded(generator: Any, outermost: str) -> Iterator[None]:
    """Have functions optimized in the context, and not each made into machine code of which nobody calls any.

    That took a sixth of the time.
    """
    from numba.core.codegen import JITCodeLibrary

    class Unloaded(JITCodeLibrary):
        def _finalize_final_module(self) -> None:
            self._finalize_dynamic_globals()  # type: ignore[no-untyped-call]
            self._finalized = True

        def _optimize_final_module(self) -> None:
            if self.name == outermost:
                super()._optimize_final_module()  # type: ignore[no-untyped-call]

        def get_pointer_to_function(self, name: str) -> int:
            self._ensure_finalized()  # type: ignore[no-untyped-call]
            return 0

    usual = generator._library_class
    generator._library_class = Unloaded
    generator.set_env = lambda name, environment: None
    try:
        yield
    finally:
        generator._library_class = usual
        del generator.set_env


def _entry(kernel: Any) -> Any:
    """The function that takes words, eight bytes each, and hands them to a `kernel` as it wants them.

    It is all that Python needs: what the compiler makes for that takes each array apart again at every call.
    """
    from llvmlite import binding, ir

    context, word, byte = _context(), ir.IntType(64), ir.IntType(8)
    module = ir.Module(ENTRY)
    module.triple, module.data_layout = binding.get_process_triple(), str(context.codegen().target_data)
    called = ir.Function(
        module, context.call_conv.get_function_type(kernel.restype, kernel.argtypes), kernel.llvm_func_name
    )
    into = ir.Function(module, ir.FunctionType(ir.IntType(32), [byte.as_pointer()] * 2), ENTRY)
    build = ir.IRBuilder(into.append_basic_block())
    words = build.bitcast(into.args[0], word.as_pointer())
    result, raised, *wanted = called.function_type.args
    given = [build.bitcast(into.args[1], result), build.alloca(raised.pointee)]
    for place, kind in enumerate(wanted):
        value = build.load(build.gep(words, [ir.Constant(word, place)]))
        given.append(_as(build, value, kind))
    build.ret(build.call(called, given))
    return binding.parse_assembly(str(module))


def _as(build: Any, value: Any, kind: Any) -> Any:
    """A word as what `kind` of value it holds."""
    from llvmlite import ir

    if isinstance(kind, ir.PointerType):
        return build.inttoptr(value, kind)
    if isinstance(kind, ir.DoubleType):
        return build.bitcast(value, kind)
    return value if kind.width == value.type.width else build.trunc(value, kind)


def _teach_flat() -> None:
    """Have `flat` take an array for one row as it is; the compiler's own way calls its library."""
    from numba import types
    from numba.core.imputils import impl_ret_borrowed
    from numba.extending import lower_builtin, type_callable
    from numba.np.arrayobj import make_array, populate_array

    @type_callable(flat)
    def typed(context: Any) -> Any:
        def row(array):  # the compiler compares signatures
            return array.copy(ndim=1) if array.layout == "C" else None

        return row

    @lower_builtin(flat, types.Array)  # type: ignore[no-untyped-call]
    def lowered(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        whole = make_array(signature.args[0])(context, builder, arguments[0])  # type: ignore[no-untyped-call]
        row = make_array(signature.return_type)(context, builder)  # type: ignore[no-untyped-call]
        size, step = whole.nitems, whole.itemsize
        populate_array(row, whole.data, [size], [step], step, whole.meminfo, whole.parent)  # type: ignore[no-untyped-call]
        return impl_ret_borrowed(context, builder, signature.return_type, row._getvalue())  # type: ignore[no-untyped-call]
