"""The report of one run as a document, and the public function that writes it."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from spotdwell.base.errors import InputError
from spotdwell.base.names import MEASURES
from spotdwell.base.units import display
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
    brief,
    interval_text,
    measure_text,
    quantity_text,
    range_text,
    sentence,
    setting_text,
    unit_text,
)
from spotdwell.inputs.material_view import Row as Value
from spotdwell.measure.interval import Interval
from spotdwell.measure.verdict import Verdict
from spotdwell.output.pictures.style import typeset
from spotdwell.output.result import Result, load
from spotdwell.reports.drawings import TYPE, energy_bar, energy_lines, pictures_of
from spotdwell.reports.origins import grid_reasons, materials_of
from spotdwell.spread.brief import scenario_in
from spotdwell.spread.run import Uncertainty
from spotdwell.spread.shown import words_text

DANGER = (
    "Lasers burn and blind. This page comes from a model, which measurements contradict in places: it is no "
    "ground for the treatment of anybody."
)
ASSUMPTIONS = (
    "The target is a porous solid of fixed shape with free water in it; all parts of a place share one "
    "temperature, and heat moves by conduction alone.",
    "Light runs straight down and is absorbed by Beer and Lambert's law; scattering, and reflection by the "
    "walls of a hole, are left out.",
    "Water in tissue is superheated: it stays and absorbs beyond 100 °C until its steam has escaped, in a "
    "stated time. A liquid on the surface boils at 100 °C.",
    "Exposed tissue that reaches a stated rupture temperature while still wet is thrown out; what dries "
    "first chars, and burns back at a rate that follows its temperature.",
    "While tissue is thrown out a liquefied film on the front spreads heat, and debris takes a stated heat "
    "from the beam.",
    "Absorption follows water and its temperature, conductivity water and char; specific heats are constant.",
    "Damage follows first-order kinetics.",
    "Left out: flow of the film and of steam, splashing and tearing, what debris gives back to the walls of "
    "a hole, plasma, what char changes in absorption, shrinkage, bleeding, and heat of burning in air.",
)
"""THEORY.md, Assumptions and What the model leaves out."""
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
    values = (_material(title, rows) for title, rows in materials_of(result))
    rests_on = (*_list("What the model assumes", ASSUMPTIONS), *values)
    return Document(typeset(result.title), (tuple(_run(result, study)), rests_on), TYPE)


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
    why = tuple(_verdict(result.verdict, result.interval))
    yield Section(f"Verdict: {', '.join(filter(None, (result.verdict.word, result.odds)))}", (Points(why),))
    yield Picture(pictures_of(result), PICTURE, _LEAST_PICTURE)
    notes = "Cautions of this run" if reasons else "Notes of this run"
    aside = (
        _energies(result),
        *_list("Grid, and why", [sentence(note) for note in reasons]),
        *_list(notes, [sentence(note) for note in result.notes if note not in reasons]),
    )
    failed = f"{len(study.failures)} samples failed." if study is not None and study.failures else ""
    yield Beside((_measures(result, failed),), aside, 0.56)
    yield Section("Safety", (Text(" ".join(CAUTIONS)),))
    yield Text(_made(result), small=True)
    yield Text(citation(result.versions.get("spotdwell", "not recorded")), small=True)


def _list(title: str, lines: Sequence[str]) -> list[Section]:
    return [Section(title, (Points(tuple(lines)),))] if lines else []


def _verdict(verdict: Verdict, interval: Interval | None) -> Iterator[str]:
    """Why the verdict fell, by which limits, and how often samples got which."""
    limits = verdict.limits
    depth = "any depth" if limits.depth is None else f"depth {setting_text(limits.depth, 'm')}"
    char = setting_text(limits.char_thickness, "m")
    yield from map(typeset, verdict.reasons)
    yield f"Limits: char {char} at floor and wall; {depth}; depth over width {limits.aspect_ratio:g}."
    if interval is not None and interval.words:
        words = words_text(interval.words)
        yield f"Verdicts of {interval.draws} runs with sampled material values: {words}."


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


def _energies(result: Result) -> Section:
    """The energy split as a bar and a table, whose last row is the sum."""
    lines, sent = energy_lines(result), result.ledger["incident"]
    total = sum(line.energy for line in lines)
    rows = [(line.number, line.meaning, _joule(line.energy, sent), _percent(line.share)) for line in lines]
    split = table(("", "", "J", "%"), rows, (2, 3))
    last = ("", "sum: energy sent by the beam", _joule(total, sent), _percent(total / sent if sent else 0.0))
    split = replace(split, rows=(*split.rows, Row(tuple(Cell(text, bold=True) for text in last))))
    caption = "Shares of the energy sent, numbered as below."
    if any(line.energy < 0.0 and not line.number and abs(line.share) > 1e-6 for line in lines):
        caption += " Terms below 0 are heat that came in from elsewhere; they stand in the table only."
    return Section("Where the energy went", (Picture(energy_bar(result), caption), split))


def _joule(value: float, sent: float) -> str:
    """Energy to a thousandth of the whole at least, so that the column visibly sums; below that its size."""
    if value != 0.0 and abs(value) < 5e-4 * sent:
        return f"{value:.0e}"
    return f"{value:.{max(0, 4 - len(str(int(sent))))}f}"


def _percent(share: float) -> str:
    percent = 100.0 * share
    return f"{percent:.1f}" if abs(percent) >= 0.05 or share == 0.0 else f"{percent:.0e}"


def _made(result: Result) -> str:
    """What computed the run, at what cost, and how it ended."""
    versions = ", ".join(f"{name} {version}" for name, version in result.versions.items()) or "not recorded"
    steps, cells = result.cost["steps"], result.cost["cell_updates"] / 1e6
    time = display(result.cost["wall_time"], "s", "s")
    cost = f"{steps:.0f} steps and {cells:.3g} million cell updates in {time}"
    return f"Computed by {versions}. {cost}; it ended with: {result.status}."


def _material(title: str, values: Sequence[Value]) -> Section:
    headings = ("property", "value, basis and range", "source")
    heading = f"{typeset(title)}: the values that this run used, and where they come from"
    return Section(heading, (table(headings, [_value(one) for one in values]),))


def _value(one: Value) -> tuple[str, str, str]:
    low, _, high = one.range.partition(" to ")
    span = range_text(low, high) if high else one.range
    # Indices such as c_w, and files, keep their marks in a source.
    source = "_".join(map(typeset, one.source.split("_")))
    figures = ", ".join(filter(None, (_whole(brief(one.value)), one.basis, _whole(span))))
    return typeset(one.property), figures, source


def _whole(text: str) -> str:
    """A quantity that is not broken between lines."""
    return quantity_text(text).replace(" ", "\u00a0").replace(",\u00a0", ", ")


def report(
    result: Result | str | os.PathLike[str],
    html: str | os.PathLike[str] | None = None,
    pdf: str | os.PathLike[str] | None = None,
    uncertainty: Uncertainty | None = None,
) -> None:
    """Write the report of `result`, or of the result kept at that path, to the files `html` and `pdf`.

    It shows the intervals that the result keeps; `uncertainty` of the same scenario puts its own in their
    place. Raises InputError if neither file
    is named or the path holds no result, and RunError where a file cannot be written.
    """
    from spotdwell.document.paper import write_pdf
    from spotdwell.document.printed import write_html

    if html is None and pdf is None:
        raise InputError("report", "html, pdf or both", "neither", 'Name a file, such as html="spot.html"')
    document = document_of(result if isinstance(result, Result) else load(result), uncertainty)
    for path, write in ((html, write_html), (pdf, write_pdf)):
        if path is not None:
            write(document, Path(path))
