"""The verb `report`: a run on one page."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from spotdwell.base.errors import InputError
from spotdwell.terminal import options as o
from spotdwell.terminal.console import Interrupted, mention, say

if TYPE_CHECKING:
    from spotdwell.output.result import Result
    from spotdwell.study.spread.uncertainty import Uncertainty

_HTML, _PDF = (".html", ".htm"), (".pdf",)
_SIGNATURE = b"\x89HDF\r\n\x1a\n"
"""First bytes of an HDF5 file."""


def report(
    run: Annotated[
        str, typer.Argument(metavar="RUN", help="File that a run wrote, or a scenario to run first.")
    ],
    html: Annotated[Path | None, typer.Option(metavar="FILE", help="The page for a browser.")] = None,
    pdf: Annotated[
        Path | None, typer.Option(metavar="FILE", help="A4, with the material sources behind it.")
    ] = None,
    uncertainty: o.Uncertainty = None,
    seed: o.Seed = None,
    workers: o.Workers = None,
    quiet: o.Quiet = False,
) -> None:
    """Write what a run found, why, and on what it rests; without a file to write, both beside the input.

    Example: spotdwell report spot.h5 --html spot.html --pdf spot.pdf

    With intervals: spotdwell report spot --uncertainty 64
    """
    write(run, Asked(html, pdf, uncertainty, seed, workers, quiet))


@dataclass(frozen=True)
class Asked:
    """What the user wants of a report."""

    html: Path | None = None
    pdf: Path | None = None
    uncertainty: int | None = None
    """Samples for the intervals; None for no intervals."""
    seed: int | None = None
    workers: int | None = None
    quiet: bool = False

    @property
    def files(self) -> tuple[Path, ...]:
        """Files to write."""
        return tuple(path for path in (self.html, self.pdf) if path is not None)


def write(run: str, asked: Asked) -> None:
    """Write the report of the result file or scenario `run`; both files beside it where none is named.

    Raises InputError for what is neither, for a wrong file name or for samples of a kept result, RunError for
    a run that failed or a file that cannot be written, and Interrupted.
    """
    import spotdwell
    from spotdwell.terminal.uncertainty import refuse_alone

    if not asked.files:
        base = Path(run) if Path(run).is_file() else Path(Path(run).name)
        asked = replace(asked, html=base.with_suffix(_HTML[0]), pdf=base.with_suffix(_PDF[0]))
    _check_files(asked)
    refuse_alone(asked.uncertainty, asked.seed, asked.workers)
    try:
        result, study = _found(run, asked)
        if not asked.quiet:
            mention("Setting the report ...")
        spotdwell.report(result, asked.html, asked.pdf, study)
    except KeyboardInterrupt:
        raise Interrupted("Stopped: the report was not written, or not all of it.") from None
    if not asked.quiet:
        say("\n".join(f"Saved {path}" for path in asked.files))


def _found(run: str, asked: Asked) -> tuple[Result, Uncertainty | None]:
    """The result to report, and its uncertainty if asked for."""
    if _is_kept(Path(run)):
        from spotdwell.output.store import load

        if asked.uncertainty is not None:
            advice = "Name the scenario that the result came from."
            raise InputError("--uncertainty", "a scenario, which can be run again", run, advice)
        return load(run), None
    from spotdwell import pipeline
    from spotdwell.study.spread.uncertainty import check_request
    from spotdwell.terminal.job import scenario_of
    from spotdwell.terminal.uncertainty import sampled
    from spotdwell.terminal.watch import Watch

    scenario = scenario_of(run)
    if asked.uncertainty is not None:
        check_request(scenario, asked.uncertainty, asked.seed or 0, asked.workers)
    with Watch(asked.quiet) as watch:
        result = pipeline.run(scenario, watch.see)
    if asked.uncertainty is None:
        return result, None
    return result, sampled(scenario, asked.uncertainty, asked.seed, asked.workers, asked.quiet)


def _is_kept(path: Path) -> bool:
    """Whether `path` is meant as a kept result: by its suffix, or by how it begins."""
    from spotdwell.terminal.job import RESULT_SUFFIXES

    if path.suffix.lower() in RESULT_SUFFIXES:
        return True
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(_SIGNATURE)) == _SIGNATURE


def _check_files(asked: Asked) -> None:
    from spotdwell.output.whole_file import check_writable

    for option, path, suffixes in (("--html", asked.html, _HTML), ("--pdf", asked.pdf, _PDF)):
        if path is None:
            continue
        if path.suffix.lower() not in suffixes:
            advice = f"Name it {path.stem}{suffixes[0]}."
            raise InputError(option, f"a file name that ends in {suffixes[0]}", f'"{path}"', advice)
        check_writable(path)
