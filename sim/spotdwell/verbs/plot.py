"""The verb `plot`: pictures of a kept result."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def plot(
    result: Annotated[Path, typer.Argument(metavar="RESULT.h5", help="File that a run wrote.")],
    cross_section: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Section through the axis: png, svg or pdf.")
    ] = None,
    history: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Power, temperature and depth against time.")
    ] = None,
    top_view: Annotated[
        Path | None, typer.Option(metavar="FILE", help="From above, as under a microscope.")
    ] = None,
    film: Annotated[
        Path | None, typer.Option(metavar="FILE.gif", help="The saved moments as a film: gif or mp4.")
    ] = None,
    contours: Annotated[
        str | None,
        typer.Option(metavar='"60, 100 degC"', help="Lines of equal temperature in the section."),
    ] = None,
    at: Annotated[
        str | None,
        typer.Option("--at", metavar='"80 ms"', help="Saved moment to draw; with contours the hottest."),
    ] = None,
    size: Annotated[
        str, typer.Option(metavar="WORD", help="column (85 mm), page (170 mm) or slide.")
    ] = "page",
    quiet: Annotated[bool, typer.Option("--quiet", help="Print no progress.")] = False,
) -> None:
    """Draw a kept result; without a file to draw, its section and history as png beside it.

    Example: spotdwell plot spot.h5 --cross-section spot.svg --top-view above.png
    """
    from spotdwell.terminal.pictures import Asked, draw

    draw(result, Asked(cross_section, history, top_view, film, contours, at, size, quiet))
