"""The points of a map planned and solved, and the public functions for maps."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Generator, Iterator, Mapping
from contextlib import closing, contextmanager
from functools import partial
from os import PathLike
from pathlib import Path
from typing import Any

import numpy as np

from spotdwell.base.errors import SpotdwellError
from spotdwell.base.names import MEASURES
from spotdwell.console import cluster as clusters
from spotdwell.console.workers import Progress, stream
from spotdwell.inputs.read import scenario_text
from spotdwell.inputs.schema import Scenario
from spotdwell.maps.bands import NOTHING, blank_bands
from spotdwell.maps.cube import RADII, Cube, Point, blank_cube, failed_point
from spotdwell.maps.drawn import interval_of
from spotdwell.maps.plan import Index, MapPlan, check_plan, longest_first, map_plan, shared_setting
from spotdwell.maps.scanned import slice_of
from spotdwell.maps.store import GrowingFile, resumed_cube, save_cube
from spotdwell.measure.outlines import outlines_of
from spotdwell.measure.verdict import Limits
from spotdwell.output.result import Result
from spotdwell.pipeline import Solved, solved, versions
from spotdwell.spread.brief import FEW
from spotdwell.spread.words import COVERS

Enter = Callable[[Index, Point], None]


def map_of(
    plan: MapPlan,
    path: str | PathLike[str] | None = None,
    workers: int | None = None,
    cluster: str | None = None,
    progress: Progress | None = None,
) -> Cube:
    """Cube of `plan`, solved by `workers` at a time (None: one a core), or by the workers of a `cluster`.

    With a `path`, each point is kept there as it comes, and what an earlier call of the same plan left
    there is not computed again. `cluster` is the address of a dask scheduler, such as
    "tcp://10.0.0.1:8786". `progress` is told how many points are there, of how many, and the seconds left.
    A point that fails is kept with its reason. Raises InputError for settings that do not go together and
    for a file of another map, RunError if workers die, the cluster is not there or the file cannot be
    written, and KeyboardInterrupt after it has stopped all workers: the file then holds what was done.
    """
    check_plan(plan, workers)
    with _growing(plan, path) as (cube, enter):
        left = longest_first(plan, [tuple(one) for one in np.argwhere(cube.missing).tolist()])
        clock = _Clock([weight for weight, _ in left], cube.word.size, progress)
        for number, point in _solved(plan, [index for _, index in left], workers, cluster):
            enter(left[number][1], point)
            clock.tick(number)
    return cube


def point_of(plan: MapPlan, index: Index) -> Point:
    """What the run at `index` finds; whatever goes wrong is its failure."""
    began = time.perf_counter()
    try:
        scenario = plan.scenario(index)
        found: Solved | Result
        if scenario.scan is not None:
            found, radius, outlines = slice_of(scenario, RADII)
            interval = None
        else:
            found = solved(scenario)
            radius, outlines = outlines_of(found.outcome, RADII)
            interval = interval_of(scenario, found) if plan.intervals else None
    except (SpotdwellError, ArithmeticError, ValueError, MemoryError) as error:
        reason = str(error) or type(error).__name__
        return failed_point(reason, time.perf_counter() - began, NOTHING if plan.intervals else None)
    values = [found.measures[name] for name in MEASURES]
    numbers = np.array([np.nan if value is None else value for value in values])
    return Point(
        numbers, str(found.verdict.word), "", time.perf_counter() - began, radius, outlines, interval
    )


def _solved(
    plan: MapPlan, indices: list[Index], workers: int | None, cluster: str | None
) -> Iterator[tuple[int, Point]]:
    """Number of each index and its point, as they come. Closing it stops the workers."""
    if not indices:
        return
    function = partial(point_of, plan)
    results: Generator[tuple[int, Point]]
    if cluster is None:
        results = stream(function, indices, workers, warm_up=True)
    else:
        results = clusters.stream(function, indices, cluster)
    with closing(results):
        yield from results


@contextmanager
def _growing(plan: MapPlan, path: str | PathLike[str] | None) -> Iterator[tuple[Cube, Enter]]:
    """The cube so far, and what enters a point into it and into the file at `path`, if there is to be one."""
    if path is None:
        cube = _blank(plan)
        yield cube, cube.fill
        return
    if Path(path).exists():
        cube = resumed_cube(path, plan.identity)
    else:
        cube = _blank(plan)
        save_cube(cube, path, plan.identity)
    with GrowingFile(path, plan.shape) as file:

        def enter(index: Index, point: Point) -> None:
            file.enter(index, point)
            cube.fill(index, point)

        yield cube, enter


def _blank(plan: MapPlan) -> Cube:
    limits, text = Limits(**dict(plan.base.limits)), scenario_text(plan.whole)
    bands = blank_bands(plan.shape, FEW, COVERS) if plan.intervals else None
    return blank_cube(plan.axes, limits, shared_setting(plan), text, versions(), bands)


class _Clock:
    """Foresees how long the rest takes from what was done since the first came, which waits for the start."""

    def __init__(self, weights: list[float], total: int, progress: Progress | None) -> None:
        self._weights, self._total, self._progress = weights, total, progress
        self._rest, self._rest_weight = len(weights), sum(weights)
        self._first: tuple[float, float] | None = None
        self._began = time.perf_counter()

    def tick(self, number: int) -> None:
        """Tell that the run with `number` is done."""
        self._rest -= 1
        self._rest_weight -= self._weights[number]
        if self._progress is not None:
            self._progress(self._total - self._rest, self._total, self._left())

    def _left(self) -> float:
        now = time.perf_counter()
        if self._first is None:
            self._first = now, self._rest_weight
            return (now - self._began) * self._rest
        began, weight = self._first
        done = weight - self._rest_weight
        return (now - began) * max(self._rest_weight, 0.0) / done if self._rest and done else 0.0


def map_shots(
    base: Scenario | Mapping[str, Any],
    *over: str,
    workers: int | None = None,
    cluster: str | None = None,
    out: str | os.PathLike[str] | None = None,
    progress: Progress | None = None,
    equal: str | None = None,
    intervals: bool = False,
) -> Cube:
    """Cube of measures, verdicts and outlines over the ranges `over`, such as "power: 5 W to 40 W, 20".

    `base` is a scenario, or the settings of a shot by name, such as {"material": "skin", "spot": "1 mm"},
    without those that are mapped. With `out` each point is kept in that HDF5 file as it comes, and an earlier
    call of the same map there is gone on with. With `equal`, "average-power" or "energy", all points get as
    much of it as the first, by their pulses' rate, their pauses, the power or the dwell. With `intervals`
    each point gets the 90 % intervals and the odds that its shot prints, in 2 to 10 times the time. For
    the rest, and errors, see `map_of`; also InputError for a range that cannot be read or is given in `base`
    too.
    """
    plan = map_plan(base, *over, workers=workers, equal=equal, intervals=intervals)
    return map_of(plan, out, workers, cluster, progress)
