"""The verbs `run`, `shot` and `plot`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from spotdwell.console import options as o


def run_verb(
    scenario: o.Started,
    values: o.Values = None,
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    check_grid: o.CheckGrid = False,
    sensitivity: o.Sensitivity = False,
    samples: o.Samples = None,
    seed: o.Seed = None,
    workers: o.Workers = None,
    quiet: o.Quiet = False,
) -> None:
    """Solve a scenario and show what became of the target.

    Example: spotdwell run spot --out spot.h5 --picture spot.png
    """
    from spotdwell.inputs.read import with_values
    from spotdwell.pipeline import scenario_at_path
    from spotdwell.shots.run import Outputs, carry_out

    outputs = Outputs(out, picture, as_json, check_grid, sensitivity, quiet, samples, seed, workers)
    carry_out(with_values(scenario_at_path(scenario), o.values_in(values)), outputs)


@o.takes_all_but()
def shot_verb(
    material: o.Material,
    values: o.Values = None,
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    check_grid: o.CheckGrid = False,
    sensitivity: o.Sensitivity = False,
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
    from spotdwell.inputs.read import with_values
    from spotdwell.inputs.shot import scenario_of_shot
    from spotdwell.shots.run import Outputs, carry_out

    outputs = Outputs(out, picture, as_json, check_grid, sensitivity, quiet, samples, seed, workers)
    carry_out(with_values(scenario_of_shot(material, **settings), o.values_in(values)), outputs)


def plot_verb(
    result: Annotated[Path, typer.Argument(metavar="RESULT.h5", help="File that a run wrote.")],
    cross_section: Annotated[
        Path | None, o.option(None, "FILE", "Section through the axis, or across a scan: png, svg or pdf.")
    ] = None,
    history: Annotated[
        Path | None, o.option(None, "FILE", "Power, temperature and depth against time.")
    ] = None,
    top_view: Annotated[Path | None, o.option(None, "FILE", "From above, as under a microscope.")] = None,
    film: Annotated[
        Path | None, o.option(None, "FILE.gif", "The saved moments as a film: gif or mp4.")
    ] = None,
    contours: Annotated[
        str | None, o.option(None, '"60, 100 degC"', "Lines of equal temperature in the section.")
    ] = None,
    at: Annotated[
        str | None, o.option(None, '"80 ms"', "Saved moment to draw; with contours the hottest.", "--at")
    ] = None,
    size: Annotated[str, o.option(None, "WORD", "column (85 mm), page (170 mm) or slide.")] = "page",
    quiet: Annotated[bool, o.option(None, None, "Print no progress.", "--quiet")] = False,
) -> None:
    """Draw a kept result; without a file to draw, its section and history as png beside it.

    Example: spotdwell plot spot.h5 --cross-section spot.svg --top-view above.png
    """
    from spotdwell.shots.pictures import Pictures, draw

    draw(result, Pictures(cross_section, history, top_view, film, contours, at, size, quiet))
