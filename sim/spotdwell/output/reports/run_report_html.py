"""The report of a run as one HTML file, with its drawings inside; printed, its main part fills an A4 page."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from spotdwell.output.pictures.style import type_of, typeset
from spotdwell.output.reports.credibility_page import Block, Drawing, Grid, Page, Points, Section, Words, html
from spotdwell.output.reports.run_report import MaterialValues, RunReport
from spotdwell.output.reports.run_report_drawing import (
    BAR_HEIGHT,
    PICTURE_HEIGHT,
    SHEET,
    TYPE,
    Place,
    bar_caption,
    paint_energy,
    paint_pictures,
)
from spotdwell.output.reports.run_report_rows import (
    ABSENT,
    LAYER_HEADINGS,
    cost_text,
    energy_cells,
    energy_lines,
    interval_note,
    layer_cells,
    lists_of,
    measure_lines,
    quantity_text,
    sentence,
    setting_cells,
    source_text,
    verdict_sentences,
    versions_text,
)
from spotdwell.output.whole_file import whole_file

_BAR_WIDTH = 3.3
"""[in]."""
_EDGE = 0.02
"""Around a drawing [in], so that its outermost lines are not cut in half."""
_PICTURE = "The target in section at the end of the run, and power, hottest place and depth against time."
_BAR = "Shares of the energy sent, numbered as below."
_NAMES = re.compile(r'\sid="([^"]*)"')


def write_html(report: RunReport, path: Path) -> None:
    """Write the report to `path`, whole or not at all. Raises RunError where it cannot be written."""
    text = html(page_of(report), _STYLE)
    with whole_file(path) as temporary:
        temporary.write_text(text, encoding="utf-8")


def page_of(report: RunReport) -> Page:
    """The report as a page."""
    return Page(typeset(report.result.title), tuple(_sections(report)))


def _sections(report: RunReport) -> Iterator[Section]:
    result = report.result
    about = (Words(sentence(report.about)),) if report.about else ()
    yield Section("Setting", (*about, *_setting(report)), kind="wide first")
    yield Section(f"Verdict: {result.verdict.word}", (Points(tuple(verdict_sentences(report))),), kind="wide")
    size = SHEET.width, PICTURE_HEIGHT
    picture = _drawn(_PICTURE, size, lambda figure, place: paint_pictures(figure, result, place))
    yield Section("What became of the target", (picture,), kind="wide shown")
    yield Section("Measures", _measures(report), kind="left")
    yield Section("Where the energy went", _energies(report), kind="right")
    for name, (title, lines) in lists_of(report).items():
        if lines:
            kind = "wide" if name == "assumptions" else "right"
            yield Section(title, (Points(lines),), kind=kind)
    safety = Words(report.danger, strong=True), Words(" ".join(report.safety))
    yield Section("Safety", safety, kind="wide")
    made = f"Computed by {versions_text(result)}. {cost_text(result)}"
    yield Section("Versions and cost", (Words(made),), kind="wide made")
    for number, material in enumerate(report.materials):
        yield _material(material, "wide" if number else "wide sources")


def _setting(report: RunReport) -> tuple[Block, ...]:
    cells = setting_cells(report.result)
    return (Grid(tuple(name for name, _ in cells), (tuple(text for _, text in cells),)),) if cells else ()


def _measures(report: RunReport) -> tuple[Block, ...]:
    spans = report.intervals is not None
    rows = tuple(
        (line.meaning, line.value, line.unit, *([line.interval] if spans else []))
        for line in measure_lines(report)
    )
    headings = ("", "value", "unit", *(["5 % to 95 %"] if spans else []))
    layers = Grid(LAYER_HEADINGS, tuple(layer_cells(report)), (1, 2, 3))
    return Grid(headings, rows, (1, 3)), layers, Words(f"{ABSENT} {interval_note(report)}")


def _energies(report: RunReport) -> tuple[Block, ...]:
    result = report.result
    caption = f"{_BAR} {bar_caption(energy_lines(result))}".strip()
    size = _BAR_WIDTH, BAR_HEIGHT
    bar = _drawn(caption, size, lambda figure, place: paint_energy(figure, result, place))
    return bar, Grid(("", "", "J", "%"), tuple(energy_cells(result)), (2, 3))


def _material(material: MaterialValues, kind: str) -> Section:
    rows = tuple(
        (
            typeset(one.property),
            quantity_text(one.value),
            quantity_text(one.range),
            one.basis,
            source_text(one.source),
        )
        for one in material.values
    )
    title = f"{typeset(material.title)}: the values that this run used, and where they come from"
    return Section(title, (Grid(("property", "value", "range", "basis", "source"), rows),), kind=kind)


def _drawn(caption: str, size: tuple[float, float], paint: Callable[[Any, Place], None]) -> Drawing:
    """A drawing of `size` [in] as SVG text."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    text = io.StringIO()
    with rc_context(type_of() | {"font.size": TYPE}):
        figure = Figure(figsize=size, facecolor="white")
        FigureCanvasSVG(figure)
        paint(figure, (_EDGE, _EDGE, size[0] - 2.0 * _EDGE, size[1] - 2.0 * _EDGE))
        figure.savefig(text, format="svg", metadata={"Date": None})
    return Drawing(caption, "", _without_spare_names(text.getvalue()))


def _without_spare_names(svg: str) -> str:
    """`svg` without the names of parts that nothing refers to: two drawings on a page would share them."""
    return _NAMES.sub(lambda found: found[0] if f"#{found[1]}" in svg else "", svg)


_STYLE = """\
main { display: grid; grid-template-columns: 57fr 43fr; column-gap: 1.6rem; align-content: start; }
main { grid-auto-flow: row; padding-top: 1.5rem; }
h1, .wide { grid-column: 1 / -1; }
.left { grid-column: 1; grid-row: span 3; }
.right { grid-column: 2; }
section { min-width: 0; }
h2 { font-size: 1.08rem; margin: 1rem 0 0.3rem; padding-top: 0.35rem; border-top-width: 1.5px; }
.first h2 { display: none; }
h1 { margin-bottom: 0; }
p, ul { max-width: none; margin: 0.3rem 0 0.5rem; font-size: 0.9rem; }
li { margin: 0.1rem 0; }
table { margin: 0.3rem 0 0.6rem; }
th, td { padding: 0.1rem 0.4rem 0.1rem 0; }
.right tbody tr:last-child td { font-weight: 600; }
figure { margin: 0.4rem 0 0.5rem; }
@media (max-width: 44rem) { main { display: block; } }
@media print {
  :root { font-size: 8.6pt; line-height: 1.3; }
  main { column-gap: 5mm; }
  h1 { font-size: 14pt; }
  h2 { font-size: 9.5pt; margin: 1.6mm 0 0.4mm; padding-top: 0.7mm; }
  p, ul { margin: 0.4mm 0 0.6mm; font-size: 7.7pt; line-height: 1.22; }
  p.strong { padding: 1mm 1.6mm; }
  table { font-size: 7.6pt; line-height: 1.2; margin: 0.4mm 0 1mm; }
  th, td { padding-top: 0.15mm; padding-bottom: 0.15mm; }
  figure { margin: 0.5mm 0; }
  figcaption, .shown h2, .made h2 { display: none; }
  figure svg { max-height: 45mm; }
  .sources { break-before: page; }
}
@page { size: A4; margin: 9mm 13mm; }
"""
