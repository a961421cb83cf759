"""A calibration run, shown and kept."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from spotdwell.base.errors import check_workers
from spotdwell.base.units import written
from spotdwell.calibration.result import BenchRow, Calibration, shown_value, unit_of
from spotdwell.console.progress import Watch, time_text
from spotdwell.console.saving import Files
from spotdwell.console.screen import mention
from spotdwell.console.text import SHOOTING, bullets, heading, indented, length, microns, plain_table, section
from spotdwell.console.workers import cores

if TYPE_CHECKING:
    from spotdwell.calibration.response import FitProblem
    from spotdwell.calibration.result import Calibration
    from spotdwell.inputs.laser_file import Laser
    from spotdwell.inputs.schema import Scenario


def lines(found: Calibration) -> list[RenderableType]:
    """All that is to be said of a calibration."""
    from spotdwell.calibration.warnings import NOTES

    return [
        heading(f"Fitted to {len(found.used)} shots of {found.source} in {found.material}"),
        indented(_values(found)),
        *section("Shots", _shots(found)),
        *([Text(_char(found))] if _char(found) else []),
        *section("How", bullets(_method(found))),
        *section("Mind", bullets([*found.warnings, *NOTES, SHOOTING])),
    ]


def plain(found: Calibration) -> dict[str, Any]:
    """The same in SI, of types that JSON knows."""
    return {
        "source": found.source,
        "material": found.material,
        "confidence": 0.95,
        "values": {
            one.key: {name: value for name, value in vars(one).items() if name != "key"}
            for one in found.values
        },
        "known": dict(found.known),
        "correlation": found.correlation.tolist(),
        "relative_error": found.error,
        "error_from": found.error_from,
        "degrees_of_freedom": found.freedom,
        "residual_scatter": found.scatter,
        "unsettled": found.unsettled,
        "runs": found.runs,
        "shots": [vars(row) | {"char_agrees": row.char_agrees} for row in found.rows],
        "warnings": list(found.warnings),
    }


def _values(found: Calibration) -> Table:
    table = plain_table(("", "left"), ("value", "right"), ("95 % interval", "left"), ("start", "right"))
    for one in found.values:
        interval = f"{one.shown(one.low)} to {one.shown(one.high)}" + (
            ", at its bound" if one.at_bound else ""
        )
        table.add_row(one.key, one.shown(one.value), interval, one.shown(one.start))
    for key, value in found.known:
        table.add_row(key, shown_value(unit_of(key), value), "known", "")
    return table


def _shots(found: Calibration) -> Table:
    columns = [("row", "right"), ("power", "right"), ("dwell", "right"), ("spot", "right")]
    depths = [("measured", "right"), ("computed", "right"), ("off [sd]", "right")]
    widths = any(row.width is not None for row in found.rows)
    wide = [("width", "right"), ("computed", "right")] if widths else []
    char = [("char", "left")] if any(row.char_seen is not None for row in found.rows) else []
    table = plain_table(*columns, *depths, *wide, *char)
    for row in found.rows:
        cells = [str(row.row), written(row.power, "W"), written(row.dwell, "s"), _spot(row)]
        off = "cut through" if row.perforated else f"{row.misfit:+.1f}"
        cells += [length(row.depth), length(row.computed_depth), off]
        if widths:
            cells += ["" if row.width is None else length(row.width), length(row.computed_width)]
        table.add_row(*cells, *([_char_cell(row)] if char else []))
    return table


def _spot(row: BenchRow) -> str:
    return f"dial {row.dial}" if row.dial else length(row.spot)


def _char_cell(row: BenchRow) -> str:
    if row.char_seen is None:
        return ""
    seen = "seen" if row.char_seen else "none"
    return f"{seen}, {row.word}" + ("" if row.char_agrees is not False else " !")


def _char(found: Calibration) -> str:
    """How often char was seen as computed; empty if nobody looked."""
    agreements = [row.char_agrees for row in found.rows if row.char_agrees is not None]
    if not agreements:
        return ""
    return f"  Char: {sum(agreements)} of {len(agreements)} shots agree with the verdict (not fitted)."


def _method(found: Calibration) -> list[str]:
    least = microns(found.least_depth)
    error = 100.0 * found.error
    return [
        f"Least squares over the logarithms of the values on the solver, {found.runs} runs. The error of a "
        f"depth is taken as {error:.2g} % of it, at least as that of {least}: the scatter of "
        f"{'repeated shots' if found.error_from == 'repeats' else 'the residuals'} with {found.freedom} "
        "degrees of freedom. Intervals are by the slopes at the answer and Student's t.",
    ]


@dataclass(frozen=True)
class Request:
    """What is to be fitted, as it was typed."""

    file: Path
    material: str
    fit: str | None
    fix: tuple[str, ...]
    workers: int | None
    settings: dict[str, Any]


@dataclass(frozen=True)
class Outputs:
    """What becomes of the fit besides the screen."""

    save: Path | None = None
    """Laser file."""
    save_material: Path | None = None
    picture: Path | None = None
    as_json: bool = False
    quiet: bool = False


def carry_out(request: Request, outputs: Outputs) -> None:
    """Fit, print what was found and write the files.

    Raises SpotdwellError; a file that could not be written is told of before anything is solved.
    """
    from spotdwell.calibration.run import bench_of, fit_bench, read_bench
    from spotdwell.calibration.save import check_saves

    files = Files(outputs.quiet, outputs.as_json)
    files.check("picture", outputs.picture, "picture")
    check_workers(request.workers)
    shots, scenario, laser = read_bench(request.file, request.material, request.settings)
    problem = bench_of(shots, scenario, laser, request.fit, request.fix)
    check_saves(problem.values, laser, outputs.save, outputs.save_material)
    files.expected += [path for path in (outputs.save, outputs.save_material) if path is not None]
    with files.stoppable():
        with Watch(outputs.quiet) as watch:
            if not outputs.quiet:
                _foretell(problem, scenario, request.workers)
            found = fit_bench(
                problem, scenario, request.workers, lambda what, runs: watch.tell(f"{what}: {runs} runs made")
            )
        files.show(
            lambda: plain(found),
            lambda: "\n".join(f"{one.key} {one.shown(one.value)}" for one in found.values),
            lambda: lines(found),
        )
        _save(found, scenario, laser, outputs, files)


def _foretell(problem: FitProblem, scenario: Scenario, workers: int | None) -> None:
    """Say on standard error what the shots cannot tell, then how long the fit will take."""
    from spotdwell.calibration.foresight import cannot_tell, forecast

    for text in cannot_tell(problem, scenario):
        mention(f"Mind: {text}")
    ahead = forecast(problem, scenario, workers or cores())
    mention(f"Fitting takes some {ahead.runs} runs, about {time_text(ahead.seconds)}.")


def _save(
    found: Calibration, scenario: Scenario, laser: Laser | None, outputs: Outputs, files: Files
) -> None:
    from spotdwell.calibration.picture import draw_calibration
    from spotdwell.calibration.save import laser_with, material_with, save_laser, save_material
    from spotdwell.inputs.read import own_tables

    beam, name = scenario.beam, scenario.target.layers[-1].material
    files.keep(
        outputs.save,
        lambda path: save_laser(laser_with(found, laser, beam.wavelength, str(beam.definition)), path),
    )
    files.keep(
        outputs.save_material,
        lambda path: save_material(material_with(found, own_tables(name, scenario), beam.wavelength), path),
    )
    files.keep(outputs.picture, lambda path: draw_calibration(found, path))
