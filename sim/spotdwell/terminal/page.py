"""The class page on the command line: what is checked before it is written, and what is told of it."""

from __future__ import annotations

from pathlib import Path

from spotdwell.console.saving import Files, stopped
from spotdwell.console.screen import SAFETY, mention, say
from spotdwell.output.maps.cube_store import load_cube
from spotdwell.output.pages.page import check_cube, class_page
from spotdwell.output.pages.words import warnings_of


def make_page(kept: Path, out: Path, quiet: bool = False) -> None:
    """Write the map in the file `kept` as a page to `out`, and say what it lacks.

    Raises InputError for a file that is no map or makes no page and for another suffix, RunError where the
    page cannot be written.
    """
    Files().check("out", out, "html")
    cube = load_cube(kept)
    check_cube(cube, str(kept))
    with stopped(f"{out} was not written."):
        class_page(cube, out)
    if quiet:
        return
    for line in warnings_of(cube):
        mention(f"Note: {line}")
    say(
        f"Saved {out} ({out.stat().st_size / 1e3:.0f} kB): open it in a browser, no network needed.\n{SAFETY}"
    )
