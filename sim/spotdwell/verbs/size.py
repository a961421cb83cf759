"""The verb `size`: the power, spot or dwell for a wanted depth, or the dwell of a scanner."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from spotdwell.terminal import options as o
from spotdwell.verbs.settings import with_settings

_WANTED = "What is wanted"

Depth = Annotated[
    str | None, typer.Option(metavar='"300 um"', help="Depth to remove.", rich_help_panel=_WANTED)
]
Scan = Annotated[
    bool, typer.Option("--scan", help="Find the longest dwell of a scanned spot.", rich_help_panel=_WANTED)
]
Coagulation = Annotated[
    str | None,
    typer.Option(
        metavar='"100 um"', help="Thickest coagulated layer at floor and wall.", rich_help_panel=_WANTED
    ),
]
AtLeast = Annotated[
    str | None,
    typer.Option(metavar="QUANTITY", help="Least of what is sought.", rich_help_panel=_WANTED),
]
AtMost = Annotated[
    str | None,
    typer.Option(metavar="QUANTITY", help="Most of what is sought.", rich_help_panel=_WANTED),
]
Ripple = Annotated[
    float | None,
    typer.Option(
        metavar="SHARE", help="Most unevenness across scan lines, such as 0.05.", rich_help_panel=_WANTED
    ),
]


@with_settings("end_time", "save_times", "geometry")
def size(
    on: o.On,
    depth: Depth = None,
    scan: Scan = False,
    coagulation_limit: Coagulation = None,
    at_least: AtLeast = None,
    at_most: AtMost = None,
    ripple: Ripple = None,
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    quiet: o.Quiet = False,
    **settings: Any,
) -> None:
    """Find the one of --power, --spot and --dwell that is left out, so that the shot removes --depth.

    Example: spotdwell size --on soft_tissue --power "20 W" --dwell "20 ms" --depth "300 um"

    A scanner's dwell, speed and line spacing: --scan --power "20 W" --spot "0.3 mm" --char-limit "20 um"
    """
    from spotdwell.terminal.job import Wanted
    from spotdwell.terminal.size import Asked, carry_out

    asked = Asked(on, depth, scan, coagulation_limit, at_least, at_most, ripple, settings)
    if not carry_out(asked, Wanted(out, picture, as_json, quiet=quiet)):
        raise typer.Exit(1)
