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
) -> None:
    """Draw a kept result; without options both pictures, as png beside it.

    Example: spotdwell plot spot.h5 --cross-section spot.svg
    """
    from spotdwell.terminal.pictures import draw

    draw(result, cross_section, history)
