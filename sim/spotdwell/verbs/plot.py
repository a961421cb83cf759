"""The verb `plot`: pictures of a kept result."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spotdwell.console import options as o


def plot(
    result: Annotated[Path, typer.Argument(metavar="RESULT.h5", help="File that a run wrote.")],
    cross_section: Annotated[
        Path | None, o.option(None, "FILE", "Section through the axis: png, svg or pdf.")
    ] = None,
    history: Annotated[
        Path | None, o.option(None, "FILE", "Power, temperature and depth against time.")
    ] = None,
    top_view: Annotated[Path | None, o.option(None, "FILE", "From above, as under a microscope.")] = None,
    film: Annotated[
        Path | None, o.option(None, "FILE.gif", "The saved moments as a film: gif or mp4.")
    ] = None,
    contours: Annotated[
        str | None, o.option(None, '"60, 100 degC"', "Lines of equal temperature in the section.")
    ] = None,
    at: Annotated[
        str | None, o.option(None, '"80 ms"', "Saved moment to draw; with contours the hottest.", "--at")
    ] = None,
    size: Annotated[str, o.option(None, "WORD", "column (85 mm), page (170 mm) or slide.")] = "page",
    quiet: Annotated[bool, o.option(None, None, "Print no progress.", "--quiet")] = False,
) -> None:
    """Draw a kept result; without a file to draw, its section and history as png beside it.

    Example: spotdwell plot spot.h5 --cross-section spot.svg --top-view above.png
    """
    from spotdwell.terminal.pictures import Pictures, draw

    draw(result, Pictures(cross_section, history, top_view, film, contours, at, size, quiet))
