"""A validation shown and kept."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rich.console import RenderableType
from rich.table import Table

from spotdwell.base.cautions import CSV_LINE
from spotdwell.base.errors import check_workers
from spotdwell.base.foreign import cell
from spotdwell.base.units import chosen, convert, showing, written
from spotdwell.calibration.run import read_bench
from spotdwell.calibration.validate import ComparedShot, Validation, validate_shots
from spotdwell.calibration.validate_words import (
    NOTES,
    bias_text,
    coverage_text,
    percent,
    spread_text,
    warnings_of,
)
from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files, write_text
from spotdwell.console.text import SHOOTING, bullets, heading, indented, length, plain_table, section

_UNITS = {
    "power": "W",
    "dwell": "s",
    "spot": "m",
    "depth": "m",
    "depth_error": "m",
    "computed_depth": "m",
    "deviation": "1",
    "off": "1",
}


@dataclass(frozen=True)
class Outputs:
    """What becomes of a validation besides the screen."""

    picture: Path | None = None
    table: Path | None = None
    as_json: bool = False
    quiet: bool = False


def lines(found: Validation) -> list[RenderableType]:
    """All that is to be said of a validation."""
    share = (
        f"; {found.delivered_share:.3g} of the set power delivered" if found.delivered_share != 1.0 else ""
    )
    words = [bias_text(found), spread_text(found), *map(coverage_text, found.coverage)]
    counted = f"{len(found.used)} shots of {found.source}, {found.settings} settings"
    return [
        heading(f"Measured against computed: {counted}, in {found.material}{share}"),
        indented(bullets(words)),
        *section("Shots, and how far off in stated errors" if found.coverage else "Shots", _table(found)),
        *section("Mind", bullets([*warnings_of(found), *NOTES, SHOOTING])),
    ]


def plain(found: Validation) -> dict[str, Any]:
    """The same in SI, of types that JSON knows."""
    return {
        "source": found.source,
        "material": found.material,
        "fitted": [],
        "delivered_share": found.delivered_share,
        "confidence": 0.95,
        "bias": found.bias,
        "bias_low": found.bias_low,
        "bias_high": found.bias_high,
        "spread": found.spread,
        "settings": found.settings,
        "coverage": [vars(one) for one in found.coverage],
        "runs": found.runs,
        "units": _UNITS,
        "shots": [vars(one) | {"deviation": one.deviation, "off": one.off} for one in found.shots],
        "warnings": list(warnings_of(found)),
    }


def comma_separated(found: Validation) -> str:
    """A line a shot, units in the header, empty where there is no value."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    units = {name: chosen(unit, unit) for name, unit in _UNITS.items()}
    writer.writerow(["row", "dial", "verdict", *(f"{name} [{unit}]" for name, unit in units.items())])
    for one in found.shots:
        values = [getattr(one, name) for name in _UNITS]
        numbers = [
            "" if value is None else repr(float(convert(value, _UNITS[name], units[name])))
            for name, value in zip(_UNITS, values, strict=True)
        ]
        writer.writerow([one.row, cell(one.dial), one.word, *numbers])
    return CSV_LINE + text.getvalue()


def carry_out(
    file: Path, material: str, workers: int | None, settings: dict[str, Any], outputs: Outputs
) -> None:
    """Compare, print what was found and write the files.

    Raises SpotdwellError; a file that could not be written is told of before anything is solved.
    """
    from spotdwell.calibration.validate_picture import draw_validation

    files = Files(outputs.quiet, outputs.as_json)
    files.check("picture", outputs.picture, "picture")
    files.check("table", outputs.table, "csv")
    check_workers(workers)
    shots, scenario, laser = read_bench(file, material, settings)
    with files.stoppable():
        with Watch(outputs.quiet, "shots") as watch:
            found = validate_shots(shots, scenario, laser, workers, watch.count)
        files.finish(
            lambda: files.show(lambda: plain(found), lambda: bias_text(found), lambda: lines(found)),
            (outputs.picture, lambda path: draw_validation(found, path)),
            (outputs.table, lambda path: write_text(path, _table_text(found))),
        )


def _table_text(found: Validation) -> str:
    with showing():
        return comma_separated(found)


def _table(found: Validation) -> Table:
    names = ("row", "power", "dwell", "spot", "measured", "computed", "differs", "off")
    stated = bool(found.coverage)
    kept = [name for name in names if stated or name != "off"]
    table = plain_table(*((name, "right") for name in kept), ("", "left"))
    for one in found.shots:
        cells = dict(zip(names, _cells(one), strict=True))
        table.add_row(*(cells[name] for name in kept), one.word)
    return table


def _cells(one: ComparedShot) -> list[str]:
    differs = "" if one.deviation is None else percent(one.deviation)
    return [
        str(one.row),
        written(one.power, "W"),
        written(one.dwell, "s"),
        f"dial {one.dial}" if one.dial else length(one.spot),
        length(one.depth),
        length(one.computed_depth),
        "cut through" if one.perforated else differs,
        "" if one.off is None else f"{one.off:+.1f}",
    ]
