"""Parts: columns near a moving beam march in short steps, all others later in long ones (eq. 26)."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from spotdwell.kernels.advance import advance
from spotdwell.kernels.layout import Media, Mesh, Rules, Span, State, Still, Surround, Work
from spotdwell.kernels.ready import AT_REST
from spotdwell.kernels.slots import BOOKED, LEDGER, MASS, ROW, TERMS, Row, Tally, Term
from spotdwell.model.columns import Geometry
from spotdwell.model.problem import Light, Problem
from spotdwell.solve import state as layout
from spotdwell.solve.clock import Clock, collapsed

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

LIT, DARK = 0.05, 0.25
"""Longest that columns near the beam march alone, with it on and after it, over the spreading time [-]."""
BESIDE = 2.0
"""They reach beyond the beam by so many lengths sqrt(4 alpha t) that heat goes meanwhile [-]."""
_AROUND = 8
"""Columns around the warm ones that march with them."""
_MOST_ROWS = 128
_FAR = np.iinfo(np.int64).max
_ADDED = [one for one in (*Term, MASS) if one != Term.STORED]
_COUNTS = [Tally.STEPS, Tally.STAGES, Tally.UPDATES]


@dataclass(frozen=True)
class Whole:
    """The arrays of a whole run, which its parts are taken from and given back to."""

    mesh: Mesh
    media: Media
    still: Still
    surround: Surround
    state: State
    work: Work
    last: Indices
    tally: Array
    booked: Array

    @property
    def ambient_rise(self) -> float:
        """Of the air [K]."""
        return self.surround.ambient - self.surround.initial

    def heat(self, index: Indices | slice = slice(None)) -> float:
        """Heat that columns hold above their initial state [J]."""
        state, media = self.state, self.media
        floor = state.floor[index][:, None]
        depth = np.arange(self.mesh.cell.size)
        capacity = media.solid_capacity * (1.0 - media.capacity_loss * state.conversion[index])
        capacity += media.liquid_capacity + state.water[index] * media.water_heat
        there = np.where(depth == floor, state.left[index][:, None], depth > floor)
        held = (capacity * state.temperature[index] * there) @ self.mesh.cell
        return float(held @ self.mesh.area[index])


class Part:
    """Some columns of a whole, marched alone for a while: nothing flows to the others meanwhile."""

    def __init__(self, whole: Whole, index: Indices, time: float) -> None:
        """`index` of the columns ascends; they have got to `time` [s]."""
        self._whole, self.index = whole, index
        self.mesh = _mesh_part(whole.mesh, index)
        self.state = State(
            *(
                one.copy()
                if one.size == 0
                else np.ascontiguousarray(np.take(one, index, axis=int(one.ndim == 3)))
                for one in whole.state
            )
        )
        self.work = layout.work_arrays(self.mesh, whole.still, whole.ambient_rise)
        self._last, self._lit = whole.last[index], np.zeros(index.size, dtype=np.int64)
        self._budget, self._booked = np.zeros(len(Term)), np.zeros(BOOKED)
        self.tally = np.zeros(len(Tally))
        self.tally[Tally.TIME] = time
        self.tally[Tally.STEP] = max(whole.tally[Tally.STEP], layout.FIRST_STEP)
        self.rows = np.zeros((_MOST_ROWS, ROW))
        axis_free = whole.booked.copy()
        axis_free[Term.STORED] = whole.heat() - whole.heat(index)
        self._base = axis_free
        others = np.ones(whole.last.size, dtype=bool)
        others[index] = False
        self._deepest = float(whole.state.front[others].max(initial=0.0))
        self._warmest = float(whole.state.temperature[others].max(initial=0.0))

    def march(self, rules: Rules, span: Span, falling: Array, given: float = 0.0) -> int:
        """Call the compiled march (see `kernels.advance`); returns the steps that it took.

        Raises RunError if the step collapses.
        """
        whole, tally = self._whole, self.tally
        taken = int(
            advance(
                self.mesh,
                whole.media,
                whole.still,
                whole.surround,
                self.state,
                self.work,
                rules,
                span._replace(axis=self._local(span.axis)),
                falling,
                given,
                self._last,
                self._lit,
                self._budget,
                tally,
                self._booked,
                self.rows,
            )
        )
        if taken < 0:
            raise collapsed(float(tally[Tally.NEXT]), float(tally[Tally.TIME]))
        whole.tally[_COUNTS] += tally[_COUNTS]
        tally[_COUNTS] = 0.0
        whole.tally[Tally.HIGHEST] = max(whole.tally[Tally.HIGHEST], tally[Tally.HIGHEST])
        self._tell_of_all(self.rows[:taken], span.axis)
        return taken

    def _local(self, axis: int) -> int:
        place = int(np.searchsorted(self.index, axis))
        return place if place < self.index.size and self.index[place] == axis else 0

    def _tell_of_all(self, rows: Array, axis: int) -> None:
        """Make rows of this part those of the whole: the others stand where they have got to."""
        state, initial = self._whole.state, self._whole.surround.initial
        rows[:, LEDGER:] += self._base[:TERMS]
        rows[:, Row.DEEPEST] = np.maximum(rows[:, Row.DEEPEST], self._deepest)
        rows[:, Row.PEAK] = np.maximum(rows[:, Row.PEAK], initial + self._warmest)
        if self.index[self._local(axis)] != axis:
            floor = int(state.floor[axis])
            gone = floor >= self.mesh.cell.size
            rows[:, Row.DEPTH] = state.front[axis]
            rows[:, Row.SURFACE] = math.nan if gone else initial + state.temperature[axis, floor]

    def show(self) -> None:
        """Give back what may be looked at between steps: temperatures and fronts."""
        for name in ("temperature", "floor", "front"):
            getattr(self._whole.state, name)[self.index] = getattr(self.state, name)

    def give_back(self) -> None:
        """Give all fields and sums back to the whole."""
        whole, index = self._whole, self.index
        for into, one in zip(whole.state, self.state, strict=True):
            if one.ndim == 3:
                into[:, index] = one
            elif one.size:
                into[index] = one
        whole.last[index] = self._last
        whole.booked[_ADDED] += self._booked[_ADDED]
        self._booked[:] = 0.0


def _mesh_part(mesh: Mesh, index: Indices) -> Mesh:
    """The mesh of some columns; faces to others are closed."""
    place = np.full(mesh.area.size, -1, dtype=np.int64)
    place[index] = np.arange(index.size)
    pair = place[mesh.pair]
    faces = np.flatnonzero((pair >= 0).all(axis=1))
    pair = np.ascontiguousarray(pair[faces])
    first, face, other = layout.neighbours(pair, index.size)
    return mesh._replace(
        area=mesh.area[index],
        pair=pair,
        width=mesh.width[faces],
        half=mesh.half[faces],
        ratio=mesh.ratio[faces],
        first=first,
        face=face,
        other=other,
        reach=int(np.abs(np.diff(pair, axis=1)).max(initial=1)),
    )


@dataclass
class Parts:
    """Marches a whole in parts while a beam moves over it and shortly after."""

    problem: Problem
    light: Light
    whole: Whole
    axis: int
    clearing: float
    """Time in which debris clears [s]."""
    near: Part | None = None
    """The columns that march at present."""
    _began: float = 0.0
    """When the others were left behind [s]."""
    _ends: float = 0.0
    """Until when the columns near the beam march alone [s]."""
    _lit: tuple[float, float] = (0.0, 0.0)
    """From when to when the beam was on meanwhile [s]."""
    _before: Indices = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    """Columns that have marched while it was [index]."""
    _lit_until: Array = field(default_factory=lambda: np.empty(0))
    """When each column was last lit [s]."""

    def __post_init__(self) -> None:
        self._lit_until = np.zeros(self.whole.last.size)

    def begin(self, clock: Clock) -> None:
        """Leave all but the columns near the beam behind; it is on."""
        now, event = clock.time, clock.event
        count = math.ceil((event - now) / (LIT * self.light.spreading) * (1.0 - 1e-9))
        self._began, self._ends = now, event if count <= 1 else now + (event - now) / count
        self._lit = now, self._ends
        self._before = self._near(self._ends)
        self.near = Part(self.whole, self._before, now)

    def _near(self, until: float) -> Indices:
        """Columns that heat of this light reaches by then [index]."""
        beside = BESIDE * 2.0 * self.problem.beam.radius
        beside *= math.sqrt((until - self._began) / self.light.spreading)
        return self.light.near(*self._lit, beside)

    def advance(self, clock: Clock, rules: Rules, power: float) -> Array:
        """March the columns near the beam some steps and move the clock; returns a row of each step."""
        near = self.near
        assert near is not None
        rules = rules._replace(scanning=self.light.longest_step(clock.time))
        taken = (
            self._lit_step(near, clock, rules, power) if power > 0.0 else self._dark_steps(near, clock, rules)
        )
        clock.reach(float(near.tally[Tally.TIME]))
        rows = near.rows[:taken]
        if clock.time >= self._ends:
            self._finish(near, clock, rules)
        else:
            near.show()
        return rows

    def _span(self, clock: Clock, edge: float, end: float, power: float = 0.0, sent: float = 0.0) -> Span:
        return Span(
            edge=edge,
            event=end,
            power=power,
            sent=sent,
            cool=-np.inf,
            most_updates=0 if power > 0.0 else 2_000_000,
            axis=self.axis,
        )

    def _lit_step(self, near: Part, clock: Clock, rules: Rules, power: float) -> int:
        """One step: chosen by what falls at first, then taken with what falls in it on average."""
        time, tally = clock.time, near.tally
        sent, falling = self.light.falling(time, time + min(float(tally[Tally.STEP]), rules.scanning))
        span = self._span(clock, clock.edge, self._ends, power, sent)
        near.march(rules, span, falling[near.index], -1.0)
        step = float(tally[Tally.NEXT])
        sent, falling = self.light.falling(time, time + step)
        here = falling[near.index]
        taken = near.march(rules, span._replace(sent=sent), here, step)
        self._rest_aside(near.state, here <= 0.0, float(tally[Tally.STEP]))
        return taken

    def _rest_aside(self, state: State, dark: NDArray[np.bool_], step: float) -> None:
        """Let the film set and debris clear over `step` [s] where a beam that is on does not fall."""
        rates = self.whole.media.film_rate
        rate = rates[np.minimum(state.floor, rates.size - 1)]
        state.thrown[dark] *= np.exp(-step * rate[dark])
        state.debris[dark] = np.maximum(state.debris[dark], 0.0) * np.exp(-step / self.clearing)

    def _dark_steps(self, near: Part, clock: Clock, rules: Rules) -> int:
        return near.march(rules, self._span(clock, clock.edge, self._ends), np.zeros(near.index.size))

    def _finish(self, near: Part, clock: Clock, rules: Rules) -> None:
        """Give the columns near the beam back; go on with more of them in the dark, or fetch all others."""
        near.give_back()
        whole, now = self.whole, clock.time
        self._lit_until[self.light.near(*self._lit, 0.0)] = self._lit[1]
        whole.tally[Tally.PEAK] = max(near.tally[Tally.PEAK], near._warmest)
        whole.tally[Tally.STEP] = near.tally[Tally.STEP]
        self.near = None
        if now == self._lit[1] and clock.power == 0.0 and not clock.finished:
            self._ends = min(clock.event, now + DARK * self.light.spreading)
            wider = self._near(self._ends)
            self._fetch(np.setdiff1d(wider, self._before), clock, rules, now)
            self._before = wider
            self.near = Part(whole, wider, now)
            return
        self._fetch(np.setdiff1d(self._warm(), self._before), clock, rules, now)
        whole.booked[Term.STORED] = whole.heat()
        whole.tally[[Tally.TIME, Tally.EXPLICIT, Tally.MOVED, Tally.UNHURT, Tally.WAITED]] = now, 0, 0, 0, 0
        gone = np.arange(whole.mesh.cell.size) < whole.state.floor[:, None]
        for rise in (whole.work.rise, whole.work.rise_next):
            rise[:, 1:-1][gone] = whole.ambient_rise

    def _fetch(self, index: Indices, clock: Clock, rules: Rules, until: float) -> None:
        """March columns that were left behind `until` now, in the dark."""
        if index.size == 0:
            return
        part = Part(self.whole, index, self._began)
        edge = min(float(self._lit_until[index].max()), self._began)
        span = self._span(clock, edge, until)._replace(most_updates=_FAR)
        while part.tally[Tally.TIME] < until:
            part.march(rules, span, np.zeros(index.size))
        part.give_back()
        self.whole.tally[Tally.PEAK] = max(self.whole.tally[Tally.PEAK], part.tally[Tally.PEAK])

    def _warm(self) -> Indices:
        """Columns that have warmed, and some around them [index]."""
        columns = self.problem.grid.columns
        assert columns.geometry is Geometry.LATTICE
        shape = columns.x.size, columns.y.size
        warm = (np.abs(self.whole.state.temperature) >= AT_REST).any(axis=1).reshape(shape)
        if not warm.any():
            return np.empty(0, dtype=np.int64)
        taken = np.zeros(shape, dtype=bool)
        spans = []
        for axis in (0, 1):
            at = np.flatnonzero(warm.any(axis=1 - axis))
            spans.append(slice(max(int(at[0]) - _AROUND, 0), int(at[-1]) + _AROUND + 1))
        taken[tuple(spans)] = True
        return np.flatnonzero(taken)
