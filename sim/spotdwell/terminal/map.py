"""A map on the command line: what is checked before it, its progress, its files and what is told of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from spotdwell.base.errors import InputError, RunError
from spotdwell.base.units import parse
from spotdwell.measure.verdict import Limits
from spotdwell.output.maps.cube import Cube
from spotdwell.output.maps.plots import draw_map
from spotdwell.output.maps.table import write_table
from spotdwell.output.maps.view import check_panels
from spotdwell.output.replacing import MAP
from spotdwell.output.whole_file import check_writable
from spotdwell.study.maps.mapping import MapPlan, map_of, point_of
from spotdwell.study.maps.request import foreseen, probe_points
from spotdwell.study.maps.window import check_depth, cleanest
from spotdwell.terminal.console import SAFETY, Interrupted, mention, say, text_of
from spotdwell.terminal.count import Count, time_text
from spotdwell.terminal.job import Wanted, check_files
from spotdwell.terminal.map_text import failure_lines, map_text, short_text
from spotdwell.terminal.watch import COMPILING, kernels_compiled

MANY = 3000
"""Points from which a map needs --yes."""


@dataclass(frozen=True)
class MapWanted:
    """What the user wants of a map."""

    depth: str | None = None
    """Crater for which the cleanest setting is sought."""
    table: Path | None = None
    picture: Path | None = None
    out: Path | None = None
    cluster: str | None = None
    workers: int | None = None
    yes: bool = False
    quiet: bool = False


def carry_out_map(plan: MapPlan, wanted: MapWanted) -> None:
    """Solve the map, print what it found and write the wanted files.

    Raises SpotdwellError; what can be told before the runs is told before them. A stopped map is kept as far
    as it went if there is a file for it.
    """
    depth = _depth_of(plan, wanted)
    _check_outputs(plan, wanted)
    if np.prod(plan.shape, dtype=np.int64) > MANY and not wanted.yes:
        raise _too_many(plan, wanted)
    cube = _solved(plan, wanted)
    choice = None if depth is None else cleanest(cube, depth)
    if wanted.quiet:
        say(short_text(cube, choice, depth))
    else:
        say(text_of(*map_text(cube, choice, depth), "", SAFETY))
    if wanted.out is not None and not wanted.quiet:
        say(f"Saved {wanted.out}")
    _write(wanted.table, lambda path: write_table(cube, path), wanted)
    _write(wanted.picture, lambda path: draw_map(cube, path, choice), wanted)
    _refuse_failure(cube)


def _depth_of(plan: MapPlan, wanted: MapWanted) -> float | None:
    """The wanted depth [m]. Raises InputError for what is none, or is beyond the limits."""
    if wanted.depth is None:
        return None
    depth = parse(wanted.depth, "m", where="--depth", example="300 um")
    if not 0.0 < depth < np.inf:
        raise InputError("--depth", "more than 0", f'"{wanted.depth}"')
    check_depth(depth, Limits(**dict(plan.base.limits)))
    return depth


def _check_outputs(plan: MapPlan, wanted: MapWanted) -> None:
    check_files(Wanted(out=wanted.out, picture=wanted.picture), MAP)
    if wanted.picture is not None:
        check_panels(plan.axes)
    if wanted.table is not None:
        if wanted.table.suffix.lower() != ".csv":
            advice = f"Name it {wanted.table.stem}.csv."
            raise InputError("--table", "a file name that ends in .csv", f'"{wanted.table}"', advice)
        check_writable(wanted.table)


def _too_many(plan: MapPlan, wanted: MapWanted) -> InputError:
    """What a map of many points is refused with: its size, and how long a few of its points took."""
    count = int(np.prod(plan.shape, dtype=np.int64))
    try:
        if not kernels_compiled():
            if not wanted.quiet:
                mention(COMPILING)
            point_of(plan, probe_points(plan)[0])
        if not wanted.quiet:
            mention(f"Timing {len(probe_points(plan))} of {count} points ...")
        took = time_text(foreseen(plan, wanted.workers))
    except KeyboardInterrupt:
        raise Interrupted("Stopped: nothing was computed yet.") from None
    where = " on this machine" if wanted.cluster else ""
    got = f"{count}, which take about {took}{where}, by the cost of the middle and the corners"
    advice = "Give fewer values, or add --yes."
    return InputError("--over", f"at most {MANY} points without --yes", got, advice)


def _solved(plan: MapPlan, wanted: MapWanted) -> Cube:
    if not wanted.quiet and wanted.cluster is None and not kernels_compiled():
        mention(COMPILING)
    count = Count(wanted.quiet, "points")
    try:
        with count:
            return map_of(plan, wanted.out, wanted.workers, wanted.cluster, count.see)
    except KeyboardInterrupt:
        raise Interrupted(_stopped_text(count, wanted.out)) from None


def _stopped_text(count: Count, out: Path | None) -> str:
    if out is None:
        return "Stopped: nothing was kept. With --out FILE.h5 a stopped map can be gone on with."
    done = f"{count.done} of {count.total}" if count.total else "the earlier"
    return f"Stopped: {out} holds {done} points. The same command goes on with it."


def _write(path: Path | None, write: Callable[[Path], None], wanted: MapWanted) -> None:
    if path is None:
        return
    try:
        write(path)
    except KeyboardInterrupt:
        raise Interrupted(f"Stopped: {path} was not written.") from None
    if not wanted.quiet:
        say(f"Saved {path}")


def _refuse_failure(cube: Cube) -> None:
    """Raise RunError if no point at all was solved."""
    if np.all(cube.failed):
        raise RunError(" ".join(failure_lines(cube)).strip())
