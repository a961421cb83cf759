"""The report of one run as a document, and the public function that writes it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from spotdwell.base.errors import InputError
from spotdwell.base.names import MEASURES
from spotdwell.document.citation import citation
from spotdwell.document.model import (
    CAUTIONS,
    Beside,
    Block,
    Cell,
    Column,
    Document,
    Picture,
    Points,
    Row,
    Section,
    Table,
    Text,
    table,
)
from spotdwell.document.quantities import (
    ABSENT,
    interval_text,
    measure_text,
    sentence,
    unit_text,
)
from spotdwell.output.pictures.style import typeset
from spotdwell.output.result import Result
from spotdwell.reports.drawings import TYPE, pictures_of
from spotdwell.reports.origins import grid_reasons
from spotdwell.reports.parts import DANGER, energies, listed, made, rests_on, verdict_lines
from spotdwell.reports.scan_document import document_of_scan
from spotdwell.scans.kept import load
from spotdwell.scans.result import ScanResult
from spotdwell.spread.brief import scenario_in
from spotdwell.spread.run import Uncertainty

NO_INTERVALS = (
    "No intervals were computed: report the scenario instead, with uncertainty 64, to see what the ranges "
    "of the material values make of these numbers."
)
PICTURE = "The target in section at the end of the run, and power, hottest place and depth against time."
_LEAST_PICTURE = 45.0
"""Height below which the picture would be hard to read [mm]."""
_ZONES = {"char": "charred", "dried": "dried", "coagulation": "coagulated"}
_PLACES = ("floor", "wall", "rim")
_LAYERS = {f"{zone}_thickness_{place}" for zone in _ZONES for place in _PLACES}


def document_of(result: Result, study: Uncertainty | None = None) -> Document:
    """The report of `result` with the intervals that it keeps, or else those of a `study` of the scenario."""
    return Document(typeset(result.title), (tuple(_run(result, study)), rests_on(result)), TYPE)


def _run(result: Result, study: Uncertainty | None) -> Iterator[Block]:
    """What fills the first page."""
    scenario = scenario_in(result)
    reasons = grid_reasons(result, scenario)
    yield Text(DANGER, strong=True)
    if study is not None:
        result = replace(result, interval=study.interval)
    if scenario is not None and scenario.about:
        yield Text(sentence(scenario.about))
    setting = {name: typeset(text) for name, text in result.setting.items() if name != "title"}
    if setting:
        yield table(tuple(setting), [tuple(setting.values())])
    why = tuple(verdict_lines(result.verdict, result.interval))
    yield Section(f"Verdict: {', '.join(filter(None, (result.verdict.word, result.odds)))}", (Points(why),))
    yield Picture(pictures_of(result), PICTURE, _LEAST_PICTURE)
    notes = "Cautions of this run" if reasons else "Notes of this run"
    aside = (
        energies(result),
        *listed("Grid, and why", [sentence(note) for note in reasons]),
        *listed(notes, [sentence(note) for note in result.notes if note not in reasons]),
    )
    failed = f"{len(study.failures)} samples failed." if study is not None and study.failures else ""
    yield Beside((_measures(result, failed),), aside, 0.56)
    yield Section("Safety", (Text(" ".join(CAUTIONS)),))
    yield Text(made(result), small=True)
    yield Text(citation(result.versions.get("spotdwell", "not recorded")), small=True)


def _measures(result: Result, failed: str) -> Section:
    """Every measure, a dash where it does not apply, with its interval; layers by zone and place."""

    def value(name: str) -> str:
        return measure_text(MEASURES[name], result.measures.get(name))

    ends = result.interval.measures if result.interval else {}
    spans = {name: interval_text(MEASURES[name], *(one or (None, None))) for name, one in ends.items()}
    rows = [
        (meaning, value(name), unit_text(one.display_unit), *([spans.get(name, ABSENT)] if spans else []))
        for name, one in MEASURES.items()
        if name not in _LAYERS and (meaning := one.meaning.replace("alpha mu^2", "α µ²"))
    ]
    headings = ("", "value", "unit", *(["5 % to 95 %"] if spans else []))
    columns = [Column("thickness [µm]"), *(Column(f"at the {place}", "right") for place in _PLACES)]
    layers = [[f"{zone}_thickness_{place}" for place in _PLACES] for zone in _ZONES]
    thick = tuple(
        Row((Cell(word), *(Cell(value(name), spans.get(name, "")) for name in names)))
        for word, names in zip(_ZONES.values(), layers, strict=True)
    )
    note = Text(f"{ABSENT}: does not apply to this run. {_intervals(result, failed)}", small=True)
    return Section("Measures", (table(headings, rows, (1, 3)), Table(tuple(columns), thick), note))


def _intervals(result: Result, failed: str) -> str:
    """What the intervals are, or that there are none."""
    kept = result.interval
    if kept is None:
        return NO_INTERVALS
    return " ".join(filter(None, (f"Intervals from {kept.draws} runs.", kept.covers, failed)))


def report(
    result: Result | ScanResult | str | os.PathLike[str],
    html: str | os.PathLike[str] | None = None,
    pdf: str | os.PathLike[str] | None = None,
    uncertainty: Uncertainty | None = None,
) -> None:
    """Write the report of `result`, of a shot or scan, or of the one kept at that path, to `html` and `pdf`.

    It shows the intervals that the result keeps; `uncertainty` of the same scenario puts its own in their
    place. Raises InputError if neither file is named, the path holds no result, or intervals are given for a
    scan, which has none; RunError where a file cannot be written.
    """
    from spotdwell.document.paper import write_pdf
    from spotdwell.document.printed import write_html

    if html is None and pdf is None:
        raise InputError("report", "html, pdf or both", "neither", 'Name a file, such as html="spot.html"')
    found = result if isinstance(result, (Result, ScanResult)) else load(result)
    if isinstance(found, ScanResult):
        if uncertainty is not None:
            raise InputError("uncertainty", "nothing beside a scan", "intervals of a shot", "Leave it out.")
        document = document_of_scan(found)
    else:
        document = document_of(found, uncertainty)
    for path, write in ((html, write_html), (pdf, write_pdf)):
        if path is not None:
            write(document, Path(path))
