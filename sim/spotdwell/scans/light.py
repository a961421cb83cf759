"""Light: what a moving beam sends onto the columns of a slice or a block in a span of time (eq. 22, 23)."""

from __future__ import annotations

import bisect
import itertools
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from spotdwell.model.beam import Beam, Profile
from spotdwell.model.columns import Columns
from spotdwell.model.problem import Ring
from spotdwell.scans.pattern import Course, joined

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Rectangle = Callable[[Array, Array, Array, Array], Array]
"""Share of a beam on rectangles, from its axis: low and high x, low and high y [m]."""

STRIDE = 0.2
"""The beam moves at most by this share of its radius in a step [-]."""
SPREAD = 0.1
"""A step with the beam on takes at most this share of the time in which heat spreads over its radius [-]."""
_GAUSS = np.polynomial.legendre.leggauss(3)
_TABLE = 513
_CORE = 1.2
"""Columns within so many radii of the beam's axis march in the shortest steps [-]."""
_WEAK = 1.7
"""Those within so many march in longer ones, and the outskirts of the beam beyond in longer ones yet [-]."""
_SLOW = 0.0025
"""A beam whose longest step is more than this share of the spreading time is followed by all columns [-]."""
_APART = 0.5
"""Way of the beam between two moments at which the march shows itself, at least, over its radius [-]."""


def share_on(beam: Beam) -> Rectangle:
    """Share of `beam` on rectangles: in closed form for a gaussian, else from a table of running sums."""
    if beam.profile is Profile.GAUSSIAN:
        from scipy.special import erf

        scale = math.sqrt(2.0) / beam.radius

        def gaussian(left: Array, right: Array, low: Array, high: Array) -> Array:
            along = erf(scale * right) - erf(scale * left)
            return np.asarray(0.25 * along * (erf(scale * high) - erf(scale * low)))

        return gaussian
    return _tabled(beam)


def _tabled(beam: Beam) -> Rectangle:
    from scipy.interpolate import RegularGridInterpolator

    edges = np.linspace(-beam.reach, beam.reach, _TABLE)
    cells = beam.on_cell_square((edges[:-1, None], edges[1:, None]), (edges[None, :-1], edges[None, 1:]))
    sums = np.zeros((_TABLE, _TABLE))
    sums[1:, 1:] = np.cumsum(np.cumsum(cells / cells.sum(), axis=0), axis=1)
    below = RegularGridInterpolator((edges, edges), sums)

    def tabled(left: Array, right: Array, low: Array, high: Array) -> Array:
        corners = [np.clip(one, -beam.reach, beam.reach) for one in (left, right, low, high)]
        a, b, c, d = np.broadcast_arrays(*corners)
        inside = below((b, d)) - below((a, d)) - below((b, c)) + below((a, c))
        return np.maximum(inside, 0.0)

    return tabled


def _apart(times: Array, least: float) -> Array:
    """Those of ascending `times` [s] that lie `least` [s] after the one before that is kept."""
    kept: list[float] = []
    for time in times.tolist():
        if not kept or time >= kept[-1] + least:
            kept.append(time)
    return np.array(kept)


def _within(edges: Array, low: float, high: float) -> tuple[int, int]:
    """First of the columns between `edges` that reach into a span, and the one after the last [index]."""
    first = max(int(np.searchsorted(edges, low, side="right")) - 1, 0)
    return first, min(int(np.searchsorted(edges, high)), edges.size - 1)


