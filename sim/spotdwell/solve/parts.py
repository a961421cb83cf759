"""Parts: columns near a moving beam march in short steps, those around them in longer ones (eq. 26, 27)."""

from __future__ import annotations

import math
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.kernels.border import make_up
from spotdwell.kernels.entry import bound
from spotdwell.kernels.layout import Falling, Media, Mesh, State, Work
from spotdwell.kernels.slots import Tally
from spotdwell.model.columns import Geometry
from spotdwell.model.problem import Light, Problem
from spotdwell.solve import state as layout
from spotdwell.solve.clock import Clock

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Rows = NDArray[np.float64]

_AROUND = 8
"""Columns around the warm ones that march with them."""
_SPELLS, _MOST_SPELLS = 4, 64
"""Spells in the longest step of a moving beam, and for how many its light is found at once."""
_RESTS = -1
"""In place of how deep a column is warm, while it rests."""


@dataclass(frozen=True)
class Whole:
    """The arrays of a run, some of whose columns march while others rest."""

    mesh: Mesh
    media: Media
    state: State
    work: Work
    last: Indices
    tally: Array
    march: Callable[[Indices, Falling, float, float, float], Rows]
    """Marches some columns under light, counting steps from an edge [s], at most until a time [s] and in
    steps of at most so long [s]; returns a row of each."""


