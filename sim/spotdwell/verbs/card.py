"""The verb `card`: test shots on a bench target, to be printed, shot and filled in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spotdwell.terminal import options as o

_SHOTS, _OUTPUT = "Shots", "Output"


def card(
    on: o.On,
    power: Annotated[
        str, typer.Option(metavar='"5 W, 10 W"', help="Powers as they are set.", rich_help_panel=_SHOTS)
    ],
    dwell: Annotated[
        str, typer.Option(metavar='"10 ms, 50 ms"', help="Duration of the shots.", rich_help_panel=_SHOTS)
    ],
    spot: Annotated[
        str | None,
        typer.Option(metavar='"0.8 mm"', help="Diameters of the beam.", rich_help_panel=_SHOTS),
    ] = None,
    laser: Annotated[
        str | None,
        typer.Option(metavar="FILE.toml", help="Laser file, in place of the spots.", rich_help_panel=_SHOTS),
    ] = None,
    dial: Annotated[
        str | None,
        typer.Option(metavar='"1, 2"', help="Its positions; all if left out.", rich_help_panel=_SHOTS),
    ] = None,
    repeat: Annotated[
        int | None,
        typer.Option(metavar="NUMBER", help="Shots at each setting; 1 if left out.", rich_help_panel=_SHOTS),
    ] = None,
    against: Annotated[
        str | None,
        typer.Option(
            metavar="MATERIAL",
            help="Tissue beside it; soft_tissue if left out, or none.",
            rich_help_panel=_SHOTS,
        ),
    ] = None,
    wavelength: o.Wavelength = None,
    definition: o.Definition = None,
    profile: o.Profile = None,
    order: o.Order = None,
    inner_ratio: o.InnerRatio = None,
    initial_temperature: Annotated[
        str | None,
        typer.Option(
            metavar='"20 degC"', help="Of the bench target; 22 degC if left out.", rich_help_panel=_SHOTS
        ),
    ] = None,
    cell_depth: o.CellDepth = None,
    cell_width: o.CellWidth = None,
    refinement: o.Refinement = None,
    title: Annotated[
        str | None, typer.Option(metavar="TEXT", help="Title of the card.", rich_help_panel=_OUTPUT)
    ] = None,
    pdf: Annotated[
        Path | None, typer.Option(metavar="CARD.pdf", help="Write sheets of A4.", rich_help_panel=_OUTPUT)
    ] = None,
    html: Annotated[
        Path | None,
        typer.Option(metavar="CARD.html", help="Write the same as one page.", rich_help_panel=_OUTPUT),
    ] = None,
    csv: Annotated[
        Path | None,
        typer.Option(metavar="SHOTS.csv", help="Write the table to be filled in.", rich_help_panel=_OUTPUT),
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option(metavar="NUMBER", help="Processes; one a core if left out.", rich_help_panel=_OUTPUT),
    ] = None,
    quiet: o.Quiet = False,
) -> None:
    """Print a card of test shots: in which order, what mark to expect of each, and blanks for what was seen.

    Example: spotdwell card --on apple --power "5 W, 10 W, 20 W" --dwell "10 ms, 50 ms, 100 ms"
    --spot "0.8 mm" --pdf card.pdf --html card.html --csv shots.csv
    """
    from spotdwell.study.bench.card_request import CardOptions
    from spotdwell.terminal.card import Files, carry_out

    options: CardOptions = {
        "spot": spot,
        "laser": laser,
        "dial": dial,
        "repeat": repeat,
        "against": against,
        "wavelength": wavelength,
        "definition": definition,
        "profile": profile,
        "order": order,
        "inner_ratio": inner_ratio,
        "initial_temperature": initial_temperature,
        "cell_depth": cell_depth,
        "cell_width": cell_width,
        "refinement": refinement,
        "title": title,
    }
    carry_out(on, power, dwell, options, Files(pdf, html, csv), workers, quiet)
