"""The report of a scan as a document."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from spotdwell.base.units import significant
from spotdwell.document.citation import citation
from spotdwell.document.model import (
    CAUTIONS,
    Beside,
    Block,
    Document,
    Drawing,
    Picture,
    Points,
    Section,
    Text,
    table,
)
from spotdwell.document.quantities import ABSENT, measure_text, sentence, unit_text
from spotdwell.output.pictures.canvas import Place
from spotdwell.output.pictures.style import typeset
from spotdwell.reports.drawings import TYPE
from spotdwell.reports.parts import DANGER, energies, listed, made, rests_on, verdict_lines
from spotdwell.scans.picture import paint_parts
from spotdwell.scans.record import ScanRecord
from spotdwell.scans.words import LAYERS, SCAN_MEASURES
from spotdwell.spread.brief import scenario_in

PICTURE = (
    "Across the lines, half way along them: crater and layers (depths drawn larger, axes of the lines as "
    "ticks); depth from above; the surface temperature that each line meets."
)
NO_INTERVALS = (
    "Scans have no intervals. What is published on scanned beams contradicts the model more often than what "
    "is on spots at rest (THEORY, Scanned beams)."
)
_SIZE, _LEAST = (186.0, 122.0), 116.0
"""Width and height of the picture, and height below which it would be hard to read [mm]."""
_UNDER, _OVER = 0.25, 0.2
"""Room for the words under the lowest axes and over the highest [in]."""
_PLACES = {"mean": "inside, mean", "worst": "inside, most", "edge": "edge, most"}
_LAYERS = {f"{layer}_{place}" for layer in LAYERS for place in _PLACES}


def document_of_scan(result: ScanRecord) -> Document:
    """The report of a scan: pattern, verdict, picture, measures, energies, notes and sources."""
    return Document(typeset(result.record.title), (tuple(_scan(result)), rests_on(result.record)), TYPE)


def _scan(result: ScanRecord) -> Iterator[Block]:
    """What fills the first page."""
    record, scenario = result.record, scenario_in(result.record)
    yield Text(DANGER, strong=True)
    if scenario is not None and scenario.about:
        yield Text(sentence(scenario.about))
    setting = {name: typeset(text) for name, text in record.setting.items() if name != "title"}
    yield table(tuple(setting), [tuple(setting.values())])
    kept = "" if result.within else " (over a limit)"
    yield Section(
        f"Verdict: {record.verdict.text}{kept}", (Points(tuple(verdict_lines(record.verdict, None))),)
    )
    yield Picture(Drawing(*_SIZE, lambda figure, place: _paint(figure, result, place)), PICTURE, _LEAST)
    notes = listed("How it was computed", [sentence(note) for note in record.notes])
    yield Beside((_measures(result),), (energies(record), *notes), 0.56)
    yield Section("Safety", (Text(" ".join(CAUTIONS)),))
    yield Text(made(record), small=True)
    yield Text(citation(record.versions.get("spotdwell", "not recorded")), small=True)


def _paint(figure: Any, result: ScanRecord, place: Place) -> None:
    width, height = figure.get_size_inches()
    left, bottom, wide, high = place
    room = (left / width, (bottom + _UNDER) / height, wide / width, (high - _UNDER - _OVER) / height)
    paint_parts(figure, result, room)


def _measures(result: ScanRecord) -> Section:
    """Every measure, a dash where it does not apply; layers by place."""
    rows = [
        (one.meaning, _value(result, name), unit_text(one.display_unit))
        for name, one in SCAN_MEASURES.items()
        if name not in _LAYERS
    ]
    thick = [
        (word, *(_value(result, f"{layer}_{place}") for place in _PLACES)) for layer, word in LAYERS.items()
    ]
    note = Text(f"{ABSENT}: does not apply to this scan. {NO_INTERVALS}", small=True)
    layers = table(("below the floor [µm]", *_PLACES.values()), thick, (1, 2, 3))
    return Section("Measures", (table(("", "value", "unit"), rows, (1,)), layers, note))


def _value(result: ScanRecord, name: str) -> str:
    one, value = SCAN_MEASURES[name], result.measures[name]
    if value is not None and one.display_unit == "%":
        return significant(100.0 * value)
    return measure_text(one, value)
