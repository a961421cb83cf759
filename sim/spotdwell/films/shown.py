"""Film: a scenario solved with many saved moments, and drawn frame by frame."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from spotdwell.console.progress import Watch
from spotdwell.console.saving import stopped
from spotdwell.console.screen import mention, say
from spotdwell.inputs.build import exposure_of, problem_of

if TYPE_CHECKING:
    from spotdwell.inputs.schema import Scenario
    from spotdwell.model.problem import Problem
    from spotdwell.output.result import Result

_MOST_BYTES = 1.5e9
"""Of all saved moments together: a lattice's are large."""
_FIELDS = 4
"""Arrays over all cells in a saved moment, besides one for each damage process."""


def make(scenario: Scenario, out: Path, frames: int, quiet: bool) -> None:
    """Solve `scenario`, with some `frames` moments of its exposure kept, and write the film to `out`.

    Raises InputError for a scenario or file name that will not do, RunError for a run that failed or a file
    that cannot be written, and Interrupted, with no half film left.
    """
    from spotdwell import pipeline
    from spotdwell.films.file import film_format
    from spotdwell.output.whole_file import check_writable

    film_format(out)
    check_writable(out)
    kept = with_moments(scenario, frames, quiet)
    with stopped(f"{out} was not drawn."):
        with Watch(quiet) as watch:
            result = pipeline.run(kept, watch.see)
        draw_film(result, out, quiet)
    if not quiet:
        say(f"Saved {out}")


def with_moments(scenario: Scenario, frames: int, quiet: bool = True) -> Scenario:
    """`scenario` with the moments of a film kept; fewer of them, which is said, where memory would not do.

    Raises InputError as for any scenario that cannot be solved.
    """
    from spotdwell.films.file import film_times

    exposure, run = exposure_of(scenario), scenario.run
    end = run.longest_time if run.end_time is None else run.end_time
    times = film_times(exposure.start, exposure.stop, end, frames)
    stride = -(-len(times) * _bytes_of_moment(problem_of(scenario)) // int(_MOST_BYTES))
    if stride > 1 and not quiet:
        mention(f"Only every {stride}th moment is kept: the fields of this grid are large.")
    # Right by construction, time 0 included, which a scenario file may not ask for.
    return scenario.model_copy(update={"run": run.model_copy(update={"save_times": times[::stride]})})


def _bytes_of_moment(problem: Problem) -> int:
    damage = max(len(layer.medium.damage) for layer in problem.target.layers)
    return problem.grid.columns.count * problem.grid.depth.size * 8 * (_FIELDS + damage)


def draw_film(result: Result, path: Path, quiet: bool) -> None:
    """Write the film of `result`'s saved moments to `path`, with its progress unless `quiet`."""
    from spotdwell.films.file import film

    with Watch(quiet, "frames", solves=False) as watch:
        film(result, path, watch.count)
