"""Window: the cleanest setting of a map for a wanted depth.

A setting comes into question where two neighbouring points along one axis, the others being the same, both
cut without perforating and their depths lie on either side of the wanted one: setting and measures are
then interpolated linearly between the two (in the logarithm of the setting where the axis is drawn so).
Materials and counts are not interpolated.
A computed point whose depth is within 2 % of the wanted one comes into question as it is.

Of these, settings with the verdict "clean" go first; then the one with the thinnest char at floor or wall,
whichever is thicker there, in steps of 1 um; of equals, the one with the thinnest coagulated layer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.base.units import display
from spotdwell.maps.choice import Choice
from spotdwell.maps.cube import Axis, Cube
from spotdwell.maps.view import spacing
from spotdwell.measure.verdict import Limits, Word, verdict_of

NEAR = 0.02
"""A computed depth this close to the wanted one, as a share of it, is taken for it."""
_ALIKE = 1e-6
"""Char thicknesses are told apart in steps of this [m]: less is below what cells resolve."""

Array = NDArray[np.float64]
Index = tuple[int, ...]


@dataclass(frozen=True)
class _Place:
    """A place in the map: a computed point, or `share` of the way to the next one along `axis`."""

    index: Index
    axis: int | None = None
    share: float = 0.0


def cleanest(cube: Cube, depth: float) -> Choice | None:
    """The cleanest setting of `cube` for a crater `depth` [m] deep on the axis, None if none cuts so deep.

    Its word says whether it is clean at all. Raises InputError for a depth that the limits forbid.
    """
    check_depth(depth, cube.limits)
    choices = [_choice(cube, depth, place) for place in _places(cube, depth)]
    return min(choices, key=_rank, default=None)


def check_depth(depth: float, limits: Limits) -> None:
    """Raise InputError for a wanted depth [m] that the `limits` forbid."""
    if limits.depth is not None and depth > limits.depth:
        expected = f"at most the depth limit, {display(limits.depth, 'm', 'um')}"
        raise InputError("depth", expected, display(depth, "m", "um"))


def _places(cube: Cube, depth: float) -> Iterator[_Place]:
    """Places where the crater is as deep as wanted."""
    found = cube.measures["crater_depth"]
    cut = np.isnan(cube.measures["perforation_time"]) & ~(cube.missing | cube.failed) & ~np.isnan(found)
    depths = np.where(cut, found, 0.0)
    for index in np.argwhere(np.abs(depths - depth) <= NEAR * depth):
        yield _Place(tuple(int(one) for one in index))
    for number, axis in enumerate(cube.axes):
        if not (isinstance(axis.values[0], str) or axis.name == "count"):
            yield from _crossings(depths, depth, number)


def _crossings(depths: Array, depth: float, axis: int) -> Iterator[_Place]:
    """Places between neighbours along `axis`; a depth of 0 stands for a point that is no neighbour."""
    first, second = (
        np.take(depths, np.arange(start, depths.shape[axis] + start - 1), axis) for start in (0, 1)
    )
    passes = (np.minimum(first, second) > 0.0) & ((first - depth) * (second - depth) < 0.0)
    for found in np.argwhere(passes):
        index = tuple(int(one) for one in found)
        share = (depth - first[index]) / (second[index] - first[index])
        yield _Place(index, axis, float(share))


def _choice(cube: Cube, depth: float, place: _Place) -> Choice:
    measures = {name: _measured(values, place) for name, values in cube.measures.items()}
    point = {axis.name: axis.values[one] for axis, one in zip(cube.axes, place.index, strict=True)}
    position = [float(one) for one in place.index]
    between = ""
    if place.axis is not None:
        axis = cube.axes[place.axis]
        between = axis.name
        point[between] = _between(axis, place)
        position[place.axis] += place.share
    word = str(verdict_of(measures, cube.limits).word)
    return Choice(depth, point, tuple(position), between, measures, word)


def _measured(values: Array, place: _Place) -> float | None:
    """A measure at `place`; None where it does not apply at one of the two points."""
    value = float(values[place.index])
    if place.axis is not None:
        after = list(place.index)
        after[place.axis] += 1
        value += place.share * (float(values[tuple(after)]) - value)
    return None if np.isnan(value) else value


def _between(axis: Axis, place: _Place) -> float:
    index = place.index[place.axis or 0]
    low, high = float(axis.values[index]), float(axis.values[index + 1])
    if spacing(axis) == "log":
        return float(low * (high / low) ** place.share)
    return low + place.share * (high - low)


def _rank(choice: Choice) -> tuple[bool, int, float]:
    """Smaller is cleaner."""
    char = _thickest(choice, "char")
    return choice.word != Word.CLEAN, round(char / _ALIKE), _thickest(choice, "coagulation")


def _thickest(choice: Choice, zone: str) -> float:
    places = (choice.measures[f"{zone}_thickness_{place}"] for place in ("floor", "wall"))
    return max((value for value in places if value is not None), default=0.0)