class SliceLight:
    """Lines swept past a plane across them: each column sees the beam's profile go by (eq. 22)."""

    def __init__(
        self, beam: Beam, power: float, speed: float, columns: Columns, course: Course, spreading: float
    ) -> None:
        """`spreading` is the time in which heat spreads over the beam's radius [s]."""
        self.spreading = spreading
        self._longest = min(STRIDE * beam.radius / speed, SPREAD * spreading)
        self._beam, self._share, self._speed = beam, share_on(beam), speed
        self.columns, self._edges = columns, columns.y_edges
        self._power = power * float(np.diff(columns.x_edges)[0])
        self.passing = 0.5 * (course.start + course.stop)
        """When the beam's axis goes through the slice on each line [s]."""
        self.places = course.begin[:, 1]
        """Of the lines along y [m]."""
        self._times: list[float] = self.passing.tolist()
        self.half_time = beam.reach / speed
        """From when the beam's edge is at the slice to when its axis is [s]."""
        self.arrivals = _apart(course.arrivals(beam.reach), _APART * beam.radius / speed)
        least = 8.0 * self._longest
        self.rings: tuple[Ring, ...] = (
            Ring(max(0.0125 * spreading, least), beam.reach, 1.0),
            Ring(max(spreading, least), beam.reach, 2.0),
        )

    def gates(self) -> tuple[Array, Array]:
        """Spans in which the slice is lit [s]."""
        return joined(self.passing - self.half_time, self.passing + self.half_time)

    def falling(self, edges: Array) -> tuple[Array, Array]:
        """Mean power sent between one of `edges` [s] and the next, and of it on each column [W].

        Shapes (spans,) and (spans, columns).
        """
        count, reach = edges.size - 1, self._beam.reach
        falls, sent = np.zeros((count, self._edges.size - 1)), np.zeros(count)
        scale = self._power / (self._speed * np.diff(edges))
        for line in self._passing(edges[0], edges[-1]):
            at = np.clip(self._speed * (edges - self._times[line]), -reach, reach)
            place = self.places[line]
            low, high = _within(self._edges, place - reach, place + reach)
            beside = np.append(self._edges[low : high + 1] - place, [-reach, reach])
            share = self._share(at[:-1, None], at[1:, None], beside[:-1], beside[1:])
            falls[:, low:high] += scale[:, None] * share[:, : high - low]
            sent += scale * share[:, -1]
        return np.maximum(sent, falls.sum(axis=1)), falls

    def _passing(self, begin: float, end: float) -> range:
        """Lines whose beam is at the slice from `begin` to `end` [s]."""
        ends = begin - self.half_time, end + self.half_time
        return range(*(bisect.bisect_left(self._times, one) for one in ends))

    def near(self, begin: float, end: float, beyond: float) -> Indices:
        """Columns that lie within `beyond` [m] of its axis from `begin` to `end` [s]: ascending index."""
        at = self.places[self._passing(begin, end)]
        if at.size == 0:
            return np.empty(0, dtype=np.int64)
        return np.arange(*_within(self._edges, at.min() - beyond, at.max() + beyond))

    def longest_step(self, time: float) -> float:
        """Longest step in which the beam moves by a share of its radius [s]."""
        return self._longest


