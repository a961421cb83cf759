"""The verb `map`: a shot over ranges of two or more of its settings."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from spotdwell.terminal import options as o
from spotdwell.verbs.settings import with_settings

_MAP = "Map"
Over = Annotated[
    list[str] | None,
    typer.Option(
        "--over",
        metavar='"power: 5 W to 40 W, 20"',
        help="An input, its ends and how many values, then log if so spaced; or a list. Twice or more.",
        rich_help_panel=_MAP,
    ),
]
From = Annotated[
    str | None,
    typer.Option(
        "--from",
        metavar="SCENARIO",
        help="Base: a file or a shipped name, in place of the options below.",
        rich_help_panel=_MAP,
    ),
]
Depth = Annotated[
    str | None,
    typer.Option(metavar='"300 um"', help="Find the cleanest setting for it.", rich_help_panel=_MAP),
]
Cluster = Annotated[
    str | None,
    typer.Option(metavar="ADDRESS", help="Of a dask scheduler whose workers compute.", rich_help_panel=_MAP),
]
Workers = Annotated[
    int | None,
    typer.Option(metavar="NUMBER", help="Processes; one a core if left out.", rich_help_panel=_MAP),
]
Yes = Annotated[
    bool, typer.Option("--yes", help="Compute it however many points it has.", rich_help_panel=_MAP)
]
On = Annotated[
    str | None, typer.Option("--on", metavar="MATERIAL", help="Shipped material, or a .toml file.")
]
Table = Annotated[
    Path | None,
    typer.Option(metavar="FILE.csv", help="Write every point, in SI.", rich_help_panel="Output"),
]
Out = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE.h5", help="Keep the map; if it is there, go on with it.", rich_help_panel="Output"
    ),
]
Picture = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE.png", help="Draw regions and contours; or svg, pdf.", rich_help_panel="Output"
    ),
]


@with_settings()
def map_shots(
    over: Over = None,
    from_scenario: From = None,
    on: On = None,
    depth: Depth = None,
    table: Table = None,
    out: Out = None,
    picture: Picture = None,
    cluster: Cluster = None,
    workers: Workers = None,
    yes: Yes = False,
    quiet: o.Quiet = False,
    **settings: Any,
) -> None:
    """Map what shots do over ranges of two or more settings, and find the cleanest one for a depth.

    Example: spotdwell map --on skin --spot "0.6 mm" --over "power: 5 W to 40 W, 10" --over
    "dwell: 1 ms to 0.2 s, 10, log" --depth "300 um" --picture map.png

    --over takes power, spot, dwell, pulse_duration, repetition_rate, peak_power, wavelength, count, pause
    and material.
    """
    from spotdwell.terminal.map import MapWanted, carry_out_map
    from spotdwell.terminal.typed_map import plan_of_typed

    wanted = MapWanted(depth, table, picture, out, cluster, workers, yes, quiet)
    plan = plan_of_typed(over or [], from_scenario, {"on": on, **settings}, workers)
    carry_out_map(plan, wanted)
