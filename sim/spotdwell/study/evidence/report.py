"""The credibility report: what was gathered, in the order of verification, validation and uncertainty.

Terms and order follow common practice (ASME V&V 40 for the question, the use and the goals; Roache 1998 and
Oberkampf & Roy 2010 for verification and validation); all from memory, in words of our own.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from spotdwell import library
from spotdwell.base.names import MEASURES
from spotdwell.base.units import convert, significant
from spotdwell.inputs.material_view import rupture_of
from spotdwell.inputs.read import shipped_material
from spotdwell.library import Shelf
from spotdwell.output.reports import credibility as files
from spotdwell.output.reports.credibility_page import Block, Drawing, Grid, Page, Points, Section, Words
from spotdwell.output.reports.credibility_plots import Pair
from spotdwell.study.evidence import report_words as words
from spotdwell.study.evidence.check import Check
from spotdwell.study.evidence.credibility import CLOSES, Comparison, Evidence
from spotdwell.study.evidence.credibility_grid import DISTRUSTED, RISE, TRUSTED, Convergence
from spotdwell.study.evidence.report_goals import Goal, goals_of
from spotdwell.study.evidence.report_intervals import intervals_of

PICTURE = "published.svg"
TITLE = "Credibility of spotdwell"


def write_report(evidence: Evidence, folder: Path) -> None:
    """Write report.html, report.md and its picture to `folder`, which must exist.

    Raises RunError where a file cannot be written; an older report then stays as it was, or in part.
    """
    picture = files.pairs_drawing(
        [_pair(one) for one in evidence.comparisons], words.PICTURE, folder, PICTURE
    )
    files.write(page_of(evidence, picture), folder)


def page_of(evidence: Evidence, picture: Drawing) -> Page:
    """The report as a page."""
    return Page(
        TITLE,
        (
            Section("Use and question", _opening(evidence)),
            Section("Findings", _findings(goals_of(evidence))),
            Section(
                "Code verification: does it solve its equations?",
                (Words(words.CODE), _closed_forms(evidence.checks)),
            ),
            Section("Solution verification: what do cells and steps leave open?", (Words(words.SOLUTION),)),
            *_grids(evidence),
            Section("Energy ledgers", (Words(words.LEDGERS), _ledgers(evidence)), 3),
            Section("Validation: computed against measured", _validation(evidence.comparisons, picture)),
            Section("At what tissue is thrown out", (Words(words.RUPTURE), Points(_ruptures())), 3),
            Section(
                "Uncertainty: what do the materials' ranges leave open?", intervals_of(evidence.intervals)
            ),
            Section("What the model should not be used for", (Words(words.BEYOND), Points(words.NOT_FOR))),
            Section("Cautions", (Words(words.DANGER, strong=True), Points(words.CAUTIONS))),
            Section("Versions and machine", (_provenance(evidence), Words(words.REPEAT))),
        ),
    )


def _opening(evidence: Evidence) -> tuple[Block, ...]:
    version = evidence.versions["spotdwell"]
    made = f"Made on {evidence.made} by spotdwell {version}; every number below was computed then."
    rows = tuple(words.USE)
    return (Words(words.DANGER, strong=True), Words(made), Grid(("", ""), rows))


def _findings(goals: Sequence[Goal]) -> tuple[Block, ...]:
    rows = tuple((goal.part, goal.goal, goal.found, "met" if goal.met else "not\u00a0met") for goal in goals)
    missed = tuple(place for place, goal in enumerate(goals) if not goal.met)
    return (Words(words.FINDINGS), Grid(("part", "goal", "found", ""), rows, flagged=missed))


def _closed_forms(checks: Sequence[Check]) -> Grid:
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
    return Grid(words.CHECK_HEADINGS, tuple(rows), (1, 2, 3, 5, 6), tuple(failed))


def _check_cells(check: Check) -> tuple[str, ...]:
    unit = "" if check.unit in ("", "1") else f" [{check.unit}]"
    return (
        f"{check.quantity}{unit}",
        significant(check.claimed, 5),
        significant(check.computed, 5),
        f"{check.error:.2g}",
        check.error_kind.replace(" ", "\u00a0"),
        f"{check.tolerance:.2g}",
        "" if check.order is None else f"{check.order:.2f}",
        check.reason,
    )


def _grids(evidence: Evidence) -> tuple[Section, ...]:
    setting = ", ".join(text for key, text in evidence.shot.items() if key != "title")
    method = words.METHOD.format(trusted=TRUSTED, distrusted=DISTRUSTED)
    gentle = (Words(words.GENTLE), _grid_table(evidence.gentle))
    cutting = (Words(f"{setting}. {words.CUTTING}"), _grid_table(evidence.grids), Words(method))
    return (
        Section("Three grids of a gentle shot", gentle, 3),
        Section("Three grids of a cutting shot", cutting, 3),
    )


def _grid_table(rows: Sequence[Convergence]) -> Grid:
    return Grid(words.GRID_HEADINGS, tuple(map(_grid_row, rows)), (2, 3, 4, 5, 6, 7))


def _grid_row(one: Convergence) -> tuple[str, ...]:
    quantity = MEASURES[one.name]
    rise = one.name == RISE
    name = "rise of the hottest place" if rise else quantity.meaning
    unit = "K" if rise else quantity.display_unit
    shown = [
        significant(float(convert(value, quantity.unit, "K" if rise else unit)), 4) for value in one.values
    ]
    order = "–" if one.order is None else f"{one.order:.2f}"
    return (name, unit, *shown, percent(one.change), order, percent(one.index, sign=False))


def percent(share: float | None, sign: bool = True) -> str:
    """`share` in percent with two digits; a dash for None."""
    if share is None:
        return "–"
    return f"{100.0 * share:{'+' if sign else ''}.2g}"


def _ledgers(evidence: Evidence) -> Grid:
    rows = tuple(
        (one.scenario, one.title, significant(one.incident), f"{one.imbalance:.1e}")
        for one in evidence.ledgers
    )
    headings = ("scenario", "what it is", "energy sent [J]", "not accounted for, over energy sent")
    missed = tuple(place for place, one in enumerate(evidence.ledgers) if not abs(one.imbalance) <= CLOSES)
    return Grid(headings, rows, (2, 3), missed)


def _validation(comparisons: Sequence[Comparison], picture: Drawing) -> tuple[Block, ...]:
    held = sum(one.holds for one in comparisons)
    rows = tuple(_comparison_row(one) for one in comparisons)
    missed = tuple(place for place, one in enumerate(comparisons) if not one.holds)
    sources = tuple((one.row.name, one.row.setting, one.row.reason, one.row.source) for one in comparisons)
    return (
        Words(words.VALIDATION),
        Words(f"{held} of {len(comparisons)} rows lie within their bands; {words.MISSES}"),
        picture,
        Grid(words.ROW_HEADINGS, rows, (2, 3, 4, 5), missed),
        Words(words.SETTINGS),
        Grid(words.SETTING_HEADINGS, sources),
    )


def _ruptures() -> tuple[str, ...]:
    """Rupture temperature and saturation pressure of each shipped material that has one, in words."""
    found = (rupture_of(shipped_material(name), name) for name in library.names(Shelf.MATERIALS))
    return tuple(f"{text}." for text in found if text)


def _comparison_row(one: Comparison) -> tuple[str, ...]:
    row = one.row
    unit = "" if row.unit == "1" else f" [{row.unit}]"
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


def _provenance(evidence: Evidence) -> Grid:
    rows = [
        *evidence.versions.items(),
        *evidence.machine.items(),
        ("time taken", f"{evidence.seconds:.0f} s"),
    ]
    return Grid(("", ""), tuple(rows))
