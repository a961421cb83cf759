"""The verb `craters`: beam diameter and threshold from the craters of pulses of several energies."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spotdwell.console import options as o

_BENCH, _OUTPUT = "Bench", "Output"


def craters_verb(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE.csv", help="Columns pulse energy and crater diameter, with units."),
    ],
    keep_all: Annotated[bool, o.option(_BENCH, None, "Leave no outlier out.", "--keep-all")] = False,
    pulses: Annotated[int | None, o.option(_BENCH, "NUMBER", "Pulses on each spot; 1 is right.")] = None,
    pulse_duration: Annotated[
        str | None, o.option(_BENCH, '"0.4 ms"', "To check the spread of heat.")
    ] = None,
    diffusivity: Annotated[
        str | None, o.option(_BENCH, '"1.2e-7 m2/s"', "Of the target; soft tissue if left out.")
    ] = None,
    picture: Annotated[Path | None, o.option(_OUTPUT, "FILE.png", "Draw the fit; or svg, pdf.")] = None,
    save: Annotated[
        Path | None, o.option(_OUTPUT, "LASER.toml", "Write the spot to this laser file, or add it.")
    ] = None,
    dial: Annotated[str | None, o.option(_OUTPUT, "WORD", "Dial position of this spot, for --save.")] = None,
    wavelength: Annotated[str | None, o.option(_OUTPUT, '"10.6 um"', "Of the laser, for --save.")] = None,
    as_json: o.Json = False,
) -> None:
    """Find the beam's diameter and the ablation threshold from craters (the D-squared method).

    Example: spotdwell craters craters.csv --picture fit.png --save laser.toml --wavelength "10.6 um"
    """
    from spotdwell.craters.run import spot_from_craters
    from spotdwell.craters.shown import Outputs, show

    outputs = Outputs(picture, save, dial, wavelength, as_json)
    files = outputs.checked()
    show(spot_from_craters(file, pulses, pulse_duration, diffusivity, keep_all), outputs, files)
