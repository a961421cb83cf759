"""A calibration from bench shots carried out: fitted with its progress shown, printed, and kept in files."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spotdwell.base.errors import check_workers
from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files
from spotdwell.terminal.calibration_shown import lines, plain

if TYPE_CHECKING:
    from spotdwell.inputs.laser_file import Laser
    from spotdwell.inputs.schema import Scenario
    from spotdwell.measure.calibration import Calibration


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
    from spotdwell.study.bench.fit import bench_of, fit_bench, read_bench
    from spotdwell.study.bench.save import check_saves

    files = Files(outputs.quiet, outputs.as_json)
    files.check("picture", outputs.picture, "picture")
    check_workers(request.workers)
    shots, scenario, laser = read_bench(request.file, request.material, request.settings)
    bench = bench_of(shots, scenario, laser, request.fit, request.fix)
    check_saves(bench.values, laser, outputs.save, outputs.save_material)
    files.expected += [path for path in (outputs.save, outputs.save_material) if path is not None]
    with files.stoppable():
        with Watch(outputs.quiet) as watch:
            found = fit_bench(
                bench, scenario, request.workers, lambda what, runs: watch.tell(f"{what}: {runs} runs made")
            )
        files.show(
            lambda: plain(found),
            lambda: "\n".join(f"{one.key} {one.shown(one.value)}" for one in found.values),
            lambda: lines(found),
        )
        _save(found, scenario, laser, outputs, files)


def _save(
    found: Calibration, scenario: Scenario, laser: Laser | None, outputs: Outputs, files: Files
) -> None:
    from spotdwell.inputs.read import own_tables
    from spotdwell.output.bench.calibration import draw_calibration
    from spotdwell.study.bench.save import laser_with, material_with, save_laser, save_material

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
