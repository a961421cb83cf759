"""The gallery made: part by part, with what is up to date kept."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from spotdwell.console.progress import announce_compiling
from spotdwell.console.saving import stopped, try_all
from spotdwell.console.screen import SAFETY, mention, say
from spotdwell.output.reports.credibility import prepare
from spotdwell.output.reports.gallery_index import write_index
from spotdwell.terminal.film import draw_film, with_moments

if TYPE_CHECKING:
    from spotdwell.inputs.schema import Scenario
    from spotdwell.study.reports.gallery import Part

_FRAMES = 32
"""Of the exposure in the film."""


def make_gallery(folder: Path, anew: bool, quiet: bool) -> None:
    """Make what is missing or outdated in `folder` (all if `anew`) and its index.

    Raises RunError where the folder cannot be written, the first SpotdwellError of a part after all others
    were tried, and Interrupted: what is made is kept, and the same command goes on.
    """
    from spotdwell.study.reports.gallery import parts

    prepare(folder)
    todo = parts(_film)

    def make(number: int, part: Part) -> None:
        left = f"{number - 1} of {len(todo)} parts are done. The same command goes on with the rest."
        with stopped(left):
            _make(part, folder, f"[{number}/{len(todo)}]", anew, quiet)

    def index() -> None:
        written = write_index([part.shelf for part in todo], folder)
        if not quiet:
            say(f"Gallery: {written}\n{SAFETY}")

    try_all([*(partial(make, number, part) for number, part in enumerate(todo, 1)), index])


def _make(part: Part, folder: Path, number: str, anew: bool, quiet: bool) -> None:
    title = part.shelf.title
    if not anew and part.is_made(folder):
        if not quiet:
            mention(f"{number} {title}: up to date")
        return
    if not quiet:
        mention(f"{number} {title} ...")
        announce_compiling()
    part.make(folder)


def _film(scenario: Scenario, path: Path) -> None:
    from spotdwell import pipeline

    draw_film(pipeline.run(with_moments(scenario, _FRAMES)), path, quiet=True)
