"""Layout of a cube: labelled arrays over its axes, for files and for xarray, free of any file format."""

from __future__ import annotations

from typing import Any

import numpy as np

from spotdwell.base.errors import RunError
from spotdwell.base.names import AXES, MEASURES
from spotdwell.output.layout import Labelled
from spotdwell.output.maps.cube import OUTLINES, RADII, Axis, Cube
from spotdwell.output.maps.point_bytes import (
    CHECKSUM,
    FAILURE,
    OUTLINE,
    RADIUS,
    SECONDS,
    VERDICT,
    checksums_of,
)

PLACE = "place"
"""Dimension along which an outline runs."""
_EDGES = {
    "crater": "depth of the crater",
    "char": "lower edge of the char",
    "dried": "lower edge of what is dried",
    "coagulated": "lower edge of what is coagulated",
}


def coordinates_of(cube: Cube) -> list[Labelled]:
    """Values along each axis, and the numbers of the places of an outline."""
    places = Labelled(PLACE, np.arange(RADII), (PLACE,), "1", "number of the place on an outline")
    return [*map(_coordinate, cube.axes), places]


def arrays_of(cube: Cube) -> list[Labelled]:
    """All arrays over the axes."""
    dims = tuple(axis.name for axis in cube.axes)
    along = (*dims, PLACE)
    return [
        *(Labelled(name, cube.measures[name], dims, q.unit, q.meaning) for name, q in MEASURES.items()),
        Labelled(SECONDS, cube.seconds, dims, "s", "computing time"),
        Labelled(RADIUS, cube.radius, along, "m", "distance from the beam's axis"),
        *(Labelled(OUTLINE.format(name), cube.outlines[name], along, "m", _EDGES[name]) for name in OUTLINES),
        Labelled(CHECKSUM, checksums_of(cube), dims, "1", "checksum of all that a point holds"),
        Labelled(FAILURE, cube.failure, dims, "", "why the run failed"),
        Labelled(VERDICT, cube.word, dims, "", "verdict; empty where not computed"),
    ]


def dataset_of(cube: Cube) -> Any:
    """`cube` as an `xarray.Dataset`, with units and meanings as attributes.

    Raises RunError where xarray, which a plain installation does not need, is not there.
    """
    try:
        import xarray
    except ImportError:
        raise RunError("labelled arrays need xarray, which is not installed. pip install xarray") from None
    attributes = {"scenario": cube.scenario_text, **cube.setting}
    variables = {item.name: _variable(item) for item in arrays_of(cube)}
    coordinates = {item.name: _variable(item) for item in coordinates_of(cube)}
    return xarray.Dataset(variables, coordinates, attributes)


def _coordinate(axis: Axis) -> Labelled:
    quantity = AXES[axis.name]
    return Labelled(axis.name, np.array(axis.values), (axis.name,), quantity.unit, quantity.meaning)


def _variable(item: Labelled) -> tuple[tuple[str, ...], Any, dict[str, str]]:
    texts = {"units": item.unit, "long_name": item.meaning}
    return item.dims, item.values, {name: text for name, text in texts.items() if text}
