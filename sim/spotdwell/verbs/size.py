"""The verb `size`: the power, spot or dwell for a wanted depth, or the dwell of a scanner."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from spotdwell.terminal import options as o

if TYPE_CHECKING:
    from spotdwell.inputs.shot import ShotOptions

_WANTED = "What is wanted"

Depth = Annotated[
    str | None, typer.Option(metavar='"300 um"', help="Depth to remove.", rich_help_panel=_WANTED)
]
Scan = Annotated[
    bool, typer.Option("--scan", help="Find the longest dwell of a scanned spot.", rich_help_panel=_WANTED)
]
Coagulation = Annotated[
    str | None,
    typer.Option(
        metavar='"100 um"', help="Thickest coagulated layer at floor and wall.", rich_help_panel=_WANTED
    ),
]
AtLeast = Annotated[
    str | None,
    typer.Option(metavar="QUANTITY", help="Least of what is sought.", rich_help_panel=_WANTED),
]
AtMost = Annotated[
    str | None,
    typer.Option(metavar="QUANTITY", help="Most of what is sought.", rich_help_panel=_WANTED),
]
Ripple = Annotated[
    float | None,
    typer.Option(
        metavar="SHARE", help="Most unevenness across scan lines, such as 0.05.", rich_help_panel=_WANTED
    ),
]


def size(
    on: o.On,
    depth: Depth = None,
    scan: Scan = False,
    char_limit: o.CharLimit = None,
    coagulation_limit: Coagulation = None,
    depth_limit: o.DepthLimit = None,
    at_least: AtLeast = None,
    at_most: AtMost = None,
    ripple: Ripple = None,
    power: o.Power = None,
    spot: o.Spot = None,
    dwell: o.Dwell = None,
    laser: o.Laser = None,
    dial: o.Dial = None,
    definition: o.Definition = None,
    profile: o.Profile = None,
    order: o.Order = None,
    inner_ratio: o.InnerRatio = None,
    wavelength: o.Wavelength = None,
    plume_transmittance: o.Plume = None,
    count: o.Count = None,
    pause: o.Pause = None,
    pulse_duration: o.PulseDuration = None,
    repetition_rate: o.RepetitionRate = None,
    peak_power: o.PeakPower = None,
    end_temperature: o.EndTemperature = None,
    thickness: o.Thickness = None,
    film: o.Film = None,
    backing: o.Backing = None,
    backing_temperature: o.BackingTemperature = None,
    initial_temperature: o.InitialTemperature = None,
    ambient_temperature: o.AmbientTemperature = None,
    cell_depth: o.CellDepth = None,
    cell_width: o.CellWidth = None,
    refinement: o.Refinement = None,
    title: o.Title = None,
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    quiet: o.Quiet = False,
) -> None:
    """Find the one of --power, --spot and --dwell that is left out, so that the shot removes --depth.

    Example: spotdwell size --on soft_tissue --power "20 W" --dwell "20 ms" --depth "300 um"

    A scanner's dwell, speed and line spacing: --scan --power "20 W" --spot "0.3 mm" --char-limit "20 um"
    """
    from spotdwell.terminal.job import Wanted
    from spotdwell.terminal.size import Asked, carry_out

    options: ShotOptions = {
        "wavelength": wavelength,
        "laser": laser,
        "dial": dial,
        "definition": definition,
        "profile": profile,
        "order": order,
        "inner_ratio": inner_ratio,
        "plume_transmittance": plume_transmittance,
        "pulse_duration": pulse_duration,
        "repetition_rate": repetition_rate,
        "peak_power": peak_power,
        "end_temperature": end_temperature,
        "thickness": thickness,
        "film": film,
        "backing": backing,
        "backing_temperature": backing_temperature,
        "initial_temperature": initial_temperature,
        "ambient_temperature": ambient_temperature,
        "cell_depth": cell_depth,
        "cell_width": cell_width,
        "refinement": refinement,
        "char_limit": char_limit,
        "depth_limit": depth_limit,
        "title": title,
    }
    asked = Asked(
        on,
        power,
        spot,
        dwell,
        count,
        pause,
        depth,
        scan,
        coagulation_limit,
        at_least,
        at_most,
        ripple,
        options,
    )
    if not carry_out(asked, Wanted(out, picture, as_json, quiet=quiet)):
        raise typer.Exit(1)
