"""Pictures of a result: png, svg or pdf by the file's suffix (matplotlib is loaded only to draw one)."""

from __future__ import annotations

import os
from pathlib import Path

from spotdwell.output.result import Result
from spotdwell.output.style import draw_file


def cross_section(result: Result, path: str | os.PathLike[str]) -> None:
    """Draw the final state along a cut through the beam's axis: crater, zones, layers and the beam.

    Raises InputError for an unknown suffix and RunError where `path` cannot be written.
    """
    from spotdwell.output.cross_section import paint

    draw_file(Path(path), lambda figure: paint(figure, result))


def history(result: Result, path: str | os.PathLike[str]) -> None:
    """Draw power, temperatures and crater depth against time.

    Raises InputError for an unknown suffix and RunError where `path` cannot be written.
    """
    from spotdwell.output.history import paint

    draw_file(Path(path), lambda figure: paint(figure, result))
