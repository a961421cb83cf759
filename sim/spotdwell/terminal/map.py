"""A map on the command line: what is checked before it, its progress, its files and what is told of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from spotdwell.base.errors import InputError, RunError
from spotdwell.base.units import parse
from spotdwell.console.progress import Watch, announce_compiling, kernels_compiled, time_text
from spotdwell.console.saving import Files, stopped
from spotdwell.console.screen import SAFETY, Interrupted, mention, say, text_of
from spotdwell.inputs.read import scenario_named
from spotdwell.inputs.schema import Scenario
from spotdwell.measure.verdict import Limits
from spotdwell.output.maps.cube import Cube
from spotdwell.output.maps.plots import draw_map
from spotdwell.output.maps.table import write_table
from spotdwell.output.maps.view import check_panels
from spotdwell.output.replacing import MAP
from spotdwell.study.maps.mapping import MapPlan, map_of, point_of
from spotdwell.study.maps.request import foreseen, probe_points
from spotdwell.study.maps.window import check_depth, cleanest
from spotdwell.terminal.map_shown import failure_lines, map_text, short_text

MANY = 3000
"""Points from which a map needs --yes."""


@dataclass(frozen=True)
class MapOptions:
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


def base_of(name: str | None, settings: Mapping[str, Any]) -> Scenario | Mapping[str, Any]:
    """The scenario called `name`, or else the `settings`. Raises InputError for both."""
    if name is None:
        return settings
    if others := [setting for setting, value in settings.items() if value is not None]:
        advice = "Change the scenario, or leave it out."
        raise InputError("scenario", "no other setting beside it but the ranges", others[0], advice)
    return scenario_named(name)


def carry_out(plan: MapPlan, options: MapOptions) -> None:
    """Solve the map, print what it found and write the files.

    Raises SpotdwellError; what can be told before the runs is told before them. A stopped map is kept as far
    as it went if there is a file for it.
    """
    depth = _depth_of(plan, options)
    files = Files(options.quiet)
    files.check("out", options.out, "h5", MAP)
    files.check("picture", options.picture, "picture")
    files.check("table", options.table, "csv")
    if options.picture is not None:
        check_panels(plan.axes)
    if np.prod(plan.shape, dtype=np.int64) > MANY and not options.yes:
        raise _too_many(plan, options)
    cube = _solved(plan, options)
    choice = None if depth is None else cleanest(cube, depth)
    if options.quiet:
        say(short_text(cube, choice, depth))
    else:
        say(text_of(*map_text(cube, choice, depth), "", SAFETY))
    if options.out is not None:
        files.tell(f"Saved {options.out}")
    with stopped(f"{options.table} was not written."):
        files.keep(options.table, lambda path: write_table(cube, path))
    with stopped(f"{options.picture} was not written."):
        files.keep(options.picture, lambda path: draw_map(cube, path, choice))
    if np.all(cube.failed):
        raise RunError(" ".join(failure_lines(cube)).strip())


def _depth_of(plan: MapPlan, options: MapOptions) -> float | None:
    """Depth for which a setting is sought [m]. Raises InputError for none, or one beyond the limits."""
    if options.depth is None:
        return None
    depth = parse(options.depth, "m", where="depth", example="300 um")
    if not 0.0 < depth < np.inf:
        raise InputError("depth", "more than 0", f'"{options.depth}"')
    check_depth(depth, Limits(**dict(plan.base.limits)))
    return depth


def _too_many(plan: MapPlan, options: MapOptions) -> InputError:
    """What a map of many points is refused with: its size, and how long a few of its points took."""
    count = int(np.prod(plan.shape, dtype=np.int64))
    with stopped("nothing was computed yet."):
        if not kernels_compiled():
            announce_compiling(options.quiet)
            point_of(plan, probe_points(plan)[0])
        if not options.quiet:
            mention(f"Timing {len(probe_points(plan))} of {count} points ...")
        took = time_text(foreseen(plan, options.workers))
    where = " on this machine" if options.cluster else ""
    got = f"{count}, which take about {took}{where}, by the cost of the middle and the corners"
    advice = "Give fewer values, or add --yes."
    return InputError("over", f"at most {MANY} points without --yes", got, advice)


def _solved(plan: MapPlan, options: MapOptions) -> Cube:
    with Watch(options.quiet, "points", solves=options.cluster is None) as watch:
        try:
            return map_of(plan, options.out, options.workers, options.cluster, watch.count)
        except KeyboardInterrupt:
            raise Interrupted(_stopped_text(watch, options.out)) from None


def _stopped_text(watch: Watch, out: Path | None) -> str:
    if out is None:
        return "Stopped: nothing was kept. With --out FILE.h5 a stopped map can be gone on with."
    done = f"{watch.done} of {watch.total}" if watch.total else "the earlier"
    return f"Stopped: {out} holds {done} points. The same command goes on with it."
