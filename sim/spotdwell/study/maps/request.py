"""Map request: from texts that name ranges to a plan, its cube, and how long it may take."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from itertools import product
from typing import Any

import numpy as np

from spotdwell.base.errors import InputError
from spotdwell.console.workers import Progress, cores
from spotdwell.inputs.mapped import text_of
from spotdwell.inputs.ranges import Range, ranges_of
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_of_shot
from spotdwell.output.maps.cube import Axis, Cube
from spotdwell.study.maps.mapping import Index, MapPlan, check_plan, map_of, point_of

_FEW_AXES = 3
"""Axes of a map all corners of which are tried to foresee its cost."""


def map_shots(
    base: Scenario | Mapping[str, Any],
    *over: str,
    workers: int | None = None,
    cluster: str | None = None,
    out: str | os.PathLike[str] | None = None,
    progress: Progress | None = None,
) -> Cube:
    """Cube of measures, verdicts and outlines over the ranges `over`, such as "power: 5 W to 40 W, 20".

    `base` is a scenario, or the settings of a shot by name, such as {"material": "skin", "spot": "1 mm"},
    without those that are mapped. With `out` each point is kept in that HDF5 file as it comes, and an earlier
    call of the same map there is gone on with. For the rest, and errors, see `study.maps.mapping.map_of`;
    also InputError for a range that cannot be read or is given in `base` too.
    """
    return map_of(map_plan(base, *over, workers=workers), out, workers, cluster, progress)


def map_plan(base: Scenario | Mapping[str, Any], *over: str, workers: int | None = None) -> MapPlan:
    """Plan of such a map, checked: nothing is run. Raises InputError that names "over power" for a range."""
    ranges = ranges_of(over)
    names = [one.name for one in ranges]
    given = {} if isinstance(base, Scenario) else {name: one for name, one in base.items() if one is not None}
    _check_given_once(names, given)
    try:
        plan = MapPlan(base if isinstance(base, Scenario) else _scenario_of(given, ranges), axes_of(ranges))
        check_plan(plan, workers)
        _ = plan.whole  # reads the materials
    except InputError as error:
        raise error.renamed(lambda where: f"over {where}" if where in names else where) from None
    return plan


def axes_of(ranges: Sequence[Range]) -> tuple[Axis, ...]:
    """Axes of a cube over `ranges`."""
    return tuple(Axis(one.name, one.values, one.unit, one.scale) for one in ranges)


def first_values(ranges: Sequence[Range]) -> dict[str, str]:
    """Text of the first value of each range, by its setting."""
    return {one.name: text_of(one.name, one.values[0]) for one in ranges}


def _check_given_once(names: Sequence[str], given: Mapping[str, Any]) -> None:
    if twice := [name for name in names if name in given]:
        raise InputError(twice[0], "an input that is fixed or mapped", "both", "Leave it out, or the range.")
    powers = {"power", "peak_power"}
    if powers <= {*names, *given} and powers & set(names):
        # The schema would compare them point by point.
        raise InputError(
            "over power", "no power beside a peak power, which gives it", "both", "Leave one out."
        )


def _scenario_of(given: Mapping[str, Any], ranges: Sequence[Range]) -> Scenario:
    """The first shot of a map whose other settings are `given`."""
    settings = {**given, **first_values(ranges)}
    if "material" not in settings:
        expected = "a base: a material with the settings of a shot, or a scenario"
        raise InputError("material", expected, "neither", "Add one.")
    if "save_times" in settings:
        raise InputError("save_times", "none: a map keeps the last state", "some", "Leave it out.")
    if "count" in settings:
        settings["count"] = int(settings["count"])
    return scenario_of_shot(**settings)


def probe_points(plan: MapPlan) -> list[Index]:
    """Points whose cost tells that of the map: the middle, then the corners, or of many two opposite ones."""
    last = tuple(one - 1 for one in plan.shape)
    corners = (
        list(product(*((0, one) for one in last))) if len(last) <= _FEW_AXES else [(0,) * len(last), last]
    )
    return [tuple(one // 2 for one in last), *corners]


def foreseen(plan: MapPlan, workers: int | None = None) -> float:
    """Time [s] that the map may take on this machine, by Simpson's rule from the cost of a few points."""
    middle, *corners = (point_of(plan, index).seconds for index in probe_points(plan))
    each = (2.0 * middle + sum(corners) / len(corners)) / 3.0
    return each * int(np.prod(plan.shape, dtype=np.int64)) / min(workers or cores(), cores())
