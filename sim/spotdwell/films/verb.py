"""The verb `film`: solve a scenario and show how it went."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spotdwell.console import options as o


def film_verb(
    scenario: o.Scenario,
    out: Annotated[Path, o.option(None, "FILE.gif", "The film; mp4 needs ffmpeg.", "--out")],
    frames: Annotated[
        int, typer.Option(metavar="NUMBER", min=4, max=400, help="Frames of the exposure.")
    ] = 48,
    quiet: Annotated[bool, o.option(None, None, "Print no progress.", "--quiet")] = False,
) -> None:
    """Solve a scenario and film it: zones, temperatures, power and depth until all is cool; a scan, too.

    Example: spotdwell film spot --out spot.gif
    """
    from spotdwell.films.shown import make
    from spotdwell.pipeline import scenario_at_path

    found = scenario_at_path(scenario)
    if found.scan is not None:
        from spotdwell.films.scan_film import make_scan

        make_scan(found, out, frames, quiet)
    else:
        make(found, out, frames, quiet)
