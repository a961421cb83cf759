"""A comparison of regimes carried out: solved with its progress shown, printed, and kept in files."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from spotdwell.base.errors import RunError
from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files, Write, write_text
from spotdwell.console.screen import mention
from spotdwell.output.pictures.style import sheet_of
from spotdwell.output.whole_file import check_writable
from spotdwell.terminal.comparison_shown import (
    comma_separated,
    comparison_plain,
    comparison_text,
    draw_picture,
)

if TYPE_CHECKING:
    from spotdwell.study.regimes.comparison import Comparison


@dataclass(frozen=True)
class Outputs:
    """What the user wants of a comparison."""

    picture: Path | None = None
    table: Path | None = None
    """CSV file."""
    out: Path | None = None
    """Folder for the results."""
    size: str = "page"
    """Sheet of the picture."""
    as_json: bool = False
    quiet: bool = False


def carry_out(solve: Callable[..., Comparison], outputs: Outputs) -> None:
    """Solve all regimes, print what differs and write the files; `solve` takes a `progress`.

    Raises SpotdwellError; a file that could not be written is told of before anything is solved.
    """
    sheet = sheet_of(outputs.size)
    files = Files(outputs.quiet, outputs.as_json)
    files.check("picture", outputs.picture, "picture")
    files.check("table", outputs.table, "csv")
    if outputs.out is not None:
        _make_folder(outputs.out)
    with files.stoppable():
        with Watch(outputs.quiet, "regimes") as watch:
            if not outputs.quiet:
                mention("Solving the regimes ...")
            found = solve(progress=watch.count)
        results: list[tuple[Path | None, Write]] = []
        if outputs.out is not None:
            names = [f"{number}_{_file_stem(run.name)}.h5" for number, run in enumerate(found.runs, 1)]
            results = [
                (outputs.out / name, run.result.save) for name, run in zip(names, found.runs, strict=True)
            ]
        files.finish(
            lambda: files.show(
                lambda: comparison_plain(found), lambda: found.sentence, lambda: comparison_text(found)
            ),
            (outputs.picture, lambda path: draw_picture(found, path, sheet)),
            (outputs.table, lambda path: write_text(path, comma_separated(found))),
            *results,
        )


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        advice = "Choose another, or create the folder above it"
        raise RunError(f"{folder}: cannot be used as a folder: {error.strerror}. {advice}") from error
    check_writable(folder / "1.h5")


def _file_stem(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")
