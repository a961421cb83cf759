"""The verb `selfcheck`: the solver against closed forms, and the report of all evidence."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spotdwell.console import options as o


def selfcheck_verb(
    names: Annotated[list[str] | None, typer.Argument(metavar="[NAMES]...", help="Only these.")] = None,
    full: Annotated[bool, o.option(None, None, "Write a report with all evidence.", "--full")] = False,
    out: Annotated[
        Path | None, o.option(None, "FOLDER", "For the report; ./credibility if left out.")
    ] = None,
) -> None:
    """Compare the solver with closed forms: claimed and computed values, error and tolerance.

    Example: spotdwell selfcheck surface-flux

    A report with all evidence, in a few minutes: spotdwell selfcheck --full --out evidence
    """
    from spotdwell.evidence.shown import check_in_full, check_self, refuse_mixture

    refuse_mixture(names, full, out)
    if not (check_in_full(out) if full else check_self(names or None)):
        raise typer.Exit(1)
