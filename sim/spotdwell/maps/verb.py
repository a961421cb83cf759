"""The verb `map`: a shot over ranges of one or more of its settings."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

from spotdwell.base.settings import OUTPUT, SETTINGS
from spotdwell.console import options as o

_MAP = "Map"
Over = Annotated[
    list[str] | None,
    o.option(
        _MAP,
        '"power: 5 W to 40 W, 20"',
        "An input, its ends and how many values, then log if so spaced; or a list. Twice or more.",
    ),
]
Base = Annotated[
    str | None,
    o.option(_MAP, "SCENARIO", "Base: a file or a shipped name, in place of the options below.", "--from"),
]
Equal = Annotated[
    str | None, o.option(_MAP, "WORD", "Give all points the first one's average-power, or energy.")
]
Intervals = Annotated[
    bool,
    o.option(_MAP, None, "With 90 % intervals and odds of verdicts: 2 to 10 times the time.", "--intervals"),
]
Depth = Annotated[str | None, o.option(_MAP, '"300 um"', "Find the cleanest setting for it.")]
Cluster = Annotated[str | None, o.option(_MAP, "ADDRESS", "Of a dask scheduler whose workers compute.")]
Workers = Annotated[int | None, o.option(_MAP, "NUMBER", "Processes; one a core if left out.")]
Yes = Annotated[bool, o.option(_MAP, None, "Compute it however many points it has.", "--yes")]
Material = Annotated[str | None, o.option(None, "MATERIAL", SETTINGS["material"].help, "--on")]
Table = Annotated[Path | None, o.option(OUTPUT, "FILE.csv", "Write every point, in SI.")]
Out = Annotated[Path | None, o.option(OUTPUT, "FILE.h5", "Keep the map; if it is there, go on with it.")]
Picture = Annotated[Path | None, o.option(OUTPUT, "FILE.png", "Draw regions and contours; or svg, pdf.")]


@o.takes_all_but()
def map_verb(
    over: Over = None,
    scenario: Base = None,
    material: Material = None,
    equal: Equal = None,
    intervals: Intervals = False,
    depth: Depth = None,
    table: Table = None,
    out: Out = None,
    picture: Picture = None,
    cluster: Cluster = None,
    workers: Workers = None,
    yes: Yes = False,
    as_json: o.Json = False,
    quiet: o.Quiet = False,
    **settings: Any,
) -> None:
    """Map what shots do over ranges of one or more settings, and find the cleanest one for a depth.

    Example: spotdwell map --on skin --spot "0.6 mm" --over "power: 5 W to 40 W, 10" --over
    "dwell: 1 ms to 0.2 s, 10, log" --depth "300 um" --picture map.png

    --over takes power, spot, dwell, pulse_duration, repetition_rate, peak_power, wavelength, count, pause
    and material; from a scenario with a scan power, spot, wavelength, material, speed, spacing, passes and
    line_pause.
    """
    from spotdwell.maps.plan import map_plan
    from spotdwell.maps.shown import MapOptions, base_of, carry_out

    base = base_of(scenario, {"material": material, **settings})
    plan = map_plan(base, *(over or ()), workers=workers, equal=equal, intervals=intervals)
    carry_out(plan, MapOptions(depth, table, picture, out, cluster, workers, yes, quiet, as_json))
