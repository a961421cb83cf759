"""Rows: what a case measured, with its bar and the accuracy that goes with it, as a table of Markdown."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One line of a case's table."""

    what: str
    measured: str
    accuracy: str = ""
    bar: str = ""
    """What it is held to, in words; empty where nothing is asked of it."""
    kept: bool | None = None
    """Whether the bar is kept; None without a bar."""


def at_most(what: str, value: float, limit: float, unit: str, accuracy: str = "") -> Row:
    """Row of a `value` that should not exceed `limit`."""
    return Row(what, written(value, unit), accuracy, f"at most {limit:g} {unit}".strip(), value <= limit)


def at_least(what: str, value: float, limit: float, unit: str, accuracy: str = "") -> Row:
    """Row of a `value` that should not fall below `limit`."""
    return Row(what, written(value, unit), accuracy, f"at least {limit:g} {unit}".strip(), value >= limit)


def written(value: float, unit: str) -> str:
    """A value to three digits with its unit."""
    digits = f"{value:.3g}" if abs(value) < 1000.0 else f"{value:.0f}"
    return f"{digits} {unit}".strip()


def table(rows: Iterable[Row]) -> str:
    """The rows as a table of Markdown."""
    lines = ["| case | measured | accuracy | bar | kept |", "|---|---|---|---|---|"]
    for row in rows:
        kept = "" if row.kept is None else "yes" if row.kept else "**no**"
        lines.append(f"| {row.what} | {row.measured} | {row.accuracy} | {row.bar} | {kept} |")
    return "\n".join(lines)
