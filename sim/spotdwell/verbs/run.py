"""The verb `run`: solve a scenario file."""

from __future__ import annotations

from spotdwell.console import options as o


def run(
    scenario: o.Scenario,
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    check_grid: o.CheckGrid = False,
    samples: o.Samples = None,
    seed: o.Seed = None,
    workers: o.Workers = None,
    quiet: o.Quiet = False,
) -> None:
    """Solve a scenario and show what became of the target.

    Example: spotdwell run spot --out spot.h5 --picture spot.png
    """
    from spotdwell.inputs.read import scenario_named
    from spotdwell.terminal.run import Outputs, carry_out

    outputs = Outputs(out, picture, as_json, check_grid, quiet, samples, seed, workers)
    carry_out(scenario_named(scenario), outputs)
