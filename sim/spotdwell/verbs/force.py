"""The option --force, which every verb that writes files takes."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from typing import Annotated, Any

import typer

from spotdwell.base.errors import InputError

Force = Annotated[
    bool,
    typer.Option("--force", help="Replace files of other kinds, or of others.", rich_help_panel="Output"),
]


def with_force(verb: Callable[..., None]) -> Callable[..., None]:
    """`verb` with an option --force, which lets its files replace any other."""

    @functools.wraps(verb)
    def forcing(*arguments: Any, force: bool = False, **options: Any) -> None:
        from spotdwell.output.replacing import WouldReplace, replacing

        try:
            with replacing(force):
                verb(*arguments, **options)
        except WouldReplace as error:
            advice = "Choose another name, or add --force to replace it."
            raise InputError(error.where, error.expected, error.got, advice) from None

    own = inspect.signature(verb, eval_str=True)
    last = inspect.Parameter("force", inspect.Parameter.KEYWORD_ONLY, default=False, annotation=Force)
    signature = own.replace(parameters=[*own.parameters.values(), last])
    forcing.__signature__ = signature  # type: ignore[attr-defined]
    forcing.__annotations__ = {one.name: one.annotation for one in signature.parameters.values()}
    return forcing
