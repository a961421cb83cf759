"""The report of a run: from a kept result, or from a scenario that is solved first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from spotdwell.base.errors import InputError
from spotdwell.console.progress import Watch
from spotdwell.console.saving import SUFFIXES, Files, stopped
from spotdwell.console.screen import mention
from spotdwell.inputs.read import scenario_named
from spotdwell.terminal.uncertainty import check_samples, sampled

if TYPE_CHECKING:
    from spotdwell.output.result import Result
    from spotdwell.study.spread.uncertainty import Uncertainty

_SIGNATURE = b"\x89HDF\r\n\x1a\n"
"""First bytes of an HDF5 file."""


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
    from spotdwell.study.reports.run_report import report_of, write_report

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
        write_report(report_of(result, study), outputs.html, outputs.pdf)
    for path in files.expected:
        files.tell(f"Saved {path}")


def _found(run: str, outputs: Outputs) -> tuple[Result, Uncertainty | None]:
    """The result to report, and its uncertainty if asked for."""
    if _is_kept(Path(run)):
        from spotdwell.output.store import load

        if outputs.samples is not None:
            advice = "Name the scenario that the result came from."
            raise InputError("samples", "a scenario, which can be run again", run, advice)
        return load(run), None
    from spotdwell import pipeline

    scenario = scenario_named(run)
    check_samples(scenario, outputs.samples, outputs.seed, outputs.workers)
    with Watch(outputs.quiet) as watch:
        result = pipeline.run(scenario, watch.see)
    return result, sampled(scenario, outputs.samples, outputs.seed, outputs.workers, outputs.quiet)


def _is_kept(path: Path) -> bool:
    """Whether `path` is meant as a kept result: by its suffix, or by how it begins."""
    if path.suffix.lower() in SUFFIXES["h5"]:
        return True
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(_SIGNATURE)) == _SIGNATURE
