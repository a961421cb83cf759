"""Checks and the credibility study shown."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.text import Text

from spotdwell.base.errors import InputError
from spotdwell.base.units import significant
from spotdwell.console.progress import announce_compiling
from spotdwell.console.screen import mention, say, text_of
from spotdwell.console.text import heading, indented

if TYPE_CHECKING:
    from spotdwell.evidence.credibility import Evidence
    from spotdwell.evidence.selfcheck import Check


def check_self(names: Sequence[str] | None) -> bool:
    """Run the checks called `names`, or all, and print each as it is done; returns whether all passed.

    Raises InputError for a name that is none.
    """
    from spotdwell.evidence.selfcheck import check_names, run_checks

    chosen = list(dict.fromkeys(names)) if names else check_names()
    for unknown in set(chosen) - set(check_names()):
        run_checks(names=[unknown])  # raises the error that says which names there are
    announce_compiling()
    done: list[Check] = []
    for name in chosen:
        found = run_checks(progress=lambda title: mention(f"Running: {title} ..."), names=[name])
        say(text_of(*case_lines(found)))
        done += found
    say(tally(done))
    return all(check.passed for check in done)


def case_lines(checks: Sequence[Check]) -> list[RenderableType]:
    """The checks of one case: a heading, then claim, error and tolerance of each."""
    first = checks[0]
    lines: list[RenderableType] = [heading(f"{first.name}: {first.title} ({first.seconds:.1f} s)")]
    for check in checks:
        claim, *evidence = _check_texts(check)
        lines.append(indented(claim))
        lines += [indented(text, 4) for text in evidence]
    return lines


def _check_texts(check: Check) -> tuple[Text, ...]:
    unit = "" if check.unit in ("", "1") else f" {check.unit}"
    claimed, computed = (f"{significant(value, 5)}{unit}" for value in (check.claimed, check.computed))
    word = "passed" if check.passed else "FAILED"
    order = "" if check.order is None else f", observed order {check.order:.2f}"
    return (
        Text(f"{word}  {check.quantity}: claimed {claimed}, computed {computed}"),
        Text(f"error {check.error:.2g} {check.error_kind}, tolerance {check.tolerance:.2g}{order}"),
        Text(check.reason),
    )


def tally(checks: Sequence[Check]) -> str:
    """How many checks passed, and of which case those are that did not."""
    failed = [check for check in checks if not check.passed]
    text = f"{len(checks) - len(failed)} of {len(checks)} checks passed"
    return f"{text}; failed: {', '.join(dict.fromkeys(check.name for check in failed))}" if failed else text


FOLDER = Path("credibility")
"""Where the report goes unless a folder is named."""


def refuse_mixture(names: Sequence[str] | None, full: bool, out: Path | None) -> None:
    """Raise InputError for arguments that exclude one another."""
    if full and names:
        raise InputError("full", "no names: the report holds every check", names[0], "Leave the names out.")
    if out is not None and not full:
        advice = "Add --full, or leave --out out."
        raise InputError("out", "--full, which writes a report", "a self-check that is only printed", advice)


def check_in_full(out: Path | None) -> bool:
    """Gather the evidence and write report.html and report.md; returns whether code verification passed.

    Raises RunError where the folder cannot be written: before anything is computed.
    """
    from spotdwell.evidence.credibility import gather
    from spotdwell.evidence.report import HTML, MARKDOWN, prepare, write_report

    folder = out or FOLDER
    prepare(folder)
    announce_compiling()
    evidence = gather(lambda text: mention(f"Running: {text} ..."))
    write_report(evidence, folder)
    say(f"{_summary(evidence)}\nReport: {folder / HTML} and {MARKDOWN} beside it")
    return evidence.verified


def _summary(evidence: Evidence) -> str:
    from spotdwell.evidence.report_parts import goals_of

    lines = [
        f"{goal.part}: {goal.goal}: {goal.found}{'' if goal.met else ' (NOT MET)'}"
        for goal in goals_of(evidence)
    ]
    return "\n".join(lines)
