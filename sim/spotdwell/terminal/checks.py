"""Checks shown: measures on finer grids, and the self-check's claims against what was computed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.text import Text

from spotdwell.base.names import MEASURES
from spotdwell.base.units import significant
from spotdwell.console.progress import announce_compiling
from spotdwell.console.screen import mention, say, text_of
from spotdwell.console.text import heading, indented, plain_table, shown, unit_text
from spotdwell.output.tables import Plain

if TYPE_CHECKING:
    from spotdwell.pipeline import GridCheck
    from spotdwell.study.evidence.selfcheck import Check


def grid_table(check: GridCheck) -> list[RenderableType]:
    """Each measure on each grid, with its change between the last two."""
    grids = [f"grid {number}" for number in range(1, len(check.refinements) + 1)]
    table = plain_table(
        ("measure", "left"), *((grid, "right") for grid in grids), ("unit", "left"), ("change [%]", "right")
    )
    for name, values, _, relative in check.rows():
        if any(value is not None for value in values):
            quantity = MEASURES[name]
            change = "-" if relative is None else f"{100.0 * relative:+.2f}"
            table.add_row(name, *(shown(quantity, value) for value in values), unit_text(quantity), change)
    title = "Grid check: each grid has cells and steps of half the size of those before"
    return [Text(), heading(title), table]


def grid_plain(check: GridCheck) -> Plain:
    """The same in SI, of types that JSON knows."""
    rows = {
        name: {"values": list(values), "change": change, "relative_change": relative}
        for name, values, change, relative in check.rows()
    }
    return {"refinements": list(check.refinements), "measures": rows}


def check_self(names: Sequence[str] | None) -> bool:
    """Run the checks called `names`, or all, and print each as it is done; returns whether all passed.

    Raises InputError for a name that is none.
    """
    from spotdwell.study.evidence.selfcheck import check_names, run_checks

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
