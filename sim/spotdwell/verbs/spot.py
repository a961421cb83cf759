"""The verb `spot`: what a lens makes of a beam, and how far off focus a wanted spot lies."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

_LENS, _SURFACE, _OUTPUT = "Lens and beam", "Work surface", "Output"


def spot(
    focal_length: Annotated[
        str | None, typer.Option(metavar='"125 mm"', help="Of the lens.", rich_help_panel=_LENS)
    ] = None,
    input_diameter: Annotated[
        str | None,
        typer.Option(metavar='"10 mm"', help="1/e2 diameter of the beam on the lens.", rich_help_panel=_LENS),
    ] = None,
    beam_quality: Annotated[
        float | None,
        typer.Option(
            metavar="NUMBER", help="M2, the beam propagation ratio; 1 if left out.", rich_help_panel=_LENS
        ),
    ] = None,
    wavelength: Annotated[
        str | None, typer.Option(metavar='"10.6 um"', help="10.6 um if left out.", rich_help_panel=_LENS)
    ] = None,
    power: Annotated[
        str | None,
        typer.Option(metavar='"25 W"', help="On the target, for irradiances.", rich_help_panel=_SURFACE),
    ] = None,
    defocus: Annotated[
        str | None,
        typer.Option(
            metavar='"4 mm"',
            help="Of the surface beyond the waist; negative if nearer the lens.",
            rich_help_panel=_SURFACE,
        ),
    ] = None,
    wanted: Annotated[
        str | None,
        typer.Option(
            metavar='"1.6 mm"', help="Spot for which to find the defocus.", rich_help_panel=_SURFACE
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE.png", help="Draw the caustic; or svg, pdf.", rich_help_panel=_OUTPUT),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object in SI instead.", rich_help_panel=_OUTPUT)
    ] = False,
) -> None:
    """Work out the spot behind a lens: waist, depth of focus, diameter and irradiance off focus.

    Example: spotdwell spot --focal-length "125 mm" --input-diameter "10 mm" --power "25 W" --wanted "1.6 mm"
    """
    from spotdwell.inputs.lens import lens_of
    from spotdwell.study.bench.optics import spot_behind
    from spotdwell.terminal.spot import show

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
