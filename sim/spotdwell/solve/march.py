"""March: steps a problem from its first pulse until it has cooled, yielding progress as it goes."""

from __future__ import annotations

import time as wall
from collections.abc import Callable, Generator
from dataclasses import dataclass

import numpy as np

from spotdwell.kernels import absorb, change, conduct, ready
from spotdwell.kernels.layout import State
from spotdwell.model.columns import Geometry
from spotdwell.model.problem import Problem
from spotdwell.model.target import Backing, Target
from spotdwell.solve import state as layout
from spotdwell.solve.clock import Clock, longest_super_step, stages_for
from spotdwell.solve.outcome import LEDGER_TERMS, Outcome, Status
from spotdwell.solve.recorder import Recorder

_TERM = {name: index for index, name in enumerate(LEDGER_TERMS)}
_AHEAD = 3.0
"""A step of the beam may be this many times as long as a front that only ruptured would allow."""
_ESCAPE_SHARE = 0.3
"""Of the time in which steam escapes, times the front's share, a step of the beam takes at most."""
_DAMAGE_STEPS = 4
"""Damage is added up after so many steps, and at each event: its rates run straight in their logarithm."""
_ESCAPE_LEAST = 1e-2
"""Of the time in which the front crosses a cell: escape shortens steps no further."""
_CLEARING_TIME = 1e-4
"""Time in which debris leaves the beam's path once the beam is off [s] (THEORY.md, Film and debris)."""
_BEAM = slice(_TERM["reflected"], _TERM["transmitted"] + 1)
_CHANGES = slice(_TERM["latent"], _TERM["carried"] + 1)
"""Terms in the order in which the kernels write them."""


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
"""Is shown the time [s] and the state after every step; it may look and must not touch."""


def march(problem: Problem, watch: Watch | None = None) -> Generator[Progress, None, Outcome]:
    """March `problem`; yields `Progress` after every step and returns the `Outcome`.

    Raises RunError if the step collapses. Nothing is kept outside the returned outcome, so that an
    interrupted march leaves nothing behind.
    """
    began = wall.perf_counter()
    run = _Run(problem)
    while not run.done():
        run.step()
        if watch is not None:
            watch(run.clock.time, run.state)
        yield run.progress()
    return run.outcome(wall.perf_counter() - began)


