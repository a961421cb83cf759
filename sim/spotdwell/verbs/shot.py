"""The verb `shot`: one shot, or a train of them, given by options."""

from __future__ import annotations

from typing import Any

from spotdwell.console import options as o


@o.takes_all_but()
def shot(
    material: o.Material,
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    check_grid: o.CheckGrid = False,
    samples: o.Samples = None,
    seed: o.Seed = None,
    workers: o.Workers = None,
    quiet: o.Quiet = False,
    **settings: Any,
) -> None:
    """Solve one shot, or a train of them, given by options: quantities with their units, in quotes.

    Example: spotdwell shot --on skin --power "4 W" --spot "0.6 mm" --dwell "10 ms"

    A train: add --count 10 --pause "90 ms"
    """
    from spotdwell.inputs.shot import scenario_of_shot
    from spotdwell.terminal.run import Outputs, carry_out

    outputs = Outputs(out, picture, as_json, check_grid, quiet, samples, seed, workers)
    carry_out(scenario_of_shot(material, **settings), outputs)
