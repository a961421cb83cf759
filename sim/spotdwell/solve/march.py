"""March: steps a problem from its first pulse until it has cooled, yielding progress as it goes."""

from __future__ import annotations

import time as wall
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from spotdwell.kernels.advance import advance
from spotdwell.kernels.compiled import Kernel
from spotdwell.kernels.conduct import MOST_STAGES
from spotdwell.kernels.damage import COLDEST_DAMAGE
from spotdwell.kernels.entry import bound
from spotdwell.kernels.implicit import conduct_apart
from spotdwell.kernels.layout import Falling, Rules, Span, State
from spotdwell.kernels.slots import BOOKED, MASS, ROW, Row, Tally, Term
from spotdwell.model.columns import Geometry
from spotdwell.model.problem import Problem
from spotdwell.model.target import Backing, Target
from spotdwell.solve import state as layout
from spotdwell.solve.clock import Clock, collapsed
from spotdwell.solve.outcome import LEDGER_TERMS, Outcome, Status
from spotdwell.solve.parts import Parts, Whole
from spotdwell.solve.recorder import Recorder

_AHEAD = 3.0
"""A step of the beam may be this many times as long as a front that only ruptured would allow."""
_ESCAPE_SHARE = 0.3
"""Of the time in which steam escapes, times the front's share, a step of the beam takes at most."""
_MOST_STAGES = 9
"""Stages of conduction in the dark beyond which a scan takes implicit ones: those cost as much (eq. 28)."""
_DAMAGE_STEPS = 4
"""Damage is added up after so many steps, and at each event: its rates run straight in their logarithm."""
_ESCAPE_LEAST = 1e-2
"""Of the time in which the front crosses a cell: escape shortens steps no further."""
_CLEARING_TIME = 1e-4
"""Time in which debris leaves the beam's path once the beam is off [s] (THEORY.md, Film and debris)."""
_MOST_UPDATES = 2_000_000
"""Cell updates after which the march shows itself: some ten milliseconds."""
_MOST_ROWS = 128
"""Steps after which it does so at the latest."""
_SPELLS = 16
"""Half steps of a beam that moves over a block for which its light is found at once."""


@dataclass(frozen=True)
class Progress:
    """How far a march is."""

    time: float
    """Simulated time [s]."""
    fraction: float
    """Rough share of the work done, 0 to 1."""
    crater_depth: float
    """[m]."""
    peak_temperature: float
    """Of what is left [K]."""
    steps: int


Watch = Callable[[float, State], None]
"""Is shown the time [s] and the state whenever the march looks up; it may look and must not touch."""


def march(problem: Problem, watch: Watch | None = None) -> Generator[Progress, None, Outcome]:
    """March `problem`; yields `Progress` every few steps, of a moving beam each, and returns the `Outcome`.

    Raises RunError if the step collapses. Nothing is kept outside the returned outcome, so that an
    interrupted march leaves nothing behind.
    """
    began = wall.perf_counter()
    run = _Run(problem)
    while not run.done():
        run.advance()
        if watch is not None:
            watch(run.clock.time, run.state)
        yield run.progress()
    return run.outcome(wall.perf_counter() - began)


def marched(
    problem: Problem, progress: Callable[[Progress], None] | None = None, watch: Watch | None = None
) -> Outcome:
    """March `problem` to its end and return the outcome; `progress` is called every few steps.

    Raises as `march` does.
    """
    steps = march(problem, watch)
    while True:
        try:
            state = next(steps)
        except StopIteration as stop:
            outcome: Outcome = stop.value
            return outcome
        if progress is not None:
            progress(state)


