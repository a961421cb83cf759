"""The verb `size`: the power, spot or dwell for a wanted depth, or the fastest pattern of a scanner."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from spotdwell.console import options as o

_GOAL, _SCAN = "What is wanted", "With --scan"

Depth = Annotated[str | None, o.option(_GOAL, '"300 um"', "Depth to remove.")]
Clean = Annotated[bool, o.option(_GOAL, None, "Find the range that is clean, whatever its depth.", "--clean")]
Scan = Annotated[bool, o.option(_GOAL, None, "Find the fastest pattern of lines.", "--scan")]
Coagulation = Annotated[
    str | None, o.option(_GOAL, '"100 um"', "Thickest coagulated layer at floor and wall.")
]
AtLeast = Annotated[str | None, o.option(_GOAL, "QUANTITY", "Least of what is sought.")]
AtMost = Annotated[str | None, o.option(_GOAL, "QUANTITY", "Most of what is sought.")]
Ripple = Annotated[float | None, o.option(_SCAN, "SHARE", "Most unevenness of the depth, such as 0.1.")]
Length = Annotated[str | None, o.option(_SCAN, '"8 mm"', "Of the area along the lines.")]
Width = Annotated[str | None, o.option(_SCAN, '"8 mm"', "Across them; as the length if left out.")]
SlowestSpeed = Annotated[str | None, o.option(_SCAN, '"50 mm/s"', "Least speed of the scanner.")]
FastestSpeed = Annotated[str | None, o.option(_SCAN, '"2 m/s"', "Most speed of the scanner.")]


@o.takes_all_but("end_time", "save_times", "geometry")
def size_verb(
    material: o.Material,
    depth: Depth = None,
    clean: Clean = False,
    scan: Scan = False,
    coagulation_limit: Coagulation = None,
    at_least: AtLeast = None,
    at_most: AtMost = None,
    length: Length = None,
    width: Width = None,
    least_speed: SlowestSpeed = None,
    most_speed: FastestSpeed = None,
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

    A scanner's speed, spacing and passes: --scan --power "30 W" --spot "0.2 mm" --length "8 mm"
    --depth "300 um" --coagulation-limit "150 um"
    """
    outputs = (out, picture, as_json, quiet)
    area: dict[str, Any] = {
        "length": length,
        "width": width,
        "least_speed": least_speed,
        "most_speed": most_speed,
        "ripple": ripple,
    }
    bounds = {"coagulation_limit": coagulation_limit, "at_least": at_least, "at_most": at_most}
    if clean:
        from spotdwell.sizing.shown import carry_out_clean, clean_of

        others = {"depth": depth, "scan": scan or None, "coagulation_limit": coagulation_limit, **area}
        if not carry_out_clean(clean_of(material, others, bounds | settings), *outputs):
            raise typer.Exit(1)
        return
    if scan:
        from spotdwell.scans.shown_fastest import carry_out_fastest, fastest_of

        one = {"dwell": settings.pop("dwell"), "at_least": at_least, "at_most": at_most}
        given = {"depth": depth, "coagulation_limit": coagulation_limit, **area, **settings}
        found = carry_out_fastest(fastest_of(material, one, given), *outputs)
    else:
        from spotdwell.sizing.shown import carry_out, check_alone, size_of

        check_alone(area)
        found = carry_out(size_of(material, depth, {**bounds, **settings}), *outputs)
    if not found:
        raise typer.Exit(1)
