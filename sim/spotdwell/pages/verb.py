"""The verb `page`: a kept map as one page with sliders, for a class."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spotdwell.console import options as o


def page_verb(
    kept: Annotated[Path, typer.Argument(metavar="MAP.h5", help="File that map --out wrote.")],
    out: Annotated[Path, o.option(None, "FILE.html", "The page.", "--out")],
    quiet: Annotated[bool, o.option(None, None, "Print nothing but errors.", "--quiet")] = False,
) -> None:
    """Make a map into one HTML page with sliders and questions, which opens anywhere without a network.

    Example: spotdwell page map.h5 --out page.html
    """
    from spotdwell.pages.page import make_page

    make_page(kept, out, quiet)
