"""The verb `report`: a run on one page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spotdwell.console import options as o


def report(
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
    from spotdwell.terminal.report import Outputs, write

    write(run, Outputs(html, pdf, samples, seed, workers, quiet))
