"""The cube of a map: measures on a grid of settings, their layout, bytes and checks."""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import RunError
from spotdwell.base.foreign import is_clean
from spotdwell.base.names import AXES, MEASURES
from spotdwell.maps.bands import NOTHING, Bands, bytes_of_band, is_sound_band, words_along
from spotdwell.measure.interval import Interval
from spotdwell.measure.verdict import Limits, Word
from spotdwell.output.layout import Labelled

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
    words = [] if cube.bands is None else [words_along()]
    return [*map(_coordinate, cube.axes), places, *words]


def arrays_of(cube: Cube) -> list[Labelled]:
    """All arrays over the axes."""
    dims = tuple(axis.name for axis in cube.axes)
    along = (*dims, PLACE)
    return [
        *(Labelled(name, cube.measures[name], dims, q.unit, q.meaning) for name, q in MEASURES.items()),
        Labelled(SECONDS, cube.seconds, dims, "s", "computing time"),
        Labelled(RADIUS, cube.radius, along, "m", "distance from the beam's axis"),
        *(Labelled(OUTLINE.format(name), cube.outlines[name], along, "m", _EDGES[name]) for name in OUTLINES),
        *([] if cube.bands is None else cube.bands.arrays(dims)),
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
    interval: Interval | None = None
    """`bands.NOTHING` where there is none; None in a map without intervals."""


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
    bands: Bands | None = None
    """Intervals over the axes; None in a map without."""

    def __repr__(self) -> str:
        axes = " x ".join(f"{len(axis.values)} of {axis.name}" for axis in self.axes)
        return (
            f"<Cube: {axes}, {int(np.sum(self.word == FAILED))} failed, {int(np.sum(self.missing))} missing>"
        )

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
        if self.bands is not None:
            self.bands.fill(index, point.interval)
        self.failure[index] = shortened(point.failure)
        self.word[index] = point.word

    def interval(self, index: tuple[int, ...]) -> Interval | None:
        """Intervals and shares of the verdicts at `index`; None where there are none."""
        found = NOTHING if self.bands is None else self.bands.at(index)
        return None if found is NOTHING else found

    def odds(self, index: tuple[int, ...]) -> str:
        """How many draws share the verdict at `index`, such as "4 in 5"; "" for all, or without draws."""
        found = self.interval(index)
        return "" if found is None else found.odds(str(self.word[index]))

    def to_xarray(self) -> Any:
        """The cube as an `xarray.Dataset`. Raises RunError where xarray is not installed."""

        return dataset_of(self)


def blank_cube(
    axes: tuple[Axis, ...],
    limits: Limits,
    setting: dict[str, str],
    scenario_text: str,
    versions: dict[str, str],
    bands: Bands | None = None,
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
        bands,
    )


def failed_point(reason: str, seconds: float, interval: Interval | None = None) -> Point:
    """Point of a run that failed for `reason`; its `interval` is `bands.NOTHING` in a map with intervals."""
    nothing = np.full(RADII, np.nan)
    measures, outlines = np.full(len(MEASURES), np.nan), np.tile(nothing, (len(OUTLINES), 1))
    return Point(measures, FAILED, reason, seconds, nothing, outlines, interval)


def shortened(reason: str) -> str:
    """`reason` in at most `LONGEST_REASON` bytes of UTF-8, whole letters only."""
    return reason.encode()[:LONGEST_REASON].decode(errors="ignore")


VERDICT, FAILURE, SECONDS, RADIUS, CHECKSUM = "verdict", "failure", "seconds", "radius", "checksum"
OUTLINE = "{}_outline"


def bytes_of(point: Point) -> list[tuple[str, bytes]]:
    """Name of each array, and what the point has in it; its verdict, which makes it count, comes last."""
    outlines = zip(OUTLINES, point.outlines, strict=True)
    numbers = {
        **dict(zip(MEASURES, point.measures, strict=True)),
        SECONDS: point.seconds,
        RADIUS: point.radius,
        **{OUTLINE.format(name): depths for name, depths in outlines},
        **({} if point.interval is None else bytes_of_band(point.interval)),
    }
    parts = [(name, np.asarray(value, dtype=np.float64).tobytes()) for name, value in numbers.items()]
    parts.append((FAILURE, shortened(point.failure).encode().ljust(LONGEST_REASON, b"\0")))
    verdict = point.word.encode().ljust(LONGEST_WORD, b"\0")
    digest = hashlib.blake2b(b"".join(data for _, data in parts) + verdict, digest_size=8)
    return [*parts, (CHECKSUM, digest.digest()), (VERDICT, verdict)]


def checksum_of(point: Point) -> int:
    """Checksum of all that the point holds."""
    return int.from_bytes(dict(bytes_of(point))[CHECKSUM], "little")


def checksums_of(cube: Cube) -> NDArray[np.uint64]:
    """Checksum of each point, 0 where it is missing, shape of the axes."""
    found = np.zeros(cube.shape, dtype="<u8")
    for index in np.ndindex(*cube.shape):
        if cube.word[index] != "":
            found[index] = checksum_of(point_at(cube, index))
    return found


def point_at(cube: Cube, index: tuple[int, ...]) -> Point:
    """The point of `cube` at `index`."""
    return Point(
        np.array([cube.measures[name][index] for name in MEASURES]),
        str(cube.word[index]),
        str(cube.failure[index]),
        float(cube.seconds[index]),
        cube.radius[index],
        np.array([cube.outlines[name][index] for name in OUTLINES]),
        None if cube.bands is None else cube.bands.at(index),
    )


def is_sound(point: Point, words: frozenset[str]) -> bool:
    """Whether a point is one that a run can have left: a known verdict, clean texts, no infinite number."""
    numbers = np.concatenate([point.measures, [point.seconds], point.radius, point.outlines.ravel()])
    lit = point.word == FAILED or bool(np.all(np.isfinite(point.radius)))
    banded = point.interval is None or is_sound_band(point.interval)
    return (
        point.word in words and is_clean(point.failure) and not np.any(np.isinf(numbers)) and lit and banded
    )


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
