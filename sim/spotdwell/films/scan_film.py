"""Film of a scan: section across the lines, temperatures below it, depth and build-up in time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.constants import ZERO_CELSIUS
from spotdwell.base.units import display
from spotdwell.console.progress import Watch
from spotdwell.console.saving import stopped
from spotdwell.console.screen import mention, say
from spotdwell.films.file import film_format, film_times, write_frames
from spotdwell.films.film import SHEET
from spotdwell.inputs.schema import Scenario
from spotdwell.model.problem import Problem
from spotdwell.output.pictures.contours import shade, write_scale
from spotdwell.output.pictures.style import CAUTION, FAINT, INK, painted, typeset
from spotdwell.output.whole_file import check_writable
from spotdwell.scans.measures import Meeting, Surface, meeting_of, surface_of
from spotdwell.scans.picture import paint_layers, room_of
from spotdwell.scans.request import Plan, plan_of
from spotdwell.scans.run import scan_setting
from spotdwell.solve.march import marched
from spotdwell.solve.outcome import Outcome, Snapshot

Array = NDArray[np.float64]

_MOST_BYTES = 1.5e9
"""Of all saved moments together."""
_SECTION, _HEAT = (0.075, 0.585, 0.55, 0.265), (0.075, 0.13, 0.55, 0.33)
_DEPTH, _MEETS = (0.775, 0.585, 0.20, 0.265), (0.775, 0.13, 0.20, 0.33)
"""Left, bottom, width and height of the four drawings, as shares of the frame."""
_SCALE = (6.12, 0.75, 0.13, 1.6)
"""Left, bottom, width and height of the scale of temperatures [in]."""


def make_scan(scenario: Scenario, out: Path, frames: int, quiet: bool) -> None:
    """Solve the scan with some `frames` moments of it kept, and write the film to `out`.

    Raises as `films.shown.make` does.
    """
    film_format(out)
    check_writable(out)
    plan = plan_of(scenario)
    with stopped(f"{out} was not drawn."):
        with Watch(quiet) as watch:
            problem, light = plan.problem()
            problem = _with_moments(problem, frames, quiet)
            columns = problem.grid.columns
            meeting = meeting_of(plan.setup, plan.course, columns, light)
            outcome = marched(problem, watch.see, meeting.look)
        with Watch(quiet, "frames", solves=False) as watch:
            write_frames(scan_frames(plan, outcome, meeting), len(outcome.snapshots), out, watch.count)
    if not quiet:
        say(f"Saved {out}")


def _with_moments(problem: Problem, frames: int, quiet: bool) -> Problem:
    """`problem` with the moments of a film kept; fewer, which is said, where memory would not do."""
    ending, exposure = problem.ending, problem.exposure
    end = ending.longest if ending.time is None else ending.time
    times = film_times(exposure.start, exposure.stop, end, frames)
    processes = max(len(layer.medium.damage) for layer in problem.target.layers)
    size = problem.grid.columns.count * problem.grid.depth.size * 8 * (4 + processes)
    stride = -(-len(times) * size // int(_MOST_BYTES))
    if stride > 1 and not quiet:
        mention(f"Only every {stride}th moment is kept: the fields of this grid are large.")
    return replace(problem, save_times=times[::stride])


def scan_frames(plan: Plan, outcome: Outcome, meeting: Meeting) -> Iterator[Any]:
    """Frames as images of Pillow in RGB: the last with the beam on, for its colours, then one each moment."""
    states = outcome.snapshots
    tops = [surface_of(plan.setup, plan.pattern, replace(outcome, snapshots=(one,))) for one in states]
    lit = [place for place, one in enumerate(states) if one.time <= plan.course.total_time]
    stage = _Stage(plan, outcome, meeting, tops)
    for place in (lit[-1], *range(len(tops))):
        yield stage.frame(place)


class _Stage:
    """What all frames have in common."""

    def __init__(self, plan: Plan, outcome: Outcome, meeting: Meeting, tops: list[Surface]) -> None:
        self._plan, self._outcome, self._meeting, self._tops = plan, outcome, meeting, tops
        self._room = room_of(tops[-1], plan.pattern.width)
        self._times = np.array([one.time for one in outcome.snapshots])
        inside, weights = tops[-1].inside, tops[-1].weights
        self._depths = [1e6 * float(np.average(one.depth[inside], weights=weights[inside])) for one in tops]
        setting = scan_setting(plan.scenario)
        named = ", ".join(setting.get(key, "") for key in ("power", "spot", "target"))
        self._title = setting.get("title") or named
        self._pattern = f"{setting.get('scan', '')}; computed as a {plan.model}"

    def frame(self, place: int) -> Any:
        """The frame of one moment."""
        from PIL import Image

        figure = painted(lambda figure: self._paint(figure, place), SHEET)
        figure.set_dpi(SHEET.resolution)
        figure.canvas.draw()
        return Image.frombuffer(
            "RGBA", figure.canvas.get_width_height(), figure.canvas.buffer_rgba(), "raw", "RGBA", 0, 1
        ).convert("RGB")

    def _paint(self, figure: Any, place: int) -> None:
        state, top = self._outcome.snapshots[place], self._tops[place]
        figure.set_size_inches(SHEET.width, SHEET.height)
        figure.text(0.015, 0.975, typeset(self._title), va="top", fontweight="bold", fontsize=11)
        figure.text(0.015, 0.93, typeset(self._pattern), va="top", fontsize=9)
        figure.text(
            0.985, 0.975, self._clock(state.time), va="top", ha="right", fontsize=12, fontweight="bold"
        )
        figure.text(0.015, 0.012, CAUTION, fontsize=6.5, color=FAINT)
        section = figure.add_axes(_SECTION)
        places = self._plan.course.begin[:, 1]
        paint_layers(section, top, self._room, places)
        section.set_xlabel("")
        section.set_title(
            "charred, dried and coagulated; ticks: axes of the lines", fontsize="small", loc="left"
        )
        self._heat(figure.add_axes(_HEAT), state, top)
        write_scale(figure, _SCALE, SHEET)
        self._course(figure, state.time)

    def _clock(self, time: float) -> str:
        course = self._plan.course
        done = int(np.searchsorted(course.start, time, side="left"))
        text = f"{1e3 * time:.1f} ms" if course.total_time < 1.0 else f"{time:.3f} s"
        if time > course.total_time:
            return f"{display(time, 's', 's')}, beam off"
        return f"line {done} of {course.start.size}, {text}"

    def _heat(self, axes: Any, state: Snapshot, top: Surface) -> None:
        """Temperatures half way along the lines, and what is gone."""
        grid = self._outcome.problem.grid
        row, shape = int(np.abs(top.x).argmin()), (top.x.size, top.y.size, grid.depth.size)
        celsius = state.temperature.reshape(shape)[row] - ZERO_CELSIUS
        # What is gone takes the temperature of what it lay on, so that none of its own shines through.
        floor = np.minimum(state.floor.reshape(shape[:2])[row], grid.depth.size - 1)
        gone = np.arange(grid.depth.size) < floor[:, None]
        celsius = np.where(gone, np.take_along_axis(celsius, floor[:, None], axis=1), celsius)
        reach, lowest = self._room
        shown = 1e6 * grid.depth <= 1.1 * lowest
        mesh = np.broadcast_arrays(1e3 * top.y[:, None], 1e6 * grid.depth[None, shown])
        shade(axes, (mesh[0], mesh[1]), celsius[:, shown])
        axes.fill_between(1e3 * top.y, 0.0, 1e6 * top.depth[row], color="white", linewidth=0, zorder=3)
        axes.set(xlim=(-1e3 * reach, 1e3 * reach), ylim=(lowest, 0.0))
        axes.set_xlabel("across the lines [mm]")
        axes.set_ylabel("depth [µm]")
        axes.set_title("temperature", fontsize="small", loc="left")

    def _course(self, figure: Any, now: float) -> None:
        """Mean depth, and the temperature that each line met so far."""
        end = self._plan.course.total_time
        scale, unit = (1e3, "ms") if end < 1.0 else (1.0, "s")
        depth, meets = figure.add_axes(_DEPTH), figure.add_axes(_MEETS)
        past = self._times <= now
        depth.plot(scale * self._times[past], np.array(self._depths)[past], color=INK, linewidth=1.2)
        depth.plot([scale * now], [self._depths[int(past.sum()) - 1]], "o", color=INK, markersize=4)
        depth.set(xlim=(0.0, 1.05 * scale * end), ylim=(0.0, 1.15 * max(self._depths[-1], 1.0)))
        depth.set_title("mean depth [µm]", fontsize="small", loc="left")
        met = self._meeting.times <= now
        found = self._meeting.found - ZERO_CELSIUS
        meets.plot(scale * self._meeting.times[met], found[met], ".", color=INK, markersize=3.5)
        meets.set(xlim=(0.0, 1.05 * scale * end), ylim=(found.min() - 3.0, found.max() + 5.0))
        meets.set_title("each line meets [°C]", fontsize="small", loc="left")
        meets.set_xlabel(f"time [{unit}]")
        for axes in (depth, meets):
            axes.spines[["top", "right"]].set_visible(False)
