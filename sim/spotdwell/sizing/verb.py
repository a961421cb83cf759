"""The verb `size`: the power, spot or dwell for a wanted depth, or the dwell of a scanner."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from spotdwell.console import options as o

_GOAL = "What is wanted"

Depth = Annotated[str | None, o.option(_GOAL, '"300 um"', "Depth to remove.")]
Clean = Annotated[bool, o.option(_GOAL, None, "Find the range that is clean, whatever its depth.", "--clean")]
Scan = Annotated[bool, o.option(_GOAL, None, "Find the longest dwell of a scanned spot.", "--scan")]
Coagulation = Annotated[
    str | None, o.option(_GOAL, '"100 um"', "Thickest coagulated layer at floor and wall.")
]
AtLeast = Annotated[str | None, o.option(_GOAL, "QUANTITY", "Least of what is sought.")]
AtMost = Annotated[str | None, o.option(_GOAL, "QUANTITY", "Most of what is sought.")]
Ripple = Annotated[float | None, o.option(_GOAL, "SHARE", "Most unevenness across scan lines, such as 0.05.")]


@o.takes_all_but("end_time", "save_times", "geometry")
def size_verb(
    material: o.Material,
    depth: Depth = None,
    clean: Clean = False,
    scan: Scan = False,
    coagulation_limit: Coagulation = None,
    at_least: AtLeast = None,
    at_most: AtMost = None,
    ripple: Ripple = None,
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    quiet: o.Quiet = False,
    **settings: Any,
) -> None:
    """Find the one of --power, --spot and --dwell that is left out, so that the shot removes --depth.

    Example: spotdwell size --on soft_tissue --power "20 W" --dwell "20 ms" --depth "300 um"

    The spots that are clean at all, and the cleanest: leave --depth out and add --clean

    A scanner's dwell, speed and line spacing: --scan --power "20 W" --spot "0.3 mm" --char-limit "20 um"
    """
    from spotdwell.sizing.shown import carry_out, carry_out_clean, clean_of, scan_of, size_of

    bounds = {"coagulation_limit": coagulation_limit, "at_least": at_least, "at_most": at_most}
    outputs = (out, picture, as_json, quiet)
    if clean:
        others = {
            "depth": depth,
            "scan": scan or None,
            "ripple": ripple,
            "coagulation_limit": coagulation_limit,
        }
        if not carry_out_clean(clean_of(material, others, bounds | settings), *outputs):
            raise typer.Exit(1)
        return
    if scan:
        find = scan_of(material, depth, ripple, {**bounds, **settings})
    else:
        find = size_of(material, depth, ripple, {**bounds, **settings})
    if not carry_out(find, *outputs):
        raise typer.Exit(1)
