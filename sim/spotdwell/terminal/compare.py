"""Comparison of regimes carried out: solved with its progress told, shown, and kept in files."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from spotdwell.base.errors import InputError, RunError, SpotdwellError
from spotdwell.output.pictures.style import Sheet, format_of, sheet_of
from spotdwell.output.whole_file import check_writable, whole_file
from spotdwell.terminal.comparison_shown import (
    comma_separated,
    comparison_plain,
    comparison_text,
    draw_picture,
)
from spotdwell.terminal.console import SAFETY, Interrupted, complain, mention, say, text_of
from spotdwell.terminal.count import Count
from spotdwell.terminal.watch import COMPILING, kernels_compiled

if TYPE_CHECKING:
    from spotdwell.study.regimes.comparison import CompareOptions, Comparison


@dataclass(frozen=True)
class Wanted:
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


@dataclass(frozen=True)
class Request:
    """What is to be compared, as it was typed."""

    material: str
    spot: str | None
    regimes: tuple[str, ...]
    equal: str
    workers: int | None
    options: CompareOptions


def carry_out(request: Request, wanted: Wanted) -> None:
    """Solve all regimes, print what differs and write the wanted files.

    Raises SpotdwellError; a file that could not be written is told of before anything is solved.
    """
    sheet = _check_files(wanted)
    kept: list[Path] = []
    try:
        found = _compared(request, wanted.quiet)
        failures = list(_failures(found, wanted, sheet, kept))
    except KeyboardInterrupt:
        text = f"only {', '.join(map(str, kept))} was saved" if kept else "nothing was saved"
        raise Interrupted(f"Stopped: {text}.") from None
    for failure in failures[1:]:
        complain(failure)
    if failures:
        raise failures[0]


def _check_files(wanted: Wanted) -> Sheet:
    """The sheet of the picture. Raises InputError or RunError for an output that could not be written."""
    if wanted.picture is not None:
        try:
            format_of(wanted.picture)
        except InputError as error:
            raise InputError("--picture", error.expected, f'"{wanted.picture}"', error.advice) from None
        check_writable(wanted.picture)
    if wanted.table is not None:
        if wanted.table.suffix.lower() != ".csv":
            advice = f"Name it {wanted.table.stem}.csv."
            raise InputError("--table", "a file name that ends in .csv", f'"{wanted.table}"', advice)
        check_writable(wanted.table)
    if wanted.out is not None:
        _make_folder(wanted.out)
    return sheet_of(wanted.size)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        advice = "Choose another, or create the folder above it"
        raise RunError(f"{folder}: cannot be used as a folder: {error.strerror}. {advice}") from error
    check_writable(folder / "1.h5")


def _compared(request: Request, quiet: bool) -> Comparison:
    from spotdwell.study.regimes.comparison import compare

    if not quiet and not kernels_compiled():
        mention(COMPILING)
    if not quiet:
        mention("Solving the regimes ...")
    try:
        with Count(quiet, "regimes") as count:
            return compare(
                request.material,
                request.spot,
                request.regimes,
                request.equal,
                request.workers,
                count.see,
                **request.options,
            )
    except InputError as error:
        where = "--on" if error.where == "material" else error.where
        raise InputError(where, error.expected, error.got, error.advice) from None


def _failures(found: Comparison, wanted: Wanted, sheet: Sheet, kept: list[Path]) -> Iterator[SpotdwellError]:
    """Show and keep all that is wanted; yields what failed, so that a full disk costs one of them only."""
    writers: list[tuple[Path | None, Callable[[Path], None]]] = [
        (wanted.picture, lambda path: draw_picture(found, path, sheet)),
        (wanted.table, lambda path: _write_text(path, comma_separated(found))),
    ]
    if wanted.out is not None:
        writers += [
            (wanted.out / f"{number}_{_file_stem(run.name)}.h5", run.result.save)
            for number, run in enumerate(found.runs, 1)
        ]
    _show(found, wanted)
    for path, write in writers:
        if path is None:
            continue
        try:
            write(path)
        except SpotdwellError as error:
            yield error
            continue
        kept.append(path)
        if not wanted.quiet:
            (mention if wanted.as_json else say)(f"Saved {path}")


def _file_stem(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")


def _write_text(path: Path, text: str) -> None:
    with whole_file(path) as temporary:
        temporary.write_text(text, encoding="utf-8")


def _show(found: Comparison, wanted: Wanted) -> None:
    if wanted.as_json:
        say(json.dumps(comparison_plain(found), indent=2, allow_nan=False))
    elif wanted.quiet:
        say(found.sentence)
    else:
        say(text_of(*comparison_text(found), "", SAFETY))
