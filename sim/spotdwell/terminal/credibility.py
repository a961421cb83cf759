"""The full self-check: gathers all evidence and writes the credibility report."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from spotdwell.base.errors import InputError
from spotdwell.console.progress import announce_compiling
from spotdwell.console.screen import mention, say

if TYPE_CHECKING:
    from spotdwell.study.evidence.credibility import Evidence

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
    from spotdwell.study.evidence.credibility import gather
    from spotdwell.study.evidence.report import HTML, MARKDOWN, prepare, write_report

    folder = out or FOLDER
    prepare(folder)
    announce_compiling()
    evidence = gather(lambda text: mention(f"Running: {text} ..."))
    write_report(evidence, folder)
    say(f"{_summary(evidence)}\nReport: {folder / HTML} and {MARKDOWN} beside it")
    return evidence.verified


def _summary(evidence: Evidence) -> str:
    from spotdwell.study.evidence.report_goals import goals_of

    lines = [
        f"{goal.part}: {goal.goal}: {goal.found}{'' if goal.met else ' (NOT MET)'}"
        for goal in goals_of(evidence)
    ]
    return "\n".join(lines)
