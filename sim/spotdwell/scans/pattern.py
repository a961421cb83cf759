"""Pattern: where the beam is at each moment while it goes over an area, and when it is off."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.inputs.scan import Way

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Pattern:
    """A way over an area whose middle is the origin; lines run along x, one beside the other along y."""

    way: Way
    length: float
    """Of the area along x, and of a line [m]; the diameter of a spiral."""
    width: float
    """Of the area along y, across the lines [m]."""
    spacing: float
    """Between neighbouring lines, points or turns [m]."""
    speed: float = 0.0
    """Of the beam along its way [m/s]; 0 for points."""
    dwell: float = 0.0
    """At each point [s]; 0 but for points."""
    passes: int = 1
    turned: bool = False
    """Whether every second pass is turned by 90 degrees."""
    line_pause: float = 0.0
    """Beam off between two lines or points [s]."""
    pass_pause: float = 0.0
    """Beam off between two passes [s]."""

    @property
    def has_lines(self) -> bool:
        """Whether it consists of straight lines."""
        return self.way in (Way.ONE_WAY, Way.BACK_AND_FORTH)

    def lines(self, across: float) -> int:
        """Number of lines, or rows of points, over an extent `across` them [m]."""
        return max(1, round(across / self.spacing))


@dataclass(frozen=True, eq=False)
class Course:
    """Strokes of the beam in their order: straight, at an even speed, with the beam on."""

    start: Array
    """When each begins [s], shape (strokes,)."""
    stop: Array
    """When each ends [s]."""
    begin: Array
    """Where each begins, x and y [m], shape (strokes, 2)."""
    end: Array
    """Where each ends [m]."""
    number: NDArray[np.int64]
    """Index of each stroke's pass."""

    @property
    def on_time(self) -> float:
        """Total time with the beam on [s]."""
        return float(np.sum(self.stop - self.start))

    @property
    def total_time(self) -> float:
        """From the first stroke's start to the last one's stop [s]."""
        return float(self.stop[-1])

    def arrivals(self, reach: float) -> Array:
        """When a beam of `reach` [m] comes to the middle of each stroke [s], shape (strokes,), ascending."""
        way = np.hypot(*(self.end - self.begin).T)
        takes = self.stop - self.start
        ahead = np.divide(reach * takes, way, out=0.5 * takes, where=way > 0.0)
        return np.asarray(np.maximum.accumulate(0.5 * (self.start + self.stop) - ahead))

    def gates(self) -> tuple[Array, Array]:
        """Starts and stops of the spans in which the beam is on without a break [s]."""
        return joined(self.start, self.stop)


def joined(start: Array, stop: Array) -> tuple[Array, Array]:
    """Spans that overlap or touch, as one; `start` ascends [s]."""
    reach = np.maximum.accumulate(stop)
    fresh = np.append(True, start[1:] > reach[:-1] + 1e-12 * reach[-1])
    last = np.append(np.flatnonzero(fresh)[1:] - 1, start.size - 1)
    return start[fresh], reach[last]


def course_of(pattern: Pattern, step: float) -> Course:
    """Course of the beam over `pattern`; a spiral is cut into strokes of at most `step` [m]."""
    pieces, time = [], 0.0
    for number in range(pattern.passes):
        begin, end, takes = _pass(pattern, pattern.turned and number % 2 == 1, step)
        pause = 0.0 if pattern.way is Way.SPIRAL else pattern.line_pause
        start = time + np.concatenate([[0.0], np.cumsum(takes + pause)[:-1]])
        pieces.append((start, start + takes, begin, end, np.full(takes.size, number)))
        time = float(start[-1] + takes[-1] + pattern.pass_pause)
    return Course(*(np.concatenate(parts) for parts in zip(*pieces, strict=True)))


def _pass(pattern: Pattern, turned: bool, step: float) -> tuple[Array, Array, Array]:
    """Begins and ends [m] of one pass's strokes, and what each takes [s]."""
    if pattern.way is Way.SPIRAL:
        return _spiral(pattern, step)
    along, across = (pattern.width, pattern.length) if turned else (pattern.length, pattern.width)
    places = _even(across, pattern.lines(across))
    if pattern.way is Way.POINTS:
        columns = _even(along, pattern.lines(along))
        x, y = np.tile(columns, places.size), np.repeat(places, columns.size)
        begin = end = np.stack([x, y], axis=1)
        takes = np.full(x.size, pattern.dwell)
    else:
        side = np.full(places.size, -0.5 * along)
        if pattern.way is Way.BACK_AND_FORTH:
            side[1::2] *= -1.0
        begin, end = np.stack([side, places], axis=1), np.stack([-side, places], axis=1)
        takes = np.full(places.size, along / pattern.speed)
    return (begin[:, ::-1], end[:, ::-1], takes) if turned else (begin, end, takes)


def _even(extent: float, count: int) -> Array:
    """Middles of `count` equal parts of an `extent` around 0 [m]."""
    return np.asarray((np.arange(count) + 0.5) * (extent / count) - 0.5 * extent)


def _spiral(pattern: Pattern, step: float) -> tuple[Array, Array, Array]:
    """An Archimedean spiral from the middle outwards, in chords of at most `step` [m]."""
    outer, grows = 0.5 * pattern.length, pattern.spacing / (2.0 * math.pi)
    turns = outer / grows
    # Arc length a theta^2 / 2 but for the innermost turn: even steps of its root are even chords.
    count = math.ceil(0.5 * grows * turns**2 / step) + 8
    theta = turns * np.sqrt(np.linspace(0.0, 1.0, count + 1))
    way = grows * theta[:, None] * np.stack([np.cos(theta), np.sin(theta)], axis=1)
    lengths = np.hypot(*np.diff(way, axis=0).T)
    return way[:-1], way[1:], lengths / pattern.speed


def corner_of(course: Course, pattern: Pattern, side: float) -> Course:
    """What `course` does in a square of `side` [m] in the corner where it begins, moved to the origin.

    Strokes are cut at the square's sides and keep their times. `side` is at most that of the area.
    """
    low = np.array([-0.5 * pattern.length, -0.5 * pattern.width])
    way = (course.end - course.begin)[:, 0]
    ends = np.stack([low[0] - course.begin[:, 0], low[0] + side - course.begin[:, 0]])
    along = np.sort(ends / way, axis=0)
    first, last = np.clip(along[0], 0.0, 1.0), np.clip(along[1], 0.0, 1.0)
    kept = (course.begin[:, 1] < low[1] + side) & (last > first)
    takes, span = course.stop - course.start, course.end - course.begin
    shift = -low - 0.5 * side
    return Course(
        (course.start + first * takes)[kept],
        (course.start + last * takes)[kept],
        (course.begin + first[:, None] * span + shift)[kept],
        (course.begin + last[:, None] * span + shift)[kept],
        course.number[kept],
    )


def resting(course: Course, spacing: float) -> Course:
    """`course` with the beam at rest in the middle of each `spacing` [m] of a stroke for the time it took."""
    takes, way = course.stop - course.start, course.end - course.begin
    counts = np.maximum(np.round(np.hypot(*way.T) / spacing), 1.0).astype(int)
    stroke = np.repeat(np.arange(counts.size), counts)
    place = np.concatenate([np.arange(count) for count in counts])
    share = takes[stroke] / counts[stroke]
    start = course.start[stroke] + place * share
    at = course.begin[stroke] + ((place + 0.5) / counts[stroke])[:, None] * way[stroke]
    return Course(start, start + share, at, at, course.number[stroke])
