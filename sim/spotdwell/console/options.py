"""Options of the verbs: those of a shot's settings, from their table, and those that verbs share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

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
Samples = Annotated[
    int | None, option(OUTPUT, "N", "Sample the materials' ranges N times; 128 is enough.", "--uncertainty")
]
Seed = Annotated[int | None, option(OUTPUT, "NUMBER", "Of these samples; 0 if left out.")]
Workers = Annotated[int | None, option(OUTPUT, "NUMBER", "Processes for them; one a core if left out.")]
Quiet = Annotated[bool, option(OUTPUT, None, "Print no progress, only the verdict.", "--quiet")]
Scenario = Annotated[str, typer.Argument(metavar="SCENARIO", help="Path of a file, or a shipped name.")]
