"""The verb `gallery`: pictures and reports of all shipped scenarios."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from spotdwell.console import options as o


def gallery(
    out: Annotated[Path, o.option(None, "FOLDER", "Where it goes.", "--out")] = Path("gallery"),
    anew: Annotated[bool, o.option(None, None, "Make also what is up to date.", "--anew")] = False,
    quiet: Annotated[bool, o.option(None, None, "Print no progress.", "--quiet")] = False,
) -> None:
    """Make the pictures, reports, film, row, map and class page of all shipped scenarios, with an index.

    What is newer than its scenario, the materials and the code is kept.

    Example: spotdwell gallery --out gallery
    """
    from spotdwell.terminal.gallery import make_gallery

    make_gallery(out, anew, quiet)
