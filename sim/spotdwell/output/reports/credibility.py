"""The credibility report as files: report.html, report.md and the pictures that the latter shows."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from spotdwell.base.errors import RunError
from spotdwell.output.pictures.style import draw_file
from spotdwell.output.reports.credibility_page import Drawing, Page, html, markdown
from spotdwell.output.reports.credibility_plots import Pair, paint_pairs
from spotdwell.output.whole_file import check_writable, whole_file

HTML, MARKDOWN = "report.html", "report.md"


def prepare(folder: Path) -> None:
    """Make `folder`, unless it is there, and raise RunError if the report could not be written into it."""
    try:
        folder.mkdir(exist_ok=True)
    except FileExistsError:
        raise RunError(f"{folder}: cannot hold the report: it is a file. Name a folder") from None
    except FileNotFoundError:
        place = folder.parent
        raise RunError(f"{folder}: cannot be made: there is no folder {place}. Create it first") from None
    except OSError as error:
        advice = "Choose another folder"
        raise RunError(f"{folder}: cannot be made: {error.strerror}. {advice}") from error
    check_writable(folder / HTML)


def pairs_drawing(pairs: Sequence[Pair], caption: str, folder: Path, file: str) -> Drawing:
    """Draw `pairs` into `file` in `folder`. Raises RunError where it cannot be written."""
    path = folder / file
    draw_file(path, lambda figure: paint_pairs(figure, pairs))
    return Drawing(caption, file, path.read_text(encoding="utf-8"))


def write(page: Page, folder: Path) -> None:
    """Write the page to `folder`, each file whole or not at all. Raises RunError where that fails."""
    for name, text in ((MARKDOWN, markdown(page)), (HTML, html(page))):
        with whole_file(folder / name) as path:
            path.write_text(text, encoding="utf-8")