class Parts:
    """Marches a whole in parts while a beam moves over it: rings around the beam, one within the other."""

    def __init__(self, problem: Problem, light: Light, whole: Whole, clock: Clock) -> None:
        self._light, self._whole, self._clock = light, whole, clock
        columns = problem.grid.columns
        assert columns.geometry is Geometry.LATTICE
        self._shape = columns.x.size, columns.y.size
        # The length that heat spreads over in a second, times the square root of that second.
        self._heat = 2.0 * problem.beam.radius / math.sqrt(light.spreading)
        self._stops = sorted({*problem.save_times, clock.end})
        count = whole.last.size
        self._all = np.arange(count)
        self._lit_until = np.zeros(count)
        self._deep = np.zeros(count, dtype=np.int64)
        self._dark = layout.steady(0.0, np.zeros(count))
        self._found = math.nan, math.nan, self._dark, math.nan
        self._across = bound(make_up, whole.media, whole.state, whole.work, self._deep)
        self._nothing = np.zeros((0, 0))

    def march(self) -> Iterator[Rows]:
        """March from a moment with the beam on until it is off, or fields are to be kept.

        Yields a row of each step near the beam, and nothing before a beam comes; all columns are at one time
        when it ends.
        """
        clock = self._clock
        self._deep[:] = self._whole.last
        stop = next(one for one in self._stops if one > clock.time)
        rings = self._light.rings
        while clock.power > 0.0 and clock.time < stop:
            if rings:
                end = min(stop, clock.time + rings[-1].time)
                rows = yield from self._within(len(rings), self._all, end)
            else:
                rows = yield from self._alone(self._all, min(stop, clock.event))
            self._wake(self._all)
            yield rows

    def _within(self, level: int, index: Indices, end: float) -> Generator[Rows, None, Rows]:
        """March columns, and within them those of the rings below `level`, until `end` [s].

        Returns the last rows, to be shown when those outside have followed.
        """
        clock, rows = self._clock, self._nothing
        while (now := clock.time) < end:
            yield rows
            if clock.power == 0.0:
                rows = yield from self._alone(index[self._warm()[index]], min(clock.event, end))
                continue
            ring = self._light.rings[level - 1]
            ahead = min(clock.event, end) if level == 1 else end
            parts = math.ceil((ahead - now) / ring.time * (1.0 - 1e-9))
            until = now + (ahead - now) / parts if parts > 1 else ahead
            beyond = ring.reach + ring.beside * self._heat * math.sqrt(until - now)
            inner = np.intersect1d(self._light.near(now, until, beyond), index, assume_unique=True)
            if level == 1:
                rows = yield from self._alone(inner, until)
                self._lit_until[inner] = until
            else:
                rows = yield from self._within(level - 1, inner, until)
            self._follow(np.setdiff1d(index, inner, assume_unique=True), now, until, ring.lit)
            self._make_up(inner, until - now)
        return rows

    def _alone(self, index: Indices, end: float) -> Generator[Rows, None, Rows]:
        """March columns and the clock until `end` [s] while all others rest; returns the last rows."""
        clock, tally, rows = self._clock, self._whole.tally, self._nothing
        longest = self._light.longest_step(clock.time)
        light, until = self._dark, end
        self._wake(index)
        while clock.time < end:
            yield rows
            if clock.power > 0.0:
                light, until = self._light_from(clock.time, end)
            if index.size == 0:
                clock.reach(end)
                tally[Tally.TIME] = end
                break
            rows = self._whole.march(index, light, clock.edge, until, longest)
            clock.reach(float(tally[Tally.TIME]))
        self._rest(index)
        # A copy: those that follow march through the same rows.
        return rows.copy()

    def _follow(self, index: Indices, begin: float, end: float, lit: bool) -> None:
        """March columns around those that have got from `begin` to `end` [s] in the same time."""
        tally, light = self._whole.tally, self._dark
        index = index if lit else index[self._warm()[index]]
        if index.size == 0:
            return
        kept = tally[[Tally.TIME, Tally.STEP]]
        edge = min(float(self._lit_until[index].max()), begin)
        self._wake(index)
        tally[Tally.TIME] = begin
        while tally[Tally.TIME] < end:
            until = end
            if lit:
                now = float(tally[Tally.TIME])
                light, until = self._light_from(now, end)
            # Of a beam only the outskirts fall here, on average over any step.
            self._whole.march(index, light, edge, until, math.inf)
        self._rest(index)
        tally[[Tally.TIME, Tally.STEP]] = kept

    def _light_from(self, now: float, end: float) -> tuple[Falling, float]:
        """Light on the columns from `now` on, and until when it is found, at most `end` [s]."""
        if not (self._found[0] <= now < self._found[3] and self._found[1] == end):
            spell = self._light.longest_step(now) / _SPELLS
            count = max(math.ceil((end - now) / spell * (1.0 - 1e-9)), 1)
            until = end if count <= _MOST_SPELLS else now + _MOST_SPELLS * spell
            edges = np.linspace(now, until, min(count, _MOST_SPELLS) + 1)
            light = Falling(now, float(edges[1] - edges[0]), *self._light.falling(edges))
            self._found = now, end, light, until
        return self._found[2:]

    def _wake(self, index: Indices) -> None:
        """Have these columns march, all others rest."""
        whole = self._whole
        whole.last[:] = _RESTS
        whole.last[index] = self._deep[index]
        whole.tally[[Tally.EXPLICIT, Tally.MOVED, Tally.UNHURT, Tally.WAITED]] = 0.0

    def _rest(self, index: Indices) -> None:
        """Keep how deep these columns are warm."""
        self._deep[index] = self._whole.last[index]

    def _make_up(self, index: Indices, time: float) -> None:
        """Let flow at once what would have flowed over the border of columns that marched alone (eq. 27)."""
        whole, inside = self._whole, np.zeros(self._all.size, dtype=bool)
        inside[index] = True
        mesh = whole.mesh._replace(marching=index)
        self._across(mesh, inside, time)

    def _warm(self) -> NDArray[np.bool_]:
        """Whether each column has warmed, or is near one that has."""
        deep = (self._deep > 1).reshape(self._shape)
        taken = np.zeros(self._shape, dtype=bool)
        if deep.any():
            spans = []
            for axis in (0, 1):
                at = np.flatnonzero(deep.any(axis=1 - axis))
                spans.append(slice(max(int(at[0]) - _AROUND, 0), int(at[-1]) + _AROUND + 1))
            taken[tuple(spans)] = True
        return taken.ravel()