class BlockLight:
    """A beam on its course over a lattice (eq. 23)."""

    def __init__(self, beam: Beam, power: float, columns: Columns, course: Course, spreading: float) -> None:
        """`spreading` is the time in which heat spreads over the beam's radius [s]."""
        self.spreading = spreading
        self._beam, self._share, self._power = beam, share_on(beam), power
        self.columns, self._course = columns, course
        lengths = np.hypot(*(course.end - course.begin).T)
        self._speed = lengths / (course.stop - course.start)
        fastest = float(self._speed.max())
        least = _APART * beam.radius / fastest if fastest > 0.0 else 0.0
        self.arrivals = _apart(course.arrivals(beam.reach), least)
        self.rings = self._rings_of(spreading)

    def _rings_of(self, spreading: float) -> tuple[Ring, ...]:
        """None for a slow beam: heat would cross their borders before the beam has."""
        beam, fastest = self._beam, float(self._speed.max())
        stride = 0.0006 * spreading
        if fastest > 0.0:
            stride = STRIDE * beam.radius / fastest
            if stride > _SLOW * spreading:
                return ()
        return (
            Ring(2.0 * stride, _CORE * beam.radius, 1.0, lit=True),
            Ring(4.0 * stride, _WEAK * beam.radius, 1.0, lit=True),
            Ring(10.0 * stride, beam.reach, 1.0),
            Ring(0.04 * spreading, beam.reach, 2.0),
            Ring(0.2 * spreading, beam.reach, 2.0),
        )

    def gates(self) -> tuple[Array, Array]:
        """Spans in which the beam is on [s]."""
        return self._course.gates()

    def falling(self, edges: Array) -> tuple[Array, Array]:
        """Mean power sent between one of `edges` [s] and the next, and of it on each column [W].

        Shapes (spans,) and (spans, columns).
        """
        columns, reach = self.columns, self._beam.reach
        shape = edges.size - 1, columns.x.size, columns.y.size
        falls, sent = np.zeros(shape), np.zeros(shape[0])
        found = [self._places(float(begin), float(end)) for begin, end in itertools.pairwise(edges)]
        at, weight = np.concatenate([one[0] for one in found]), np.concatenate([one[1] for one in found])
        if at.size == 0:
            return sent, falls.reshape(shape[0], -1)
        span = np.repeat(np.arange(shape[0]), [one[1].size for one in found])
        np.add.at(sent, span, weight)
        low, high = at.min(axis=0) - reach, at.max(axis=0) + reach
        xs, ys = _within(columns.x_edges, low[0], high[0]), _within(columns.y_edges, low[1], high[1])
        x = np.clip(columns.x_edges[xs[0] : xs[1] + 1] - at[:, :1], -reach, reach)
        y = np.clip(columns.y_edges[ys[0] : ys[1] + 1] - at[:, 1:], -reach, reach)
        share = self._share(x[:, :-1, None], x[:, 1:, None], y[:, None, :-1], y[:, None, 1:])
        # Points come span by span.
        first = np.flatnonzero(np.diff(span, prepend=-1))
        falls[span[first], slice(*xs), slice(*ys)] = np.add.reduceat(weight[:, None, None] * share, first)
        return sent, falls.reshape(shape[0], -1)

    def _places(self, begin: float, end: float) -> tuple[Array, Array]:
        """Where the beam stands from `begin` to `end` [s], at points of Gauss's rule, and its power there.

        Places [m], shape (points, 2), and powers [W], (points,), that add up to the mean power sent.
        """
        course, places, powers = self._course, [np.empty((0, 2))], [np.empty(0)]
        for stroke in range(*self._strokes(begin, end)):
            start, stop = max(begin, course.start[stroke]), min(end, course.stop[stroke])
            if stop <= start:
                continue
            time = 0.5 * (start + stop) + 0.5 * _GAUSS[0] * (stop - start)
            part = (time - course.start[stroke]) / (course.stop[stroke] - course.start[stroke])
            way = course.end[stroke] - course.begin[stroke]
            places.append(course.begin[stroke] + part[:, None] * way)
            powers.append(0.5 * _GAUSS[1] * (self._power * (stop - start) / (end - begin)))
        return np.concatenate(places), np.concatenate(powers)

    def near(self, begin: float, end: float, beyond: float) -> Indices:
        """Columns that lie within `beyond` [m] of its axis from `begin` to `end` [s]: ascending index."""
        course, columns = self._course, self.columns
        near = np.zeros((columns.x.size, columns.y.size), dtype=bool)
        for stroke in range(*self._strokes(begin, end)):
            times = np.clip([begin, end], course.start[stroke], course.stop[stroke])
            part = (times - course.start[stroke]) / (course.stop[stroke] - course.start[stroke])
            at = course.begin[stroke] + part[:, None] * (course.end[stroke] - course.begin[stroke])
            spans = [
                slice(*_within(edges, low - beyond, high + beyond))
                for edges, low, high in zip(
                    (columns.x_edges, columns.y_edges), at.min(axis=0), at.max(axis=0), strict=True
                )
            ]
            x, y = columns.x[spans[0], None] - at[0, 0], columns.y[None, spans[1]] - at[0, 1]
            way = at[1] - at[0]
            along = np.clip((x * way[0] + y * way[1]) / max(float(way @ way), 1e-300), 0.0, 1.0)
            near[tuple(spans)] |= np.hypot(x - along * way[0], y - along * way[1]) <= beyond
        return np.flatnonzero(near)

    def _strokes(self, begin: float, end: float) -> tuple[int, int]:
        """First stroke from `begin` to `end` [s], and the one after the last [index]."""
        first = max(int(np.searchsorted(self._course.start, begin, side="right")) - 1, 0)
        return first, max(int(np.searchsorted(self._course.start, end)), first + 1)

    def longest_step(self, time: float) -> float:
        """Longest step in which the beam moves by a share of its radius [s]."""
        course = self._course
        stroke = max(int(np.searchsorted(course.start, time, side="right")) - 1, 0)
        speed = float(self._speed[stroke])
        return min(STRIDE * self._beam.radius / speed, SPREAD * self.spreading) if speed > 0.0 else math.inf
