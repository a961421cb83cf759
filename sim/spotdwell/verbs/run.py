"""The verb `run`: solve a scenario file."""

from __future__ import annotations

from typing import Annotated

import typer

from spotdwell.terminal import options as o


def run(
    scenario: Annotated[str, typer.Argument(metavar="SCENARIO", help="Path of a file, or a shipped name.")],
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    check_grid: o.CheckGrid = False,
    uncertainty: o.Uncertainty = None,
    seed: o.Seed = None,
    workers: o.Workers = None,
    quiet: o.Quiet = False,
) -> None:
    """Solve a scenario and show what became of the target.

    Example: spotdwell run spot --out spot.h5 --picture spot.png
    """
    from spotdwell.terminal.job import Wanted, carry_out, scenario_of

    wanted = Wanted(out, picture, as_json, check_grid, quiet, uncertainty, seed, workers)
    carry_out(scenario_of(scenario), wanted)
