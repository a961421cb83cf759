"""The verb `gallery`: pictures and reports of all shipped scenarios."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def gallery(
    out: Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where it goes.")] = Path("gallery"),
    anew: Annotated[bool, typer.Option("--anew", help="Make also what is up to date.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print no progress.")] = False,
) -> None:
    """Make the pictures, reports, film, row, map and class page of all shipped scenarios, with an index.

    What is newer than its scenario, the materials and the code is kept.

    Example: spotdwell gallery --out gallery
    """
    from spotdwell.terminal.gallery import make_gallery

    make_gallery(out, anew, quiet)
