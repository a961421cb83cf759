"""The credibility report as a document."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from spotdwell import library
from spotdwell.base.errors import RunError
from spotdwell.base.names import MEASURES
from spotdwell.base.units import convert, significant
from spotdwell.document.citation import citation
from spotdwell.document.model import CAUTIONS, Block, Document, Picture, Points, Section, Table, Text, table
from spotdwell.document.printed import write_html, write_markdown
from spotdwell.document.quantities import ABSENT, percent, unit_text
from spotdwell.evidence import words
from spotdwell.evidence.check import Check
from spotdwell.evidence.credibility import (
    CLOSES,
    DISTRUSTED,
    RISE,
    TRUSTED,
    Comparison,
    Convergence,
    Evidence,
)
from spotdwell.evidence.report_parts import Goal, Pair, goals_of, intervals_of, pairs_drawing
from spotdwell.inputs.material_view import rupture_of
from spotdwell.inputs.read import shipped_material
from spotdwell.output.pictures.style import typeset
from spotdwell.output.whole_file import check_writable

HTML, MARKDOWN, PICTURE = "report.html", "report.md", "published.svg"
TITLE = "Credibility of spotdwell"


def prepare(folder: Path) -> None:
    """Make `folder`, unless it is there, and raise RunError if the report could not be written into it."""
    try:
        folder.mkdir(exist_ok=True)
    except FileExistsError:
        raise RunError(f"{folder}: cannot hold the report: it is a file. Name a folder") from None
    except FileNotFoundError:
        place = folder.parent
        raise RunError(f"{folder}: cannot be made: there is no folder {place}. Create it first") from None
    except OSError as error:
        advice = "Choose another folder"
        raise RunError(f"{folder}: cannot be made: {error.strerror}. {advice}") from error
    check_writable(folder / HTML)


def write_report(evidence: Evidence, folder: Path) -> None:
    """Write report.html, report.md and its picture to `folder`, which must exist.

    Raises RunError where a file cannot be written; an older report then stays as it was, or in part.
    """
    document = document_of(evidence)
    write_markdown(document, folder / MARKDOWN)
    write_html(document, folder / HTML)


def document_of(evidence: Evidence) -> Document:
    """The report."""
    code = "Code verification: does it solve its equations?"
    solution = "Solution verification: what do cells and steps leave open?"
    ranges = "Uncertainty: what do the materials' ranges leave open?"
    cited = citation(evidence.versions["spotdwell"])
    blocks: tuple[Block, ...] = (
        Text(words.DANGER, strong=True),
        Section("Use and question", _opening(evidence)),
        Section("Findings", _findings(goals_of(evidence))),
        Section(code, (Text(words.CODE), _closed_forms(evidence.checks))),
        Section(solution, (Text(words.SOLUTION),)),
        *_grids(evidence),
        Section("Energy ledgers", (Text(words.LEDGERS), _ledgers(evidence)), 3),
        Section("Validation: computed against measured", _validation(evidence.comparisons)),
        Section("Scanned beams", _scanned(evidence.scanned), 3),
        Section("At what tissue is thrown out", (Text(words.RUPTURE), Points(_ruptures()))),
        Section(ranges, intervals_of(evidence.intervals)),
        Section("What the model should not be used for", (Text(words.BEYOND), Points(words.NOT_FOR))),
        Section("Cautions", (Points(CAUTIONS),)),
        Section("Versions and machine", (_provenance(evidence), Text(words.REPEAT), Text(cited))),
    )
    return Document(TITLE, (blocks,))


def _opening(evidence: Evidence) -> tuple[Block, ...]:
    version = evidence.versions["spotdwell"]
    made = f"Made on {evidence.made} by spotdwell {version}; every number below was computed then."
    rows = tuple(words.USE)
    return (Text(made), table(("", ""), rows))


def _findings(goals: Sequence[Goal]) -> tuple[Block, ...]:
    rows = tuple(
        (goal.part, typeset(goal.goal), typeset(goal.found), "met" if goal.met else "not\u00a0met")
        for goal in goals
    )
    missed = tuple(place for place, goal in enumerate(goals) if not goal.met)
    return (Text(words.FINDINGS), table(("part", "goal", "found", ""), rows, flagged=missed))


def _closed_forms(checks: Sequence[Check]) -> Table:
    """One row for each check, under the name of its closed form."""
    rows: list[tuple[str, ...]] = []
    failed, named = [], ""
    for check in checks:
        if check.title != named:
            named = check.title
            rows.append((named,))
        if not check.passed:
            failed.append(len(rows))
        rows.append(_check_cells(check))
    return table(words.CHECK_HEADINGS, tuple(rows), (1, 2, 3, 5, 6), tuple(failed))


def _check_cells(check: Check) -> tuple[str, ...]:
    unit = f" [{shown}]" if (shown := unit_text(check.unit)) else ""
    return (
        f"{typeset(check.quantity)}{unit}",
        significant(check.claimed, 5),
        significant(check.computed, 5),
        f"{check.error:.2g}",
        check.error_kind.replace(" ", "\u00a0"),
        f"{check.tolerance:.2g}",
        "" if check.order is None else f"{check.order:.2f}",
        typeset(check.reason),
    )


def _grids(evidence: Evidence) -> tuple[Section, ...]:
    setting = ", ".join(text for key, text in evidence.shot.items() if key != "title")
    method = words.METHOD.format(trusted=TRUSTED, distrusted=DISTRUSTED)
    gentle = (Text(words.GENTLE), _grid_table(evidence.gentle))
    cutting = (Text(f"{typeset(setting)}. {words.CUTTING}"), _grid_table(evidence.grids), Text(method))
    return (
        Section("Three grids of a gentle shot", gentle, 3),
        Section("Three grids of a cutting shot", cutting, 3),
    )


def _grid_table(rows: Sequence[Convergence]) -> Table:
    return table(words.GRID_HEADINGS, tuple(map(_grid_row, rows)), (2, 3, 4, 5, 6, 7))


def _grid_row(one: Convergence) -> tuple[str, ...]:
    quantity = MEASURES[one.name]
    rise = one.name == RISE
    name = "rise of the hottest place" if rise else quantity.meaning
    unit = "K" if rise else quantity.display_unit
    shown = [
        significant(float(convert(value, quantity.unit, "K" if rise else unit)), 4) for value in one.values
    ]
    order = ABSENT if one.order is None else f"{one.order:.2f}"
    return (name, unit_text(unit), *shown, percent(one.change), order, percent(one.index, sign=False))


def _ledgers(evidence: Evidence) -> Table:
    rows = tuple(
        (one.scenario, one.title, significant(one.incident), f"{one.imbalance:.1e}")
        for one in evidence.ledgers
    )
    headings = ("scenario", "what it is", "energy sent [J]", "not accounted for, over energy sent")
    missed = tuple(place for place, one in enumerate(evidence.ledgers) if not abs(one.imbalance) <= CLOSES)
    return table(headings, rows, (2, 3), missed)


def _validation(comparisons: Sequence[Comparison]) -> tuple[Block, ...]:
    return (
        Text(words.VALIDATION),
        Text(_hits(comparisons)),
        Picture(pairs_drawing([_pair(one) for one in comparisons]), words.PICTURE, file=PICTURE),
        *_compared(comparisons),
    )


def _scanned(comparisons: Sequence[Comparison]) -> tuple[Block, ...]:
    return (Text(words.SCANNED), Text(_hits(comparisons)), *_compared(comparisons))


def _hits(comparisons: Sequence[Comparison]) -> str:
    held = sum(one.holds for one in comparisons)
    return f"{held} of {len(comparisons)} rows lie within their bands; {words.MISSES}"


def _compared(comparisons: Sequence[Comparison]) -> tuple[Block, ...]:
    """Measured and computed values, and what was assumed for each."""
    rows = tuple(_comparison_row(one) for one in comparisons)
    missed = tuple(place for place, one in enumerate(comparisons) if not one.holds)
    sources = tuple(
        (one.row.name, typeset(one.row.setting), typeset(one.row.reason), one.row.source)
        for one in comparisons
    )
    return (
        table(words.ROW_HEADINGS, rows, (2, 3, 4, 5), missed),
        Text(words.SETTINGS),
        table(words.SETTING_HEADINGS, sources),
    )


def _ruptures() -> tuple[str, ...]:
    """Rupture temperature and saturation pressure of each shipped material that has one, in"""
    found = (rupture_of(shipped_material(name), name) for name in library.names(library.Shelf.MATERIALS))
    return tuple(f"{text}." for text in found if text)


def _comparison_row(one: Comparison) -> tuple[str, ...]:
    row = one.row
    unit = f" [{shown}]" if (shown := unit_text(row.unit)) else ""
    return (
        row.name,
        f"{row.quantity}{unit}",
        significant(row.measured),
        f"± {significant(row.spread, 2)}",
        significant(one.computed),
        f"{one.ratio:.2f}",
        "within" if one.holds else "outside",
    )


def _pair(one: Comparison) -> Pair:
    row = one.row
    low, high = row.measured - row.spread, row.measured + row.spread
    return Pair(row.name, row.measured, low, high, one.computed, row.unit)


def _provenance(evidence: Evidence) -> Table:
    rows = [
        *evidence.versions.items(),
        *evidence.machine.items(),
        ("time taken", f"{evidence.seconds:.0f} s"),
    ]
    return table(("", ""), tuple(rows))
