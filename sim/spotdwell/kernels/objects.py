"""Objects: object files of kernels, as the compiler makes them for this machine.

The compiler is loaded where something is compiled, and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import islice
from typing import Any

from spotdwell.kernels.apart import Piece, declared
from spotdwell.kernels.compiled import BORROWED, INNER, Kernel, flat
from spotdwell.kernels.keeping import ENTRY

_ALONE: dict[str, Any] = BORROWED | {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
"""Without what the compiler makes for calls from Python and C: `_entry` is in its place."""
_told = 0
"""Inner kernels of which the compiler was told."""


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


def kernel_objects(kernel: Kernel, types: tuple[Any, ...]) -> tuple[str, list[bytes]]:
    """Type of what a `kernel` returns, and its object files: its own and that of the function `ENTRY`."""
    found = _optimized(kernel, types)
    parts = (found.library._final_module, _entry(found.fndesc))
    return str(found.fndesc.restype), [_object(part) for part in parts]


def piece_object(piece: Piece) -> bytes:
    """Object file of a `piece`.

    Raises TypeError if its kernel does not return what was declared of it.
    """
    found = _optimized(piece.kernel, piece.types)
    if (result := found.fndesc.restype) != declared(piece.kernel):
        name = piece.kernel.__qualname__
        raise TypeError(f"{name} returns {result}, and is declared to return {declared(piece.kernel)}")
    module = found.library._final_module
    module.get_function(found.fndesc.llvm_func_name).name = piece.symbol
    return _object(module)


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
