"""Shot: one shot warm in one process, as a whole process with cached kernels, and for the first time ever."""

from __future__ import annotations

import json
import os
import statistics
import sys
import tempfile
import time
from typing import TYPE_CHECKING

from process import Ended, ended
from rows import Row, at_most, written
from timing import by_turns

if TYPE_CHECKING:
    from spotdwell.output.result import Result

MATERIAL, POWER, SPOT, DWELL = "soft_tissue", "25 W", "1.6 mm", "80 ms"
TITLE = "One shot"
ABOUT = (
    f"{MATERIAL}, {POWER}, {SPOT}, {DWELL}, settings left alone, until it has cooled. Accuracy: what changes "
    "with half the cells and half the steps. A process is what the shell starts, to its exit."
)
COMMAND = (sys.executable, "-m", "spotdwell", "shot", "--json")
COMMAND += ("--on", MATERIAL, "--power", POWER, "--spot", SPOT, "--dwell", DWELL)
COMPARED = {
    "depth": "crater_depth",
    "volume": "crater_volume",
    "char": "char_thickness_floor",
    "coagulation": "coagulation_thickness_floor",
}
"""What accuracy is told of, and its measure."""
WARM, PROCESS, RUN_SHARE, COLD, MEMORY, KERNEL_RATIO = 0.15, 1.5, 25.0, 20.0, 300.0, 2.0
"""Bars: s, s, % of the process, s, MB, times the conduction kernel's own time."""


def rows(quick: bool) -> list[Row]:
    """Cold and cached processes, then warm."""
    repeats = 3 if quick else 9
    with tempfile.TemporaryDirectory() as cache:
        # Kernels are looked for where no earlier run has left any.
        os.environ["NUMBA_CACHE_DIR"] = cache
        cold = ended(COMMAND, os.environ)
        cached = [ended(COMMAND, os.environ) for _ in range(repeats)]
        warm, result = _warm(repeats)
        whole, conduction = _conduction(repeats)
        accuracy = _accuracy()
    cost = result.cost
    counted = (
        f"{cost['steps']:.0f} steps, {cost['stages']:.0f} stages, {cost['cell_updates'] / 1e6:.3g} million"
    )
    return [
        at_most(f"warm, median of {repeats}", warm, WARM, "s", accuracy),
        *_of_processes(cold, cached, warm),
        at_most("whole shot over its conduction kernel alone", whole / conduction, KERNEL_RATIO, "times"),
        Row("work", f"{counted} cell updates"),
        Row("cell updates a second, warm", f"{cost['cell_updates'] / warm / 1e6:.0f} million, all physics"),
    ]


def _of_processes(cold: Ended, cached: list[Ended], warm: float) -> list[Row]:
    """Rows of the first process ever and of those that found its kernels; `warm` is the run itself [s]."""
    whole = statistics.median(one.seconds for one in cached)
    run = statistics.median(json.loads(one.output)["cost"]["wall_time"] for one in cached)
    memory = statistics.median(one.megabytes for one in cached)
    told = "Compiling" in cold.errors
    return [
        at_most(f"whole process, cached kernels, median of {len(cached)}", whole, PROCESS, "s"),
        at_most("share of the run itself (warm) in it", 100.0 * warm / whole, RUN_SHARE, "%"),
        Row("the run with loading its kernels in it", written(run, "s")),
        at_most("whole process, first ever", cold.seconds, COLD, "s"),
        Row("it says that it compiles", "yes" if told else "no", "", "it does", told),
        at_most("peak memory, cached kernels", memory, MEMORY, "MB"),
        Row("peak memory, first ever", written(cold.megabytes, "MB")),
    ]


def _warm(repeats: int) -> tuple[float, Result]:
    import spotdwell

    timed = by_turns({"shot": lambda: spotdwell.shot(MATERIAL, POWER, SPOT, DWELL)}, repeats)["shot"]
    return timed.median, timed.value


def _conduction(repeats: int) -> tuple[float, float]:
    """Medians over the same shots of a whole shot's time and of its conduction kernel's in it [s]."""
    import spotdwell
    from clocked import clocked

    wholes, kernels = [], []
    with clocked("super_step") as spent:
        spotdwell.shot(MATERIAL, POWER, SPOT, DWELL)
        for _ in range(repeats):
            spent["super_step"]()
            began = time.perf_counter()
            spotdwell.shot(MATERIAL, POWER, SPOT, DWELL)
            wholes.append(time.perf_counter() - began)
            kernels.append(spent["super_step"]())
    return statistics.median(wholes), statistics.median(kernels)


def _accuracy() -> str:
    """Change of some measures with half the cells and half the steps, in words."""
    from spotdwell.inputs.shot import scenario_of_shot
    from spotdwell.pipeline import check_grid

    return change_text(check_grid(scenario_of_shot(MATERIAL, POWER, SPOT, DWELL)).rows())


def change_text(table: list[tuple[str, tuple[float | None, ...], float | None, float | None]]) -> str:
    """The relative changes of `COMPARED` in a table of `pipeline.GridCheck.rows`."""
    changes = {name: relative for name, _, _, relative in table}
    parts = [
        f"{word} {100.0 * change:+.1f} %"
        for word, measure in COMPARED.items()
        if (change := changes[measure]) is not None
    ]
    return ", ".join(parts)
