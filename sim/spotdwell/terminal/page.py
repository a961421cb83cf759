"""The class page on the command line: what is checked before it is written, and what is told of it."""

from __future__ import annotations

from pathlib import Path

from spotdwell.base.errors import InputError
from spotdwell.output.maps.cube_store import load_cube
from spotdwell.output.pages.page import check_cube, class_page
from spotdwell.output.pages.words import warnings_of
from spotdwell.output.whole_file import check_writable
from spotdwell.terminal.console import SAFETY, Interrupted, mention, say

_SUFFIXES = (".html", ".htm")


def make_page(kept: Path, out: Path, quiet: bool = False) -> None:
    """Write the map in the file `kept` as a page to `out`, and say what it lacks.

    Raises InputError for a file that is no map or makes no page and for another suffix, RunError where the
    page cannot be written.
    """
    if out.suffix.lower() not in _SUFFIXES:
        advice = f"Name it {out.stem}.html."
        raise InputError("--out", "a file name that ends in .html", f'"{out}"', advice)
    check_writable(out)
    cube = load_cube(kept)
    check_cube(cube, str(kept))
    try:
        class_page(cube, out)
    except KeyboardInterrupt:
        raise Interrupted(f"Stopped: {out} was not written.") from None
    if quiet:
        return
    for line in warnings_of(cube):
        mention(f"Note: {line}")
    say(
        f"Saved {out} ({out.stat().st_size / 1e3:.0f} kB): open it in a browser, no network needed.\n{SAFETY}"
    )
