"""Cube: what many runs over a few settings found, as labelled arrays, free of any file format."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.names import MEASURES
from spotdwell.measure.verdict import Limits

Array = NDArray[np.float64]

OUTLINES = ("crater", "char", "dried", "coagulated")
"""Zones from the surface down, whose lower edges a cube keeps."""
RADII = 64
"""Radii at which an outline is given."""
FAILED = "failed"
"""Word of a point that has no verdict because its run failed."""
LONGEST_WORD = 16
LONGEST_REASON = 240
"""Bytes of the reason why a point failed; what is longer is cut."""


@dataclass(frozen=True)
class Axis:
    """One setting and the values that it takes."""

    name: str
    """One of `base.names.AXES`."""
    values: tuple[float, ...] | tuple[str, ...]
    """SI, ascending; words for materials."""
    unit: str
    """Unit in which to show it, such as "mm"; empty for words and counts."""
    scale: str
    """How the values are spaced: linear, log or list."""


@dataclass(frozen=True, eq=False)
class Point:
    """What one run found."""

    measures: Array
    """In the order of `base.names.MEASURES`, SI; NaN where one does not apply."""
    word: str
    """Of the verdict, or "failed"."""
    failure: str
    """Why it failed, "" if it did not."""
    seconds: float
    """What it took [s]."""
    radius: Array
    """Distances from the axis at which outlines are given [m], shape (radii,)."""
    outlines: Array
    """Depth of the lower edge of each of `OUTLINES` [m], shape (outlines, radii)."""


@dataclass(frozen=True, eq=False)
class Cube:
    """Measures, verdicts and outlines at every point of a grid of settings."""

    axes: tuple[Axis, ...]
    measures: dict[str, Array]
    """By `base.names.MEASURES`, SI, shape of the axes; NaN where one does not apply, failed or is missing."""
    word: NDArray[np.str_]
    """Of the verdict; "failed", or "" where still missing; shape of the axes."""
    failure: NDArray[np.str_]
    """Why a point failed, "" if it did not; shape of the axes."""
    seconds: Array
    """What each point took [s]; NaN where missing; shape of the axes."""
    radius: Array
    """Distances from the axis at which outlines are given [m], shape of the axes + (radii,).

    Evenly from 0 to 1.15 times the reach of the widest zone of the point.
    """
    outlines: dict[str, Array]
    """Depth of the lower edge of each of `OUTLINES` at these radii [m], shape of the axes + (radii,).

    Where a zone is absent, equal to the one above it.
    """
    limits: Limits
    """Of the verdicts."""
    setting: dict[str, str]
    """Inputs that all points share, for captions, such as "target": "soft_tissue"."""
    scenario_text: str
    """TOML of the base scenario, with its materials."""
    versions: dict[str, str]
    """Of what computed it."""

    @property
    def shape(self) -> tuple[int, ...]:
        """Points along each axis."""
        return tuple(len(axis.values) for axis in self.axes)

    @property
    def missing(self) -> NDArray[np.bool_]:
        """Points not yet computed, shape of the axes."""
        return np.asarray(self.word == "")

    @property
    def failed(self) -> NDArray[np.bool_]:
        """Points whose run failed, shape of the axes."""
        return np.asarray(self.word == FAILED)

    def fill(self, index: tuple[int, ...], point: Point) -> None:
        """Enter what the run at `index` found."""
        for name, value in zip(MEASURES, point.measures, strict=True):
            self.measures[name][index] = value
        for name, depths in zip(OUTLINES, point.outlines, strict=True):
            self.outlines[name][index] = depths
        self.radius[index] = point.radius
        self.seconds[index] = point.seconds
        self.failure[index] = shortened(point.failure)
        self.word[index] = point.word

    def to_xarray(self) -> Any:
        """The cube as an `xarray.Dataset`. Raises RunError where xarray is not installed."""
        from spotdwell.output.maps.cube_layout import dataset_of

        return dataset_of(self)


def blank_cube(
    axes: tuple[Axis, ...],
    limits: Limits,
    setting: dict[str, str],
    scenario_text: str,
    versions: dict[str, str],
) -> Cube:
    """A cube with every point missing."""
    shape = tuple(len(axis.values) for axis in axes)
    return Cube(
        axes,
        {name: np.full(shape, np.nan) for name in MEASURES},
        np.zeros(shape, dtype=f"<U{LONGEST_WORD}"),
        np.zeros(shape, dtype=f"<U{LONGEST_REASON}"),
        np.full(shape, np.nan),
        np.full((*shape, RADII), np.nan),
        {name: np.full((*shape, RADII), np.nan) for name in OUTLINES},
        limits,
        setting,
        scenario_text,
        versions,
    )


def failed_point(reason: str, seconds: float) -> Point:
    """Point of a run that failed for `reason`."""
    nothing = np.full(RADII, np.nan)
    return Point(
        np.full(len(MEASURES), np.nan), FAILED, reason, seconds, nothing, np.tile(nothing, (len(OUTLINES), 1))
    )


def shortened(reason: str) -> str:
    """`reason` in at most `LONGEST_REASON` bytes of UTF-8, whole letters only."""
    return reason.encode()[:LONGEST_REASON].decode(errors="ignore")