def marched(
    problem: Problem, progress: Callable[[Progress], None] | None = None, watch: Watch | None = None
) -> Outcome:
    """March `problem` to its end and return the outcome; `progress` is called after every step.

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
        self.work = layout.work_arrays(problem, self.mesh, self.still)
        self.surround = layout.surroundings(problem)
        self.clock = Clock(problem)
        self.recorder = Recorder(problem, axis_column(problem))
        n, cells = grid.columns.count, grid.depth.size
        # Heat may come from below, and tissue that starts warm changes everywhere.
        whole = target.backing is not Backing.INSULATED or starts_warm(target)
        self.last = np.full(n, cells if whole else 1, dtype=np.int64)
        self.lit = np.zeros(n, dtype=np.int64)
        self.scratch = np.zeros((7, max(cells, 6)))
        self.budget, self.pace = np.zeros(3), np.zeros(2)
        self.ledger = np.zeros(len(LEDGER_TERMS))
        self.changes = np.zeros(9)
        self.shares = grid.columns.beam_shares(problem.beam)
        self.sent, self.falling = 0.0, np.zeros(n)
        self.last_step = 1e-9
        self.unhurt, self.waited = 0.0, 0
        removals = [layer.medium.removal for layer in target.layers if layer.medium.ruptures]
        self.escape_time = min((one.steam_escape_time or np.inf for one in removals if one), default=np.inf)
        self.steps, self.stages, self.updates = 0, 0, 0
        self.peak, self.highest, self.power = 0.0, 0.0, 0.0
        self.removed_mass = 0.0
        self.perforation_time: float | None = None
        self.status: Status | None = None
        self.explicit = self._ready(0)
        self.recorder.record(0.0, 0.0, 0.0, self.state, self.ledger)

    def _ready(self, margin: int) -> float:
        """Lay out what conduction over a step needs; returns the explicit step limit [s].

        The limit is long, but finite, where nothing conducts.
        """
        rate = ready.make_ready(
            self.mesh,
            self.media,
            self.still,
            self.surround,
            self.state,
            self.lit,
            self.last,
            self.work,
            margin,
        )
        return 1.0 / max(float(rate), 1e-3)

    def done(self) -> bool:
        """Whether the run has ended; sets the status when it has."""
        ending = self.problem.ending
        if self.status is None and self.clock.finished:
            self.status = Status.TIME_REACHED if ending.time is not None else Status.STILL_WARM
        over = self.steps and ending.time is None and self.clock.time >= self.problem.exposure.end
        cool = self.peak + self.problem.target.initial_temperature < ending.temperature
        if self.status is None and over and cool:
            self.status = Status.COOLED
        return self.status is not None

    def step(self) -> None:
        """Absorb, conduct, change, remove, book."""
        self.power = self.clock.power
        moved = self.problem.light is not None
        self._shine(self.clock.time, min(self.last_step, self._scan_limit()) if moved else 0.0)
        step = self.clock.step(self._limit(), self.explicit)
        if self.power > 0.0 and self._moves():
            self._shine(self.clock.time, step)
        self.explicit = self._ready(stages_for(step, self.explicit) // 2 + 2)
        step = min(step, longest_super_step(self.explicit))
        stages = stages_for(step, self.explicit)
        lost, below = conduct.super_step(
            self.mesh, self.still, self.state.floor, self.last, self.lit, self.work, step, stages
        )
        self.updates += stages * int(np.sum(self.last - self.state.floor))
        self._change(step)
        self._book(step, lost, below)
        self.clock.advance(step)
        self.steps += 1
        self.stages += stages
        self._look()

    def _moves(self) -> bool:
        """Whether the beam moves over the columns."""
        return self.problem.light is not None or self.problem.beam.scan_speed != 0.0

    def _aim(self, time: float, step: float) -> None:
        """Find the mean power that is sent from `time` [s] over a `step`, and that on each column."""
        beam, light = self.problem.beam, self.problem.light
        if light is not None:
            self.sent, self.falling = light.falling(time, time + step)
            return
        if beam.scan_speed != 0.0:
            # Halfway through the step the beam stands where it does on average: second order in the step.
            self.shares = self.problem.grid.columns.beam_shares(beam, time + 0.5 * step)
        self.sent, self.falling = self.power, self.power * self.shares

    def _shine(self, time: float, step: float) -> None:
        """Absorb the beam as it is from `time` [s] over a `step`; note how fast it heats and removes."""
        s, w = self.state, self.work
        self.budget[:] = 0.0
        if self.power == 0.0:
            absorb.darken(w, s.floor, self.lit)
            return
        self._aim(time, step)
        absorb.absorb_beam(
            self.mesh,
            self.media,
            self.still,
            s,
            self.falling,
            self.problem.beam.plume_transmittance,
            self.last_step,
            _CLEARING_TIME,
            w,
            self.lit,
            self.budget,
            self.pace,
        )

    def _limit(self) -> float:
        """Longest step that heating and the front allow [s] (eq. 18)."""
        if self.power == 0.0:
            return np.inf
        stepping, (heating, crossing) = self.problem.stepping, self.pace.tolist()
        limit = stepping.largest_rise / heating if heating > 0.0 else np.inf
        if crossing > 0.0:
            # Burning fronts are slower than the energy allows: how far the last step took them counts too.
            # Steam that escapes far sooner than the front moves is as good as boiled off in any step.
            escape = max(_ESCAPE_SHARE * self.escape_time, _ESCAPE_LEAST / crossing)
            moved = float(self.changes[8])
            seen = self.last_step / moved if moved > 0.0 else np.inf
            limit = min(limit, stepping.front_share * min(_AHEAD / crossing, escape, seen))
        return min(limit, self._scan_limit())

    def _scan_limit(self) -> float:
        """Longest step in which a moving beam stays near its cells [s]."""
        beam, light = self.problem.beam, self.problem.light
        if light is not None:
            return light.longest_step(self.clock.time)
        if beam.scan_speed == 0.0:
            return np.inf
        width = float(np.min(np.diff(self.problem.grid.columns.x_edges)))
        return 0.5 * min(width, 0.2 * beam.radius) / abs(beam.scan_speed)

    def _change(self, step: float) -> None:
        """Let steam escape, char, damage and remove over `step`."""
        grid, target = self.problem.grid, self.problem.target
        initial = target.initial_temperature
        ambient = self.problem.surface.ambient_temperature - initial
        change.change_tissue(
            self.mesh,
            self.media,
            self.still,
            self.state,
            self.work,
            self.last,
            grid.layer_of_cell,
            grid.depth_edges,
            step,
            self._elapsed(step),
            initial,
            ambient,
            self.scratch,
            self.changes,
        )
        self.last_step = step
        if self.power == 0.0:
            change.rest(self.state, self.media, step, _CLEARING_TIME)
        elif self.problem.light is not None:
            self._rest_aside(step)

    def _rest_aside(self, step: float) -> None:
        """Let the film set and debris clear over `step` where a beam that is on does not fall."""
        state, dark = self.state, self.falling <= 0.0
        rate = self.media.film_rate[np.minimum(state.floor, self.media.film_rate.size - 1)]
        state.thrown[dark] *= np.exp(-step * rate[dark])
        state.debris[dark] = np.maximum(state.debris[dark], 0.0) * np.exp(-step / _CLEARING_TIME)

    def _elapsed(self, step: float) -> float:
        """Time since damage was last added up [s], if this step is to do so; else 0."""
        self.unhurt += step
        self.waited += 1
        if self.waited < _DAMAGE_STEPS and not self.clock.meets_event(step):
            return 0.0
        elapsed, self.unhurt, self.waited = self.unhurt, 0.0, 0
        return elapsed

    def _book(self, step: float, lost: float, below: float) -> None:
        """Add the step's energies to the ledger."""
        ledger, copies, changes = self.ledger, self.problem.grid.columns.symmetry, self.changes.tolist()
        if self.power > 0.0:
            sent = self.sent * step / copies
            ledger[_TERM["incident"]] += sent
            ledger[_TERM["outside"]] += sent - step * float(self.falling.sum())
            ledger[_BEAM] += self.budget * step
        ledger[_CHANGES] += self.changes[:4]
        ledger[_TERM["blood"]] += changes[4]
        ledger[_TERM["surface"]] += lost
        ledger[_TERM["backing"]] += below
        ledger[_TERM["stored"]] = changes[6]
        self.removed_mass += changes[5]

    def _look(self) -> None:
        """Note temperatures, perforation and the record after a step."""
        s, cells = self.state, self.mesh.cell.size
        self.peak = float(self.changes[7])
        self.highest = max(self.highest, self.peak)
        if int(s.floor.max()) >= cells:
            if self.problem.target.backing is Backing.OPEN_AIR:
                self.perforation_time = self.perforation_time or self.clock.time
            else:
                self.status = Status.BOTTOM_REACHED
        self.recorder.record(self.clock.time, self.power, self.peak, s, self.ledger)

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
        history = self.recorder.history(now, self.power, self.peak, self.state, self.ledger)
        history.ledger[:] *= copies
        return Outcome(
            self.problem,
            self.status,
            tuple(self.recorder.snapshots),
            history,
            {name: float(self.ledger[index] * copies) for name, index in _TERM.items()},
            self.removed_mass * copies,
            initial + self.highest,
            self.perforation_time,
            self.steps,
            self.stages,
            self.updates,
            wall_time,
        )


def starts_warm(target: Target) -> bool:
    """Whether the target starts so warm that it is damaged without a beam."""
    return target.initial_temperature > change.COLDEST_DAMAGE


def axis_column(problem: Problem) -> int:
    """Index of the column on the beam's axis as it starts."""
    columns = problem.grid.columns
    if columns.geometry is not Geometry.LATTICE:
        return 0
    x, y = problem.beam.centre
    return int(np.argmin(np.abs(columns.x - x))) * columns.y.size + int(np.argmin(np.abs(columns.y - y)))
