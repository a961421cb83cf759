"""What the compiler does, and who hears of it: nothing where machine code was kept, or where it is off.

The one file that loads the compiler, and it does so where something is compiled.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from spotdwell.kernels.compiled import BORROWED, INNER, Kernel, flat
from spotdwell.kernels.keeping import ENTRY, Code

Hear = Callable[[int, bool], None]
"""Gets how many of our functions were compiled so far, and whether they will be kept."""

_ALONE: dict[str, Any] = BORROWED | {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
"""Without what the compiler makes for calls from Python and C: `_entry` is in its place."""
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
def telling(kept: bool) -> Iterator[None]:
    """Tell those who hear of each function that is compiled in the context."""
    from numba.core import event

    count = 0

    def tell(more: int) -> None:
        nonlocal count
        count += more
        for hear in _hearing:
            hear(count, kept)

    class Ear(event.Listener):
        def on_start(self, event: Any) -> None:
            if _is_ours(event):
                tell(0)

        def on_end(self, event: Any) -> None:
            if _is_ours(event):
                tell(1)

    with event.install_listener("numba:compile", Ear()):
        yield


def _is_ours(event: Any) -> bool:
    """Whether an event is about a function of kernels, and not one of the compiler's own."""
    return not event.data["dispatcher"].py_func.__module__.startswith("numba.")


def called(kernel: Kernel) -> Kernel:
    """A `kernel`, compiled by itself for calls from Python and kept nowhere."""
    from numba import njit

    def call(*arguments: Any) -> Any:
        return kernel(*arguments)

    _tell_compiler()
    compiled: Kernel = njit(**BORROWED)(call)
    return compiled


def compiled(kernel: Kernel, arguments: tuple[Any, ...], kept: bool) -> Code:
    """Machine code of `kernel` for `arguments` of these types; those who hear learn whether it is `kept`."""
    from numba import njit, typeof

    for hear in _hearing:  # before the compiler itself is loaded
        hear(0, kept)
    _tell_compiler()
    dispatcher: Any = njit(**_ALONE)(kernel)
    types = tuple(typeof(one) for one in arguments)  # type: ignore[no-untyped-call]
    generator = dispatcher.targetctx.codegen()
    with telling(kept), _unloaded(generator, kernel.__qualname__):
        dispatcher.compile(types)
    found = dispatcher.overloads[types]
    parts = (found.library._final_module, _entry(found.fndesc, dispatcher.targetctx))
    return Code(str(found.fndesc.restype), tuple(generator._tm.emit_object(part) for part in parts))


@contextmanager
def _unloaded(generator: Any, outermost: str) -> Iterator[None]:
    """Have functions optimized in the context, and not each made into machine code of which nobody calls any.

    That took a sixth of the time. Rings among what a compiler makes are left for later: they live as long.
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

    usual, collects = generator._library_class, gc.isenabled()
    generator._library_class = Unloaded
    generator.set_env = lambda name, environment: None
    gc.disable()
    try:
        yield
    finally:
        generator._library_class = usual
        del generator.set_env
        if collects:
            gc.enable()


def _entry(kernel: Any, context: Any) -> Any:
    """The function that takes words, eight bytes each, and hands them to a `kernel` as it wants them.

    It is all that Python needs: what the compiler makes for that takes each array apart again at every call.
    """
    from llvmlite import binding, ir

    word, byte = ir.IntType(64), ir.IntType(8)
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


def _tell_compiler() -> None:
    """Tell the compiler of the inner kernels that it does not know yet."""
    global _told
    from numba.extending import register_jitable

    if not _told:
        _teach_flat()
    for kernel, options in INNER[_told:]:
        register_jitable(**_ALONE | options)(kernel)
    _told = len(INNER)


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
