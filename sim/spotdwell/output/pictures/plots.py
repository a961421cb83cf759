"""Pictures of a result: png, svg or pdf by the file's suffix (matplotlib is loaded only to draw one)."""

from __future__ import annotations

import io
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from spotdwell.output.pictures.style import PAGE, Sheet, draw_file, painted
from spotdwell.output.record import Record
from spotdwell.solve.outcome import Snapshot


def cross_section(
    result: Record,
    path: str | os.PathLike[str],
    sheet: Sheet = PAGE,
    contours: Sequence[float] = (),
    state: Snapshot | None = None,
) -> None:
    """Draw a cut through the beam's axis: crater, zones, layers and the beam, with the key figures.

    `contours` are temperatures [K] of lines to add. `state` is the moment to draw, one of the result's
    snapshots: the end if left out, or with contours the hottest of them. Raises InputError for an unknown
    suffix or if no contour is reached, and RunError where `path` cannot be written.
    """
    from spotdwell.output.pictures.cross_section import paint

    draw_file(Path(path), lambda figure: paint(figure, result, sheet, contours, state), sheet=sheet)


def section_figure(result: Record, sheet: Sheet = PAGE) -> Any:
    """The same as a figure of matplotlib, which belongs to nobody else."""
    from spotdwell.output.pictures.cross_section import paint

    return painted(lambda figure: paint(figure, result, sheet, (), None), sheet)


def section_svg(result: Record) -> str:
    """The same as SVG, to stand in a page."""
    return svg_of(section_figure(result))


def svg_of(figure: Any) -> str:
    """A figure as SVG, to stand in a page."""
    found = io.BytesIO()
    figure.savefig(found, format="svg", metadata={"Date": None})
    text = found.getvalue().decode()
    return text[text.index("<svg") :]


def history(result: Record, path: str | os.PathLike[str], sheet: Sheet = PAGE) -> None:
    """Draw power, temperatures and crater depth against time.

    Raises InputError for an unknown suffix and RunError where `path` cannot be written.
    """
    from spotdwell.output.pictures.history import paint

    draw_file(Path(path), lambda figure: paint(figure, result, sheet), sheet=sheet)


def top_view(
    result: Record, path: str | os.PathLike[str], sheet: Sheet = PAGE, state: Snapshot | None = None
) -> None:
    """Draw the target from above, as under a microscope, with the radii of its zones.

    `state` is the moment to draw, the end if left out. Raises InputError for an unknown suffix and RunError
    where `path` cannot be written.
    """
    from spotdwell.output.pictures.top_view import paint

    draw_file(Path(path), lambda figure: paint(figure, result, sheet, state), sheet=sheet)
