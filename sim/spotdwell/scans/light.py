"""Light: what a moving beam sends onto the columns of a slice or a block in a span of time (eq. 22, 23)."""

from __future__ import annotations

import bisect
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from spotdwell.model.beam import Beam, Profile
from spotdwell.model.columns import Columns
from spotdwell.scans.pattern import Course, joined

Array = NDArray[np.float64]
Rectangle = Callable[[Array, Array, Array, Array], Array]
"""Share of a beam on rectangles, from its axis: low and high x, low and high y [m]."""

STRIDE = 0.2
"""The beam moves at most by this share of its radius in a step [-]."""
SPREAD = 0.1
"""A step with the beam on takes at most this share of the time in which heat spreads over its radius [-]."""
_GAUSS = np.polynomial.legendre.leggauss(3)
_TABLE = 513


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
        self._edges = columns.y_edges
        self._power = power * float(np.diff(columns.x_edges)[0])
        self.passing = 0.5 * (course.start + course.stop)
        """When the beam's axis goes through the slice on each line [s]."""
        self.places = course.begin[:, 1]
        """Of the lines along y [m]."""
        self._times: list[float] = self.passing.tolist()
        self._lines: dict[int, tuple[int, int, Array, Array]] = {}
        self.half_time = beam.reach / speed
        """From when the beam's edge is at the slice to when its axis is [s]."""

    def gates(self) -> tuple[Array, Array]:
        """Spans in which the slice is lit [s]."""
        return joined(self.passing - self.half_time, self.passing + self.half_time)

    def falling(self, begin: float, end: float) -> tuple[float, Array]:
        """Mean power sent from `begin` to `end` [s], and that on each column [W]."""
        falls, sent = np.zeros(self._edges.size - 1), 0.0
        scale = self._power / (self._speed * (end - begin))
        reach = self._beam.reach
        for line in self._passing(begin, end):
            left = max(self._speed * (begin - self._times[line]), -reach)
            right = min(self._speed * (end - self._times[line]), reach)
            if right <= left:
                continue
            low, high, shares, all_of_it = self._on_line(line, left, right)
            falls[low:high] += scale * shares
            sent += scale * all_of_it
        return max(sent, float(falls.sum())), falls

    def _passing(self, begin: float, end: float) -> range:
        """Lines whose beam is at the slice from `begin` to `end` [s]."""
        ends = begin - self.half_time, end + self.half_time
        return range(*(bisect.bisect_left(self._times, one) for one in ends))

    def _on_line(self, line: int, left: float, right: float) -> tuple[int, int, Array, float]:
        """First and last column that a line reaches, their shares of the beam on a stretch of it, and all."""
        reach = self._beam.reach
        if line not in self._lines:
            place = self.places[line]
            low, high = _within(self._edges, place - reach, place + reach)
            at = np.append(self._edges[low : high + 1] - place, [-reach, reach])
            whole = self._share(np.array(-reach), np.array(reach), at[:-1], at[1:])
            self._lines[line] = low, high, at, whole
        low, high, at, whole = self._lines[line]
        if self._beam.profile is Profile.GAUSSIAN:
            # Such a beam is a product of what it is along the line and across it.
            scale = math.sqrt(2.0) / self._beam.radius
            shares = whole * (
                (math.erf(scale * right) - math.erf(scale * left)) / math.erf(scale * reach) / 2.0
            )
        else:
            shares = self._share(np.array(left), np.array(right), at[:-1], at[1:])
        return low, high, shares[: high - low], float(shares[-1])

    def near(self, begin: float, end: float, beside: float) -> NDArray[np.int64]:
        """Columns that it reaches from `begin` to `end` [s], and those `beside` [m] them: ascending index."""
        at, reach = self.places[self._passing(begin, end)], self._beam.reach + beside
        if at.size == 0:
            return np.empty(0, dtype=np.int64)
        return np.arange(*_within(self._edges, at.min() - reach, at.max() + reach))

    def longest_step(self, time: float) -> float:
        """Longest step in which the beam moves by a share of its radius [s]."""
        return self._longest


class BlockLight:
    """A beam on its course over a lattice (eq. 23)."""

    def __init__(self, beam: Beam, power: float, columns: Columns, course: Course, spreading: float) -> None:
        """`spreading` is the time in which heat spreads over the beam's radius [s]."""
        self.spreading = spreading
        self._beam, self._share, self._power = beam, share_on(beam), power
        self._columns, self._course = columns, course
        lengths = np.hypot(*(course.end - course.begin).T)
        self._speed = lengths / (course.stop - course.start)

    def gates(self) -> tuple[Array, Array]:
        """Spans in which the beam is on [s]."""
        return self._course.gates()

    def falling(self, begin: float, end: float) -> tuple[float, Array]:
        """Mean power sent from `begin` to `end` [s], and that on each column [W]."""
        course, columns = self._course, self._columns
        falls, lit = np.zeros((columns.x.size, columns.y.size)), 0.0
        first = max(int(np.searchsorted(course.start, begin, side="right")) - 1, 0)
        last = int(np.searchsorted(course.start, end))
        for stroke in range(first, max(last, first + 1)):
            start, stop = max(begin, course.start[stroke]), min(end, course.stop[stroke])
            if stop <= start:
                continue
            share = (stop - start) / (end - begin)
            lit += share
            if self._speed[stroke] == 0.0:
                self._add(falls, course.begin[stroke], self._power * share)
                continue
            for node, weight in zip(*_GAUSS, strict=True):
                time = 0.5 * (start + stop) + 0.5 * node * (stop - start)
                part = (time - course.start[stroke]) / (course.stop[stroke] - course.start[stroke])
                at = course.begin[stroke] + part * (course.end[stroke] - course.begin[stroke])
                self._add(falls, at, 0.5 * weight * self._power * share)
        return self._power * lit, falls.ravel()

    def _add(self, falls: Array, at: Array, power: float) -> None:
        """Add the beam at `at` [m] to the columns that it reaches."""
        reach, spans = self._beam.reach, []
        for edges, middle in zip((self._columns.x_edges, self._columns.y_edges), at, strict=True):
            low = max(int(np.searchsorted(edges, middle - reach)) - 1, 0)
            high = min(int(np.searchsorted(edges, middle + reach)), edges.size - 1)
            spans.append((slice(low, high), edges[low : high + 1] - middle))
        (xs, x), (ys, y) = spans
        falls[xs, ys] += power * self._share(x[:-1, None], x[1:, None], y[None, :-1], y[None, 1:])

    def near(self, begin: float, end: float, beside: float) -> NDArray[np.int64]:
        """All columns: where lines end or turn, a part's closed sides would lie in hot walls."""
        return np.arange(self._columns.count)

    def longest_step(self, time: float) -> float:
        """Longest step in which the beam moves by a share of its radius [s]."""
        course = self._course
        stroke = max(int(np.searchsorted(course.start, time, side="right")) - 1, 0)
        speed = float(self._speed[stroke])
        return min(STRIDE * self._beam.radius / speed, SPREAD * self.spreading) if speed > 0.0 else math.inf
