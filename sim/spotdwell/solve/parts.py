"""Parts: columns near a moving beam march in short steps, all others later in long ones (eq. 26)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.kernels.advance import advance
from spotdwell.kernels.layout import Media, Mesh, Rules, Span, State, Still, Surround, Work
from spotdwell.kernels.slots import BOOKED, LEDGER, MASS, ROW, TERMS, Row, Tally, Term
from spotdwell.model.columns import Geometry
from spotdwell.model.problem import Light, Problem
from spotdwell.solve import state as layout
from spotdwell.solve.clock import Clock, collapsed

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

LIT, DARK = 0.0125, 0.25
"""Longest that columns near the beam march alone, with it on and after it, over the spreading time [-]."""
LAG = 1.0
"""Longest that others are left behind, over that time [-]."""
BESIDE = 2.0
"""They reach beyond the beam by so many lengths sqrt(4 alpha t) that heat goes meanwhile [-]."""
_AROUND = 8
"""Columns around the warm ones that march with them."""
_MOST_ROWS = 128
_LEAST_STEPS = 8
"""Steps for which it is worth to part them: a slow beam is followed for longer."""
_AT_ONCE = 2
"""Steps with the beam on before the march shows itself."""
_MOST_UPDATES = 2_000_000
"""Cell updates after which it does so with the beam off."""
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
    warmest: Array
    """Highest rise of each column [K], while it marches in parts."""

    @property
    def ambient_rise(self) -> float:
        """Of the air [K]."""
        return self.surround.ambient - self.surround.initial

    def heat(self, index: Indices | slice = slice(None)) -> Array:
        """Heat that each of some columns holds above its initial state [J]."""
        state, media = self.state, self.media
        floor = state.floor[index][:, None]
        depth = np.arange(self.mesh.cell.size)
        capacity = media.solid_capacity * (1.0 - media.capacity_loss * state.conversion[index])
        capacity += media.liquid_capacity + state.water[index] * media.water_heat
        there = np.where(depth == floor, state.left[index][:, None], depth > floor)
        held = (capacity * state.temperature[index] * there) @ self.mesh.cell
        return np.asarray(held * self.mesh.area[index])


class Part:
    """Some columns of a whole, marched alone for a while: nothing flows to the others meanwhile."""

    def __init__(self, whole: Whole, index: Indices, time: float, held: float, axis: int) -> None:
        """`index` of the columns ascends; they have got to `time` [s], and the others hold `held` [J].

        `axis` is the column of which depth and surface are recorded [index].
        """
        self._whole, self.index = whole, index
        if index.size == whole.last.size:
            self.mesh, self.state, self.work, self._last = whole.mesh, whole.state, whole.work, whole.last
        else:
            self.mesh, self.state = _mesh_part(whole.mesh, index), _state_part(whole.state, index)
            self.work = layout.work_arrays(self.mesh, whole.still, whole.ambient_rise)
            self._last = whole.last[index]
        self._lit = np.zeros(index.size, dtype=np.int64)
        self._budget, self._booked = np.zeros(len(Term)), np.zeros(BOOKED)
        self.tally = np.zeros(len(Tally))
        self.tally[Tally.TIME] = time
        self.tally[Tally.STEP] = max(whole.tally[Tally.STEP], layout.FIRST_STEP)
        self.rows, self.dark = np.zeros((_MOST_ROWS, ROW)), np.zeros(index.size)
        place = int(np.searchsorted(index, axis))
        self._local = place if place < index.size and index[place] == axis else 0
        self._base = whole.booked[:TERMS].copy()
        self._base[Term.STORED] = held
        self._deepest = float(whole.state.front.max())
        others = whole.warmest.copy()
        others[index] = 0.0
        self._warmest = float(others.max())

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
                span._replace(axis=self._local),
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
        if taken:
            self._tell_of_all(self.rows[:taken], span.axis)
        return taken

    def _tell_of_all(self, rows: Array, axis: int) -> None:
        """Make rows of this part those of the whole: the others stand where they have got to."""
        state, initial = self._whole.state, self._whole.surround.initial
        rows[:, LEDGER:] += self._base
        rows[:, Row.DEEPEST] = np.maximum(rows[:, Row.DEEPEST], self._deepest)
        rows[:, Row.PEAK] = np.maximum(rows[:, Row.PEAK], initial + self._warmest)
        if self.index[self._local] != axis:
            floor = int(state.floor[axis])
            gone = floor >= self.mesh.cell.size
            rows[:, Row.DEPTH] = state.front[axis]
            rows[:, Row.SURFACE] = math.nan if gone else initial + state.temperature[axis, floor]

    def show(self) -> None:
        """Give back what may be looked at between steps: temperatures and fronts."""
        if self.state is self._whole.state:
            return
        for name in ("temperature", "floor", "front"):
            getattr(self._whole.state, name)[self.index] = getattr(self.state, name)

    def give_back(self) -> None:
        """Give all fields and sums back to the whole."""
        whole, index = self._whole, self.index
        if self.state is not whole.state:
            for into, one in zip(whole.state, self.state, strict=True):
                if one.size:
                    into[(slice(None), index) if one.ndim == 3 else index] = one
            whole.last[index] = self._last
        whole.booked[_ADDED] += self._booked[_ADDED]
        whole.tally[_COUNTS] += self.tally[_COUNTS]
        whole.tally[Tally.HIGHEST] = max(whole.tally[Tally.HIGHEST], self.tally[Tally.HIGHEST])
        whole.warmest[index] = np.maximum(self.state.temperature.max(axis=1), 0.0)
        whole.tally[Tally.PEAK] = whole.warmest.max()


def _state_part(state: State, index: Indices) -> State:
    """Copies of the fields of some columns, each in one piece as the kernels take them."""
    return State(
        *(
            one.copy()
            if one.size == 0
            else np.ascontiguousarray(np.take(one, index, axis=int(one.ndim == 3)))
            for one in state
        )
    )


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


class Parts:
    """Marches a whole in parts while a beam moves over it: each column has its own time."""

    def __init__(self, problem: Problem, light: Light, whole: Whole, rules: Rules, axis: int) -> None:
        self._light, self._whole, self._rules, self._axis = light, whole, rules, axis
        columns = problem.grid.columns
        assert columns.geometry is Geometry.LATTICE
        self._shape = columns.x.size, columns.y.size
        self._beside = 2.0 * BESIDE * problem.beam.radius / math.sqrt(light.spreading)
        self._saved = set(problem.save_times)
        self.near: Part | None = None
        self._now = np.zeros(whole.last.size)
        self._lit_until = np.zeros(whole.last.size)
        self._held = np.zeros(whole.last.size)
        self._lit = 0.0, 0.0
        self._ends = 0.0
        self._behind = False
        self._beside_it = np.zeros(whole.last.size, dtype=bool)
        self._until = 0.0

    def begin(self, clock: Clock) -> None:
        """Leave all but the columns near the beam behind; it is on."""
        now, event = clock.time, clock.event
        if not self._behind:
            self._now[:] = now
            self._held[:] = self._whole.heat()
            self._whole.warmest[:] = np.maximum(self._whole.state.temperature.max(axis=1), 0.0)
            self._behind, self._until = True, now
        longest, span = self._light.longest_step(now), LIT * self._light.spreading
        if longest < math.inf:
            span = max(span, _LEAST_STEPS * longest)
        self._lit = now, event
        whole = self._near(event - now).size == self._now.size
        count = 1 if whole else math.ceil((event - now) / span * (1.0 - 1e-9))
        self._ends = event if count <= 1 else now + (event - now) / count
        self._lit = now, self._ends
        self._take(self._near(self._ends - now), now)

    def _near(self, span: float) -> Indices:
        """Columns that heat of this light reaches in a `span` [s]: ascending index."""
        return self._light.near(*self._lit, self._beside * math.sqrt(span))

    def _take(self, index: Indices, now: float) -> None:
        """Let these columns march alone from `now` [s] on, once all of them have got there."""
        if now >= self._until or not self._beside_it[index].all():
            self._fetch(np.arange(self._now.size), now)
            span = LAG * self._light.spreading
            self._until = now + span
            self._beside_it[:] = False
            self._beside_it[self._light.near(now, self._until, self._beside * math.sqrt(span))] = True
            self._beside_it[index] = True
        self._fetch(np.flatnonzero(self._beside_it), now)
        self.near = Part(self._whole, index, now, self._held.sum() - self._held[index].sum(), self._axis)

    def advance(self, clock: Clock, power: float) -> Array:
        """March the columns near the beam some steps and move the clock; returns a row of each step."""
        near = self.near
        assert near is not None
        if power > 0.0:
            rows = np.array(list(self._lit_steps(near, clock, power)))
        else:
            span = self._span(clock.edge, self._ends)
            rows = near.rows[: near.march(self._rules, span, near.dark)]
        clock.reach(float(near.tally[Tally.TIME]))
        if clock.time >= self._ends:
            self._finish(near, clock)
        else:
            near.show()
        return rows

    def _span(
        self, edge: float, end: float, power: float = 0.0, sent: float = 0.0, most: int = _MOST_UPDATES
    ) -> Span:
        """Until `end`; what is sent on the columns holds for one step."""
        most = 0 if power > 0.0 else most
        return Span(edge, end, power, sent, -math.inf, most, self._axis)

    def _lit_steps(self, near: Part, clock: Clock, power: float) -> Iterator[Array]:
        """Some steps, each chosen by what falls at first and taken with what falls in it on average."""
        tally, light, edge = near.tally, self._light, clock.edge
        rules = self._rules._replace(scanning=light.longest_step(clock.time))
        # Where all march, lines that follow at once are met in between.
        for _ in range(1 if near.state is self._whole.state else _AT_ONCE):
            time = float(tally[Tally.TIME])
            sent, falling = light.falling(time, time + min(float(tally[Tally.STEP]), rules.scanning))
            near.march(rules, self._span(edge, self._ends, power, sent), falling[near.index], -1.0)
            step = float(tally[Tally.NEXT])
            sent, falling = light.falling(time, time + step)
            here = falling[near.index]
            near.march(rules, self._span(edge, self._ends, power, sent), here, step)
            self._rest_aside(near.state, here <= 0.0, float(tally[Tally.STEP]))
            yield near.rows[0].copy()
            if tally[Tally.TIME] >= self._ends:
                return

    def _rest_aside(self, state: State, dark: NDArray[np.bool_], step: float) -> None:
        """Let the film set and debris clear over `step` [s] where a beam that is on does not fall."""
        rates = self._whole.media.film_rate
        rate = rates[np.minimum(state.floor, rates.size - 1)]
        state.thrown[dark] *= np.exp(-step * rate[dark])
        state.debris[dark] = np.maximum(state.debris[dark], 0.0) * np.exp(-step / self._rules.clearing)

    def _finish(self, near: Part, clock: Clock) -> None:
        """Give the columns near the beam back, and go on with more of them in the dark."""
        now = clock.time
        self._back(near, now)
        self._lit_until[self._light.near(*self._lit, 0.0)] = self._lit[1]
        self._whole.tally[[Tally.STEP, Tally.TIME]] = near.tally[Tally.STEP], now
        self.near = None
        if now in self._saved or clock.finished:
            self.catch_up(now)
        elif now == self._lit[1] and clock.power == 0.0:
            self._ends = min(clock.event, now + DARK * self._light.spreading)
            self._take(self._near(self._ends - self._lit[0]), now)

    def _back(self, part: Part, now: float) -> None:
        part.give_back()
        self._now[part.index] = now
        self._held[part.index] = self._whole.heat(part.index)
        self._whole.booked[Term.STORED] = self._held.sum()

    def catch_up(self, now: float) -> None:
        """March all columns that were left behind until `now` [s], and have the whole ready to march on."""
        if not self._behind:
            return
        self._fetch(np.arange(self._now.size), now)
        whole, self._behind = self._whole, False
        whole.tally[[Tally.EXPLICIT, Tally.MOVED, Tally.UNHURT, Tally.WAITED]] = 0.0
        gone = np.arange(whole.mesh.cell.size) < whole.state.floor[:, None]
        for rise in (whole.work.rise, whole.work.rise_next):
            rise[:, 1:-1][gone] = whole.ambient_rise

    def _fetch(self, index: Indices, now: float) -> None:
        """March those of these columns that were left behind until `now` [s], in the dark."""
        behind = index[(self._now[index] < now) & self._warm()[index]]
        for time in np.unique(self._now[behind]):
            some = behind[self._now[behind] == time]
            held = self._held.sum() - self._held[some].sum()
            part = Part(self._whole, some, float(time), held, self._axis)
            edge = min(float(self._lit_until[some].max()), float(time))
            span = self._span(edge, now, most=_FAR)
            while part.tally[Tally.TIME] < now:
                part.march(self._rules, span, part.dark)
            self._back(part, now)
        self._now[index] = now

    def _warm(self) -> NDArray[np.bool_]:
        """Whether each column has warmed, or is near one that has."""
        deep = (self._whole.last > 1).reshape(self._shape)
        taken = np.zeros(self._shape, dtype=bool)
        if deep.any():
            spans = []
            for axis in (0, 1):
                at = np.flatnonzero(deep.any(axis=1 - axis))
                spans.append(slice(max(int(at[0]) - _AROUND, 0), int(at[-1]) + _AROUND + 1))
            taken[tuple(spans)] = True
        return taken.ravel()