class _Run:
    """One march's arrays and sums."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        grid, target = problem.grid, problem.target
        self.mesh = layout.mesh_of(grid)
        self.media = layout.media_of(problem)
        self.state = layout.initial_state(problem, self.media)
        self.still = layout.still_of(self.mesh, self.media, target.backing)
        self.surround = layout.surroundings(problem)
        self.work = layout.work_arrays(self.mesh, self.still, self.surround.ambient - self.surround.initial)
        self.rules = _rules(problem)
        self.clock = Clock(problem)
        self.recorder = Recorder(problem)
        self.axis = axis_column(problem)
        n, cells = grid.columns.count, grid.depth.size
        # Heat may come from below, and tissue that starts warm changes everywhere.
        whole = target.backing is not Backing.INSULATED or starts_warm(target)
        self.last = np.full(n, cells if whole else 1, dtype=np.int64)
        self.lit = np.zeros(n, dtype=np.int64)
        self.budget = np.zeros(len(Term))
        self.booked = np.zeros(BOOKED)
        self.tally = np.zeros(len(Tally))
        self.tally[Tally.STEP] = layout.FIRST_STEP
        self.rows = np.zeros((_MOST_ROWS, ROW))
        self.shares = grid.columns.beam_shares(problem.beam)
        self.most_updates = _MOST_UPDATES
        self.power = 0.0
        self.perforation_time: float | None = None
        self.status: Status | None = None
        self.kernel = bound(
            advance, self.media, self.still, self.surround, self.state, self.work,
            self.last, self.lit, self.budget, self.tally, self.booked, self.rows,
        )  # fmt: skip
        self.parts = self._parts()
        self._moving_on: Iterator[NDArray[np.float64]] | None = None
        self.rows[0, Row.PEAK] = self.rows[0, Row.SURFACE] = target.initial_temperature
        self.recorder.record(self.rows[:1], self.state)

    def _parts(self) -> Parts | None:
        """What marches under a beam that moves as its light says."""
        if self.problem.light is None:
            return None
        whole = Whole(self.mesh, self.media, self.state, self.work, self.last, self.tally, self._part_marched)
        return Parts(self.problem, self.problem.light, whole, self.clock)

    @cached_property
    def conduct_apart(self) -> Kernel:
        """Has the heat of a step flow that the march has left to it: scans alone come to that."""
        return bound(conduct_apart, self.still, self.state.floor, self.last, self.work, self.tally)

    @property
    def steps(self) -> int:
        """Steps taken."""
        return int(self.tally[Tally.STEPS])

    @property
    def stages(self) -> int:
        """Stages of conduction in them."""
        return int(self.tally[Tally.STAGES])

    @property
    def updates(self) -> int:
        """Cells updated, summed over stages."""
        return int(self.tally[Tally.UPDATES])

    @property
    def peak(self) -> float:
        """Highest rise of what is left [K]."""
        return float(self.tally[Tally.PEAK])

    def done(self) -> bool:
        """Whether the run has ended; sets the status when it has."""
        ending = self.problem.ending
        if self.status is None and self.clock.finished:
            self.status = Status.TIME_REACHED if ending.time is not None else Status.STILL_WARM
        cool = self.peak + self.problem.target.initial_temperature < self._cool()
        if self.status is None and self.steps and cool:
            self.status = Status.COOLED
        return self.status is not None

    def _cool(self) -> float:
        """Temperature below which the run ends now [K]; -infinity while it goes on whatever it is."""
        ending = self.problem.ending
        over = ending.time is None and self.clock.time >= self.problem.exposure.end
        return float(ending.temperature) if over else -np.inf

    def advance(self) -> None:
        """March a few steps, at most to the next event."""
        clock = self.clock
        self.power = clock.power
        rows = self._of_parts() if self.parts is not None else self._of_all()
        if int(self.state.floor.max()) >= self.mesh.cell.size:
            if self.problem.target.backing is Backing.OPEN_AIR:
                self.perforation_time = self.perforation_time or clock.time
            else:
                self.status = Status.BOTTOM_REACHED
        if rows.size:
            self.recorder.record(rows, self.state)

    def _of_parts(self) -> NDArray[np.float64]:
        """March the columns near a moving beam, or all while it is off; returns the rows."""
        assert self.parts is not None
        if self._moving_on is None:
            if self.power == 0.0:
                return self._of_all()
            self._moving_on = self.parts.march()
        rows = next(self._moving_on, None)
        if rows is None:
            self._moving_on = None
        return self.rows[:0] if rows is None else rows

    def _of_all(self) -> NDArray[np.float64]:
        """March all columns; returns a row of each step."""
        clock, event = self.clock, self.clock.event
        light = layout.steady(self.power, self.power * self.shares)
        if self.power > 0.0 and self.problem.beam.scan_speed != 0.0:
            light = self._moving()
            event = min(event, light.begin + _SPELLS * light.spell)
        rows = self._marched(light, self.rules, clock.edge, event, self._cool())
        clock.reach(float(self.tally[Tally.TIME]))
        return rows

    def _part_marched(
        self, index: NDArray[np.int64], light: Falling, edge: float, event: float, longest: float
    ) -> NDArray[np.float64]:
        """March some columns while others rest, in steps of at most `longest` [s]; returns a row of each."""
        whole, self.mesh = self.mesh, self.mesh._replace(marching=index)
        try:
            return self._marched(light, self.rules._replace(scanning=longest), edge, event, -np.inf)
        finally:
            self.mesh = whole

    def _moving(self) -> Falling:
        """Light of a beam that moves over the block, for some steps ahead."""
        begin, spell = self.clock.time, 0.5 * self.rules.scanning
        # Halfway through a spell the beam stands where it does on average: second order in its length.
        times = begin + spell * (np.arange(_SPELLS) + 0.5)
        columns, beam = self.problem.grid.columns, self.problem.beam
        shares = np.array([columns.beam_shares(beam, time) for time in times])
        return Falling(begin, spell, np.full(_SPELLS, self.power), self.power * shares)

    def _marched(
        self, light: Falling, rules: Rules, edge: float, event: float, cool: float
    ) -> NDArray[np.float64]:
        """Call the compiled march, until an `event` [s] at most; returns a row of each step.

        Raises RunError if the step collapses.
        """
        span = Span(
            edge=edge,
            event=event,
            power=float(light.sent.max()),
            cool=cool,
            most_updates=self.most_updates,
            axis=self.axis,
        )
        taken = self.kernel(self.mesh, rules, span, light)
        if self.tally[Tally.PENDING] > 0.0:
            self.conduct_apart(self.mesh)
        if taken < 0:
            raise collapsed(float(self.tally[Tally.NEXT]), float(self.tally[Tally.TIME]))
        return self.rows[:taken]

    def progress(self) -> Progress:
        """How far this run is: by time during the exposure, by the excess left while it cools."""
        end, now = self.problem.exposure.end, self.clock.time
        initial = self.problem.target.initial_temperature
        goal = max(self.problem.ending.temperature - initial, 1.0)
        if self.problem.ending.time is not None:
            fraction = now / self.problem.ending.time
        elif now < end:
            fraction = 0.5 * now / end
        else:
            fraction = 0.5 + 0.5 * min(1.0, goal / max(self.peak, goal))
        return Progress(
            now, min(fraction, 1.0), float(self.state.front.max()), initial + self.peak, self.steps
        )

    def outcome(self, wall_time: float) -> Outcome:
        """What the finished run leaves."""
        assert self.status is not None
        copies = self.problem.grid.columns.symmetry
        initial = self.problem.target.initial_temperature
        now = self.clock.time
        last = self.recorder.snapshots[-1] if self.recorder.snapshots else None
        if last is None or last.time < now:
            self.recorder.snapshots.append(self.recorder.snapshot(now, self.state))
        history = self.recorder.history()
        history.ledger[:] *= copies
        return Outcome(
            problem=self.problem,
            status=self.status,
            snapshots=tuple(self.recorder.snapshots),
            history=history,
            ledger={name: float(self.booked[index] * copies) for index, name in enumerate(LEDGER_TERMS)},
            removed_mass=float(self.booked[MASS] * copies),
            peak_temperature=initial + float(self.tally[Tally.HIGHEST]),
            perforation_time=self.perforation_time,
            steps=self.steps,
            stages=self.stages,
            cell_updates=self.updates,
            wall_time=wall_time,
        )


def _rules(problem: Problem) -> Rules:
    """How the march of a problem steps."""
    beam, stepping, columns = problem.beam, problem.stepping, problem.grid.columns
    removals = [layer.medium.removal for layer in problem.target.layers if layer.medium.ruptures]
    escape = min((one.steam_escape_time or np.inf for one in removals if one), default=np.inf)
    scanning = np.inf
    if beam.scan_speed != 0.0:
        width = float(np.min(np.diff(columns.x_edges)))
        scanning = 0.5 * min(width, 0.2 * beam.radius) / abs(beam.scan_speed)
    return Rules(
        transmittance=float(beam.plume_transmittance),
        clearing=_CLEARING_TIME,
        copies=float(columns.symmetry),
        growth=float(stepping.growth),
        largest=float(stepping.largest),
        largest_rise=float(stepping.largest_rise),
        front_share=float(stepping.front_share),
        ahead=_AHEAD,
        escape=_ESCAPE_SHARE * float(escape),
        escape_least=_ESCAPE_LEAST,
        scanning=float(scanning),
        most_stages=_MOST_STAGES if problem.light is not None else MOST_STAGES,
        damage_steps=float(_DAMAGE_STEPS),
    )


def starts_warm(target: Target) -> bool:
    """Whether the target starts so warm that it is damaged without a beam."""
    return target.initial_temperature > COLDEST_DAMAGE


def axis_column(problem: Problem) -> int:
    """Index of the column on the beam's axis as it starts."""
    columns = problem.grid.columns
    if columns.geometry is not Geometry.LATTICE:
        return 0
    x, y = problem.beam.centre
    return int(np.argmin(np.abs(columns.x - x))) * columns.y.size + int(np.argmin(np.abs(columns.y - y)))
