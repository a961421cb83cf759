"""Parts of reports, of shots and scans alike: verdict, energies, cost, assumptions and sources."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from spotdwell.base.units import display
from spotdwell.document.model import Block, Cell, Picture, Points, Row, Section, table
from spotdwell.document.quantities import brief, quantity_text, range_text, setting_text
from spotdwell.inputs.material_view import Row as Value
from spotdwell.measure.interval import Interval
from spotdwell.measure.verdict import Verdict
from spotdwell.output.pictures.style import typeset
from spotdwell.output.result import Result
from spotdwell.reports.drawings import energy_bar, energy_lines
from spotdwell.reports.origins import materials_of
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


def rests_on(result: Result) -> tuple[Block, ...]:
    """What a run rests on: the model's assumptions and every material value with its source."""
    values = (_material(title, rows) for title, rows in materials_of(result))
    return (*listed("What the model assumes", ASSUMPTIONS), *values)


def listed(title: str, lines: Sequence[str]) -> list[Section]:
    """A section of `lines`, if there are any."""
    return [Section(title, (Points(tuple(lines)),))] if lines else []


def verdict_lines(verdict: Verdict, interval: Interval | None) -> Iterator[str]:
    """Why the verdict fell, by which limits, and how often samples got which."""
    limits = verdict.limits
    depth = "any depth" if limits.depth is None else f"depth {setting_text(limits.depth, 'm')}"
    char = setting_text(limits.char_thickness, "m")
    yield from map(typeset, verdict.reasons)
    yield f"Limits: char {char} at floor and wall; {depth}; depth over width {limits.aspect_ratio:g}."
    if interval is not None and interval.words:
        words = words_text(interval.words)
        yield f"Verdicts of {interval.draws} runs with sampled material values: {words}."


def energies(result: Result) -> Section:
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


def made(result: Result) -> str:
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
