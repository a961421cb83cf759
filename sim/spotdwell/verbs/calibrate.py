"""The verb `calibrate`: delivered share, debris heat and spots from depths of bench shots."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from spotdwell.terminal import options as o

if TYPE_CHECKING:
    from spotdwell.inputs.shot import ShotOptions

_FIT, _OUTPUT = "What is fitted", "Output"

Fit = Annotated[
    str | None,
    typer.Option(
        metavar="NAMES",
        help="delivered-share, debris-heat, rupture-temperature, spot or spot:DIAL, with commas.",
        rich_help_panel=_FIT,
    ),
]
Fix = Annotated[
    list[str] | None,
    typer.Option(metavar="NAME=VALUE", help="A value that is known; again for each.", rich_help_panel=_FIT),
]
Save = Annotated[
    Path | None,
    typer.Option(
        metavar="LASER.toml", help="Write share and spots to this laser file.", rich_help_panel=_OUTPUT
    ),
]
SaveMaterial = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE.toml", help="Write the material with its fitted value.", rich_help_panel=_OUTPUT
    ),
]
Picture = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE.png", help="Draw measured against computed; or svg, pdf.", rich_help_panel=_OUTPUT
    ),
]
Laser = Annotated[
    str | None, typer.Option(metavar="LASER.toml", help="What is known of the laser.", rich_help_panel="Beam")
]
Workers = Annotated[
    int | None,
    typer.Option(metavar="NUMBER", help="Processes; one a core if left out.", rich_help_panel=_OUTPUT),
]


def calibrate(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE.csv", help="Columns power, dwell, spot or dial, depth, with units."),
    ],
    on: o.On,
    laser: Laser = None,
    fit: Fit = None,
    fix: Fix = None,
    definition: o.Definition = None,
    profile: o.Profile = None,
    order: o.Order = None,
    inner_ratio: o.InnerRatio = None,
    wavelength: o.Wavelength = None,
    thickness: o.Thickness = None,
    film: o.Film = None,
    backing: o.Backing = None,
    initial_temperature: o.InitialTemperature = None,
    ambient_temperature: o.AmbientTemperature = None,
    cell_depth: o.CellDepth = None,
    cell_width: o.CellWidth = None,
    refinement: o.Refinement = None,
    save: Save = None,
    save_material: SaveMaterial = None,
    picture: Picture = None,
    as_json: o.Json = False,
    workers: Workers = None,
    quiet: o.Quiet = False,
) -> None:
    """Fit what reaches the target, the heat that debris takes and the spots to depths that you measured.

    Example: spotdwell calibrate bench.csv --on soft_tissue --save laser.toml --picture fit.png

    A line of the file: 10 W, 5 ms, dial 1, 420 um. Further columns, if you have them: width, char seen and
    perforated (yes or no), count, repeat.

    Unless --fit names others, the delivered share, the debris heat and the spots are fitted, less what --fix
    or --laser says. To tell share from debris heat, shoot slow shots too, that dry and burn their way down (a
    tenth of the power for ten times the dwell): debris counts for nothing there. Depths cannot tell the
    rupture temperature from the debris heat; --fit both takes widths of at least 4 craters.
    """
    from spotdwell.terminal.calibrate import Keep, Request, carry_out

    options: ShotOptions = {
        "laser": laser,
        "definition": definition,
        "profile": profile,
        "order": order,
        "inner_ratio": inner_ratio,
        "wavelength": wavelength,
        "thickness": thickness,
        "film": film,
        "backing": backing,
        "initial_temperature": initial_temperature,
        "ambient_temperature": ambient_temperature,
        "cell_depth": cell_depth,
        "cell_width": cell_width,
        "refinement": refinement,
    }
    request = Request(file, on, fit, tuple(fix or ()), workers, options)
    carry_out(request, Keep(save, save_material, picture, as_json, quiet))
