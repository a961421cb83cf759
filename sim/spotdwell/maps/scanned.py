"""Points of a map that are scans: solved as slices, with their section across the lines."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.inputs.scan import Model
from spotdwell.inputs.schema import Scenario
from spotdwell.output.result import Result
from spotdwell.scans.measures import Surface
from spotdwell.scans.request import plan_of
from spotdwell.scans.run import solved
from spotdwell.scans.words import LAYERS

Array = NDArray[np.float64]


def check_scans(base: Scenario, corners: Sequence[Scenario]) -> None:
    """Raise InputError for a base that no slice stands for, and for corners that cannot be scanned."""
    assert base.scan is not None
    if base.scan.model is Model.BLOCK or not base.scan.speed:
        got = "a block" if base.scan.model is Model.BLOCK else f"{base.scan.way}"
        advice = "Leave the model out, or solve its points one by one with the verb scan."
        raise InputError(base.origin.where("scan"), "lines that a slice stands for, for a map", got, advice)
    for one in corners:
        plan_of(one)


def slice_of(scenario: Scenario, count: int) -> tuple[Result, Array, Array]:
    """Result of a scan as a slice, and its outlines at `count` distances from the middle (`maps.cube`) [m].

    Raises InputError where no slice holds, and as `scans.run.solved`.
    """
    plan = plan_of(scenario)
    if plan.model is not Model.SLICE:
        raise InputError(
            scenario.origin.where("scan"),
            "a slice for each point of a map",
            plan.reasons[0],
            "Solve this one with the verb scan.",
        )
    found = solved(plan)
    distance, lines = _across(found.surface, count)
    return found.record, distance, lines


def _across(surface: Surface, count: int) -> tuple[Array, Array]:
    """Distances from the middle across the lines, and depths of crater and lower edges there [m]."""
    distance = np.linspace(0.0, surface.y[-1], count)
    depth = surface.depth[0]
    edges = [depth, *(depth + surface.layers[name][0] for name in LAYERS)]
    lines = np.vstack([np.interp(distance, surface.y, one) for one in edges])
    return distance, np.asarray(np.maximum.accumulate(lines, axis=0))
