"""Check of a cube that was read: axes, kinds, shapes and texts, before anything of it is believed."""

from __future__ import annotations

import tomllib
from itertools import pairwise

import numpy as np

from spotdwell.base.foreign import is_clean
from spotdwell.base.names import AXES, MEASURES
from spotdwell.measure.verdict import Word
from spotdwell.output.maps.cube import FAILED, OUTLINES, RADII, Axis, Cube

WORDS = frozenset({FAILED, *map(str, Word)})
"""Verdicts of a point that was computed."""
_SCALES = ("linear", "log", "list")


def check_cube(cube: Cube) -> None:
    """Raise ValueError that names what is of another kind or shape, or not finite."""
    if not cube.axes:
        raise ValueError("there is no axis")
    for axis in cube.axes:
        _check_axis(axis)
    shape = cube.shape
    for name in MEASURES:
        _check_array(name, cube.measures[name], shape)
    _check_array("seconds", cube.seconds, shape)
    _check_array("radius", cube.radius, (*shape, RADII))
    for name in OUTLINES:
        _check_array(name, cube.outlines[name], (*shape, RADII))
    if cube.word.shape != shape or cube.failure.shape != shape:
        raise ValueError("the verdicts have another shape")
    _check_limits(cube)
    _check_scenario(cube.scenario_text)
    for name, table in (("setting", cube.setting), ("versions", cube.versions)):
        texts = [*table, *table.values()] if isinstance(table, dict) else [None]
        if not all(isinstance(text, str) and is_clean(text) for text in texts):
            raise ValueError(f"the {name} is no table of texts")


def _check_axis(axis: Axis) -> None:
    if axis.name not in AXES or axis.scale not in _SCALES or not axis.values:
        raise ValueError(f"{axis.name} is no axis")
    words = AXES[axis.name].unit == ""
    if words != isinstance(axis.values[0], str):
        raise ValueError(f"{axis.name} has values of another kind")
    if words:
        return
    values = [float(value) for value in axis.values]
    if not np.all(np.isfinite(values)) or any(after <= before for before, after in pairwise(values)):
        raise ValueError(f"{axis.name} does not ascend")


def _check_array(name: str, values: object, shape: tuple[int, ...]) -> None:
    if not isinstance(values, np.ndarray) or values.dtype != np.float64 or values.shape != shape:
        raise ValueError(f"{name} has another kind or shape")


def _check_scenario(text: str) -> None:
    """Of the scenario, the tables that a page of the map reads must be some."""
    scenario = tomllib.loads(text)
    for key in ("beam", "target", "grid", "materials"):
        if not isinstance(scenario.get(key, {}), dict):
            raise ValueError(f"{key} is no table")
    layers = scenario.get("target", {}).get("layers", [])
    tables = [*(layers if isinstance(layers, list) else [None]), *scenario.get("materials", {}).values()]
    if not all(isinstance(one, dict) for one in tables):
        raise ValueError("a layer or a material is no table")


def _check_limits(cube: Cube) -> None:
    limits = cube.limits
    for name, value in vars(limits).items():
        sound = isinstance(value, (int, float)) and np.isfinite(value)
        if not sound and not (name == "depth" and value is None):
            raise ValueError(f"the limit {name} is no finite number")
