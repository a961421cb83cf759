"""Pictures of a kept result."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from spotdwell.base import units
from spotdwell.base.errors import InputError, lone
from spotdwell.console.saving import Files, stopped
from spotdwell.films.shown import draw_film
from spotdwell.output.pictures import plots
from spotdwell.output.pictures.style import sheet_of
from spotdwell.output.result import Result
from spotdwell.output.whole_file import check_writable
from spotdwell.scans.kept import load
from spotdwell.scans.result import ScanResult

_CONTOURS = "60, 100, 300 degC"
_NUMBER = re.compile(rf"\s*{units.NUMBER_PATTERN}\s*")


@dataclass(frozen=True)
class Pictures:
    """What is to be drawn, and how."""

    cross_section: Path | None = None
    history: Path | None = None
    top_view: Path | None = None
    film: Path | None = None
    contours: str | None = None
    """Temperatures such as "60, 100, 300 degC"."""
    at: str | None = None
    """A saved time such as "80 ms"."""
    size: str = "page"
    """Name of a sheet."""
    quiet: bool = False

    @property
    def stills(self) -> tuple[Path, ...]:
        """Files of still pictures."""
        return tuple(path for path in (self.cross_section, self.history, self.top_view) if path is not None)


def draw(kept: Path, pictures: Pictures) -> None:
    """Draw the result in the file `kept`; where no file is named, its section and history beside it.

    The section of a scan is that across its lines, with the depth from above and the build-up of heat.
    Raises InputError for a file that is no result, and for a file name, a time or temperatures that cannot be
    drawn, and RunError where a file cannot be written.
    """
    if not (pictures.stills or pictures.film):
        section, history = (kept.with_name(f"{kept.stem}_{word}.png") for word in ("section", "history"))
        pictures = replace(pictures, cross_section=section, history=history)
    _check_together(pictures)
    result = load(kept)
    if isinstance(result, ScanResult):
        ways = _ways_of_scan(result, pictures)
        result = result.record
    else:
        ways = _ways(result, pictures)
    if pictures.film is not None:
        _check_film(result, pictures.film, kept)
    files = Files()
    for option in ("cross_section", "history", "top_view"):
        files.check(option, getattr(pictures, option), "picture")
    for path, way in ways:
        with stopped(f"{path} was not drawn."):
            files.keep(path, way)


def temperatures_of(text: str, where: str = "contours") -> tuple[float, ...]:
    """Temperatures [K] in a list such as "60, 100, 300 degC": the last unit holds where one has none.

    Raises InputError for anything else.
    """
    parts = [part.strip() for part in text.split(",")]
    number = _NUMBER.match(parts[-1])
    unit = parts[-1][number.end() :] if number else ""
    written = [f"{part} {unit}" if unit and _NUMBER.fullmatch(part) else part for part in parts]
    return tuple(units.parse(part, "K", where=where, example=_CONTOURS) for part in written)


def _check_together(pictures: Pictures) -> None:
    """Raise InputError for options that mean nothing without another."""
    if pictures.contours is not None and pictures.cross_section is None:
        raise lone("contours", "--cross-section", "Add it.")
    if pictures.at is not None and pictures.cross_section is None and pictures.top_view is None:
        raise lone("at", "--cross-section or --top-view", "Add one.")


def _check_film(result: Result, path: Path, kept: Path) -> None:
    from spotdwell.films.file import check_frames, film_format

    film_format(path)
    check_frames(result, str(kept))
    check_writable(path)


def _ways_of_scan(result: ScanResult, pictures: Pictures) -> list[tuple[Path, Callable[[Path], None]]]:
    """How each wanted file of a scan is drawn. Raises InputError for what shows a beam at rest."""
    for option in ("top_view", "contours", "at"):
        if getattr(pictures, option) is not None:
            advice = "Leave it out: the section of a scan shows the depth from above, too."
            raise InputError(option, "a shot of a beam at rest", "a scan", advice)
    sheet = sheet_of(pictures.size)
    possible: list[tuple[Path | None, Callable[[Path], None]]] = [
        (pictures.cross_section, result.plot),
        (pictures.history, lambda path: plots.history(result.record, path, sheet)),
        (pictures.film, lambda path: draw_film(result.record, path, pictures.quiet)),
    ]
    return [(path, way) for path, way in possible if path is not None]


def _ways(result: Result, pictures: Pictures) -> list[tuple[Path, Callable[[Path], None]]]:
    """How each wanted file is drawn. Raises InputError for what this result cannot show."""
    from spotdwell.output.pictures.contours import state_at

    sheet = sheet_of(pictures.size)
    levels = () if pictures.contours is None else temperatures_of(pictures.contours)
    time = None if pictures.at is None else units.parse(pictures.at, "s", where="at", example="80 ms")
    state = None if time is None else state_at(result, time)
    possible: list[tuple[Path | None, Callable[[Path], None]]] = [
        (pictures.cross_section, lambda path: plots.cross_section(result, path, sheet, levels, state)),
        (pictures.history, lambda path: plots.history(result, path, sheet)),
        (pictures.top_view, lambda path: plots.top_view(result, path, sheet, state)),
        (pictures.film, lambda path: draw_film(result, path, pictures.quiet)),
    ]
    return [(path, way) for path, way in possible if path is not None]
