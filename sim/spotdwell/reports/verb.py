"""The verb `report`: a run on one page."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from spotdwell.base.errors import InputError
from spotdwell.console import options as o
from spotdwell.console.screen import mention

if TYPE_CHECKING:
    from spotdwell.output.result import Result
    from spotdwell.scans.result import ScanResult
    from spotdwell.spread.run import Uncertainty


def report_verb(
    run: Annotated[
        str, typer.Argument(metavar="RUN", help="File that a run wrote, or a scenario to run first.")
    ],
    html: Annotated[Path | None, o.option(None, "FILE", "The page for a browser.")] = None,
    pdf: Annotated[Path | None, o.option(None, "FILE", "A4, with the material sources behind it.")] = None,
    samples: o.Samples = None,
    seed: o.Seed = None,
    workers: o.Workers = None,
    quiet: o.Quiet = False,
) -> None:
    """Write what a run found, why, and on what it rests; without a file to write, both beside the input.

    Example: spotdwell report spot.h5 --html spot.html --pdf spot.pdf

    With intervals: spotdwell report spot --uncertainty 64
    """
    write(run, Outputs(html, pdf, samples, seed, workers, quiet))


@dataclass(frozen=True)
class Outputs:
    """What the user wants of a report."""

    html: Path | None = None
    pdf: Path | None = None
    samples: int | None = None
    """Samples for the intervals; None for no intervals."""
    seed: int | None = None
    workers: int | None = None
    quiet: bool = False


def write(run: str, outputs: Outputs) -> None:
    """Write the report of the result file or scenario `run`; both files beside it where none is named.

    Raises InputError for what is neither, for a wrong file name or for samples of a kept result, RunError for
    a run that failed or a file that cannot be written, and Interrupted.
    """
    import spotdwell
    from spotdwell.console.saving import Files, stopped
    from spotdwell.spread.shown import check_samples

    if outputs.html is None and outputs.pdf is None:
        base = Path(run) if Path(run).is_file() else Path(Path(run).name)
        outputs = replace(outputs, html=base.with_suffix(".html"), pdf=base.with_suffix(".pdf"))
    files = Files(outputs.quiet)
    files.check("html", outputs.html, "html")
    files.check("pdf", outputs.pdf, "pdf")
    check_samples(None, outputs.samples, outputs.seed, outputs.workers)
    with stopped("the report was not written, or not all of it."):
        result, study = _found(run, outputs)
        if not outputs.quiet:
            mention("Setting the report ...")
        spotdwell.report(result, outputs.html, outputs.pdf, study)
    for path in files.expected:
        files.tell(f"Saved {path}")


def _found(run: str, outputs: Outputs) -> tuple[Result | ScanResult, Uncertainty | None]:
    """The result to report, and its uncertainty if asked for."""
    if _is_kept(Path(run)):
        from spotdwell.scans.kept import load

        if outputs.samples is not None:
            advice = "Name the scenario that the result came from."
            raise InputError("samples", "a scenario, which can be run again", run, advice)
        return load(run), None
    from spotdwell import pipeline
    from spotdwell.console.progress import Watch
    from spotdwell.inputs.read import scenario_named
    from spotdwell.spread.shown import check_samples, sampled

    scenario = scenario_named(run)
    if scenario.scan is not None:
        from spotdwell.scans.run import scanned

        if outputs.samples is not None:
            raise InputError("samples", "a shot: scans have no intervals", run, "Leave it out.")
        with Watch(outputs.quiet) as watch:
            return scanned(scenario, watch.see), None
    check_samples(scenario, outputs.samples, outputs.seed, outputs.workers)
    with Watch(outputs.quiet) as watch:
        result = pipeline.run(scenario, watch.see)
    return result, sampled(scenario, outputs.samples, outputs.seed, outputs.workers, outputs.quiet)


def _is_kept(path: Path) -> bool:
    """Whether `path` is meant as a kept result: by its suffix, or by how it begins."""
    from spotdwell.console.saving import SUFFIXES
    from spotdwell.output.sealed import begins_as_hdf5

    return path.suffix.lower() in SUFFIXES["h5"] or begins_as_hdf5(path)
