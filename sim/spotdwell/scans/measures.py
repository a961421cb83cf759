"""Measures: depth, layers and temperatures of a scanned area, from the outcome."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from spotdwell.inputs.scan import Way
from spotdwell.kernels.layout import State
from spotdwell.measure import crater, zones
from spotdwell.measure.summary import per_volume
from spotdwell.model.columns import Columns
from spotdwell.scans.light import BlockLight, SliceLight
from spotdwell.scans.pattern import Course, Pattern
from spotdwell.scans.problem import Setup, peclet
from spotdwell.solve.outcome import Outcome

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass
class Meeting:
    """Notes the temperature of the surface that each line meets: just before the beam comes."""

    times: Array
    """When [s], shape (strokes,), ascending."""
    columns: NDArray[np.int64]
    """In which column, shape (strokes,)."""
    initial: float
    """[K]."""
    found: Array = field(init=False)
    """[K], shape (strokes,)."""
    _next: int = 0

    def __post_init__(self) -> None:
        self.found = np.full(self.times.size, self.initial)

    def look(self, time: float, state: State) -> None:
        """Note what the lines up to `time` meet."""
        while self._next < self.times.size and self.times[self._next] <= time:
            column = int(self.columns[self._next])
            floor = min(int(state.floor[column]), state.temperature.shape[1] - 1)
            self.found[self._next] = self.initial + max(float(state.temperature[column, floor]), 0.0)
            self._next += 1


def meeting_of(setup: Setup, course: Course, columns: Columns, light: SliceLight | BlockLight) -> Meeting:
    """What notes the temperature that each line meets: half way along it, before any light."""
    middle = 0.5 * (course.begin + course.end)
    y = _nearest(columns.y, middle[:, 1])
    at = y if isinstance(light, SliceLight) else _nearest(columns.x, middle[:, 0]) * columns.y.size + y
    return Meeting(course.arrivals(setup.beam.reach), at, setup.target.initial_temperature)


def _nearest(centres: Array, at: Array) -> NDArray[np.int64]:
    return np.asarray(np.abs(centres[None, :] - at[:, None]).argmin(axis=1))


def thickness_below(outcome: Outcome, zone: zones.Zone) -> Array:
    """Thickness of the zone from each column's front downwards, through all that hangs together [m]."""
    grid, final = outcome.problem.grid, outcome.final
    centre, cells = grid.depth, grid.depth.size
    length = zones.length_between_centres(zone.margin, zone.applies, grid.depth_edges)
    whole = length >= np.diff(centre) * (1.0 - 1e-9)
    index = np.arange(cells - 1)
    ends = (index >= final.floor[:, None]) & ~whole
    last = np.where(ends.any(axis=1), ends.argmax(axis=1), cells - 2)
    rows = np.arange(last.size)
    floor = np.minimum(final.floor, cells - 1)
    begins = zone.inside[rows, floor] & (final.floor < cells)
    end = centre[last] + length[rows, last]
    return np.where(begins, np.maximum(end - final.crater_depth, 0.0), 0.0)


@dataclass(frozen=True, eq=False)
class Surface:
    """Fields over the columns of a slice (1, ny) or a block (nx, ny) [m]."""

    x: Array
    y: Array
    depth: Array
    layers: dict[str, Array]
    """Char, dried and coagulated below the floor."""
    inside: BoolArray
    """Columns of the area's inside, away from its edge."""
    edge: BoolArray
    """Columns along the area's edge, in and out."""
    weights: Array
    """Area of each column [m2]."""


def surface_of(setup: Setup, pattern: Pattern, outcome: Outcome) -> Surface:
    """Depth and layers of each column, and which columns are inside."""
    columns = outcome.problem.grid.columns
    shape = columns.x.size, columns.y.size
    dried = thickness_below(outcome, zones.dried(outcome))
    layers = {
        "char": thickness_below(outcome, zones.charred(outcome)),
        "dried": dried,
        "coagulation": np.maximum(thickness_below(outcome, zones.coagulated(outcome)), dried),
    }
    x, y = columns.x[:, None], columns.y[None, :]
    sliced = columns.x.size == 1
    if pattern.way is Way.SPIRAL:
        beside = np.hypot(x, y) - 0.5 * pattern.length
    else:
        along = np.zeros_like(x) - np.inf if sliced else np.abs(x) - 0.5 * pattern.length
        beside = np.maximum(along, np.abs(y) - 0.5 * pattern.width)
    radius = setup.beam.radius
    inside = beside <= -min(2.0 * radius, 0.3 * min(pattern.length, pattern.width))
    if not inside.any():
        inside = beside <= beside.min() + 1e-12
    edge = (np.abs(beside) <= 2.0 * radius) & ~inside
    return Surface(
        columns.x,
        columns.y,
        outcome.final.crater_depth.reshape(shape),
        {name: one.reshape(shape) for name, one in layers.items()},
        inside,
        edge,
        columns.area.reshape(shape),
    )


def measures_of_scan(
    setup: Setup, pattern: Pattern, course: Course, outcome: Outcome, surface: Surface, meets: Array
) -> dict[str, float | None]:
    """Measures by `words.SCAN_MEASURES`, SI."""
    inside, weights = surface.inside, surface.weights[surface.inside]
    depth, volume = surface.depth[inside], crater.volume(outcome)
    mean = float(depth @ weights / weights.sum())
    energy = setup.power * course.on_time
    values: dict[str, float | None] = {
        "depth_mean": mean,
        "depth_least": float(depth.min()),
        "depth_greatest": float(depth.max()),
        "ripple": float(depth.max() - depth.min()) / mean if mean > 0.0 else None,
        "volume": volume,
        "volume_rate": volume / course.total_time,
        "energy_per_volume": per_volume(energy, volume),
    }
    for name, one in surface.layers.items():
        values[f"{name}_mean"] = float(one[inside] @ weights / weights.sum())
        values[f"{name}_worst"] = float(one[inside].max())
        values[f"{name}_edge"] = float(one[surface.edge].max(initial=0.0))
    return values | {
        "meets_first": float(meets[0]),
        "meets_greatest": float(meets.max()),
        "peak_temperature": outcome.peak_temperature,
        "total_time": course.total_time,
        "duty": course.on_time / course.total_time,
        "energy": energy,
        "peclet": peclet(setup, pattern.speed) if pattern.speed > 0.0 else None,
    }
