"""Rows and sentences of a run's report, as both of its forms show them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from spotdwell.base.names import LEDGER, MEASURES, Quantity
from spotdwell.base.units import convert, display, significant, written
from spotdwell.output.pictures.style import typeset
from spotdwell.output.reports.run_report import Interval, Intervals, RunReport
from spotdwell.output.result import Result

NO_INTERVALS = (
    "No intervals were computed: report the scenario instead, with uncertainty 64, to see what the ranges "
    "of the material values make of these numbers."
)
LAYER_HEADINGS = ("thickness [µm]", "at the floor", "at the wall", "at the rim")
ABSENT = "–: does not apply to this run."
_ABSENT = "–"
_ZONES = {"char": "charred", "dried": "dried", "coagulation": "coagulated"}
_PLACES = ("floor", "wall", "rim")
_POWERS = re.compile(r"(?<=m)[23]\b")


@dataclass(frozen=True)
class MeasureLine:
    """One measure as a table shows it."""

    meaning: str
    value: str
    unit: str
    interval: str
    """From the 5 % to the 95 % quantile; empty without intervals."""


@dataclass(frozen=True)
class EnergyLine:
    """One term of the energy split."""

    number: str
    """By which the bar names it; empty for what the bar does not show."""
    meaning: str
    energy: float
    """[J]."""
    share: float
    """Of the incident energy [-]."""


def measure_lines(report: RunReport) -> list[MeasureLine]:
    """Every measure that is no layer's thickness, a dash where it does not apply, and its interval."""
    known = report.intervals.measures if report.intervals else {}
    layers = {f"{zone}_thickness_{place}" for zone in _ZONES for place in _PLACES}
    return [
        MeasureLine(
            quantity.meaning.replace("alpha mu^2", "α µ²"),
            _shown(quantity, report.result.measures.get(name)),
            unit_text(quantity.display_unit),
            _span(quantity, known.get(name)) if known else "",
        )
        for name, quantity in MEASURES.items()
        if name not in layers
    ]


def layer_cells(report: RunReport) -> list[tuple[str, ...]]:
    """Thickness of each layer that is left, by place [um]; with intervals such as "27.5 (20.1–33.0)"."""
    return [
        (words, *(_thickness(report, f"{zone}_thickness_{place}") for place in _PLACES))
        for zone, words in _ZONES.items()
    ]


def _thickness(report: RunReport, name: str) -> str:
    quantity = MEASURES[name]
    value = _shown(quantity, report.result.measures.get(name))
    found = report.intervals.measures[name] if report.intervals else None
    if found is None or found.low is None or found.high is None:
        return value
    return f"{value} ({_shown(quantity, found.low)}–{_shown(quantity, found.high)})"


def energy_lines(result: Result) -> list[EnergyLine]:
    """Terms that are not 0, the largest first and numbered for the bar, then what is not accounted for."""
    incident = result.ledger["incident"]
    terms = {name: value for name, value in result.ledger.items() if name != "incident" and value != 0.0}
    ordered = sorted(terms.items(), key=lambda item: -item[1])
    lines = [
        EnergyLine(str(place) if value > 0.0 else "", LEDGER[name].meaning, value, _over(value, incident))
        for place, (name, value) in enumerate(ordered, 1)
    ]
    rest = incident - sum(terms.values())
    return [*lines, EnergyLine("", "not accounted for (round-off)", rest, _over(rest, incident))]


def energy_cells(result: Result) -> list[tuple[str, str, str, str]]:
    """The energy split as a table: number, meaning, energy [J], share [%]; the last row is the sum."""
    lines = energy_lines(result)
    total = sum(line.energy for line in lines)
    incident = result.ledger["incident"]
    rows = [
        (line.number, line.meaning, _joule(line.energy, incident), _percent(line.share)) for line in lines
    ]
    return [
        *rows,
        ("", "sum: energy sent by the beam", _joule(total, incident), _percent(_over(total, incident))),
    ]


def setting_cells(result: Result) -> list[tuple[str, str]]:
    """Name and text of each part of the setting."""
    return [(name, typeset(text)) for name, text in result.setting.items() if name != "title"]


