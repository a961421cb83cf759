"""A calibration from bench shots carried out: fitted with its progress told, shown, and kept in files."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from spotdwell.base.errors import InputError
from spotdwell.terminal.calibration_shown import lines, plain
from spotdwell.terminal.console import SAFETY, Interrupted, mention, say, text_of
from spotdwell.terminal.count import Count
from spotdwell.terminal.job import stopped_text
from spotdwell.terminal.spot import check_picture
from spotdwell.terminal.watch import COMPILING, kernels_compiled

if TYPE_CHECKING:
    from spotdwell.inputs.laser_file import Laser
    from spotdwell.inputs.schema import Scenario
    from spotdwell.inputs.shot import ShotOptions
    from spotdwell.measure.calibration import Calibration


@dataclass(frozen=True)
class Request:
    """What is to be fitted, as it was typed."""

    file: Path
    material: str
    fit: str | None
    fix: tuple[str, ...]
    workers: int | None
    options: ShotOptions


@dataclass(frozen=True)
class Keep:
    """What becomes of the fit besides the screen."""

    save: Path | None = None
    """Laser file."""
    save_material: Path | None = None
    picture: Path | None = None
    as_json: bool = False
    quiet: bool = False

    @property
    def files(self) -> tuple[Path, ...]:
        """All files that are to be written."""
        return tuple(path for path in (self.save, self.save_material, self.picture) if path is not None)


def carry_out(request: Request, keep: Keep) -> None:
    """Fit, print what was found and write the wanted files.

    Raises SpotdwellError; a file that could not be written is told of before anything is solved.
    """
    kept: list[Path] = []
    try:
        _carry_out(request, keep, kept)
    except KeyboardInterrupt:
        raise Interrupted(stopped_text(keep.files, kept)) from None


def _carry_out(request: Request, keep: Keep, kept: list[Path]) -> None:
    from spotdwell.study.bench.fit import bench_of, fit_bench, read_bench
    from spotdwell.study.bench.save import check_saves

    if keep.picture is not None:
        check_picture(keep.picture)
    if request.workers is not None and request.workers < 1:
        raise InputError("--workers", "a whole number from 1", str(request.workers))
    try:
        shots, scenario, laser = read_bench(request.file, request.material, request.options)
    except InputError as error:
        where = "--on" if error.where == "material" else error.where
        raise InputError(where, error.expected, error.got, error.advice) from None
    bench = bench_of(shots, scenario, laser, request.fit, request.fix)
    check_saves(bench.values, laser, keep.save, keep.save_material)
    if not keep.quiet and not kernels_compiled():
        mention(COMPILING)
    with Count(keep.quiet) as count:

        def told(what: str, runs: int) -> None:
            count.tell(f"{what}: {runs} runs made")

        found = fit_bench(bench, scenario, request.workers, told)
    _show(found, keep)
    _save(found, scenario, laser, keep, kept)


def _save(found: Calibration, scenario: Scenario, laser: Laser | None, keep: Keep, kept: list[Path]) -> None:
    from spotdwell.inputs.read import own_tables
    from spotdwell.output.bench.calibration import draw_calibration
    from spotdwell.study.bench.save import laser_with, material_with, save_laser, save_material

    def done(path: Path) -> None:
        kept.append(path)
        if not keep.quiet:
            (mention if keep.as_json else say)(f"Saved {path}")

    if keep.save is not None:
        beam = scenario.beam
        save_laser(laser_with(found, laser, beam.wavelength, str(beam.definition)), keep.save)
        done(keep.save)
    if keep.save_material is not None:
        own = own_tables(scenario.target.layers[-1].material, scenario)
        save_material(material_with(found, own, scenario.beam.wavelength), keep.save_material)
        done(keep.save_material)
    if keep.picture is not None:
        draw_calibration(found, keep.picture)
        done(keep.picture)


def _show(found: Calibration, keep: Keep) -> None:
    if keep.as_json:
        say(json.dumps(plain(found), indent=2, allow_nan=False))
    elif keep.quiet:
        say("\n".join(f"{one.key} {one.shown(one.value)}" for one in found.values))
    else:
        say(text_of(*lines(found), "", SAFETY))
