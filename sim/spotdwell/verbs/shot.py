"""The verb `shot`: one shot, or a train of them, given by options."""

from __future__ import annotations

from typing import Any

from spotdwell.terminal import options as o
from spotdwell.verbs.settings import with_settings


@with_settings()
def shot(
    on: o.On,
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    check_grid: o.CheckGrid = False,
    uncertainty: o.Uncertainty = None,
    seed: o.Seed = None,
    workers: o.Workers = None,
    quiet: o.Quiet = False,
    **settings: Any,
) -> None:
    """Solve one shot, or a train of them, given by options: quantities with their units, in quotes.

    Example: spotdwell shot --on skin --power "4 W" --spot "0.6 mm" --dwell "10 ms"

    A train: add --count 10 --pause "90 ms"
    """
    from spotdwell.terminal.job import Wanted, carry_out
    from spotdwell.terminal.typed_shot import scenario_of_typed

    wanted = Wanted(out, picture, as_json, check_grid, quiet, uncertainty, seed, workers)
    carry_out(scenario_of_typed(on, settings), wanted)
