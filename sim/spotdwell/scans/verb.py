"""The verb `scan`: what a pattern of lines or points leaves under a moving beam."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from spotdwell.console import options as o

_PATTERN = "Pattern"

Name = Annotated[
    str | None, typer.Argument(metavar="[SCENARIO]", help="Path, kept scan or shipped name; else options.")
]
On = Annotated[str | None, o.option(None, "MATERIAL", "Shipped material, or a .toml file.", "--on")]
Way = Annotated[str | None, o.option(_PATTERN, "WORD", "back and forth, one way, points or spiral.")]
Length = Annotated[str | None, o.option(_PATTERN, '"8 mm"', "Of the area along the lines; of a spiral.")]
Width = Annotated[str | None, o.option(_PATTERN, '"8 mm"', "Across the lines; as the length if left out.")]
Spacing = Annotated[str | None, o.option(_PATTERN, '"0.1 mm"', "Between lines, points or turns.")]
Speed = Annotated[str | None, o.option(_PATTERN, '"400 mm/s"', "Of the beam; not for points.")]
Dwell = Annotated[str | None, o.option(_PATTERN, '"1 ms"', "At each point.")]
Passes = Annotated[int | None, o.option(_PATTERN, "NUMBER", "Over the whole area.")]
Turned = Annotated[bool, o.option(_PATTERN, None, "Turn every second pass by 90 degrees.", "--turned")]
LinePause = Annotated[str | None, o.option(_PATTERN, '"10 ms"', "Beam off between lines or points.")]
PassPause = Annotated[str | None, o.option(_PATTERN, '"1 s"', "Beam off between passes.")]
Model = Annotated[str | None, o.option(_PATTERN, "WORD", "slice or block; chosen if left out.")]
Coagulation = Annotated[str | None, o.option("Limits", '"100 um"', "Most coagulated below floor and edge.")]

Corner = Annotated[str | None, o.option("Output", '"1 mm"', "Solve the area's corner as a block, too.")]


AtRest = Annotated[
    bool,
    o.option("Output", None, "Solve the corner with spots at rest, too: equal energy and time.", "--at-rest"),
]


@o.takes_all_but("material", "dwell", "count", "pause", "save_times", "geometry")
def scan_verb(
    scenario: Name = None,
    material: On = None,
    way: Way = None,
    length: Length = None,
    width: Width = None,
    spacing: Spacing = None,
    speed: Speed = None,
    dwell: Dwell = None,
    passes: Passes = None,
    turned: Turned = False,
    line_pause: LinePause = None,
    pass_pause: PassPause = None,
    model: Model = None,
    coagulation_limit: Coagulation = None,
    corner: Corner = None,
    at_rest: AtRest = False,
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    quiet: o.Quiet = False,
    **settings: Any,
) -> None:
    """Solve a whole pattern under a moving beam: depth, layers, heat that builds up, time.

    Example: spotdwell scan --on soft_tissue --power "30 W" --spot "0.2 mm" --length "8 mm"
    --spacing "0.1 mm" --speed "465 mm/s" --coagulation-limit "100 um" --picture scan.png
    """
    from spotdwell.scans.request import asked_scenario
    from spotdwell.scans.shown import carry_out

    table = {
        "way": way,
        "length": length,
        "width": width,
        "spacing": spacing,
        "speed": speed,
        "dwell": dwell,
        "passes": passes,
        "turned": turned or None,
        "line_pause": line_pause,
        "pass_pause": pass_pause,
        "model": model,
        "coagulation_limit": coagulation_limit,
    }
    asked = asked_scenario(scenario, material, table, settings)
    carry_out(asked, out, picture, as_json, quiet, corner, at_rest)
