"""Apart: kernels that the outermost one calls elsewhere, each compiled into an object file of its own.

So two processes share the work, and the optimizer has less before it at a time: in one process, too, all
takes less time than as a whole.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from inspect import signature
from types import FunctionType
from typing import Any

from spotdwell.kernels.compiled import APART, Kernel
from spotdwell.kernels.keeping import ENTRY


@dataclass(frozen=True)
class Piece:
    """A kernel that is to be compiled apart. Another process can be told of it: kernels go by their names."""

    kernel: Kernel
    types: tuple[Any, ...]
    """Those of its arguments, the compiler's."""
    symbol: str
    """Name by which machine code calls it."""


def apart_in(kernel: Kernel) -> dict[str, Kernel]:
    """Kernels that `kernel` calls and that are compiled apart, by the names that it has for them."""
    known = {name: kernel.__globals__.get(name) for name in kernel.__code__.co_names}
    return {name: one for name, one in known.items() if isinstance(one, FunctionType) and one in APART}


def parted(kernel: Kernel, offer: Callable[[Piece], None]) -> Kernel:
    """`kernel` as it calls others elsewhere: each is offered once the compiler knows its arguments."""
    stand_ins = {name: _stand_in(one, offer) for name, one in apart_in(kernel).items()}
    if not stand_ins:
        return kernel
    return FunctionType(
        kernel.__code__, kernel.__globals__ | stand_ins, kernel.__name__, None, kernel.__closure__
    )


def declared(kernel: Kernel) -> Any:
    """The compiler's type of what a `kernel` that is compiled apart is said to return."""
    from numba import types

    count = APART[kernel]
    return types.float64 if count == 1 else types.UniTuple(types.float64, count)  # type: ignore[no-untyped-call]


def _stand_in(kernel: Kernel, offer: Callable[[Piece], None]) -> Kernel:
    """What the compiler takes for the `kernel`: of what is elsewhere it need not know more than the types."""
    from numba import types
    from numba.core.funcdesc import ExternalFunctionDescriptor
    from numba.extending import lower_builtin, type_callable

    symbols: dict[tuple[Any, ...], str] = {}

    def stand_in(*arguments: Any) -> Any:
        raise NotImplementedError

    @type_callable(stand_in)
    def typed(context: Any) -> Any:
        def call(*arguments: Any) -> Any:
            if arguments not in symbols:
                symbols[arguments] = f"{ENTRY}_{kernel.__name__}_{len(symbols)}"
                offer(Piece(kernel, arguments, symbols[arguments]))
            return declared(kernel)

        call.pysig = signature(kernel)  # type: ignore[attr-defined]
        return call

    @lower_builtin(stand_in, types.VarArg(types.Any))  # type: ignore[no-untyped-call]
    def lowered(context: Any, builder: Any, called: Any, arguments: Any) -> Any:
        there = ExternalFunctionDescriptor(symbols[called.args], called.return_type, called.args)  # type: ignore[no-untyped-call]
        return context.call_internal(builder, there, called, arguments)

    return stand_in
