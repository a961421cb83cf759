"""Job: one scenario solved, shown and kept, as `run` and `shot` both do it."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from spotdwell import library
from spotdwell.base.errors import InputError, SpotdwellError
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import read_scenario
from spotdwell.inputs.schema import Scenario
from spotdwell.terminal.console import SAFETY, Interrupted, complain, mention, say, text_of
from spotdwell.terminal.watch import Watch

if TYPE_CHECKING:
    from spotdwell.output.result import Result
    from spotdwell.pipeline import GridCheck
    from spotdwell.study.spread.uncertainty import Uncertainty

RESULT_SUFFIXES = (".h5", ".hdf5")


@dataclass(frozen=True)
class Wanted:
    """What the user wants of a run."""

    out: Path | None = None
    """File for the result."""
    picture: Path | None = None
    """File for the section through the axis."""
    as_json: bool = False
    check_grid: bool = False
    quiet: bool = False
    uncertainty: int | None = None
    """Samples of the materials' ranges; None for no such study."""
    seed: int | None = None
    workers: int | None = None

    @property
    def files(self) -> tuple[Path, ...]:
        """All files that the run is to write."""
        return tuple(path for path in (self.out, self.picture) if path is not None)


def scenario_of(name: str) -> Scenario:
    """Scenario at a path, or the shipped one of that name. Raises InputError if it is neither."""
    if Path(name).is_file():
        return read_scenario(name)
    known = library.names(library.Shelf.SCENARIOS)
    with suppress(InputError):
        return read_scenario(library.find(library.Shelf.SCENARIOS, name))
    expected = "the path of a scenario file or the name of a shipped one"
    raise InputError("SCENARIO", expected, f'"{name}"', library.suggestion(Path(name).stem, known))


def carry_out(scenario: Scenario, wanted: Wanted) -> None:
    """Solve `scenario`, print what it found and write the wanted files.

    Raises SpotdwellError; what can be told before the run (a wrong grid, a file that could not be written)
    is told before it.
    """
    check_files(wanted)
    _check_study(scenario, wanted)
    reasons = problem_of(scenario).grid.reasons
    if not wanted.quiet and (large := [reason for reason in reasons if "this run is large" in reason]):
        mention(f"Note: {large[0]}.")
    kept: list[Path] = []
    try:
        result, check = _solved(scenario, wanted)
        study = _sampled(scenario, wanted)
        _all_tried(
            [
                lambda: _show(result, check, study, reasons, wanted),
                lambda: _keep(wanted.out, result.save, wanted, kept),
                lambda: _keep(wanted.picture, result.plot, wanted, kept),
            ]
        )
    except KeyboardInterrupt:
        raise Interrupted(stopped_text(wanted.files, kept)) from None


def _all_tried(ways: Sequence[Callable[[], None]]) -> None:
    """Go all `ways`, so that a full disk costs one of them only; then raise the first error."""
    failures: list[SpotdwellError] = []
    for way in ways:
        try:
            way()
        except SpotdwellError as error:
            failures.append(error)
    for failure in failures[1:]:
        complain(failure)
    if failures:
        raise failures[0]


def _keep(path: Path | None, write: Callable[[Path], None], wanted: Wanted, kept: list[Path]) -> None:
    if path is None:
        return
    write(path)
    kept.append(path)
    if not wanted.quiet:
        (mention if wanted.as_json else say)(f"Saved {path}")


def check_files(wanted: Wanted, kind: str = "spotdwell result") -> None:
    """Raise InputError or RunError for an output file that could not be written after the run.

    `kind` is that of the HDF5 file.
    """
    from spotdwell.output.pictures.style import format_of
    from spotdwell.output.whole_file import check_writable

    if wanted.out is not None and wanted.out.suffix.lower() not in RESULT_SUFFIXES:
        known, advice = " or ".join(RESULT_SUFFIXES), f"Name it {wanted.out.stem}.h5."
        raise InputError("--out", f"a file name that ends in {known}", f'"{wanted.out}"', advice)
    if wanted.picture is not None:
        try:
            format_of(wanted.picture)
        except InputError as error:
            raise InputError("--picture", error.expected, f'"{wanted.picture}"', error.advice) from None
    for path in wanted.files:
        check_writable(path, kind)


def stopped_text(files: tuple[Path, ...], kept: list[Path]) -> str:
    """What a user who stopped a run is told about its files."""
    text = f"Stopped: only {kept[0]} was saved." if kept else "Stopped: nothing was saved."
    old = [str(path) for path in files if path not in kept and path.exists()]
    return f"{text} As it was before: {', '.join(old)}." if old else text


def _solved(scenario: Scenario, wanted: Wanted) -> tuple[Result, GridCheck | None]:
    from spotdwell import pipeline

    with Watch(wanted.quiet) as watch:
        if not wanted.check_grid:
            return pipeline.run(scenario, watch.see), None
        check = pipeline.check_grid(scenario, watch.see_part)
        # The first grid is the scenario's own; its text is kept as the user wrote it.
        result = check.results[0]
        return replace(result, scenario_text=scenario.origin.text or result.scenario_text), check


def _check_study(scenario: Scenario, wanted: Wanted) -> None:
    """Raise InputError for what would keep the samples from being drawn."""
    from spotdwell.terminal.uncertainty import refuse_alone

    refuse_alone(wanted.uncertainty, wanted.seed, wanted.workers)
    if wanted.uncertainty is not None:
        from spotdwell.study.spread.uncertainty import check_request

        check_request(scenario, wanted.uncertainty, wanted.seed or 0, wanted.workers)


def _sampled(scenario: Scenario, wanted: Wanted) -> Uncertainty | None:
    if wanted.uncertainty is None:
        return None
    from spotdwell.terminal.uncertainty import sampled

    return sampled(scenario, wanted.uncertainty, wanted.seed, wanted.workers, wanted.quiet)


def _show(
    result: Result,
    check: GridCheck | None,
    study: Uncertainty | None,
    reasons: tuple[str, ...],
    wanted: Wanted,
) -> None:
    if wanted.as_json:
        say(json_text(result, check, study))
    elif wanted.quiet:
        from spotdwell.terminal.summary import verdict_line

        say(verdict_line(result))
        if study:
            from spotdwell.terminal.uncertainty import short_text

            say(short_text(study))
    else:
        from spotdwell.terminal.checks import grid_table
        from spotdwell.terminal.summary import summary
        from spotdwell.terminal.uncertainty import uncertainty_text

        grids, intervals = grid_table(check) if check else [], uncertainty_text(study) if study else []
        say(text_of(*summary(result, reasons), *grids, *intervals, "", SAFETY))


def json_text(result: Result, check: GridCheck | None, study: Uncertainty | None = None) -> str:
    """One JSON object in SI: measures and their units, verdict, ledger, notes, setting, versions."""
    from spotdwell.output.tables import plain
    from spotdwell.terminal.checks import grid_plain
    from spotdwell.terminal.summary import imbalance
    from spotdwell.terminal.uncertainty import uncertainty_plain

    found = plain(result) | {"ledger_imbalance": imbalance(result.ledger)}
    found |= {"grid_check": grid_plain(check)} if check else {}
    found |= uncertainty_plain(study) if study else {}
    return json.dumps(found, indent=2, allow_nan=False)