def verdict_sentences(report: RunReport) -> list[str]:
    """Why the verdict fell, by which limits, and how often samples got which."""
    verdict = report.result.verdict
    limits = verdict.limits
    depth = "any depth" if limits.depth is None else f"depth {_length(limits.depth)}"
    used = (
        f"Limits: char {_length(limits.char_thickness)} at floor and wall; {depth}; "
        f"depth over width {limits.aspect_ratio:g}."
    )
    return [*map(typeset, verdict.reasons), typeset(used), *_sampled_sentences(report.intervals)]


def interval_note(report: RunReport) -> str:
    """What the intervals are, or that there are none."""
    found = report.intervals
    if found is None:
        return NO_INTERVALS
    failed = f" {found.failed} samples failed." if found.failed else ""
    return (
        f"Intervals hold 90 % of {found.samples} runs whose material values vary over their stated ranges; "
        f"what the model leaves out, and power, spot and time, are not in them.{failed}"
    )


def lists_of(report: RunReport) -> dict[str, tuple[str, tuple[str, ...]]]:
    """Title and sentences of each list that the page holds; without a line where it is empty."""
    notes = "Cautions of this run" if report.grid_reasons else "Notes of this run"
    return {
        "grid": ("Grid, and why", tuple(map(sentence, report.grid_reasons))),
        "cautions": (notes, tuple(map(sentence, report.cautions))),
        "assumptions": ("What the model assumes", report.assumptions),
    }


def cost_text(result: Result) -> str:
    """How the run ended and what it cost."""
    cost = result.cost
    return (
        f"{cost['steps']:.0f} steps and {cost['cell_updates'] / 1e6:.3g} million cell updates in "
        f"{display(cost['wall_time'], 's', 's')}; it ended with: {result.status}."
    )


def versions_text(result: Result) -> str:
    """What computed the run, in one line."""
    return ", ".join(f"{name} {version}" for name, version in result.versions.items()) or "not recorded"


def sentence(text: str) -> str:
    """`text` typeset, with a capital and a full stop."""
    whole = typeset(text)
    # Notes may begin with a material's own name, which keeps its letters.
    whole = whole[:1].upper() + whole[1:]
    return whole if whole.endswith((".", "!", "?")) else f"{whole}."


def unit_text(unit: str) -> str:
    """A unit as it is printed: µm, mm³; empty for a pure number."""
    return "" if unit == "1" else quantity_text(f" {unit}").strip()


def quantity_text(text: str) -> str:
    """A quantity as it is printed: 1090 kg/m³."""
    return _POWERS.sub(lambda found: "²³"[int(found[0]) - 2], typeset(text))


def source_text(text: str) -> str:
    """A source as it is printed: indices such as c_w keep their mark."""
    return "_".join(map(typeset, text.split("_")))


def _sampled_sentences(found: Intervals | None) -> list[str]:
    if found is None:
        return []
    words = ", ".join(f"{word} {count}" for word, count in found.words.items()) or "none"
    return [f"Verdicts of {found.samples} runs with sampled material values: {words}."]


def _shown(quantity: Quantity, value: float | None) -> str:
    if value is None:
        return _ABSENT
    return significant(float(convert(value, quantity.unit, quantity.display_unit)))


def _span(quantity: Quantity, found: Interval | None) -> str:
    if found is None or found.low is None or found.high is None:
        return _ABSENT
    low, high = _shown(quantity, found.low), _shown(quantity, found.high)
    return low if low == high else f"{low} to {high}"


def _over(value: float, whole: float) -> float:
    return value / whole if whole else 0.0


def _joule(value: float, incident: float) -> str:
    """Energy to a thousandth of the whole at least, so that the column visibly sums; below that its size."""
    if value != 0.0 and abs(value) < 5e-4 * incident:
        return f"{value:.0e}"
    decimals = max(0, 4 - len(str(int(incident))))
    return f"{value:.{decimals}f}"


def _percent(share: float) -> str:
    percent = 100.0 * share
    return f"{percent:.1f}" if abs(percent) >= 0.05 or share == 0.0 else f"{percent:.0e}"


def _length(value: float) -> str:
    return written(value, "m")
