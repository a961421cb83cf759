"""The verb `calibrate`: delivered share, debris heat and spots from depths of bench shots."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from spotdwell.base.settings import OUTPUT
from spotdwell.console import options as o

_FIT = "What is fitted"
Fit = Annotated[
    str | None,
    o.option(
        _FIT, "NAMES", "delivered-share, debris-heat, rupture-temperature, spot or spot:DIAL, with commas."
    ),
]
Fix = Annotated[list[str] | None, o.option(_FIT, "NAME=VALUE", "A value that is known; again for each.")]
Save = Annotated[Path | None, o.option(OUTPUT, "LASER.toml", "Write share and spots to this laser file.")]
SaveMaterial = Annotated[
    Path | None, o.option(OUTPUT, "FILE.toml", "Write the material with its fitted value.")
]
Picture = Annotated[Path | None, o.option(OUTPUT, "FILE.png", "Draw measured against computed; or svg, pdf.")]
Workers = Annotated[int | None, o.option(OUTPUT, "NUMBER", "Processes; one a core if left out.")]


@o.takes(
    *("laser", "definition", "profile", "order", "inner_ratio", "wavelength", "thickness", "film", "backing"),
    *("initial_temperature", "ambient_temperature", "cell_depth", "cell_width", "refinement"),
)
def calibrate_verb(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE.csv", help="Columns power, dwell, spot or dial, depth, with units."),
    ],
    material: o.Material,
    fit: Fit = None,
    fix: Fix = None,
    save: Save = None,
    save_material: SaveMaterial = None,
    picture: Picture = None,
    as_json: o.Json = False,
    workers: Workers = None,
    quiet: o.Quiet = False,
    **settings: Any,
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
    from spotdwell.calibration.shown import Outputs, Request, carry_out

    request = Request(file, material, fit, tuple(fix or ()), workers, settings)
    carry_out(request, Outputs(save, save_material, picture, as_json, quiet))


@o.takes(
    *("laser", "definition", "profile", "order", "inner_ratio", "wavelength", "thickness", "film", "backing"),
    *("initial_temperature", "ambient_temperature", "cell_depth", "cell_width", "refinement"),
)
def validate_verb(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE.csv", help="Columns power, dwell, spot or dial, depth, with units."),
    ],
    material: o.Material,
    picture: Picture = None,
    table: Annotated[Path | None, o.option(OUTPUT, "FILE.csv", "Keep all shots as CSV.", "--table")] = None,
    as_json: o.Json = False,
    workers: Workers = None,
    quiet: o.Quiet = False,
    **settings: Any,
) -> None:
    """Compare depths that you measured with computed ones: bias, spread, coverage. Nothing is fitted.

    Example: spotdwell validate shots.csv --on apple --laser laser.toml --picture validation.png

    The file is that of calibrate. A column depth error, one standard deviation of the row's depth, gives the
    coverage: how many computed depths lie within the errors that you state. Take shots that the laser and
    the material were not calibrated with.
    """
    from spotdwell.calibration.validate_shown import Outputs, carry_out

    carry_out(file, material, workers, settings, Outputs(picture, table, as_json, quiet))
