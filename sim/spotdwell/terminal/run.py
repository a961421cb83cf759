"""One scenario solved, shown and kept, as the verbs `run` and `shot` both do it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from spotdwell.console.progress import Watch
from spotdwell.console.saving import Files
from spotdwell.console.screen import mention
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.schema import Scenario
from spotdwell.terminal.checks import grid_plain, grid_table
from spotdwell.terminal.summary import imbalance, summary, verdict_line
from spotdwell.terminal.uncertainty import (
    check_samples,
    sampled,
    short_text,
    uncertainty_plain,
    uncertainty_text,
)

if TYPE_CHECKING:
    from spotdwell.output.result import Result
    from spotdwell.output.tables import Plain
    from spotdwell.pipeline import GridCheck
    from spotdwell.study.spread.uncertainty import Uncertainty


@dataclass(frozen=True)
class Outputs:
    """What the user wants of a run."""

    out: Path | None = None
    """File for the result."""
    picture: Path | None = None
    """File for the section through the axis."""
    as_json: bool = False
    check_grid: bool = False
    quiet: bool = False
    samples: int | None = None
    """Samples of the materials' ranges; None for no such study."""
    seed: int | None = None
    workers: int | None = None


def carry_out(scenario: Scenario, outputs: Outputs) -> None:
    """Solve `scenario`, print what it found and write the files.

    Raises SpotdwellError; what can be told before the run (a wrong grid, a file that could not be written)
    is told before it.
    """
    from spotdwell import pipeline

    files = Files(outputs.quiet, outputs.as_json)
    files.check("out", outputs.out, "h5")
    files.check("picture", outputs.picture, "picture")
    check_samples(scenario, outputs.samples, outputs.seed, outputs.workers)
    reasons = problem_of(scenario).grid.reasons
    if not outputs.quiet:
        for reason in reasons:
            if "this run is large" in reason:
                mention(f"Note: {reason}.")
    check: GridCheck | None = None
    with files.stoppable():
        with Watch(outputs.quiet) as watch:
            if outputs.check_grid:
                check = pipeline.check_grid(scenario, watch.see_part)
                # The first grid is the scenario's own; its text is kept as the user wrote it.
                result = check.results[0]
                result = replace(result, scenario_text=scenario.origin.text or result.scenario_text)
            else:
                result = pipeline.run(scenario, watch.see)
        study = sampled(scenario, outputs.samples, outputs.seed, outputs.workers, outputs.quiet)

        def show() -> None:
            files.show(
                lambda: plain_of(result, check, study),
                lambda: "\n".join([verdict_line(result), *([short_text(study)] if study else [])]),
                lambda: [
                    *summary(result, reasons),
                    *(grid_table(check) if check else []),
                    *(uncertainty_text(study) if study else []),
                ],
            )

        files.finish(show, (outputs.out, result.save), (outputs.picture, result.plot))


def plain_of(result: Result, check: GridCheck | None, study: Uncertainty | None = None) -> Plain:
    """In SI, of types that JSON knows: measures, units, verdict, ledger, notes, setting, versions."""
    from spotdwell.output.tables import plain

    found = plain(result) | {"ledger_imbalance": imbalance(result.ledger)}
    found |= {"grid_check": grid_plain(check)} if check else {}
    return found | (uncertainty_plain(study) if study else {})
