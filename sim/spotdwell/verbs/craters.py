"""The verb `craters`: beam diameter and threshold from the craters of pulses of several energies."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

_BENCH, _OUTPUT = "Bench", "Output"


def craters(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE.csv", help="Columns pulse energy and crater diameter, with units."),
    ],
    keep_all: Annotated[
        bool, typer.Option("--keep-all", help="Leave no outlier out.", rich_help_panel=_BENCH)
    ] = False,
    pulses: Annotated[
        int | None,
        typer.Option(metavar="NUMBER", help="Pulses on each spot; 1 is right.", rich_help_panel=_BENCH),
    ] = None,
    pulse_duration: Annotated[
        str | None,
        typer.Option(metavar='"0.4 ms"', help="To check the spread of heat.", rich_help_panel=_BENCH),
    ] = None,
    diffusivity: Annotated[
        str | None,
        typer.Option(
            metavar='"1.2e-7 m2/s"', help="Of the target; soft tissue if left out.", rich_help_panel=_BENCH
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE.png", help="Draw the fit; or svg, pdf.", rich_help_panel=_OUTPUT),
    ] = None,
    save: Annotated[
        Path | None,
        typer.Option(
            metavar="LASER.toml",
            help="Write the spot to this laser file, or add it.",
            rich_help_panel=_OUTPUT,
        ),
    ] = None,
    dial: Annotated[
        str | None,
        typer.Option(metavar="WORD", help="Dial position of this spot, for --save.", rich_help_panel=_OUTPUT),
    ] = None,
    wavelength: Annotated[
        str | None,
        typer.Option(metavar='"10.6 um"', help="Of the laser, for --save.", rich_help_panel=_OUTPUT),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object in SI instead.", rich_help_panel=_OUTPUT)
    ] = False,
) -> None:
    """Find the beam's diameter and the ablation threshold from craters (the D-squared method).

    Example: spotdwell craters craters.csv --picture fit.png --save laser.toml --wavelength "10.6 um"
    """
    from spotdwell.study.bench.threshold_fit import spot_from_craters
    from spotdwell.terminal.craters import Wanted, show

    wanted = Wanted(picture, save, dial, wavelength, as_json)
    files = wanted.checked()
    show(spot_from_craters(file, pulses, pulse_duration, diffusivity, keep_all), wanted, files)
