"""The verb `spot`: what a lens makes of a beam, and how far off focus a wanted spot lies."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from spotdwell.console import options as o

_LENS, _SURFACE, _OUTPUT = "Lens and beam", "Work surface", "Output"


def spot_verb(
    focal_length: Annotated[str | None, o.option(_LENS, '"125 mm"', "Of the lens.")] = None,
    input_diameter: Annotated[
        str | None, o.option(_LENS, '"10 mm"', "1/e2 diameter of the beam on the lens.")
    ] = None,
    beam_quality: Annotated[
        float | None, o.option(_LENS, "NUMBER", "M2, the beam propagation ratio; 1 if left out.")
    ] = None,
    wavelength: Annotated[str | None, o.option(_LENS, '"10.6 um"', "10.6 um if left out.")] = None,
    power: Annotated[str | None, o.option(_SURFACE, '"25 W"', "On the target, for irradiances.")] = None,
    defocus: Annotated[
        str | None,
        o.option(_SURFACE, '"4 mm"', "Of the surface beyond the waist; negative if nearer the lens."),
    ] = None,
    wanted: Annotated[
        str | None, o.option(_SURFACE, '"1.6 mm"', "Spot for which to find the defocus.")
    ] = None,
    picture: Annotated[Path | None, o.option(_OUTPUT, "FILE.png", "Draw the caustic; or svg, pdf.")] = None,
    as_json: o.Json = False,
) -> None:
    """Work out the spot behind a lens: waist, depth of focus, diameter and irradiance off focus.

    Example: spotdwell spot --focal-length "125 mm" --input-diameter "10 mm" --power "25 W" --wanted "1.6 mm"
    """
    from spotdwell.spots.run import lens_of, spot_behind
    from spotdwell.spots.shown import show

    lens = lens_of(
        focal_length=focal_length,
        input_diameter=input_diameter,
        beam_quality=beam_quality,
        wavelength=wavelength,
        power=power,
        defocus=defocus,
        wanted=wanted,
    )
    show(spot_behind(lens), as_json, picture)
