"""Options that several verbs share, and --force, which every verb that writes files takes."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from spotdwell.base.errors import InputError
from spotdwell.base.settings import OUTPUT, SETTINGS, Function, Setting, with_settings


def option(panel: str | None, metavar: str | None, help_text: str, *names: str) -> Any:
    """Option in a panel of the help; `metavar` is an example in quotes for a quantity with its unit."""
    return typer.Option(*names, help=help_text, metavar=metavar, rich_help_panel=panel)


def takes_all_but(*names: str) -> Callable[[Function], Function]:
    """Decorator: the verb takes all settings of a shot but these, and gets them as its keywords."""
    return with_settings(*names, option=_option_of)


def takes(*names: str) -> Callable[[Function], Function]:
    """Decorator: the verb takes these settings of a shot, and gets them as its keywords."""
    return takes_all_but(*(name for name in SETTINGS if name not in names))


def _option_of(one: Setting) -> Any:
    is_quantity = one.unit and one.kind is str
    metavar = f'"{one.example}"' if is_quantity else "NUMBER" if one.is_whole else one.example
    return Annotated[one.kind | None, option(one.panel, metavar, one.help)]


Material = Annotated[str, option(None, "MATERIAL", SETTINGS["material"].help, "--on")]
Out = Annotated[Path | None, option(OUTPUT, "FILE.h5", "Keep the result as HDF5.", "--out")]
Picture = Annotated[Path | None, option(OUTPUT, "FILE.png", "Draw the section; or svg, pdf.", "--picture")]
Json = Annotated[bool, option(OUTPUT, None, "Print one JSON object in SI instead.", "--json")]
CheckGrid = Annotated[bool, option(OUTPUT, None, "Solve it on a finer grid too.", "--check-grid")]
Values = Annotated[
    list[str] | None,
    option(OUTPUT, "NAME=VALUE", "Value of a material, as skin.density=1.1 g/cm3; may repeat.", "--set"),
]
Sensitivity = Annotated[bool, option(OUTPUT, None, "Show what 5 % of power, spot and dwell do.")]
Samples = Annotated[
    int | None, option(OUTPUT, "N", "Sample the materials' ranges N times; 128 is enough.", "--uncertainty")
]
Seed = Annotated[int | None, option(OUTPUT, "NUMBER", "Of these samples; 0 if left out.")]
Workers = Annotated[int | None, option(OUTPUT, "NUMBER", "Processes for them; one a core if left out.")]
Quiet = Annotated[bool, option(OUTPUT, None, "Print no progress, only the verdict.", "--quiet")]
Started = Annotated[
    str, typer.Argument(metavar="SCENARIO", help="Path of a file or of a kept result, or a shipped name.")
]
Scenario = Annotated[str, typer.Argument(metavar="SCENARIO", help="Path of a file, or a shipped name.")]


Force = Annotated[
    bool,
    typer.Option("--force", help="Replace files of other kinds, or of others.", rich_help_panel="Output"),
]


def with_force(verb: Callable[..., None]) -> Callable[..., None]:
    """`verb` with an option --force, which lets its files replace any other."""

    @functools.wraps(verb)
    def forcing(*arguments: Any, force: bool = False, **options: Any) -> None:
        from spotdwell.output.whole_file import WouldReplace, replacing

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


def values_in(texts: list[str] | None) -> dict[str, str]:
    """Values by dotted key from texts such as "skin.density=1.1 g/cm3". Raises InputError for others."""
    found = {}
    for text in texts or []:
        key, sign, value = text.partition("=")
        if not sign or not key.strip() or not value.strip():
            example = '"soft_tissue.water_mass_fraction=0.75"'
            raise InputError(
                "values", f"a material, a property and its value, such as {example}", f'"{text}"'
            )
        found[key.strip()] = value.strip()
    return found


def help_without_verb(context: typer.Context) -> None:
    """Print the help of a verb that was given no word after it."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())
